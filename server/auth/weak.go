package auth

import (
	_ "embed"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// MinPassword is the shortest password taken where it is the only factor, in
// characters (NIST SP 800-63B-4, section 3.1.1.2).
const MinPassword = 15

// leastOwn is how many characters must be left of a password once common words
// and the person's own are taken out of it. Our own figure, no source.
const leastOwn = 6

// WeakPassword says why a chosen password is refused. Reason is a sentence for
// the person who chose it.
type WeakPassword struct{ Reason string }

func (w *WeakPassword) Error() string { return "password refused: " + w.Reason }

const (
	tooShort = "Use 15 characters or more; a few unrelated words make a good one."
	tooLong  = "Use 256 bytes or fewer."
	notText  = "The password is not valid text (UTF-8)."
	oneRun   = "It is a run or a repetition, such as 1234 or abab; use unrelated words."
	known    = "It is made of little else than common passwords, your own name or login; use unrelated words."
)

//go:embed common.txt
var commonText string

var common = sync.OnceValue(func() []string {
	var words []string
	for line := range strings.Lines(commonText) {
		if !strings.HasPrefix(line, "#") {
			words = append(words, strings.Fields(line)...)
		}
	}
	return words
})

// CheckPassword judges a password that a person chose; nil: it may be taken.
// own are words that belong to the person or the place: login, name, school.
// There are no rules on kinds of character (NIST SP 800-63B-4, section 3.1.1.2).
// An error is a *WeakPassword.
func CheckPassword(password string, own ...string) error {
	if !utf8.ValidString(password) {
		return &WeakPassword{notText}
	}
	if len(password) > MaxPassword {
		return &WeakPassword{tooLong}
	}
	text := norm.NFC.String(password)
	if utf8.RuneCountInString(text) < MinPassword {
		return &WeakPassword{tooShort}
	}
	runes := []rune(cases.Fold().String(text))
	if isRun(runes) || isRepetition(runes) {
		return &WeakPassword{oneRun}
	}
	if left(string(runes), slices.Concat(common(), []string{"dewclaw"}, own)) < leastOwn {
		return &WeakPassword{known}
	}
	return nil
}

// left counts the characters that stay once the words, digits and punctuation
// are taken out, the longest words first.
func left(text string, words []string) int {
	var folded []string
	for _, w := range words {
		for _, part := range append(strings.FieldsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), w) {
			if part = cases.Fold().String(norm.NFC.String(part)); utf8.RuneCountInString(part) >= 3 {
				folded = append(folded, part)
			}
		}
	}
	slices.SortFunc(folded, func(a, b string) int { return len(b) - len(a) })
	for _, w := range folded {
		text = strings.ReplaceAll(text, w, "\x00")
	}
	n := 0
	for _, r := range text {
		if unicode.IsLetter(r) || unicode.IsMark(r) || r > unicode.MaxLatin1 {
			n++
		}
	}
	return max(n, digitsLeft(text))
}

// digitsLeft lets a long random number stand as a password of its own: it
// counts the digits where there are more than a date or a counter needs.
func digitsLeft(text string) int {
	n := 0
	for _, r := range text {
		if unicode.IsDigit(r) {
			n++
		}
	}
	if n <= 8 {
		return 0
	}
	return n
}

// isRun reports whether most neighbours differ by the same small step: 1234..., zyx..., aaaa....
func isRun(text []rune) bool {
	steps := map[rune]int{}
	for i := 1; i < len(text); i++ {
		if d := text[i] - text[i-1]; d >= -1 && d <= 1 {
			steps[d]++
		}
	}
	for _, n := range steps {
		if 10*n >= 7*(len(text)-1) {
			return true
		}
	}
	return false
}

// isRepetition reports whether the text is one piece of at most five characters over and over.
func isRepetition(text []rune) bool {
	for period := 1; period <= 5; period++ {
		same := true
		for i := period; i < len(text) && same; i++ {
			same = text[i] == text[i-period]
		}
		if same {
			return true
		}
	}
	return false
}

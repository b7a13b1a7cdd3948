package roster

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// columns are what a roster may hold, with the words that schools write above
// it, in lower case without spaces or signs (common practice, no source).
var columns = []struct {
	id    string
	words []string
}{
	{"number", []string{"number", "id", "externalid", "sourcedid", "studentid", "studentnumber", "personid", "identifier", "matriculationnumber", "matriculation", "registrationnumber"}},
	{"login", []string{"login", "username", "user", "account", "loginid"}},
	{"name", []string{"name", "fullname", "displayname", "student", "studentname"}},
	{"family", []string{"family", "familyname", "surname", "lastname"}},
	{"given", []string{"given", "givenname", "firstname", "forename", "forenames"}},
	{"email", []string{"email", "mail", "emailaddress"}},
	{"role", []string{"role", "memberrole"}},
}

// header says in which column of the file what stands; -1: nowhere.
type header struct {
	at    map[string]int
	names []string
}

func headerOf(cell []string) (*header, error) {
	h := &header{at: map[string]int{}, names: cell}
	for i, name := range cell {
		word := strings.Map(letters, strings.ToLower(norm.NFKC.String(name)))
		for _, c := range columns {
			if _, had := h.at[c.id]; !had && slices.Contains(c.words, word) {
				h.at[c.id] = i
			}
		}
	}
	var missing []string
	if !h.has("number") && !h.has("login") {
		missing = append(missing, "number or login")
	}
	if !h.has("name") && !(h.has("family") && h.has("given")) {
		missing = append(missing, "name, or family and given")
	}
	if len(missing) > 0 {
		seen := []string{}
		for _, name := range cell {
			seen = append(seen, fmt.Sprintf("%q", short(name)))
		}
		return nil, &HeaderError{missing, seen}
	}
	return h, nil
}

func letters(r rune) rune {
	if unicode.IsLetter(r) || unicode.IsDigit(r) {
		return r
	}
	return -1
}

func (h *header) has(column string) bool { _, ok := h.at[column]; return ok }

// value is a cell without surrounding space, normalised (Unicode NFC).
func (h *header) value(cell []string, column string) string {
	i, ok := h.at[column]
	if !ok || i >= len(cell) {
		return ""
	}
	return norm.NFC.String(strings.Join(strings.Fields(cell[i]), " "))
}

// The shapes of a login and of an address (its parts as RFC 5321 limits them;
// what stands before the sign is not judged further).
var (
	loginShape = regexp.MustCompile(`^[a-z0-9][a-z0-9._@-]{1,63}$`)
	emailShape = regexp.MustCompile(`^[^@\s]{1,64}@[^@\s]{1,186}$`)
)

// row reads one person.
func (h *header) row(c cells) (Row, []Problem) {
	if c.wrong != "" {
		return Row{}, []Problem{{Line: c.line, Text: c.wrong}}
	}
	var p []Problem
	say := func(column, text string) { p = append(p, Problem{c.line, h.word(column), text}) }
	for id := range h.at {
		value := h.value(c.cell, id)
		switch {
		case utf8.RuneCountInString(value) > mostCell:
			say(id, fmt.Sprintf("longer than %d characters", mostCell))
		case value != "" && strings.ContainsRune("=+@", rune(value[0])), strings.ContainsFunc(value, unicode.IsControl):
			say(id, "begins like a formula or holds a control character; write the plain text")
		}
	}
	r := Row{Line: c.line, Number: h.value(c.cell, "number"), Email: h.value(c.cell, "email")}
	r.Login = strings.ToLower(cmp.Or(h.value(c.cell, "login"), r.Number))
	r.Name = cmp.Or(h.value(c.cell, "name"), strings.TrimSpace(h.value(c.cell, "given")+" "+h.value(c.cell, "family")))
	r.Number = cmp.Or(r.Number, r.Login)
	r.Role = cmp.Or(roles[strings.ToLower(h.value(c.cell, "role"))], h.value(c.cell, "role"), "student")
	if r.Number == "" {
		say("number", "empty; every row needs the school's number or a login")
	} else if !loginShape.MatchString(r.Login) {
		say("login", "a login has 2 to 64 characters: letters without accents, digits, and . _ @ - after the first")
	}
	if r.Name == "" {
		say("name", "empty; every row needs a name")
	}
	if r.Email != "" && !emailShape.MatchString(r.Email) {
		say("email", "not an address of electronic mail")
	}
	if r.Role != "student" && r.Role != "instructor" {
		say("role", "student or instructor; who coordinates is named on the page of people")
	}
	return r, p
}

// roles are other words for the two.
var roles = map[string]string{"student": "student", "learner": "student", "instructor": "instructor", "teacher": "instructor", "examiner": "instructor"}

// word is what the file calls a column.
func (h *header) word(column string) string {
	if i, ok := h.at[column]; ok {
		return short(h.names[i])
	}
	return column
}

func short(s string) string {
	r := []rune(strings.ToValidUTF8(s, "?"))
	if len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return string(r)
}

// once drops rows whose number or login came before.
func once(rows []Row) (kept []Row, problems []Problem) {
	numbers, logins := map[string]int{}, map[string]int{}
	for _, r := range rows {
		if first := cmp.Or(numbers[r.Number], logins[r.Login]); first != 0 {
			problems = append(problems, Problem{Line: r.Line, Text: fmt.Sprintf("the same number or login as in line %d", first)})
			continue
		}
		numbers[r.Number], logins[r.Login] = r.Line, r.Line
		kept = append(kept, r)
	}
	return kept, problems
}

func sorted(p []Problem) []Problem {
	slices.SortStableFunc(p, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return p
}

package cases

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"dewclaw/rubric"
)

// ErrLine is wrapped by every error of ReadLine.
var ErrLine = errors.New("cases: this line was not understood")

// LineError says what of a typed line was understood, what was not, and what
// is near. It holds nothing hidden and may be shown to the student.
type LineError struct {
	Understood string   // what the line seems to be about; may be empty
	Problem    string   // what is wrong
	Nearest    []string // what could have been meant, at most eight
}

// Error joins the parts into one sentence.
func (e *LineError) Error() string {
	var b strings.Builder
	if e.Understood != "" {
		b.WriteString(e.Understood + ": ")
	}
	b.WriteString(e.Problem)
	if len(e.Nearest) > 0 {
		b.WriteString("; perhaps " + strings.Join(e.Nearest, ", "))
	}
	return b.String()
}

// Unwrap makes errors.Is(err, ErrLine) true.
func (e *LineError) Unwrap() error { return ErrLine }

// Limits of a typed line.
const (
	maxLine     = 300
	maxParts    = 12
	maxNearest  = 8
	waitLimit   = 600 // seconds
	contactMost = 600 // seconds
)

// ReadLine reads a typed line into acts: manoeuvres (auscultate left apex),
// entries (HR 24x4, MM pink, R popl LN 2 cm firm), questions (ask appetite),
// handling (reassure) and waiting (wait 60). A semicolon parts several. Behind an
// entry ?, ~ or ! says how sure one is: a guess, fairly sure, sure. The
// acts name only ids of the catalogue; they are not numbered. A line that can
// mean two things, or none, is a LineError.
func (c *Catalogue) ReadLine(text string) ([]rubric.Act, error) { return c.readLine(text, false) }

// ReadUnplaced is ReadLine where the places on the drawing of the trunk have no
// names. A step that has some is typed without a place and becomes an examine act
// without a site, which is not done until the place has been shown; a line that
// names one is a LineError.
func (c *Catalogue) ReadUnplaced(text string) ([]rubric.Act, error) { return c.readLine(text, true) }

func (c *Catalogue) readLine(text string, unplaced bool) ([]rubric.Act, error) {
	if len(text) > maxLine {
		return nil, &LineError{Problem: fmt.Sprintf("the line is %d bytes long; at most %d are read", len(text), maxLine)}
	}
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' })
	if len(parts) > maxParts {
		return nil, &LineError{Problem: fmt.Sprintf("%d entries in one line; at most %d are read", len(parts), maxParts)}
	}
	var acts []rubric.Act
	for _, part := range parts {
		if strings.TrimSpace(part) == "" {
			continue
		}
		got, err := c.readSure(strings.TrimSpace(part), unplaced)
		if err != nil {
			return nil, err
		}
		acts = append(acts, got...)
	}
	if len(acts) == 0 {
		return nil, &LineError{Problem: "nothing was typed", Nearest: []string{"auscultate left apex", "HR 24x4", "ask appetite"}}
	}
	return acts, nil
}

// line is one part of a typed line while it is read.
type line struct {
	c    *Catalogue
	v    *vocabulary
	text string   // as typed
	w    []string // its words

	unplaced bool // the places on the drawing of the trunk have no names

	readings [][]rubric.Act
	failures []failure
}

// failure is a reading that did not work out; the one that got furthest is told.
type failure struct {
	got int // words that made sense
	err *LineError
}

func (l *line) fail(got int, err *LineError) { l.failures = append(l.failures, failure{got, err}) }

// accept keeps a reading unless it is there already.
func (l *line) accept(acts ...rubric.Act) {
	text := fmt.Sprintf("%+v", acts)
	for _, r := range l.readings {
		if fmt.Sprintf("%+v", r) == text {
			return
		}
	}
	l.readings = append(l.readings, acts)
}

// gap finds the words of an honest gap on the sheet.
var gap = regexp.MustCompile(`(?i)\b` + rubric.NotExamined + `\b`)

// commands are the first words of lines that are neither entry nor manoeuvre.
var commands = map[string]func(*line) ([]rubric.Act, error){
	"ask":   (*line).ask,
	"wait":  (*line).wait,
	"rest":  (*line).rest,
	"hint":  (*line).hint,
	"clear": (*line).clear,
}

func (c *Catalogue) readPart(text string, unplaced bool) ([]rubric.Act, error) {
	l := &line{c: c, v: c.words(), text: text, w: wordsOf(text), unplaced: unplaced}
	if len(l.w) == 0 {
		return nil, &LineError{Problem: fmt.Sprintf("%q holds no word", clip(text, 40))}
	}
	if command := commands[l.w[0]]; command != nil {
		return command(l)
	}
	if at := gap.FindStringIndex(text); at != nil && at[0] > 0 {
		return l.notExamined(text[:at[0]], text[at[1]:])
	}
	l.handle()
	l.manoeuvres()
	l.entries()
	if len(l.readings) == 0 {
		l.wholeRegion()
	}
	return l.settle()
}

// words returns the catalogue's vocabulary, made once.
func (c *Catalogue) words() *vocabulary {
	if c.vocab == nil { // a catalogue that was not loaded
		return c.vocabulary()
	}
	return c.vocab
}

// settle returns the one reading, or says what is wrong.
func (l *line) settle() ([]rubric.Act, error) {
	switch len(l.readings) {
	case 1:
		return l.readings[0], nil
	case 0:
		return nil, l.worst()
	}
	var near []string
	for _, r := range l.readings {
		near = append(near, l.c.describe(r[0]))
	}
	return nil, &LineError{Problem: fmt.Sprintf("%q can mean more than one thing", clip(l.text, 60)), Nearest: few(near)}
}

// describe writes an act as it could be typed, by its labels.
func (c *Catalogue) describe(a rubric.Act) string {
	var name string
	if row := c.Field(a.Field); row != nil {
		name = row.Label
	} else if row := c.HandlingRow(a.How); row != nil {
		name = row.Label
	} else if a.Kind == rubric.Examine {
		name = c.stepName(a.Step)
	}
	return strings.Join(strings.Fields(name+" "+a.Site+" "+a.Value), " ")
}

// stepName is a step's label, or of a verb on a region where nobody uses it,
// its verb and region.
func (c *Catalogue) stepName(id string) string {
	if s := c.Step(id); s != nil {
		return s.Label
	}
	region, verb, _ := cutLast(id, ".")
	if g := c.Region(region); g != nil {
		region = strings.ToLower(g.Label)
	}
	return verb + " " + region
}

// worst is the failure that got furthest, or the nearest known phrases.
func (l *line) worst() *LineError {
	best := -1
	for i, f := range l.failures {
		if best < 0 || f.got > l.failures[best].got {
			best = i
		}
	}
	if best >= 0 {
		return l.failures[best].err
	}
	var known []string
	for _, section := range []string{"fields", "steps", "handling", "verbs"} {
		known = append(known, l.v.known(section)...)
	}
	return &LineError{
		Problem: fmt.Sprintf("%q names no part of the examination", clip(l.text, 60)),
		Nearest: nearest(l.w, known),
	}
}

// nearest finds the phrases most like the beginning of a line.
func nearest(w, known []string) []string {
	type near struct {
		phrase string
		far    int
	}
	var all []near
	for _, phrase := range known {
		n := strings.Count(phrase, " ") + 1
		head := strings.Join(w[:min(n, len(w))], " ")
		if d := distance(head, phrase); d <= 1+len(phrase)/4 {
			all = append(all, near{phrase, d})
		}
	}
	slices.SortStableFunc(all, func(a, b near) int { return a.far - b.far })
	var out []string
	for _, n := range all {
		out = append(out, n.phrase)
	}
	return few(out)
}

// few keeps the first of each, at most maxNearest.
func few(list []string) []string {
	var out []string
	for _, s := range list {
		if len(out) < maxNearest && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

func (l *line) ask() ([]rubric.Act, error) {
	w := dropWords(l.w[1:], "about", "the", "for", "how", "is")
	topics := l.v.find("topics", strings.Join(w, " "))
	if len(topics) == 1 {
		return []rubric.Act{{Kind: rubric.Ask, Topic: topics[0]}}, nil
	}
	known := l.v.known("topics")
	near := nearest(w, known)
	if len(near) == 0 {
		near = few(ids(l.c.Topics, topicID))
	}
	return nil, &LineError{Understood: "a question", Problem: fmt.Sprintf("%q is no topic of the history", clip(strings.Join(w, " "), 40)), Nearest: near}
}

func (l *line) wait() ([]rubric.Act, error) {
	n, rest, ok := seconds(l.w[1:])
	if !ok || len(rest) > 0 || n < 1 || n > waitLimit {
		return nil, &LineError{Understood: "wait", Problem: fmt.Sprintf("say for how many seconds, 1 to %d", waitLimit), Nearest: []string{"wait 60"}}
	}
	return []rubric.Act{{Kind: rubric.Wait, Seconds: n}}, nil
}

func (l *line) hint() ([]rubric.Act, error) {
	if len(l.w) > 1 {
		return nil, &LineError{Understood: "hint", Problem: "nothing stands after it"}
	}
	return []rubric.Act{{Kind: rubric.Hint}}, nil
}

// rest reads: rest of REGION normal.
func (l *line) rest() ([]rubric.Act, error) {
	w := dropWords(l.w[1:], "of", "the")
	if len(w) < 2 || !isNormal(w[len(w)-1]) {
		return nil, &LineError{Understood: "the rest of a region", Problem: "name the region and end with normal", Nearest: []string{"rest of heart normal"}}
	}
	name := strings.Join(w[:len(w)-1], " ")
	regions := l.v.find("regions", name)
	if len(regions) != 1 {
		return nil, &LineError{Understood: "the rest of a region", Problem: fmt.Sprintf("%q is no region", clip(name, 40)),
			Nearest: nearest(w, l.v.known("regions"))}
	}
	return []rubric.Act{{Kind: rubric.Record, Region: regions[0], Value: "normal"}}, nil
}

// wholeRegion reads: REGION normal.
func (l *line) wholeRegion() {
	n := len(l.w) - 1
	if n < 1 || !isNormal(l.w[n]) {
		return
	}
	if regions := l.v.find("regions", strings.Join(dropWords(l.w[:n], "rest", "of", "the"), " ")); len(regions) == 1 {
		l.accept(rubric.Act{Kind: rubric.Record, Region: regions[0], Value: "normal"})
	}
}

func isNormal(word string) bool { return word == "normal" || word == "nad" || word == "wnl" }

// handle reads a handling action or a hold.
func (l *line) handle() {
	w := dropWords(l.w, "the", "a")
	for _, phrase := range []string{strings.Join(l.w, " "), strings.Join(w, " "), strings.TrimPrefix(strings.Join(w, " "), "give ")} {
		for _, id := range l.v.find("handling", phrase) {
			l.accept(rubric.Act{Kind: rubric.Handle, How: id})
		}
	}
}

// dropWords leaves out filler words.
func dropWords(w []string, filler ...string) []string {
	var out []string
	for _, s := range w {
		if !slices.Contains(filler, s) {
			out = append(out, s)
		}
	}
	return out
}

var (
	secondsWord = regexp.MustCompile(`^(\d{1,3})(s|sec|secs|seconds|min|m)?$`)
	unitSeconds = map[string]int{"": 1, "s": 1, "sec": 1, "secs": 1, "seconds": 1, "min": 60, "m": 60}
)

// seconds reads a duration at the beginning of the words.
func seconds(w []string) (n int, rest []string, ok bool) {
	if len(w) == 0 {
		return 0, w, false
	}
	m := secondsWord.FindStringSubmatch(w[0])
	if m == nil {
		return 0, w, false
	}
	unit, rest := m[2], w[1:]
	if unit == "" && len(rest) > 0 && unitSeconds[rest[0]] > 0 {
		unit, rest = rest[0], rest[1:]
	}
	n, err := strconv.Atoi(m[1])
	return n * unitSeconds[unit], rest, err == nil
}

// Package say turns a line's reason code and arguments into a sentence. It is
// the only place that holds a tutor's words: what this student did with this
// patient, what was there, what follows from it, and how it would be found.
// To add a code is to add a row to one of the tables; a test finds a code of
// the engine without one.
package say

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"dewclaw/rubric"
)

// Words gives the labels of ids in the school's language; each returns the id
// itself when it is unknown.
type Words interface {
	Step(id string) string
	Field(id string) string
	Value(field, value string) string
	Site(s string) string
	Stage(id string) string
	Region(id string) string
	Problem(id string) string
	Topic(id string) string
	Handling(id string) string
	// Units are those that a field is written in: its own, and those that the
	// school puts first. See Quantity.
	Units(field string) []string
}

// Unmarked is what Words may say besides: of which fields the grade is not
// marked in this report, and why, as a sentence; empty: it is.
type Unmarked interface{ GradeUnmarked(field string) string }

// Fill writes the reason of every line of the report, and of every critical
// event that has none yet.
func Fill(rep *rubric.Report, w Words) {
	for i := range rep.Domains {
		for j := range rep.Domains[i].Lines {
			l := &rep.Domains[i].Lines[j]
			l.Reason = Sentence(l, w)
		}
	}
	for i := range rep.Critical {
		if rep.Critical[i].Why == "" {
			rep.Critical[i].Why = critical(rep.Critical[i].ID, w)
		}
	}
}

// Sentence is the reason of one line. A line of a newer engine, whose code is
// not known here, says so.
func Sentence(l *rubric.Line, w Words) string {
	for _, table := range tables {
		if row, ok := table[l.Code]; ok {
			return upper(row(&said{l, w}))
		}
	}
	return "This mark was given by a newer version of the engine; its reason is not known here (" + l.Code + ")."
}

// tables are the rows of every domain, by code.
var tables = []map[string]row{general, order, completeness, findings, vitals, handling, conclusions}

// row builds the sentence of one code.
type row func(*said) string

// said is a line with the words to say it in.
type said struct {
	l *rubric.Line
	w Words
}

// arg is the text of an argument; empty where the line has none.
func (s *said) arg(name string) string {
	for _, a := range s.l.Args {
		if a.Name == name {
			return a.Value
		}
	}
	return ""
}

func (s *said) int(name string) int {
	n, err := strconv.Atoi(s.arg(name))
	if err != nil {
		return 0
	}
	return n
}

// quantity is a vital's argument with its unit; what is no number stands in quotes.
func (s *said) quantity(name string) string {
	m, err := rubric.ParseMilli(s.arg(name))
	if err != nil {
		return quote(s.arg(name))
	}
	return Quantity(s.arg("vital"), m, s.units()...)
}

// units are those of the line's field.
func (s *said) units() []string { return s.w.Units(s.arg("field")) }

func (s *said) field() string { return lower(s.w.Field(s.arg("field"))) }

// value is what an argument says of the line's field.
func (s *said) value(name string) string { return s.valueOf("field", name) }

func (s *said) valueOf(field, name string) string {
	v := s.arg(name)
	if v == "" {
		return "nothing"
	}
	if m, err := rubric.ParseMilli(v); err == nil && s.arg("vital") != "" {
		return Quantity(s.arg("vital"), m, s.units()...)
	}
	return quote(lower(s.w.Value(s.arg(field), v)))
}

// at is the site in brackets; nothing where there is none.
func (s *said) at(name string) string {
	if v := s.arg(name); v != "" {
		return " (" + s.w.Site(v) + ")"
	}
	return ""
}

// list turns ids between bars into words.
func (s *said) list(name, and string) string {
	var words []string
	for _, id := range strings.Split(s.arg(name), "|") {
		if id != "" {
			words = append(words, s.item(id))
		}
	}
	return enumerate(words, and)
}

// verb is one form or the other, by how many ids a list names.
func (s *said) verb(name, one, many string) string {
	if strings.Contains(s.arg(name), "|") {
		return many
	}
	return one
}

// item is a step, a step at a site, a handling act or one of the engine's words.
func (s *said) item(id string) string {
	switch id {
	case "touch":
		return "touching the animal"
	case "ask":
		return "asking the owner"
	case "wait":
		return "giving it a moment"
	}
	if how, ok := strings.CutPrefix(id, "handle:"); ok {
		return quote(lower(s.w.Handling(how)))
	}
	if step, site, ok := strings.Cut(id, "@"); ok {
		return quote(lower(s.w.Step(step))) + " (" + s.w.Site(site) + ")"
	}
	return quote(lower(s.w.Step(id)))
}

// found says how a finding would be found.
func (s *said) found() string {
	if s.arg("steps") == "" {
		return ""
	}
	return " It is found by " + s.list("steps", "or") + s.at("site") + "."
}

func enumerate(words []string, and string) string {
	switch n := len(words); n {
	case 0:
		return "something"
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " " + and + " " + words[n-1]
	}
}

func quote(s string) string { return "“" + s + "”" }

// lower makes a label fit the middle of a sentence; abbreviations stay.
func lower(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	next, _ := utf8.DecodeRuneInString(s[n:])
	if n == 0 || unicode.IsUpper(next) {
		return s
	}
	return string(unicode.ToLower(r)) + s[n:]
}

// upper begins a sentence, also inside an opening quotation mark.
func upper(s string) string {
	if rest, ok := strings.CutPrefix(s, "“"); ok {
		return "“" + upper(rest)
	}
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// times says once, twice, 3 times.
func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return strconv.Itoa(n) + " times"
}

// some counts things: one return, 3 returns.
func some(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return strconv.Itoa(n) + " " + many
}

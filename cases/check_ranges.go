package cases

import (
	"strconv"
	"strings"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// CheckRanges checks a school's own file of reference ranges, which is to be
// laid over ours, by itself and beside the catalogues of the library: a body
// condition must be on the scale that the species is scored on.
func CheckRanges(l *Library, name string, data []byte) []Problem {
	var out []Problem
	own, problems := normal.Overlay(name, data)
	for _, p := range problems {
		out = append(out, Problem{File: p.File, Line: p.Line, Col: p.Col, Message: p.Message})
	}
	if len(out) > 0 {
		return out
	}
	for _, r := range own.Table {
		if want := l.scaleOf(r.Species); own.Own(r.ID) && r.Vital == "body_condition" && want != "" && r.Unit != want {
			line, col := normal.Place(data, r.ID, "unit")
			out = append(out, Problem{File: name, Line: line, Col: col, Message: "the " + r.Species + " is scored " + normal.UnitText(want) +
				" here, not " + normal.UnitText(r.Unit) + "; right would be " + want})
		}
	}
	return sortProblems(out)
}

// scaleOf is the unit of a species' body condition as ranges have it; empty:
// there is no such catalogue or field.
func (l *Library) scaleOf(species string) string {
	c := l.Catalogue(species)
	if c == nil {
		return ""
	}
	for i := range c.Fields {
		if f := &c.Fields[i]; f.Vital == "body_condition" {
			if _, n, ok := strings.Cut(f.Unit, "of "); ok {
				return "/" + n
			}
			return "/" + strconv.Itoa(len(f.Of))
		}
	}
	return ""
}

// AtOdds tells where cases of the library stand no longer plainly inside or
// outside these ranges, though they do by ours. They can still be used: in a
// grey zone either call is right.
func AtOdds(l *Library, ranges normal.Table) []Problem {
	var out []Problem
	for _, k := range l.cases {
		q := &caseCheck{k: k, c: l.Catalogue(k.Species), ranges: ranges}
		q.eachRange(func(f *Field, row normal.Row) {
			if t := k.truthAt(rubric.Place{Field: f.ID}); t != nil { // what is not stated is drawn from these ranges
				q.plain(f, row, t)
			}
		})
		out = append(out, q.problems...)
	}
	return sortProblems(out)
}

package server

import (
	"slices"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// changedMark is a line of a report that another version marks otherwise. Nil:
// that version has no such line.
type changedMark struct {
	Domain     string
	Old, Later *rubric.Line
}

// changedMarks are the lines of which the points, or the points that could be
// earned, differ, in the order of the later report; lines that are gone stand
// at the end of their domain. Lines are the same that have the same id, which
// is stable across versions. Notes without points are no marks.
func changedMarks(earlier, later rubric.Report) []changedMark {
	var out []changedMark
	for _, d := range later.Domains {
		var was []rubric.Line
		for _, e := range earlier.Domains {
			if e.ID == d.ID {
				was = e.Lines
			}
		}
		out = append(out, changedLines(d.ID, was, d.Lines)...)
	}
	for _, e := range earlier.Domains {
		if !slices.ContainsFunc(later.Domains, func(d rubric.Domain) bool { return d.ID == e.ID }) {
			out = append(out, changedLines(e.ID, e.Lines, nil)...)
		}
	}
	return out
}

func changedLines(domain string, was, is []rubric.Line) []changedMark {
	type key struct {
		id string
		nr int // the how manieth of its id
	}
	old, seen := map[key]*rubric.Line{}, map[string]int{}
	for i := range was {
		id := was[i].ID
		old[key{id, seen[id]}] = &was[i]
		seen[id]++
	}
	var out []changedMark
	gone, now := map[*rubric.Line]bool{}, map[string]int{}
	for i := range is {
		line := &is[i]
		before := old[key{line.ID, now[line.ID]}]
		now[line.ID]++
		gone[before] = true
		if differ(before, line) {
			out = append(out, changedMark{domain, before, line})
		}
	}
	for i := range was {
		if !gone[&was[i]] && differ(&was[i], nil) {
			out = append(out, changedMark{domain, &was[i], nil})
		}
	}
	return out
}

// differ says whether two lines mark otherwise.
func differ(a, b *rubric.Line) bool {
	none := rubric.Line{}
	if a == nil {
		a = &none
	}
	if b == nil {
		b = &none
	}
	return a.Points != b.Points || a.Max != b.Max
}

// why says in words why a mark changed: what the later version says of it, and
// what the earlier one said where that was something else.
func (m changedMark) why(w say.Words) string {
	switch {
	case m.Later == nil:
		return "No longer marked. Before: " + say.Sentence(m.Old, w)
	case m.Old == nil:
		return "Not marked before. " + say.Sentence(m.Later, w)
	}
	before, after := say.Sentence(m.Old, w), say.Sentence(m.Later, w)
	switch {
	case before != after:
		return after + " Before: " + before
	case m.Later.Max > m.Old.Max:
		return "It counts for more than before. " + after
	case m.Later.Max < m.Old.Max:
		return "It counts for less than before. " + after
	}
	return after
}

package server

import (
	"dewclaw/rubric"
	"dewclaw/server/face"
)

// charted is what the acts of a visit come to so far. It takes each act once, so
// that an answer does not cost more the later in the visit it is given.
type charted struct {
	chart   *rubric.Charting
	sensed  []sensedPlace // in the order in which they were
	known   map[rubric.Place]bool
	contact int // number of the examine act whose contact is open; 0: none
}

// sensedPlace is a place at which something was sensed.
type sensedPlace struct {
	rubric.Place
	number int32 // on the sheet
	exists bool  // a line can stand there
}

func newCharted(form *rubric.Form) charted {
	return charted{chart: rubric.NewCharting(form), known: map[rubric.Place]bool{}}
}

// follow takes the last of the entries, which is new.
func (c *charted) follow(entries rubric.Transcript) {
	c.chart.Follow(entries)
	e := entries[len(entries)-1]
	c.contact = contactAfter(c.contact, e)
	for _, p := range e.Outcome.Percepts {
		at := rubric.Place{Field: p.Field, Site: p.Site}
		if !c.known[at] {
			c.known[at] = true
			number, exists := c.chart.At(at)
			c.sensed = append(c.sensed, sensedPlace{at, number, exists})
		}
	}
}

// sheet is the examination sheet.
func (c *charted) sheet() []face.Line {
	out := make([]face.Line, 0, c.chart.Standing())
	c.chart.Each(func(r rubric.ChartLine) {
		out = append(out, face.Line{Place: face.Place{Field: r.Field, Site: r.Site}, Value: r.Value, Over: r.Over,
			Interpretation: r.Interpretation, Reason: r.Reason, Act: r.Act, Swept: r.Swept, Sure: r.Sure})
	})
	return out
}

// uncharted are the places that were sensed and have no line on the sheet, in the
// order in which they were sensed.
func (c *charted) uncharted() []face.Place {
	n := 0
	for i := range c.sensed {
		if c.open(i) {
			n++
		}
	}
	out := make([]face.Place, 0, n)
	for i, p := range c.sensed {
		if c.open(i) {
			out = append(out, face.Place{Field: p.Field, Site: p.Site})
		}
	}
	return out
}

// open reports whether the i-th place that was sensed has no line.
func (c *charted) open(i int) bool {
	p := &c.sensed[i]
	return !p.exists || !c.chart.Stands(p.number)
}

// upTo is what the first n acts come to. The caller holds l.mu.
func (l *live) upTo(n int) *charted {
	if n == len(l.entries) {
		return &l.charted
	}
	then := newCharted(l.cat.Form())
	for i := range n {
		then.follow(l.entries[:i+1])
	}
	return &then
}

package server

import (
	"time"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// attempt is the public state; shown: what was there may be told, so the words
// of what was heard are too. The caller holds l.mu.
func (l *live) attempt(row store.Attempt, shown bool) face.Attempt {
	a := face.Attempt{ID: row.ID, Patient: l.face, Track: row.Track, State: row.State, Started: row.Started,
		Traced: l.row.Alternatives.Traced, Described: l.row.Alternatives.Described,
		Turn: row.Turn, Purpose: row.Purpose, Cue: row.Cue, Places: row.Places, Used: l.usedKinds(len(l.entries)),
		Clock: l.clock(), Last: len(l.entries), Contact: l.contact, Ended: row.Ended, Absent: []string{}}
	if a.Ended == "" {
		a.Ended = l.ended()
	}
	if row.State != store.StateOpen {
		a.Contact = 0
	}
	a.Acts = l.acts(0, l.row.Alternatives.Described || shown)
	a.Sheet, a.Examined = l.sheet(), l.uncharted()
	for _, step := range l.cat.Steps {
		if !l.patient.Applies(step.ID) {
			a.Absent = append(a.Absent, step.ID)
		}
	}
	return a
}

// acts are the acts above a number, as the student met them; told: with the
// words of what was heard.
func (l *live) acts(after int, told bool) []face.Act {
	out := make([]face.Act, 0, len(l.entries)-after)
	for i := after; i < len(l.entries); i++ {
		out = append(out, l.act(l.entries[i], l.at[i], told))
	}
	return out
}

// answer is what the n-th act brought. It is made of the first n acts only, so
// that asking again brings the same.
func (l *live) answer(n int) face.Answer {
	e := l.entries[n-1]
	then := l.upTo(n)
	a := face.Answer{Act: l.act(e, l.at[n-1], l.row.Alternatives.Described), Last: n, Contact: then.contact, Clock: e.Outcome.Clock, Ended: e.Outcome.Ended, Used: l.usedKinds(n)}
	if e.Act.Kind == rubric.Record || e.Act.Kind == rubric.Examine {
		a.Examined = then.uncharted()
	}
	if e.Act.Kind == rubric.Record {
		a.Sheet = then.sheet()
	}
	return a
}

// act is an act as the student met it. What was there, what it means and the
// patient's state are left behind here, and the words of what is heard unless
// they are told.
func (l *live) act(e rubric.Entry, at time.Time, told bool) face.Act {
	a, o := e.Act, e.Outcome
	out := face.Act{N: a.N, Kind: string(a.Kind), Step: a.Step, Site: a.Site, Manner: a.Manner, Seconds: a.Seconds, Of: a.Of,
		Field: a.Field, Region: a.Region, Value: a.Value, Over: a.Over, Interpretation: a.Interpretation, Reason: a.Reason, Sure: a.Sure,
		Topic: a.Topic, How: a.How, Problems: a.Problems, Urgency: a.Urgency, Report: faceHandover(a.Report),
		Answer: o.Answer, Refused: o.Refused, Signs: o.Signs, Clock: o.Clock, Ended: o.Ended, At: at}
	done := a.Kind == rubric.Examine && !o.Refused
	out.Heard, out.Seen = done && l.patient.Heard(a.Step, a.Site), done && l.patient.Seen(a.Step, a.Site)
	out.Read = l.read(o.Closed)
	for _, p := range o.Percepts {
		words := p.Words
		switch p.Sense {
		case senseReading:
			words = inWords(l.cat, p.Field, p.Words, l.units())
		case senseSound:
			if !told {
				words = ""
			}
		}
		out.Percepts = append(out.Percepts, face.Percept{Field: p.Field, Site: p.Site, Sense: p.Sense, Words: words,
			Sound: p.Sense == senseSound, Picture: p.Sense == sensePicture})
	}
	return out
}

// read is what an instrument showed as its contact ended; nil: there was none.
func (l *live) read(c *rubric.Contact) *face.Reading {
	if c == nil || c.Reading == "" || c.Of < 1 || c.Of > len(l.entries) {
		return nil
	}
	for _, p := range l.entries[c.Of-1].Outcome.Percepts {
		if p.Sense == senseRising {
			return &face.Reading{Of: c.Of, Field: p.Field, Site: p.Site, Words: inWords(l.cat, p.Field, c.Reading, l.units())}
		}
	}
	return nil
}

// The senses that need media, and the one whose words are a figure.
const (
	senseReading = "reading"
	senseSound   = "sound"
	sensePicture = "picture"
	senseRising  = "rising"
)

func faceHandover(h *rubric.Handover) *face.Handover {
	if h == nil {
		return nil
	}
	out := &face.Handover{Situation: h.Situation, Background: h.Background, Assessment: h.Assessment, Request: h.Request}
	for _, g := range h.Fields {
		out.Fields = append(out.Fields, face.Given{Field: g.Field, Site: g.Site, Value: g.Value})
	}
	return out
}

func places(in []rubric.Place) []face.Place {
	out := make([]face.Place, 0, len(in))
	for _, p := range in {
		out = append(out, face.Place{Field: p.Field, Site: p.Site})
	}
	return out
}

package server

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// layMarks puts what people decided into a debrief: their marks stand, what was
// computed stands beside them. Who decided is not told.
func (s *Server) layMarks(ctx context.Context, out *face.Report, row store.Attempt, m marked, w say.Words) error {
	total := face.Points(m.Total)
	if total != out.Total {
		computed := out.Total
		out.Computed, out.Total = &computed, total
	}
	out.Pass = m.Pass
	for i := range out.Domains {
		out.Domains[i].Points = face.Points(m.Domains[i].Points)
	}
	for _, c := range m.Changed {
		if l := lineIn(out, c.Line); l != nil {
			computed := l.Points
			l.Points, l.Computed, l.Because = face.Points(c.Points), &computed, c.Reason
		}
	}
	out.Decided = decided(m)
	asked, err := s.store.ReviewsAsked(ctx, row.Transcript)
	if err != nil {
		return fmt.Errorf("debrief: %w", err)
	}
	for _, a := range asked {
		if l := lineIn(out, a.Line); l != nil {
			l.Asked = faceAsked(a)
		}
	}
	out.Struck, err = s.struckFor(ctx, row, w)
	return err
}

// lineIn is the first line of a debrief with an id; nil: there is none.
func lineIn(r *face.Report, id string) *face.Mark {
	for i := range r.Domains {
		lines := r.Domains[i].Lines
		if k := slices.IndexFunc(lines, func(l face.Mark) bool { return l.ID == id }); k >= 0 {
			return &lines[k]
		}
	}
	return nil
}

// decided are people's last words on what the report is held for, in its order.
func decided(m marked) (out []face.Decided) {
	for _, what := range heldFor(m.report) {
		if d := lastSaid(m.decisions, what); d != nil {
			out = append(out, face.Decided{What: what, Text: heldText(m.report, what), Stands: d.Stands, Because: d.Reason, At: d.At})
		}
	}
	return out
}

// heldFor are the critical events and the flags of a report that a person decides on.
func heldFor(rep rubric.Report) (out []string) {
	for _, e := range rep.Critical {
		out = append(out, e.ID)
	}
	for _, code := range rep.Held {
		if code != rubric.HeldCritical { // it is about the events
			out = append(out, code)
		}
	}
	return out
}

// heldText says what a report is held for.
func heldText(rep rubric.Report, what string) string {
	for _, e := range rep.Critical {
		if e.ID == what {
			return sentence(e.Why)
		}
	}
	return say.Held(what)
}

// lastSaid is the last decision on something; nil: there is none.
func lastSaid(all []exam.Decision, what string) *exam.Decision {
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].What == what {
			return &all[i]
		}
	}
	return nil
}

func faceAsked(a store.ReviewAsked) *face.Asked {
	out := &face.Asked{At: a.Asked, Words: a.Text, Changed: a.Upheld, Answer: a.Answer}
	if !a.Answered.IsZero() {
		at := a.Answered
		out.Answered = &at
	}
	return out
}

// struckFor are the changes for everybody that are in force for a visit.
func (s *Server) struckFor(ctx context.Context, row store.Attempt, w say.Words) (out []face.Struck, err error) {
	all, err := s.store.KeyChangesOf(ctx, row.Transcript)
	if err != nil {
		return nil, fmt.Errorf("debrief: %w", err)
	}
	for _, g := range all {
		a, err := s.amendment(ctx, g)
		if err != nil {
			return nil, err
		}
		trail, err := s.store.RegradingEvents(ctx, g.ID)
		if err != nil {
			return nil, fmt.Errorf("debrief: %w", err)
		}
		one := face.Struck{What: amendWords(a, w)}
		for _, e := range trail {
			switch e.Deed {
			case "propose":
				one.Because = e.Reason
			case "accept":
				one.At = e.At
			}
		}
		out = append(out, one)
	}
	return out, nil
}

// amendWords say what a change of a key does.
func amendWords(a rubric.Amendment, w say.Words) string {
	var parts []string
	var lines []string
	for _, id := range a.Strike {
		lines = append(lines, "“"+lineLabel(id, w)+"”")
	}
	if len(lines) > 0 {
		parts = append(parts, strings.Join(lines, ", ")+countIf(len(lines), " is", " are")+" struck; the other lines share the marks")
	}
	if a.Urgency != "" {
		parts = append(parts, "the urgency “"+a.Urgency+"” counts as right")
	}
	var named []string
	for _, id := range a.Accept {
		named = append(named, "“"+w.Problem(id)+"”")
	}
	if len(named) > 0 {
		parts = append(parts, strings.Join(named, ", ")+countIf(len(named), " counts", " count")+" neither for nor against")
	}
	return sentence(strings.Join(parts, "; "))
}

func countIf(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return more
}

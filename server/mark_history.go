package server

import (
	"context"
	"fmt"
	"slices"

	"dewclaw/rubric/say"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// markedReport is a visit's report as those who mark it see it.
func (s *Server) markedReport(ctx context.Context, who face.Person, id string) (face.MarkedReport, error) {
	m, err := s.marking(ctx, who, id)
	if err != nil {
		return face.MarkedReport{}, err
	}
	return s.reportToMark(ctx, who, m)
}

func (s *Server) reportToMark(ctx context.Context, who face.Person, m marking) (out face.MarkedReport, err error) {
	seen, err := s.store.SeenOf(ctx, m.visit.Transcript) // before the rest: what changes while it is read is noticed
	if err != nil {
		return out, missing("marks", err)
	}
	got, err := s.marked(ctx, m.visit)
	if err != nil {
		return out, err
	}
	if out.Report, err = s.debrief(ctx, who, m.visit); err != nil {
		return out, err
	}
	out.Seen, out.Waits, out.Void = seenText(seen), append([]string{}, got.Waits...), []face.Changed{}
	for _, o := range got.Void {
		out.Void = append(out.Void, face.Changed{Line: o.Line, Points: face.Points(o.Points), Reason: o.Reason})
	}
	_, _, cat, err := s.kept(ctx, m.visit)
	if err != nil {
		return out, err
	}
	out.History, err = s.history(ctx, m, got, quietly(s.words(cat), cat, m.visit.Alternatives))
	return out, err
}

// history is everything that people did to a visit's marks, in the order of time.
func (s *Server) history(ctx context.Context, m marking, got marked, w say.Words) ([]face.Deed, error) {
	names, err := s.staffNames(ctx)
	if err != nil {
		return nil, err
	}
	out := []face.Deed{}
	for _, o := range got.overrides {
		out = append(out, face.Deed{At: o.At, By: names[o.By], What: "marked “" + lineLabel(o.Line, w) + "” " + pts(face.Points(o.Points)), Reason: o.Reason})
	}
	for _, d := range got.decisions {
		out = append(out, face.Deed{At: d.At, By: names[d.By], What: "decided: " + heldText(got.report, d.What) + standWords(d.Stands), Reason: d.Reason})
	}
	asked, err := s.store.ReviewsAsked(ctx, m.visit.Transcript)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	for _, a := range asked {
		out = append(out, reviewDeeds(a, names, m.visit.Person, lineLabel(a.Line, w))...)
	}
	strikes, err := s.strikeDeeds(ctx, m, names, w)
	if err != nil {
		return nil, err
	}
	turn, err := s.turnDeeds(ctx, m, names)
	if err != nil {
		return nil, err
	}
	out = append(append(out, strikes...), turn...)
	slices.SortStableFunc(out, func(a, b face.Deed) int { return a.At.Compare(b.At) })
	return out, nil
}

func standWords(stands bool) string {
	if stands {
		return " It stands."
	}
	return " It does not stand."
}

func reviewDeeds(a store.ReviewAsked, names map[string]string, student, label string) []face.Deed {
	words := a.Text
	if words == "" {
		words = "(erased)"
	}
	out := []face.Deed{{At: a.Asked, By: names[student], What: "asked for a review of “" + label + "”", Reason: words}}
	if a.Answered.IsZero() {
		return out
	}
	what := "answered the review of “" + label + "” without another mark"
	if a.Upheld {
		what = "answered the review of “" + label + "” with another mark"
	}
	return append(out, face.Deed{At: a.Answered, By: names[a.By], What: what, Reason: a.Answer})
}

// strikeDeeds are what was done with changes for everybody of this patient, whether
// in force for this visit or not.
func (s *Server) strikeDeeds(ctx context.Context, m marking, names map[string]string, w say.Words) (out []face.Deed, err error) {
	all, err := s.store.KeyChanges(ctx, m.assignment.ID)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	for _, g := range all {
		if g.Case != m.visit.Case {
			continue
		}
		a, err := s.amendment(ctx, g)
		if err != nil {
			return nil, err
		}
		trail, err := s.store.RegradingEvents(ctx, g.ID)
		if err != nil {
			return nil, fmt.Errorf("history: %w", err)
		}
		for _, e := range trail {
			out = append(out, face.Deed{At: e.At, By: names[e.By], What: strikeWords[e.Deed] + amendWords(a, w), Reason: e.Reason})
		}
	}
	return out, nil
}

// strikeWords say what was done with a change for everybody.
var strikeWords = map[string]string{"propose": "proposed for everybody: ", "accept": "signed for everybody: ",
	"undo": "put back for everybody: ", "withdraw": "withdrew for everybody: "}

// turnDeedWords are the deeds of the log about a turn that belong to its marks.
var turnDeedWords = map[string]string{deedRelease: "released the debrief", deedTakeBack: "took the release back",
	deedExcuse: "excused the turn: it does not count", deedCount: "let the turn count again"}

// turnDeeds are what was done to the turn of a visit, or to all turns at once.
func (s *Server) turnDeeds(ctx context.Context, m marking, names map[string]string) (out []face.Deed, err error) {
	for _, about := range []string{"turn:" + m.turn.ID, "assignment:" + m.assignment.ID} {
		notes, err := s.store.Notes(ctx, store.NoteFilter{About: about, Limit: 1000})
		if err != nil {
			return nil, fmt.Errorf("history: %w", err)
		}
		for _, n := range notes {
			if what := turnDeedWords[n.Deed]; what != "" {
				out = append(out, face.Deed{At: n.At, By: names[n.By], What: what, Reason: n.Reason})
			}
		}
	}
	return out, nil
}

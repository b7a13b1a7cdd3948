package server

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// kindOfAct is a way of acting in the room that an orientation lets one try.
type kindOfAct struct {
	ID, Label, How string
	is             func(cat *cases.Catalogue, act rubric.Act) bool
}

// typedRetry begins the retry of a request that came from the typed line of the room.
const typedRetry = "typed-"

// actKinds are the ways of acting, in the order in which one meets them.
var actKinds = []kindOfAct{
	{"look", "Look without touching", "Choose “Whole animal” and observe from a distance.", examines(func(s *cases.Step) bool { return !s.Touch && s.Instrument == "" })},
	{"listen", "Listen", "Take the stethoscope and put the chest piece on the trunk.", examines(func(s *cases.Step) bool { return s.Instrument == "stethoscope" })},
	{"measure", "Measure", "Weigh the animal, or take its temperature.", examines(func(s *cases.Step) bool { return s.Verb == "measure" })},
	{"gentle", "Touch gently", "Choose “Gently” beside Touch, then palpate.", func(_ *cases.Catalogue, a rubric.Act) bool { return a.Kind == rubric.Examine && a.Manner == "gentle" }},
	{"ask", "Ask the owner", "Under “The owner”.", ofKind(rubric.Ask)},
	{"hold", "Hold", "Under “Handling”: have the animal held.", holds},
	{"chart", "Chart a line", "Beside what you find: write what you found.", func(_ *cases.Catalogue, a rubric.Act) bool { return a.Kind == rubric.Record && a.Field != "" }},
	{"typed", "Use the typed line", "Press / and type, such as HR 24x4.", nil},
	{"rest", "State the rest of a region", "After the lines of a region.", func(_ *cases.Catalogue, a rubric.Act) bool { return a.Kind == rubric.Record && a.Region != "" }},
	{"conclude", "Conclude", "Under “Finish”: name problems, urgency and report.", ofKind(rubric.Conclude)},
}

func ofKind(kind rubric.Kind) func(*cases.Catalogue, rubric.Act) bool {
	return func(_ *cases.Catalogue, a rubric.Act) bool { return a.Kind == kind }
}

func examines(fits func(*cases.Step) bool) func(*cases.Catalogue, rubric.Act) bool {
	return func(cat *cases.Catalogue, a rubric.Act) bool {
		step := cat.Step(a.Step)
		return a.Kind == rubric.Examine && step != nil && fits(step)
	}
}

func holds(cat *cases.Catalogue, a rubric.Act) bool {
	return a.Kind == rubric.Handle && slices.ContainsFunc(cat.Handling, func(h cases.Handling) bool { return h.ID == a.How && h.Hold })
}

// usedKinds are the ways of acting that the first n acts of an orientation used; nil
// of any other visit. The caller holds l.mu.
func (l *live) usedKinds(n int) []string {
	if l.row.Purpose != forOrientation {
		return nil
	}
	out := []string{}
	for _, kind := range actKinds {
		if slices.ContainsFunc(l.entries[:n], func(e rubric.Entry) bool { return kind.is != nil && kind.is(l.cat, e.Act) }) || kind.is == nil && l.typed(n) {
			out = append(out, kind.ID)
		}
	}
	return out
}

// typed reports whether one of the first n acts came from the typed line.
func (l *live) typed(n int) bool {
	for retry, at := range l.retries {
		if at <= n && strings.HasPrefix(retry, typedRetry) {
			return true
		}
	}
	return false
}

// orientation is one's own visit for getting to know the room: the one that is
// open, or a new one with the sheet that the assignment will have.
func (s *Server) orientation(ctx context.Context, who face.Person, assignment string) (store.Attempt, error) {
	rows, err := s.ownOrientations(ctx, who)
	if err != nil {
		return store.Attempt{}, err
	}
	row := store.NewAttempt{Person: who.ID, Purpose: forOrientation}
	if assignment != "" {
		a, _, err := s.assigned(ctx, who, assignment)
		if err != nil {
			return store.Attempt{}, err
		}
		row.Cue, row.Places = a.Cue, a.Places
	}
	for _, l := range rows {
		if l.State != store.StateOpen {
			continue
		}
		open, err := s.store.Attempt(ctx, l.ID)
		if err != nil || open.Cue == row.Cue && open.Places == row.Places {
			return open, err
		}
	}
	k, err := s.orientationCase(ctx, who)
	if err != nil {
		return store.Attempt{}, err
	}
	return s.drawBy(ctx, row, k, s.shelf.Load().current(defaultTrack), cases.NewSeed())
}

// ownOrientations are a person's own, the newest first.
func (s *Server) ownOrientations(ctx context.Context, who face.Person) ([]store.Listed, error) {
	rows, err := s.store.Attempts(ctx, store.Filter{Person: who.ID, Purpose: forOrientation, Limit: 20})
	if err != nil {
		return nil, missing("orientation", err)
	}
	return rows, nil
}

// orientationCase is who is met for orientation: the plainest of the practice
// patients, a dog where there is one, and none that is in a sitting to come.
func (s *Server) orientationCase(ctx context.Context, who face.Person) (*cases.Case, error) {
	all, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(k *cases.Case) bool { return k.Use != practice || k.Fragile != "" })
	if len(all) == 0 {
		return nil, &Fault{Kind: ErrNotNow, Text: "No patient is free for orientation: all are in sittings. Ask your instructor."}
	}
	rank := func(k *cases.Case) int {
		n := k.Difficulty
		if len(k.Conclusions.Problems) > 0 {
			n += 10
		}
		if k.Species != "dog" {
			n += 100
		}
		return n
	}
	return slices.MinFunc(all, func(a, b *cases.Case) int { return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.ID, b.ID)) }), nil
}

package server

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

func points(n int64) rubric.Points { return rubric.Points(n) }

// releaseAsk is to whom debriefs are to be released. Although says that it is
// known that others have still to meet these patients.
type releaseAsk struct {
	turn     string // empty: everybody
	although bool
}

// release lets students of a sitting read their debriefs: everybody of whom
// nothing waits for a person, or one.
func (s *Server) release(ctx context.Context, who face.Person, id string, f releaseAsk) (face.Released, error) {
	a, c, all, err := s.releasable(ctx, who, id)
	if err != nil {
		return face.Released{}, err
	}
	sits := stillToSit(all, f.turn)
	if len(sits) > 0 && !f.although {
		return face.Released{}, &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("Nothing was released: %s can still sit and would learn from the others what to find. Wait until they are through, or say that you release all the same.", nameSome(sits))}
	}
	out, turns := chooseReleased(who, all, f.turn)
	if f.turn != "" && len(turns) == 0 {
		if len(out.LeftOut) == 0 {
			return out, ErrMissing
		}
		return out, &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("Not released: %s. %s", out.LeftOut[0].Person.Name, sentence(out.LeftOut[0].Why))}
	}
	out.Whole = f.turn == "" && len(out.LeftOut) == 0 && len(sits) == 0
	r := store.Release{Assignment: a.ID, Turns: turns, Whole: out.Whole}
	note := store.Note{By: who.ID, Deed: deedRelease, Cohort: c.ID, Detail: fmt.Sprintf("%d turns, %d left out", len(turns), len(out.LeftOut))}
	if len(sits) > 0 {
		note.Detail += fmt.Sprintf(", although %d can still sit", len(sits))
	}
	if err := s.store.Release(ctx, r, note); err != nil {
		return out, fmt.Errorf("release: %w", err)
	}
	s.turns.forget()
	return out, nil
}

// releasable is a sitting with all its turns.
func (s *Server) releasable(ctx context.Context, who face.Person, id string) (store.Assignment, store.Cohort, []markedTurn, error) {
	a, c, err := s.toMark(ctx, who, id)
	if err != nil {
		return a, c, nil, err
	}
	if exam.Kind(a.Kind) != exam.Sitting {
		return a, c, nil, &Fault{Kind: ErrNotNow, Text: "A practice is debriefed as soon as it is marked; there is nothing to release."}
	}
	all, err := s.markedTurns(ctx, a)
	return a, c, all, err
}

// chooseReleased divides turns into those that can be released and those that
// are left out, with the reason. Nobody releases to oneself.
func chooseReleased(who face.Person, all []markedTurn, turn string) (face.Released, []string) {
	out, turns := face.Released{LeftOut: []face.LeftOut{}}, []string{}
	for _, m := range all {
		if m.turn == nil || turn != "" && m.turn.row.ID != turn {
			continue
		}
		why := m.whyNot()
		if m.person.ID == who.ID {
			why = "somebody else releases your own"
		}
		if why != "" {
			out.LeftOut = append(out.LeftOut, face.LeftOut{Person: facePerson(m.person), Try: m.turn.row.Try, Why: why})
			continue
		}
		out.Released++
		turns = append(turns, m.turn.row.ID)
	}
	return out, turns
}

// stillToSit are the students who can still act or begin, apart from one turn.
func stillToSit(all []markedTurn, but string) (names []string) {
	for _, m := range all {
		if m.sits && (m.turn == nil || m.turn.row.ID != but) || m.again {
			names = append(names, m.person.Name)
		}
	}
	return slices.Compact(names)
}

// nameSome names a few people and counts the others.
func nameSome(names []string) string {
	const most = 5
	if n := len(names); n > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d others", n-most)
	}
	return strings.Join(names, ", ")
}

// takeBack takes a release back: of one turn, or of all where none is named.
func (s *Server) takeBack(ctx context.Context, who face.Person, id, turn, reason string) error {
	a, c, err := s.toMark(ctx, who, id)
	if err != nil {
		return err
	}
	if reason, err = whyMarked(reason); err != nil {
		return err
	}
	if turn != "" {
		if err := s.turnAt(ctx, who, a, turn); err != nil {
			return err
		}
	}
	err = s.store.TakeBack(ctx, a.ID, turn, store.Note{By: who.ID, Deed: deedTakeBack, Cohort: c.ID, Reason: reason})
	s.turns.forget()
	if err != nil {
		return nothingReleased(err)
	}
	return nil
}

func nothingReleased(err error) error {
	if row, _ := tell(missing("take back", err)); row.kind == ErrMissing {
		return &Fault{Kind: ErrNotNow, Text: "This was not released.", Cause: err}
	}
	return err
}

// turnAt checks that a turn is one at an assignment, and not one's own.
func (s *Server) turnAt(ctx context.Context, who face.Person, a store.Assignment, id string) error {
	t, err := s.store.Turn(ctx, id)
	if err != nil {
		return missing("turn", err)
	}
	if t.Assignment != a.ID || t.Person == who.ID {
		return ErrMissing
	}
	return nil
}

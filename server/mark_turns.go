package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// excuse says that a turn does not count, or, where again says so, that it does.
func (s *Server) excuse(ctx context.Context, who face.Person, id, turn, reason string, again bool) error {
	a, c, err := s.toMark(ctx, who, id)
	if err != nil {
		return err
	}
	if reason, err = whyMarked(reason); err != nil {
		return err
	}
	if err := s.turnAt(ctx, who, a, turn); err != nil {
		return err
	}
	note, value := store.Note{By: who.ID, Deed: deedExcuse, Cohort: c.ID, Reason: reason}, reason
	if again {
		note.Deed, value = deedCount, ""
	}
	if err := s.store.ChangeTurn(ctx, turn, "excused", value, note); err != nil {
		return fmt.Errorf("%s: %w", note.Deed, err)
	}
	s.turns.forget()
	return nil
}

// resitAsk is one more try as it is asked for. Times are typed in the school's zone.
type resitAsk struct {
	person, opens, closes, reason string
}

// longestResit is how long the window of a resit may be: our own figure.
const longestResit = 31 * 24 * time.Hour

// grantResit lets a student begin one more try, with other patients, in a window
// of its own.
func (s *Server) grantResit(ctx context.Context, who face.Person, id string, f resitAsk) error {
	a, c, err := s.toMark(ctx, who, id)
	if err != nil {
		return err
	}
	r, err := s.resit(ctx, who, a, f)
	if err != nil {
		return err
	}
	err = s.store.GrantResit(ctx, r, store.Note{Deed: deedResit, Cohort: c.ID})
	if errors.Is(err, store.ErrDuplicate) {
		return &Fault{Kind: ErrNotNow, Text: "This student has a further try already that was not begun.", Cause: err}
	}
	s.turns.forget()
	return err
}

func (s *Server) resit(ctx context.Context, who face.Person, a store.Assignment, f resitAsk) (r store.Resit, err error) {
	if f.person == who.ID {
		return r, ErrMissing
	}
	if _, err := s.studentOf(ctx, f.person, a.Cohort); err != nil {
		return r, err
	}
	if a.State != store.AssignmentSet {
		return r, &Fault{Kind: ErrNotNow, Text: "This assignment is not set; nobody can begin it."}
	}
	rows, err := s.store.TurnsOf(ctx, a.ID, f.person)
	if err != nil {
		return r, fmt.Errorf("resit: %w", err)
	}
	r = store.Resit{Assignment: a.ID, Person: f.person, Try: len(rows) + 1, By: who.ID}
	wrong := &Fault{Kind: ErrInvalid}
	field := func(pointer string, err error) {
		var fault *Fault
		switch {
		case errors.As(err, &fault):
			wrong.Fields = append(wrong.Fields, fault.Fields...)
		case err != nil:
			wrong.Fields = append(wrong.Fields, FieldProblem{pointer, sentence(strings.TrimPrefix(err.Error(), "exam: "))})
		}
	}
	r.Opens, err = exam.Local(f.opens, s.zone(), nil)
	field("/opens", err)
	r.Closes, err = exam.Local(f.closes, s.zone(), nil)
	field("/closes", err)
	r.Reason, err = whyMarked(f.reason)
	field("/reason", err)
	if len(wrong.Fields) == 0 && (!r.Closes.After(r.Opens) || r.Closes.Sub(r.Opens) > longestResit || !r.Closes.After(s.now())) {
		field("/closes", errors.New("it closes after it opens, in the future, and is open for at most 31 days"))
	}
	if len(wrong.Fields) > 0 {
		return r, wrong
	}
	return r, nil
}

// resitOf is the further try that a student has with this number; false: none.
func (s *Server) resitOf(ctx context.Context, assignment, person string, try int) (r store.Resit, ok bool, err error) {
	all, err := s.store.Resits(ctx, assignment, person)
	if err != nil {
		return r, false, fmt.Errorf("resit: %w", err)
	}
	for _, r := range all {
		if r.Try == try {
			return r, true, nil
		}
	}
	return r, false, nil
}

// terms are the times of a further try: the plan's in a window of its own.
func resitTerms(a store.Assignment, r store.Resit, more exam.Accommodation) exam.Terms {
	plan := planOf(a)
	plan.Opens, plan.Closes = r.Opens, r.Closes
	return plan.For(more)
}

// resitDeeds are the deeds of an assignment's clock that are about a further try:
// what was done to everybody's before it was granted was about the sitting.
func resitDeeds(all []store.ClockDeed, r store.Resit) (out []store.ClockDeed) {
	for _, d := range all {
		if d.Turn != "" || !d.At.Before(r.At) {
			out = append(out, d)
		}
	}
	return out
}

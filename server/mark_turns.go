package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
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

// timesOf are an assignment and the deeds of its clock as one try of a student has
// them. A further try that was granted has a window of its own, and what was done
// to everybody's clock before it was granted was about the sitting.
func timesOf(a store.Assignment, deeds []store.ClockDeed, resits []store.Resit, person string, try int) (store.Assignment, []store.ClockDeed, bool) {
	i := slices.IndexFunc(resits, func(r store.Resit) bool { return r.Person == person && r.Try == try })
	if i < 0 {
		return a, deeds, false
	}
	r := resits[i]
	a.Opens, a.Closes = r.Opens, r.Closes
	var since []store.ClockDeed
	for _, d := range deeds {
		if d.Turn != "" || !d.At.Before(r.At) {
			since = append(since, d)
		}
	}
	return a, since, true
}

func (s *Server) timesOf(ctx context.Context, a store.Assignment, person string, try int) (store.Assignment, []store.ClockDeed, bool, error) {
	deeds, err := s.store.ClockDeeds(ctx, a.ID)
	if err != nil {
		return a, nil, false, fmt.Errorf("times: %w", err)
	}
	resits, err := s.store.Resits(ctx, a.ID, person)
	if err != nil {
		return a, nil, false, fmt.Errorf("times: %w", err)
	}
	tried, since, granted := timesOf(a, deeds, resits, person, try)
	return tried, since, granted, nil
}

// mostDraws is how often seeds are drawn again for a student who would meet the
// same patient again.
const mostDraws = 20

// earlierPlans are the patients of a student's earlier tries.
func (s *Server) earlierPlans(ctx context.Context, a store.Assignment, person string) (out []planned, err error) {
	rows, err := s.store.TurnsOf(ctx, a.ID, person)
	if err != nil {
		return nil, fmt.Errorf("draw: %w", err)
	}
	for _, row := range rows {
		var plan []planned
		if err := json.Unmarshal(row.Plan, &plan); err != nil {
			return nil, fmt.Errorf("draw: a plan that cannot be read") // the text of the error could tell what is in it
		}
		out = append(out, plan...)
	}
	return out, nil
}

// meetsAgain reports whether a plan has a patient, case and draw, of an earlier one.
func meetsAgain(plan, earlier []planned) bool {
	return slices.ContainsFunc(plan, func(p planned) bool {
		return slices.ContainsFunc(earlier, func(e planned) bool { return e.Case == p.Case && bytes.Equal(e.Seed, p.Seed) })
	})
}

// unmet leaves out of the pools of a sitting the cases that a student met in
// earlier tries, where others are left.
func unmet(a store.Assignment, slots [][]string, earlier []planned) [][]string {
	if exam.Kind(a.Kind) != exam.Sitting || len(earlier) == 0 {
		return slots
	}
	out := make([][]string, len(slots))
	for i, ids := range slots {
		out[i] = slices.DeleteFunc(slices.Clone(ids), func(id string) bool {
			return slices.ContainsFunc(earlier, func(e planned) bool { return e.Case == id })
		})
		if len(out[i]) == 0 {
			out[i] = ids
		}
	}
	return out
}

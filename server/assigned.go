package server

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"slices"

	"dewclaw/cases"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// studentOf is a person's cohort by id where the person is one of its students.
func (s *Server) studentOf(ctx context.Context, person, cohort string) (store.Cohort, error) {
	mine, err := s.store.MemberOf(ctx, person)
	if err != nil {
		return store.Cohort{}, fmt.Errorf("student of: %w", err)
	}
	if !slices.ContainsFunc(mine, func(m store.Member) bool { return m.Cohort == cohort && m.Role == "student" }) {
		return store.Cohort{}, ErrMissing
	}
	c, err := s.store.Cohort(ctx, cohort)
	if err != nil {
		return store.Cohort{}, missing("cohort", err)
	}
	return c, nil
}

// assigned is an assignment that was set for a person. One of another cohort, a
// draft and one that is withdrawn are as absent as none.
func (s *Server) assigned(ctx context.Context, who face.Person, id string) (store.Assignment, store.Cohort, error) {
	a, err := s.store.Assignment(ctx, id)
	if err != nil {
		return a, store.Cohort{}, missing("assignment", err)
	}
	c, err := s.studentOf(ctx, who.ID, a.Cohort)
	if err != nil {
		return a, c, err
	}
	if a.State != store.AssignmentSet {
		return a, c, ErrMissing
	}
	return a, c, nil
}

// assignments are those that are set for a person, in the order in which they open.
func (s *Server) assignments(ctx context.Context, who face.Person, session string) ([]face.Assignment, error) {
	mine, err := s.store.MemberOf(ctx, who.ID)
	if err != nil {
		return nil, fmt.Errorf("assignments: %w", err)
	}
	var ids []string
	for _, m := range mine {
		if m.Role == "student" {
			ids = append(ids, m.Cohort)
		}
	}
	all, err := s.store.Assignments(ctx, ids...)
	if err != nil {
		return nil, fmt.Errorf("assignments: %w", err)
	}
	out := []face.Assignment{}
	for _, a := range all {
		if a.State != store.AssignmentSet {
			continue
		}
		c, err := s.store.Cohort(ctx, a.Cohort)
		if err != nil {
			return nil, missing("assignments", err)
		}
		f, err := s.faceAssignment(ctx, who, a, c, session)
		if err != nil {
			return nil, err
		}
		out = append(out, f)
	}
	return out, nil
}

// faceAssignment is an assignment as one student sees it.
func (s *Server) faceAssignment(ctx context.Context, who face.Person, a store.Assignment, c store.Cohort, session string) (face.Assignment, error) {
	more, err := s.beyond(ctx, a.Cohort, who.ID)
	if err != nil {
		return face.Assignment{}, err
	}
	rows, err := s.store.TurnsOf(ctx, a.ID, who.ID)
	if err != nil {
		return face.Assignment{}, fmt.Errorf("assignment: %w", err)
	}
	tried, deeds, granted, err := s.timesOf(ctx, a, who.ID, len(rows)+1)
	if err != nil {
		return face.Assignment{}, fmt.Errorf("assignment: %w", err)
	}
	terms, now := planOf(tried).For(more), s.now()
	before := terms.At(now, deedsOf(deeds, "", who.ID))
	out := face.Assignment{ID: a.ID, Cohort: face.Cohort{ID: c.ID, Name: c.Name, Role: "student", Archived: !c.Archived.IsZero()}, Title: a.Title, Kind: a.Kind, Track: a.Track,
		Opens: terms.Opens, Closes: terms.Closes, Minutes: int(terms.Limit.Minutes()), Now: now.UTC(),
		Extra: more.Extra, Later: int(more.Later.Minutes()), Pauses: int(terms.Pauses.Minutes()), Cue: a.Cue, Places: a.Places,
		Patients: len(a.Slots), Tries: a.Tries, Turns: []face.Turn{}}
	out.Phase = string(before.Phase)
	for _, row := range rows {
		t, err := s.turnFrom(ctx, a, row)
		if err != nil {
			return out, err
		}
		f, err := s.faceTurn(ctx, t, session)
		if err != nil {
			return out, err
		}
		out.Turns = append(out.Turns, f)
		if out.Phase = f.Phase; f.Phase != string(exam.Over) {
			out.Opens, out.Closes = t.terms.Opens, t.terms.Closes
		}
	}
	if out.Phase == string(exam.Over) && (granted || a.Tries == 0 || len(rows) < a.Tries) {
		out.Phase = string(before.Phase) // another try
	}
	return out, nil
}

// faceTurn is one's own turn.
func (s *Server) faceTurn(ctx context.Context, t *turn, session string) (face.Turn, error) {
	visits, err := s.store.VisitsOf(ctx, t.row.ID)
	if err != nil {
		return face.Turn{}, fmt.Errorf("turn: %w", err)
	}
	c := t.clock(s.now())
	out := face.Turn{ID: t.row.ID, Try: t.row.Try, Phase: string(c.Phase), Ends: c.Ends, Left: int(c.Left.Seconds()), Here: t.row.Holder == s.holder(session),
		Patients: len(t.plan), Visits: []face.TurnVisit{}, Excused: t.row.Excused != "", Pausable: int(c.PauseLeft.Seconds()), ByTime: c.ByTime}
	open := false
	for _, v := range visits {
		name := ""
		if k := s.library.Case(v.Case); k != nil {
			name = s.facePatient(k).Name
		}
		out.Visits = append(out.Visits, face.TurnVisit{Attempt: v.ID, Patient: name, State: v.State})
		if v.State == store.StateOpen {
			open = true
		} else {
			out.Done++
		}
	}
	out.Released = exam.Kind(t.assignment.Kind) == exam.Practice || t.released()
	out.Next = c.Phase == exam.Running && !open && len(visits) < len(t.plan)
	if c.Phase == exam.Running && len(visits) == len(t.plan) && !open {
		out.Phase = string(exam.Over) // every patient was seen
	}
	return out, nil
}

// beginTurn makes a student's next turn at an assignment and begins its clock. One
// that runs is gone back to: its clock does not begin anew.
func (s *Server) beginTurn(ctx context.Context, who face.Person, id, session string) (*turn, error) {
	a, c, err := s.assigned(ctx, who, id)
	if err != nil {
		return nil, err
	}
	rows, err := s.store.TurnsOf(ctx, a.ID, who.ID)
	if err != nil {
		return nil, fmt.Errorf("begin: %w", err)
	}
	if n := len(rows); n > 0 {
		t, err := s.turnFrom(ctx, a, rows[n-1])
		if err != nil {
			return nil, err
		}
		f, err := s.faceTurn(ctx, t, session)
		if err != nil || f.Phase != string(exam.Over) {
			return t, err
		}
		_, _, granted, err := s.timesOf(ctx, a, who.ID, n+1)
		if err != nil {
			return nil, err
		}
		if a.Tries > 0 && n >= a.Tries && !granted {
			return nil, &Fault{Kind: ErrNotNow, Text: "You have had every try that this assignment gives."}
		}
	}
	if err := s.mayBegin(ctx, a, who.ID, len(rows)+1); err != nil {
		return nil, err
	}
	if err := s.hasRoom(); err != nil {
		return nil, err
	}
	plan, err := s.drawPlan(ctx, a, who.ID)
	if err != nil {
		return nil, err
	}
	row, err := s.store.BeginTurn(ctx, store.Turn{Assignment: a.ID, Person: who.ID, Try: len(rows) + 1, Plan: plan, Holder: s.holder(session)}, c.ID)
	if errors.Is(err, store.ErrDuplicate) { // another tab was faster
		return s.beginTurn(ctx, who, id, session)
	}
	if err != nil {
		return nil, fmt.Errorf("begin: %w", err)
	}
	s.sessions.forget(session) // the next request makes it live as long as this turn
	return s.turnFrom(ctx, a, row)
}

// mayBegin says whether a try of an assignment is open to be begun by a student.
func (s *Server) mayBegin(ctx context.Context, a store.Assignment, person string, try int) error {
	more, err := s.beyond(ctx, a.Cohort, person)
	if err != nil {
		return err
	}
	tried, deeds, _, err := s.timesOf(ctx, a, person, try)
	if err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	switch planOf(tried).For(more).At(s.now(), deedsOf(deeds, "", person)).Phase {
	case exam.Open:
		return nil
	case exam.Early:
		return &Fault{Kind: ErrNotNow, Text: "This is not open yet. The page of the assignment says when it opens, by the server's clock."}
	}
	return &Fault{Kind: ErrNotNow, Text: "This has closed. Speak to your instructor if you should have had it."}
}

// drawPlan draws which patients a student meets, in which order, and the patient
// of each: from the draws that were measured to be equally hard, where they were.
func (s *Server) drawPlan(ctx context.Context, a store.Assignment, person string) (store.Hidden, error) {
	earlier, err := s.earlierPlans(ctx, a, person)
	if err != nil {
		return nil, err
	}
	plan, err := s.drawCases(ctx, a, person, earlier)
	if err != nil {
		return nil, err
	}
	if a.Shuffled {
		for i := len(plan) - 1; i > 0; i-- {
			j := below(i + 1)
			plan[i], plan[j] = plan[j], plan[i]
		}
	}
	for range mostDraws { // nobody meets the same patient of a case again
		if err := s.drawSeeds(ctx, a, plan); err != nil {
			return nil, err
		}
		if !meetsAgain(plan, earlier) {
			break
		}
	}
	packed, err := json.Marshal(plan)
	if err != nil {
		return nil, fmt.Errorf("plan: cannot be written")
	}
	return packed, nil
}

// below is a random number under n, from the system's source.
func below(n int) int {
	v, err := rand.Int(rand.Reader, big.NewInt(int64(n)))
	if err != nil {
		panic(err) // the system has no randomness; nothing can be drawn fairly
	}
	return int(v.Int64())
}

// nextPatient begins the next patient of a turn: one at a time, and none is gone
// back to.
func (s *Server) nextPatient(ctx context.Context, who face.Person, id, session string) (store.Attempt, error) {
	t, err := s.ownTurn(ctx, who, id)
	if err != nil {
		return store.Attempt{}, err
	}
	visits, err := s.store.VisitsOf(ctx, t.row.ID)
	if err != nil {
		return store.Attempt{}, fmt.Errorf("next patient: %w", err)
	}
	for _, v := range visits {
		if v.State == store.StateOpen {
			return v, nil // it waits to be gone on with
		}
	}
	if err := s.inTime(ctx, store.Attempt{Turn: t.row.ID}, session); err != nil {
		return store.Attempt{}, err
	}
	if len(visits) >= len(t.plan) {
		return store.Attempt{}, &Fault{Kind: ErrNotNow, Text: "You have seen every patient of this assignment."}
	}
	next := t.plan[len(visits)]
	if err := s.keptBack(ctx, t.assignment, who.ID, next.Case); err != nil {
		return store.Attempt{}, err
	}
	k := s.library.Case(next.Case)
	if k == nil {
		return store.Attempt{}, fmt.Errorf("next patient: a case of assignment %s is no longer in the library", t.assignment.ID)
	}
	seed, err := cases.DecodeSeed(next.Seed)
	if err != nil {
		return store.Attempt{}, fmt.Errorf("next patient: a draw that cannot be read")
	}
	row := store.NewAttempt{Person: who.ID, Turn: t.row.ID, Slot: len(visits), Cue: t.assignment.Cue, Places: t.assignment.Places}
	if exam.Kind(t.assignment.Kind) == exam.Sitting {
		row.Purpose = forSitting
	}
	scheme, err := s.schemeOf(ctx, t.assignment)
	if err != nil {
		return store.Attempt{}, err
	}
	begun, err := s.drawBy(ctx, row, k, scheme, seed)
	if errors.Is(err, store.ErrDuplicate) { // pressed twice, or in two tabs
		return s.nextPatient(ctx, who, id, session)
	}
	return begun, err
}

// keptBack refuses a patient of a practice that is kept from the student, because
// it stands in a sitting that was set after the practice was begun.
func (s *Server) keptBack(ctx context.Context, a store.Assignment, person, id string) error {
	if exam.Kind(a.Kind) != exam.Practice {
		return nil
	}
	sealed, err := s.sealedFrom(ctx, person)
	if err == nil && sealed[id] {
		err = &Fault{Kind: ErrNotNow, Text: "The next patient of this practice is kept back for now. Come back later."}
	}
	return err
}

// schemeOf is what an assignment is marked by: the version that it was set with,
// else the one in force.
func (s *Server) schemeOf(ctx context.Context, a store.Assignment) (*shelved, error) {
	if a.RubricHash != "" {
		return s.keptRubric(ctx, a.RubricHash)
	}
	if scheme := s.shelf.Load().current(a.Track); scheme != nil {
		return scheme, nil
	}
	return nil, fmt.Errorf("assignment %s: there is no rubric of its name any more", a.ID)
}

// ownTurn is a turn of the person's own; another's is absent.
func (s *Server) ownTurn(ctx context.Context, who face.Person, id string) (*turn, error) {
	t, err := s.turn(ctx, id)
	if err != nil {
		return nil, err
	}
	if t.row.Person != who.ID {
		return nil, ErrMissing
	}
	return t, nil
}

// takeOver puts this session into the room of one's own turn; the one that was
// there is told at its next act.
func (s *Server) takeOver(ctx context.Context, who face.Person, id, session string) error {
	if _, err := s.ownTurn(ctx, who, id); err != nil {
		return err
	}
	if err := s.store.Hold(ctx, id, s.holder(session)); err != nil {
		return fmt.Errorf("take over: %w", err)
	}
	s.turns.forget()
	return nil
}

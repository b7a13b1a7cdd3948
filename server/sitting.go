package server

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// fullCue is the sheet that shows its lines before one writes.
const fullCue = "full"

// clockOf is how one's own turn stands, and the sign of life of the browser that
// asks: what the invigilator sees of the connection.
func (s *Server) clockOf(ctx context.Context, who face.Person, id, session string) (face.Clock, error) {
	t, err := s.ownTurn(ctx, who, id)
	if err != nil {
		return face.Clock{}, err
	}
	if err := s.store.SeeTurn(ctx, id, s.holder(session)); err != nil {
		return face.Clock{}, fmt.Errorf("clock: %w", err)
	}
	f, err := s.faceTurn(ctx, t, session)
	if err != nil {
		return face.Clock{}, err
	}
	c := t.clock(s.now())
	out := face.Clock{Turn: id, Phase: f.Phase, Ends: c.Ends, Left: int(c.Left.Milliseconds()), Here: f.Here, Own: c.Own,
		Pausable: f.Pausable, ByTime: c.ByTime, Done: f.Done, Patients: f.Patients}
	if i := slices.IndexFunc(f.Visits, func(v face.TurnVisit) bool { return v.State == store.StateOpen }); i >= 0 {
		out.Visit = f.Visits[i].Attempt
	}
	if f.Phase == string(exam.Over) {
		out.Left = 0
	}
	return out, nil
}

// stands reports whether the clock of a visit's turn stands still.
func (s *Server) stands(ctx context.Context, row store.Attempt) bool {
	if row.Turn == "" {
		return false
	}
	t, err := s.turn(ctx, row.Turn)
	return err == nil && t.clock(s.now()).Phase == exam.Paused
}

// finishTurn hands in one's own turn: the patient who is open, as far as charted,
// and all that were not begun. What is over already stays as it is.
func (s *Server) finishTurn(ctx context.Context, who face.Person, id, session string) error {
	t, err := s.ownTurn(ctx, who, id)
	if err != nil {
		return err
	}
	if t.clock(s.now()).Phase == exam.Over {
		return nil
	}
	if t.row.Holder != s.holder(session) {
		return &Fault{Kind: ErrElsewhere}
	}
	if err := s.moveOwn(ctx, t, exam.Finish, "hand in"); err != nil {
		return err
	}
	return s.closeTurn(ctx, id)
}

// closeTurn ends the visits of a turn whose clock has ended.
func (s *Server) closeTurn(ctx context.Context, id string) error {
	visits, err := s.store.VisitsOf(ctx, id)
	if err != nil {
		return fmt.Errorf("close turn: %w", err)
	}
	for _, v := range visits {
		if v.State == store.StateOpen {
			if err := s.closeForTime(ctx, v); err != nil {
				return err
			}
		}
	}
	return nil
}

// pauseOwn stops one's own clock where pauses were granted and some of them is left.
func (s *Server) pauseOwn(ctx context.Context, who face.Person, id, session string) error {
	t, err := s.ownTurn(ctx, who, id)
	if err != nil {
		return err
	}
	if err := s.inTime(ctx, store.Attempt{Turn: id}, session); err != nil {
		return err
	}
	if t.clock(s.now()).PauseLeft <= 0 {
		return &Fault{Kind: ErrNotNow, Text: "No pause of your own is left. Speak to the invigilator if you need one."}
	}
	return s.moveOwn(ctx, t, exam.Pause, "own pause")
}

// resumeOwn goes on after one's own pause. What an invigilator has paused only an
// invigilator resumes.
func (s *Server) resumeOwn(ctx context.Context, who face.Person, id, session string) error {
	t, err := s.ownTurn(ctx, who, id)
	if err != nil {
		return err
	}
	switch c := t.clock(s.now()); {
	case c.Phase != exam.Paused:
		return nil
	case !c.Own:
		return &Fault{Kind: ErrNotNow, Text: "The invigilator has paused this sitting. It goes on when the invigilator resumes it."}
	case t.row.Holder != s.holder(session):
		return &Fault{Kind: ErrElsewhere}
	}
	return s.moveOwn(ctx, t, exam.Resume, "end of own pause")
}

// moveOwn is a deed of the student's on the own clock.
func (s *Server) moveOwn(ctx context.Context, t *turn, kind exam.DeedKind, word string) error {
	d := store.ClockDeed{Assignment: t.row.Assignment, Turn: t.row.ID, Kind: string(kind), Own: true, By: t.row.Person}
	if err := s.store.MoveClock(ctx, d, store.Note{Deed: word, Cohort: t.assignment.Cohort}); err != nil {
		return fmt.Errorf("%s: %w", word, err)
	}
	s.turns.forget()
	return nil
}

// startAsked begins a visit as a program asks for it: to a patient for practice,
// or to the next patient of an assignment.
func (s *Server) startAsked(ctx context.Context, v visitor, f attemptForm) (face.Attempt, error) {
	if f.Assignment == "" {
		return s.start(ctx, v.person, f.Case, f.Track)
	}
	if cmp.Or(f.Case, f.Track) != "" {
		return face.Attempt{}, invalid("/assignment", "an assignment says itself which patient comes and how it is marked; leave case and track out")
	}
	t, err := s.beginTurn(ctx, v.person, f.Assignment, v.session)
	if err != nil {
		return face.Attempt{}, err
	}
	row, err := s.nextPatient(ctx, v.person, t.row.ID, v.session)
	if err != nil {
		return face.Attempt{}, err
	}
	return s.attempt(ctx, v.person, row.ID)
}

// turnDeed is something that a student does to the own turn.
type turnDeed func(s *Server, ctx context.Context, who face.Person, id, session string) error

// turnDeeds are what a student can do to the own turn, by the last part of the path.
var turnDeeds = map[string]turnDeed{
	"here":   (*Server).takeOver,
	"pause":  (*Server).pauseOwn,
	"resume": (*Server).resumeOwn,
	"finish": (*Server).finishTurn,
	"next": func(s *Server, ctx context.Context, who face.Person, id, session string) error {
		_, err := s.nextPatient(ctx, who, id, session)
		return err
	},
}

// inSeconds is a duration in whole seconds, rounded up, so that a second is left until none is.
func inSeconds(d time.Duration) int { return int((d + time.Second - 1) / time.Second) }

// gone reports whether a visit of a sitting is handed in, so that nothing of it is
// told to its student any more.
func (s *Server) gone(ctx context.Context, row store.Attempt) (bool, error) {
	if row.Purpose != forSitting {
		return false, nil
	}
	now, err := s.store.Attempt(ctx, row.ID)
	if err != nil {
		return false, missing("attempt", err)
	}
	return now.State != store.StateOpen, nil
}

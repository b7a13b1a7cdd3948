package server

import (
	"errors"
	"fmt"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// turnPage is one's own turn: its clock, its patients, and the way on.
type turnPage struct {
	Base
	T                       face.Turn
	Assignment, Name        string
	Sitting                 bool
	Running, Paused, Over   bool
	Own                     bool // paused by oneself
	Left, Ends, PauseLeft   string
	Patients                []turnRow
	Open, OpenName          string
	HandIn, Again, Released bool
	What                    string // what happens next, once it is over
}

// turnRow is one patient of a turn.
type turnRow struct {
	N, Name, State, Link string
	Done                 string // id of a visit that is handed in
}

// handInPage asks once more before all is handed in.
type handInPage struct {
	Base
	ID, Left   string
	Open       string // name of the patient who is open
	Unbegun    int
	Done, Many int
}

func (s *Server) showTurn(c *gin.Context) error {
	ctx, v := c.Request.Context(), who(c)
	t, err := s.ownTurn(ctx, v.person, c.Param("id"))
	if err != nil {
		return err
	}
	if t.clock(s.now()).Phase == exam.Over {
		if err := s.closeTurn(ctx, t.row.ID); err != nil {
			return err
		}
	}
	f, err := s.faceTurn(ctx, t, v.session)
	if err != nil {
		return err
	}
	p := s.turnPageOf(t.assignment, f)
	p.Own = t.clock(s.now()).Own
	for i, visit := range f.Visits {
		row := turnRow{N: fmt.Sprint(i + 1), Name: visit.Patient, State: stateOfTurn(visit.State)}
		if visit.State == store.StateOpen {
			p.Open, p.OpenName = visit.Attempt, visit.Patient
		} else {
			row.Done = visit.Attempt
			if row.Link, err = s.turnLink(c, visit); err != nil {
				return err
			}
		}
		p.Patients = append(p.Patients, row)
	}
	return s.page(c, "turn", p)
}

// turnLink is where the debrief of a patient stands, where it may be read.
func (s *Server) turnLink(c *gin.Context, v face.TurnVisit) (string, error) {
	row, err := s.store.Attempt(c.Request.Context(), v.Attempt)
	if err != nil {
		return "", fmt.Errorf("turn: %w", err)
	}
	if shown, err := s.shown(c.Request.Context(), person(c), row); err != nil || !shown {
		return "", err
	}
	return "/visits/" + row.ID + "/debrief", nil
}

func (s *Server) turnPageOf(a store.Assignment, f face.Turn) *turnPage {
	p := &turnPage{Base: Base{Title: a.Title}, T: f, Assignment: a.ID, Name: a.Title, Sitting: exam.Kind(a.Kind) == exam.Sitting, Released: f.Released}
	p.Running, p.Paused, p.Over = f.Phase == string(exam.Running), f.Phase == string(exam.Paused), f.Phase == string(exam.Over)
	p.Left = leftWords(time.Duration(f.Left) * time.Second)
	p.Ends = f.Ends.In(s.zone()).Format("15:04")
	if f.Ends.Sub(s.now()) > 12*time.Hour {
		p.Ends = s.moment(f.Ends)
	}
	if f.Pausable > 0 {
		p.PauseLeft = leftWords(time.Duration(f.Pausable) * time.Second)
	}
	p.HandIn = p.Running && f.Here
	p.What = afterwards(p)
	p.Again = p.Over && a.Tries != 1 && a.Tries != f.Try && !p.Sitting
	return p
}

// afterwards says what happens once a turn is over.
func afterwards(p *turnPage) string {
	text := "You have handed in every patient."
	switch {
	case p.T.ByTime && p.T.Done < p.T.Patients:
		text = fmt.Sprintf("The time has ended. %d of %s were begun; what you had examined and charted by then is marked.", len(p.T.Visits), count(p.T.Patients, "patient"))
	case p.T.ByTime:
		text = "The time has ended. What you had examined and charted by then is marked."
	case p.T.Done < p.T.Patients:
		text = "You have handed everything in."
	}
	switch {
	case !p.Sitting:
		return text + " The debriefs stand beside the patients."
	case p.Released:
		return text + " The debriefs are released; those that a person still has to confirm follow."
	}
	return text + " Your instructor releases the debriefs, to everybody or to you; until then neither marks nor patients can be seen. You need not do anything."
}

// doTurn does one of the deeds of a turn and leads on.
func (s *Server) doTurn(c *gin.Context) error {
	ctx, v, id := c.Request.Context(), who(c), c.Param("id")
	deed := turnDeeds[c.Param("deed")]
	if deed == nil {
		return ErrMissing
	}
	err := deed(s, ctx, v.person, id, v.session)
	for _, told := range []error{ErrElsewhere, ErrPaused, ErrOver, ErrNotNow} {
		if errors.Is(err, told) {
			row, _ := tell(err)
			s.notice(c, row.text)
			return s.redirect(c, "/turns/"+id)
		}
	}
	if err != nil {
		return err
	}
	clock, err := s.clockOf(ctx, v.person, id, v.session)
	if err != nil {
		return err
	}
	if c.Param("deed") == "next" && clock.Visit != "" {
		return s.redirect(c, "/visits/"+clock.Visit)
	}
	return s.redirect(c, "/turns/"+id)
}

func (s *Server) showHandIn(c *gin.Context) error {
	ctx, v := c.Request.Context(), who(c)
	t, err := s.ownTurn(ctx, v.person, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.faceTurn(ctx, t, v.session)
	if err != nil {
		return err
	}
	if f.Phase == string(exam.Over) || !f.Here {
		return s.redirect(c, "/turns/"+f.ID)
	}
	p := &handInPage{Base: Base{Title: "Hand everything in"}, ID: f.ID, Left: leftWords(time.Duration(f.Left) * time.Second), Done: f.Done, Many: f.Patients, Unbegun: f.Patients - len(f.Visits)}
	for _, visit := range f.Visits {
		if visit.State == store.StateOpen {
			p.Open = visit.Patient
		}
	}
	return s.page(c, "handin", p)
}

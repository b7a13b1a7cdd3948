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

	"github.com/gin-gonic/gin"
)

// assignmentPage is one assignment for those who set it: what is asked, what
// should be known before it is set, and what can still be done.
type assignmentPage struct {
	Base
	ID, Cohort, CohortName, Kind, State, Edition string
	Zone                                         string
	Facts                                        []factRow
	Slots                                        []slotRow
	Draws                                        []drawRow
	DrawsSaid                                    []string // about all of them together
	Measuring                                    string   // how far it is; empty: not under way
	People                                       peopleSaid
	Begun                                        string // who has begun; empty: nobody
	Seats                                        bool   // there is a seating sheet
	Log                                          []noteRow
	Copies                                       []choiceRow

	Refused, Against, Unevens, Cautions []string

	MaySet, MayChange, MayWithdraw, MayLater, MayDelete bool

	Wrong              string
	Reason, Why, Later string // typed
	LaterTwice         []choiceRow
	Uneven             bool
}

// factRow is one thing that is asked.
type factRow struct{ Label, Text string }

// slotRow is one patient of it: one case, or several of which one is drawn.
type slotRow struct {
	N     int
	How   string
	Cases []slotCase
}

// slotCase is a case in a slot.
type slotCase struct{ Name, About, Title, Met string }

// peopleSaid is who is in the cohort and what some have beyond the others.
type peopleSaid struct {
	Students, Staff string
	Names           []string
	More            []moreRow
}

// moreRow is what one student has beyond the others, reckoned for this assignment.
type moreRow struct{ Name, Limit, Closes, Pauses, Sounds string }

// noteRow is one entry of the log.
type noteRow struct{ At, By, Deed, Detail, Reason string }

func (s *Server) showAssignment(c *gin.Context) error {
	p, err := s.assignmentPage(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.page(c, "assignment", p)
}

func (s *Server) assignmentPage(ctx context.Context, who face.Person, id string) (*assignmentPage, error) {
	a, c, err := s.managed(ctx, who, id)
	if err != nil {
		return nil, err
	}
	st, err := s.standing(ctx, who, a, c)
	if err != nil {
		return nil, err
	}
	p := &assignmentPage{Base: Base{Title: a.Title}, ID: a.ID, Cohort: c.ID, CohortName: c.Name, Kind: kindWords(a.Kind), Edition: editionOf(a), Zone: s.zoneWords(a.Opens)}
	state := s.assignmentState(a)
	p.State = stateWordsOf(a, state)
	p.Facts, p.Slots, p.People = s.factsOf(st), s.slotsOf(st), s.peopleOf(st)
	if err := s.drawsSaid(ctx, p, st); err != nil {
		return nil, err
	}
	begun, err := s.store.Turns(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("assignment: %w", err)
	}
	p.may(a, state, begun)
	if p.MaySet {
		p.Refused, p.Against, p.Unevens = st.refused, st.against, st.uneven
	}
	if p.MaySet || p.MayChange {
		p.Cautions = st.cautions
	}
	if p.Copies, err = s.copyTargets(ctx, who); err != nil {
		return nil, err
	}
	p.Later = a.Closes.In(s.zone()).Format(typedTime)
	return p, s.logOf(ctx, p)
}

// may says what can still be done.
func (p *assignmentPage) may(a store.Assignment, state string, begun []store.Turn) {
	people := map[string]bool{}
	for _, t := range begun {
		people[t.Person] = true
	}
	if n := len(people); n > 0 {
		p.Begun = fmt.Sprintf("%s begun it, so that what is asked may not change any more.", countIs(n, "student has", "students have"))
	}
	p.MaySet = state == stateDraft
	p.Seats = exam.Kind(a.Kind) == exam.Sitting && (a.State == store.AssignmentSet || len(begun) > 0)
	p.MayChange, p.MayDelete = len(begun) == 0, len(begun) == 0
	p.MayWithdraw = a.State == store.AssignmentSet && a.Released.IsZero()
	p.MayLater = a.State == store.AssignmentSet && (exam.Kind(a.Kind) == exam.Practice || a.Released.IsZero())
}

// logOf adds the last entries of the log about it.
func (s *Server) logOf(ctx context.Context, p *assignmentPage) error {
	notes, err := s.store.Notes(ctx, store.NoteFilter{About: "assignment:" + p.ID, Limit: 30})
	if err != nil {
		return fmt.Errorf("assignment: %w", err)
	}
	for _, n := range notes {
		p.Log = append(p.Log, noteRow{At: s.moment(n.At), By: s.nameOf(ctx, n.By), Deed: didWords(n.Deed), Detail: detailWords(n.Detail), Reason: n.Reason})
	}
	return nil
}

// detailWords leaves out what names a row and tells a person nothing.
func detailWords(detail string) string {
	if strings.HasPrefix(detail, "of assignment:") {
		return ""
	}
	return detail
}

func (s *Server) doSetAssignment(c *gin.Context) error {
	f := setForm{Edition: c.PostForm("edition"), Uneven: c.PostForm("uneven") == "yes", Reason: c.PostForm("reason")}
	if err := s.setAssignment(c.Request.Context(), person(c), c.Param("id"), f); err != nil {
		return s.assignmentAgain(c, err, assignmentPage{Reason: f.Reason, Uneven: f.Uneven})
	}
	s.notice(c, "It is set: the students of the cohort see it from now on.")
	return s.redirect(c, "/assignments/"+c.Param("id"))
}

func (s *Server) doWithdrawAssignment(c *gin.Context) error {
	why := c.PostForm("why")
	if err := s.withdrawAssignment(c.Request.Context(), person(c), c.Param("id"), why); err != nil {
		return s.assignmentAgain(c, err, assignmentPage{Why: why})
	}
	s.notice(c, "It is withdrawn: nobody begins it any more.")
	return s.redirect(c, "/assignments/"+c.Param("id"))
}

func (s *Server) doCloseLater(c *gin.Context) error {
	typed := assignmentPage{Why: c.PostForm("why"), Later: c.PostForm("closes")}
	at, twice, err := s.typedMoment(typed.Later, c.PostForm("closes-which"))
	if err != nil {
		typed.LaterTwice = twice
		return s.assignmentAgain(c, invalid("/closes", err.Error()), typed)
	}
	if err := s.closeLater(c.Request.Context(), person(c), c.Param("id"), at, typed.Why); err != nil {
		return s.assignmentAgain(c, err, typed)
	}
	s.notice(c, "It now closes on "+s.moment(at)+".")
	return s.redirect(c, "/assignments/"+c.Param("id"))
}

func (s *Server) doCopyAssignment(c *gin.Context) error {
	a, err := s.copyAssignment(c.Request.Context(), person(c), c.Param("id"), c.PostForm("cohort"))
	if err != nil {
		return s.assignmentAgain(c, err, assignmentPage{})
	}
	s.notice(c, "This is the copy: a draft, with the same times. Look at it and set it.")
	return s.redirect(c, "/assignments/"+a.ID)
}

// typedTime is how a datetime-local control writes a time.
const typedTime = "2006-01-02T15:04"

// typedMoment is the moment of a time that was typed in the school's zone. One
// that comes twice needs to be told first or second: twice are the two.
func (s *Server) typedMoment(text, which string) (at time.Time, twice []choiceRow, err error) {
	text = strings.TrimSpace(text)
	if len(text) == len(typedTime)+3 { // a browser may send the seconds
		text = text[:len(typedTime)]
	}
	var later *bool
	if which == "first" || which == "second" {
		second := which == "second"
		later = &second
	}
	zone := s.zone()
	at, err = exam.Local(text, zone, later)
	if errors.Is(err, exam.ErrTwice) || err == nil && later != nil {
		twice = s.bothOf(text, which)
	}
	if err != nil {
		err = errors.New(localWords(err, text, zone))
	}
	return at, twice, err
}

// bothOf are the two moments of a time that comes twice; nothing for another.
func (s *Server) bothOf(text, which string) []choiceRow {
	no, yes := false, true
	first, err1 := exam.Local(text, s.zone(), &no)
	second, err2 := exam.Local(text, s.zone(), &yes)
	if err1 != nil || err2 != nil || first.Equal(second) {
		return nil
	}
	words := func(t time.Time) string {
		t = t.In(s.zone())
		return fmt.Sprintf("%s, %s UTC", t.Format("15:04 MST"), t.Format("-07:00"))
	}
	return []choiceRow{{ID: "first", Label: "the first: " + words(first), Chosen: which == "first"}, {ID: "second", Label: "the second: " + words(second), Chosen: which == "second"}}
}

// localWords say in a sentence why a typed time is not one moment.
func localWords(err error, text string, zone *time.Location) string {
	at, _ := time.ParseInLocation(typedTime, text, zone)
	wall, _ := time.Parse(typedTime, text)
	switch {
	case errors.Is(err, exam.ErrNoSuchTime):
		return fmt.Sprintf("On that day the clocks of %s are put forward over %s, so that it does not come; the clock shows %s instead. Choose another time.", zone, wall.Format("15:04"), at.Format("15:04"))
	case errors.Is(err, exam.ErrTwice):
		return fmt.Sprintf("On that day the clocks of %s are put back over %s, so that it comes twice. Say whether the first or the second is meant.", zone, wall.Format("15:04"))
	}
	return "A date and a time of day are needed, such as 2027-03-01T09:30."
}

package server

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// assignmentsPage lists what is set for a cohort.
type assignmentsPage struct {
	Base
	Cohort      string
	Name        string
	Archived    bool
	Zone        string
	Rows        []assignmentRow
	Deleted     []assignmentRow
	Page, Pages int
	Prev, Next  int // 0: none
	Total       int
}

// assignmentRow is one assignment in a list.
type assignmentRow struct {
	ID, Title, Kind, State, Opens, Closes, Patients, Asks string
}

// assignmentsAPage is how many stand on a page.
const assignmentsAPage = 50

func (s *Server) showAssignments(c *gin.Context) error {
	ctx := c.Request.Context()
	cohort, err := s.teaches(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	all, err := s.store.Assignments(ctx, cohort.ID)
	if err != nil {
		return fmt.Errorf("assignments: %w", err)
	}
	p := &assignmentsPage{Base: Base{Title: "Assignments"}, Cohort: cohort.ID, Name: cohort.Name, Archived: !cohort.Archived.IsZero(),
		Zone: s.zoneWords(s.now()), Total: len(all)}
	p.Page, p.Pages, p.Prev, p.Next = pageOf(c.Query("page"), len(all), assignmentsAPage)
	for i := range all { // the latest first
		a := all[len(all)-1-i]
		if i/assignmentsAPage+1 == p.Page {
			p.Rows = append(p.Rows, s.assignmentRow(a))
		}
	}
	deleted, err := s.store.DeletedAssignments(ctx, cohort.ID, s.now().Add(-undoFor))
	if err != nil {
		return fmt.Errorf("assignments: %w", err)
	}
	for _, a := range deleted {
		row := s.assignmentRow(a)
		row.State = "deleted " + s.moment(a.Deleted)
		p.Deleted = append(p.Deleted, row)
	}
	return s.page(c, "assignments", p)
}

// pageOf is the page that is asked for, of how many, and its neighbours.
func pageOf(asked string, rows, each int) (page, pages, prev, next int) {
	pages = max((rows+each-1)/each, 1)
	page, err := strconv.Atoi(asked)
	if err != nil || page < 1 {
		page = 1
	}
	page = min(page, pages)
	if page < pages {
		next = page + 1
	}
	return page, pages, page - 1, next
}

func (s *Server) assignmentRow(a store.Assignment) assignmentRow {
	return assignmentRow{ID: a.ID, Title: a.Title, Kind: a.Kind, State: stateWordsOf(a, s.assignmentState(a)), Opens: s.moment(a.Opens), Closes: s.moment(a.Closes),
		Patients: count(len(a.Slots), "patient"), Asks: asksWords(a)}
}

// The states of an assignment as its instructors see them.
const (
	stateDraft     = "draft"
	stateSet       = "set" // not open yet
	stateOpenNow   = "open"
	stateClosed    = "closed"
	stateWithdrawn = "withdrawn"
)

// assignmentState is how an assignment stands by the server's clock.
func (s *Server) assignmentState(a store.Assignment) string {
	switch now := s.now(); {
	case a.State == store.AssignmentDraft:
		return stateDraft
	case a.State == store.AssignmentWithdrawn:
		return stateWithdrawn
	case now.Before(a.Opens):
		return stateSet
	case now.Before(a.Closes):
		return stateOpenNow
	}
	return stateClosed
}

// stateWordsOf says a state in a word and a mark.
func stateWordsOf(a store.Assignment, state string) string {
	mark := map[string]string{stateDraft: "✎ ", stateSet: "○ ", stateOpenNow: "● ", stateClosed: "■ ", stateWithdrawn: "✕ "}[state]
	if state == stateClosed && !a.Released.IsZero() {
		return mark + "closed, debriefs released"
	}
	return mark + state
}

// asksWords say time limit and tries.
func asksWords(a store.Assignment) string {
	limit := "until it closes"
	if a.Minutes > 0 {
		limit = count(a.Minutes, "minute")
	}
	tries := "any number of tries"
	if a.Tries == 1 {
		tries = "once"
	} else if a.Tries > 1 {
		tries = fmt.Sprintf("%d tries", a.Tries)
	}
	return limit + ", " + tries
}

func (s *Server) doPutBackAssignment(c *gin.Context) error {
	if err := s.putBackAssignment(c.Request.Context(), person(c), c.Param("id")); err != nil {
		return err
	}
	s.notice(c, "It is back, as a draft: set it again if it is to be met.")
	return s.redirect(c, "/assignments/"+c.Param("id"))
}

func (s *Server) doDeleteAssignment(c *gin.Context) error {
	a, err := s.deleteAssignment(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return s.assignmentAgain(c, err, assignmentPage{})
	}
	s.notice(c, "The assignment is deleted. It can be put back for 30 days.")
	return s.redirect(c, "/cohorts/"+a.Cohort+"/assignments")
}

// assignmentAgain shows an assignment's page again with what was wrong and typed.
func (s *Server) assignmentAgain(c *gin.Context, err error, typed assignmentPage) error {
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || row.status == http.StatusNotFound {
		return err
	}
	p, perr := s.assignmentPage(c.Request.Context(), person(c), c.Param("id"))
	if perr != nil {
		return perr
	}
	p.Wrong, p.Reason, p.Why, p.Later, p.LaterTwice, p.Uneven = row.text, typed.Reason, typed.Why, typed.Later, typed.LaterTwice, typed.Uneven
	if len(fault.Fields) > 0 && fault.Text == "" {
		p.Wrong = "Nothing was done."
	}
	for _, f := range fault.Fields {
		p.Wrong += " " + f.Detail
	}
	return s.write(c, row.status, "assignment", p)
}

// kindWords name a kind for a title.
func kindWords(kind string) string {
	if exam.Kind(kind) == exam.Sitting {
		return "sitting"
	}
	return "practice"
}

// copyTargets are the cohorts in use that a person manages.
func (s *Server) copyTargets(ctx context.Context, who face.Person) ([]choiceRow, error) {
	all, err := s.store.Cohorts(ctx)
	if err == nil {
		all, err = s.taught(ctx, who, all)
	}
	var out []choiceRow
	for _, c := range all {
		if c.Archived.IsZero() {
			out = append(out, choiceRow{ID: c.ID, Label: c.Name})
		}
	}
	return out, err
}

// choiceRow is one thing to choose.
type choiceRow struct {
	ID, Label, Help string
	Chosen          bool
}

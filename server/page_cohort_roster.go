package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"

	"dewclaw/server/face"
	"dewclaw/server/roster"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// changeWords are what the page calls what a roster would do.
var changeWords = map[roster.Deed]struct{ label, few, means string }{
	roster.New:       {"New", "new", "an account is made, and the person joins"},
	roster.Joins:     {"Joins", "joining", "has an account and is in no other cohort"},
	roster.Moved:     {"Moved", "moved", "joins, and is in another cohort so far"},
	roster.Changed:   {"Changed", "changed", "another name, number, address or role"},
	roster.Unchanged: {"Unchanged", "unchanged", "is as the roster says"},
	roster.Leaves:    {"Leaves", "leaving", "is not on the roster; visits and marks stay"},
}

// rosterPage is where a list of people is sent, looked at and entered.
type rosterPage struct {
	Base
	ID, Name    string
	Task        *taskView
	File        string // of the roster that is kept; empty: none
	Until       string
	Whole       bool
	Counts      []changeCount
	Show        string
	Rows        []changeRow
	Pager       pager
	Problems    []roster.Problem
	MoreWrong   int // problems beyond those listed
	Sharp       bool
	Moved       bool
	Partly      bool
	Seen        string
	Nothing     bool // there is nothing to do
	Leave, Sure bool // as they were ticked
	Wrong       string
	Most        int64 // bytes of a file
}

// changeCount is how many there are of one deed.
type changeCount struct {
	Deed, Label, Means string
	N                  int
}

// changeRow is one line of the preview.
type changeRow struct {
	Line                      int // 0: not on the roster
	Label, Name, Login, Email string
	What                      string
}

// taskView is a task as a page shows it.
type taskView struct {
	By, Began, Ended string
	Done, Total      int
	Running          bool
	Words, Wrong     string
	Failed           []failedView
}

// failedView is somebody for whom a task did not go, and why.
type failedView struct{ Name, Why string }

// mostProblems are listed on the page.
const mostProblems = 200

func (s *Server) taskView(ctx context.Context, kind, cohort string) (*taskView, error) {
	is, err := s.taskOf(ctx, kind, cohort)
	if err != nil || is.Began.IsZero() {
		return nil, err
	}
	v := &taskView{s.nameOf(ctx, is.By), s.day(is.Began), s.day(is.Ended), is.Done, is.Total, is.Running(), is.Words, is.Wrong, nil}
	for _, f := range is.Failed {
		v.Failed = append(v.Failed, failedView{s.nameOf(ctx, f.Person), f.Why})
	}
	return v, nil
}

func (s *Server) showRoster(c *gin.Context) error {
	p, err := s.rosterPage(c, c.Query("whole") == "yes")
	if err != nil {
		return err
	}
	return s.page(c, "roster", p)
}

func (s *Server) rosterPage(c *gin.Context, whole bool) (*rosterPage, error) {
	ctx, who := c.Request.Context(), person(c)
	row, err := s.teaches(ctx, who, c.Param("id"))
	if err != nil {
		return nil, err
	}
	p := &rosterPage{Base: Base{Title: "Roster of " + row.Name}, ID: row.ID, Name: row.Name, Most: roster.MostBytes}
	if p.Task, err = s.taskView(ctx, taskRoster, row.ID); err != nil {
		return nil, err
	}
	k, ok, err := s.keptRoster(ctx, who.ID, row.ID)
	if err != nil || !ok {
		return p, err
	}
	plan, err := s.planRoster(ctx, who, row.ID, k, whole)
	if err != nil {
		return nil, err
	}
	p.preview(plan, c.Query("show"), c.Query("page"))
	p.Whole, p.Until = whole, s.day(k.at.Add(store.RosterFor))
	return p, nil
}

// preview puts a plan onto the page: what is asked for, and all but the
// unchanged where nothing is.
func (p *rosterPage) preview(plan rosterPlan, show, page string) {
	p.File, p.Seen, p.Sharp, p.Partly, p.Nothing = plan.file, plan.digest, plan.sharp, plan.partly, true
	for _, d := range roster.Deeds() {
		n := roster.Count(plan.changes, d)
		if n == 0 {
			continue
		}
		p.Counts = append(p.Counts, changeCount{string(d), changeWords[d].label, changeWords[d].means, n})
		p.Nothing = p.Nothing && d == roster.Unchanged
		p.Moved = p.Moved || d == roster.Moved
		if string(d) == show {
			p.Show = show
		}
	}
	for _, d := range roster.Deeds() {
		for _, ch := range plan.changes {
			if ch.Deed == d && (show == string(d) || p.Show == "" && d != roster.Unchanged) {
				p.Rows = append(p.Rows, changeRowOf(ch))
			}
		}
	}
	p.Rows, p.Pager = paged(p.Rows, page, 2*perPage)
	p.Problems = plan.problems[:min(len(plan.problems), mostProblems)]
	p.MoreWrong = len(plan.problems) - len(p.Problems)
}

func changeRowOf(ch roster.Change) changeRow {
	r := changeRow{ch.Row.Line, changeWords[ch.Deed].label, ch.Row.Name, ch.Row.Login, ch.Row.Email, ""}
	if ch.Person.ID != "" && ch.Deed != roster.Leaves {
		r.Login = ch.Person.Login
		r.What = differences(ch)
	}
	if ch.Deed == roster.New && ch.Row.Role != "student" {
		r.What = "as an " + ch.Row.Role
	}
	if ch.Deed == roster.Moved {
		r.What = joined("; ", "from "+joined(", ", ch.Person.Elsewhere...), r.What)
	}
	return r
}

// differences say what was and what becomes.
func differences(ch roster.Change) string {
	var parts []string
	for _, row := range []struct{ what, was, becomes string }{
		{"name", ch.Person.Name, ch.Row.Name}, {"number", ch.Person.Number, ch.Row.Number}, {"address", ch.Person.Email, ch.Row.Email},
		{"role", ch.Person.Role, ch.Row.Role},
	} {
		switch {
		case row.was == row.becomes || row.becomes == "" || row.what == "role" && row.was == "":
		case row.was == "":
			parts = append(parts, row.what+": "+row.becomes)
		default:
			parts = append(parts, fmt.Sprintf("%s: %s, was %s", row.what, row.becomes, row.was))
		}
	}
	return joined("; ", parts...)
}

// joined are the texts that are not empty.
func joined(between string, parts ...string) string {
	out := ""
	for _, p := range parts {
		if out != "" && p != "" {
			out += between
		}
		out += p
	}
	return out
}

// doSendRoster takes a file, or takes the kept one away.
func (s *Server) doSendRoster(c *gin.Context) error {
	whole := c.PostForm("whole") == "yes"
	path := "/cohorts/" + url.PathEscape(c.Param("id")) + "/roster"
	if c.PostForm("deed") == "forget" {
		if err := s.forgetRoster(c.Request.Context(), person(c).ID); err != nil {
			return err
		}
		return s.redirect(c, path)
	}
	err := s.readRosterFile(c)
	if err == nil {
		if whole {
			path += "?whole=yes"
		}
		return s.redirect(c, path)
	}
	return s.rosterAgain(c, err, whole, func(*rosterPage) {})
}

// readRosterFile reads the file out of a form.
func (s *Server) readRosterFile(c *gin.Context) error {
	if _, err := s.teaches(c.Request.Context(), person(c), c.Param("id")); err != nil {
		return err
	}
	file, err := c.FormFile("file")
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return &Fault{Kind: ErrLarge, Cause: err}
	case err != nil:
		return invalid("/file", "Choose a file: a CSV or a spreadsheet (.xlsx).")
	}
	f, err := file.Open()
	if err != nil {
		return fmt.Errorf("roster: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		return fmt.Errorf("roster: %w", err)
	}
	return s.takeRoster(c.Request.Context(), person(c), c.Param("id"), shorten(filepath.Base(file.Filename), 80), data)
}

// rosterAgain shows the page again with what was wrong.
func (s *Server) rosterAgain(c *gin.Context, err error, whole bool, change func(*rosterPage)) error {
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.rosterPage(c, whole)
	if again != nil {
		return again
	}
	p.Wrong = wrongWords(row, fault)
	change(p)
	return s.write(c, row.status, "roster", p)
}

// doDoRoster begins to do what was looked at.
func (s *Server) doDoRoster(c *gin.Context) error {
	choice := rosterChoice{Seen: c.PostForm("seen"), Whole: c.PostForm("whole") == "yes", Leave: c.PostForm("leave") == "yes", Sharp: c.PostForm("sharp") == "yes"}
	err := s.doRoster(c.Request.Context(), person(c), c.Param("id"), choice)
	if err == nil {
		return s.redirect(c, "/cohorts/"+url.PathEscape(c.Param("id"))+"/roster")
	}
	return s.rosterAgain(c, err, choice.Whole, func(p *rosterPage) { p.Leave, p.Sure = choice.Leave, choice.Sharp })
}

func exampleRoster() *rosterPage {
	p := &rosterPage{Base: Base{Title: "Roster of Second year", Person: examplePerson("instructor")}, ID: "c1", Name: "Second year", Most: roster.MostBytes, Until: "25 Nov 2026, 10:00", Whole: true, Wrong: "Choose a file."}
	p.Task = &taskView{By: "Robin Example", Began: "25 Nov 2026, 09:30", Done: 100, Total: 300, Running: true, Failed: []failedView{{"Kim Example", "No address is known."}}}
	p.preview(rosterPlan{file: "people.csv", digest: "d", sharp: true, partly: true,
		problems: []roster.Problem{{Line: 3, Column: "name", Text: "empty; every row needs a name"}},
		changes: []roster.Change{{Deed: roster.New, Row: roster.Row{Line: 2, Login: "kim", Name: "Kim Example", Role: "instructor"}},
			{Deed: roster.Moved, Row: roster.Row{Line: 4, Name: "Ash Brook"}, Person: roster.Person{ID: "p", Name: "Ash Brooke", Elsewhere: []string{"First year"}}}}}, "", "")
	return p
}

func exampleCohort() *cohortPage {
	row := memberRow{"person", "Kim Example", "kim", "1001", "student", "25 % more time", "as a trace", true}
	return &cohortPage{Base: Base{Title: "Second year", Person: examplePerson("instructor")}, ID: "c1", Name: "Second year", Archived: "25 Nov 2026, 09:30", Students: 120, Instructors: 1,
		Rows: []memberRow{row}, Find: "kim", Pager: pager{Page: 2, Pages: 3, Prev: 1, Next: 3, Total: 121}, Add: "ash", Found: []face.Person{examplePerson("student")}, More: true,
		One:  &memberView{memberRow: row, Email: "kim@school.example", Since: "25 Nov 2026, 09:30", Extra: "25", Later: "0", Pauses: "10", Reason: "The board’s letter", Student: true, Link: true},
		Form: cohortForm{Deed: "accommodate", Role: "student"}, Wrong: "Say by whose decision."}
}

func exampleCohorts() *cohortsPage {
	row := cohortRow{"c1", "Second year", "25 Nov 2026, 09:30", 120, 2}
	return &cohortsPage{Base: Base{Title: "Cohorts", Person: examplePerson("instructor")}, Rows: []cohortRow{row}, Archived: []cohortRow{row},
		Deleted: []deletedRow{{"c2", "First year", "25 Nov 2026, 09:30", "25 Dec 2026, 09:30"}}, Find: "year", Pager: pager{Page: 1, Pages: 2, Next: 2, Total: 60}, Name: "Third", Wrong: "A name of 1 to 100 characters."}
}

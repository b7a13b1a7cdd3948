package server

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// cohortsPage lists the cohorts that somebody manages, and makes one.
type cohortsPage struct {
	Base
	Rows     []cohortRow
	Archived []cohortRow
	Deleted  []deletedRow
	Find     string
	Pager    pager
	Name     string // as it was typed
	Wrong    string
}

// cohortRow is a cohort in the list.
type cohortRow struct {
	ID, Name, Since       string
	Students, Instructors int
}

// deletedRow is one that may be put back.
type deletedRow struct{ ID, Name, Deleted, Until string }

// perPage rows of a list stand on a page.
const perPage = 50

// pager says which page of a list is shown.
type pager struct{ Page, Pages, Prev, Next, Total int }

// paged is one page of a list; a number that is none is the first page.
func paged[T any](rows []T, nr string, per int) ([]T, pager) {
	p := pager{Page: 1, Pages: max((len(rows)+per-1)/per, 1), Total: len(rows)}
	if n, err := strconv.Atoi(nr); err == nil && n >= 1 {
		p.Page = min(n, p.Pages)
	}
	p.Prev = p.Page - 1
	if p.Page < p.Pages {
		p.Next = p.Page + 1
	}
	return rows[(p.Page-1)*per : min(p.Page*per, len(rows))], p
}

func (s *Server) showCohorts(c *gin.Context) error {
	p, err := s.cohortsPage(c)
	if err != nil {
		return err
	}
	return s.page(c, "cohorts", p)
}

func (s *Server) cohortsPage(c *gin.Context) (*cohortsPage, error) {
	ctx, who := c.Request.Context(), person(c)
	all, err := s.cohorts(ctx, who)
	if err != nil {
		return nil, err
	}
	p := &cohortsPage{Base: Base{Title: "Cohorts"}, Find: c.Query("find")}
	for _, line := range all {
		row := cohortRow{line.ID, line.Name, s.day(line.Created), line.Students, line.Instructors}
		switch {
		case !fits(p.Find, line.Name):
		case line.Archived.IsZero():
			p.Rows = append(p.Rows, row)
		default:
			p.Archived = append(p.Archived, row)
		}
	}
	p.Rows, p.Pager = paged(p.Rows, c.Query("page"), perPage)
	gone, err := s.deletedCohorts(ctx, who)
	if err != nil {
		return nil, err
	}
	for _, d := range gone {
		p.Deleted = append(p.Deleted, deletedRow{d.ID, d.Name, s.day(d.Deleted), s.day(d.Deleted.Add(undoFor))})
	}
	return p, nil
}

// doCohorts makes a cohort or puts a deleted one back.
func (s *Server) doCohorts(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	id, notice := c.PostForm("cohort"), "The cohort is back, with its people and all that it had."
	var err error
	if c.PostForm("deed") == "put back" {
		err = s.putBack(ctx, who, id)
	} else {
		var made store.Cohort
		if made, err = s.makeCohort(ctx, who, c.PostForm("name")); err == nil {
			id, notice = made.ID, "The cohort is made. Enter its people by hand or from a roster."
		}
	}
	if err == nil {
		s.notice(c, notice)
		return s.redirect(c, "/cohorts/"+url.PathEscape(id))
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.cohortsPage(c)
	if again != nil {
		return again
	}
	p.Name, p.Wrong = c.PostForm("name"), wrongWords(row, fault)
	return s.write(c, row.status, "cohorts", p)
}

// wrongWords are an error's own words and those about single fields; what is said
// of its kind alone only where there are none.
func wrongWords(row statusRow, fault *Fault) string {
	text := fault.Text
	for _, field := range fault.Fields {
		if field.Detail != fault.Text {
			text = joined(" ", text, sentence(field.Detail))
		}
	}
	return cmp.Or(text, row.text)
}

package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// reviewQueuePage is what students asked to be looked at again, the longest
// waiting first.
type reviewQueuePage struct {
	Base
	Rows                    []reviewRow
	Total                   int
	Page, Pages, Prev, Next int
	Wrong                   string
}

// reviewRow is one of them.
type reviewRow struct {
	N                                               int
	Visit, Line, Seen                               string
	Student, Assignment, Patient, Label, Now, Range string
	Reason, Asked, Words                            string
	Acts                                            []actRow
	May                                             bool // the line has a mark of its own
	Typed                                           *markForm
}

func (s *Server) showReviews(c *gin.Context) error {
	p, err := s.reviewQueuePage(c.Request.Context(), person(c), c.Query("page"), "", nil)
	if err != nil {
		return err
	}
	return s.page(c, "reviewqueue", p)
}

func (s *Server) reviewQueuePage(ctx context.Context, who face.Person, page, visit string, typed *markForm) (*reviewQueuePage, error) {
	total, err := s.reviewCount(ctx, who)
	if err != nil {
		return nil, err
	}
	p := &reviewQueuePage{Base: Base{Title: "Reviews"}, Total: total}
	p.Page, p.Pages, p.Prev, p.Next = pageOf(page, total, reviewsAPage)
	rows, _, err := s.reviewsWaiting(ctx, who, p.Page)
	if err != nil {
		return nil, err
	}
	for i, r := range rows {
		row, err := s.reviewRow(ctx, who, i+1, r)
		if err != nil {
			return nil, err
		}
		if typed != nil && r.Attempt == visit && r.Line == typed.Line {
			row.Typed = typed
		}
		p.Rows = append(p.Rows, row)
	}
	return p, nil
}

// reviewRow puts one review down with the acts behind its line.
func (s *Server) reviewRow(ctx context.Context, who face.Person, n int, r face.ReviewWaiting) (reviewRow, error) {
	row := reviewRow{N: n, Visit: r.Attempt, Line: r.Line, Seen: r.Seen, Student: r.Person.Name, Assignment: r.Assignment, Patient: r.Patient,
		Label: r.Label, Now: marks(face.Mark{Points: r.Points, Max: r.Max}), Range: pts(min(r.Points, 0)) + " to " + pts(r.Max),
		Reason: r.Reason, Asked: s.moment(r.Asked), Words: r.Words, May: r.Max > 0 || r.Points < 0}
	a, err := s.attempt(ctx, who, r.Attempt)
	if errors.Is(err, ErrMissing) {
		return row, nil // the student has left the cohort; the line stands all the same
	}
	if err != nil {
		return row, err
	}
	cat, err := s.catalogue(a.Patient.Species)
	if err != nil {
		return row, err
	}
	behind := map[int]bool{}
	for _, n := range r.Acts {
		behind[n] = true
	}
	for _, act := range actRows(a.Acts, cat) {
		if behind[act.N] {
			row.Acts = append(row.Acts, act)
		}
	}
	return row, nil
}

// doReviews answers a review from the queue.
func (s *Server) doReviews(c *gin.Context) error {
	ctx, f := c.Request.Context(), readMarkForm(c)
	visit := c.PostForm("visit")
	text, err := visitDeeds["answer"](s, ctx, person(c), visit, f)
	if err == nil {
		s.notice(c, text)
		return s.redirect(c, "/reviews")
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.reviewQueuePage(ctx, person(c), c.PostForm("page"), visit, &f)
	if again != nil {
		return again
	}
	p.Wrong = faultText(row, fault)
	return s.write(c, row.status, "reviewqueue", p)
}

// doAskReview takes a student's wish from the debrief.
func (s *Server) doAskReview(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	err := s.askReview(ctx, person(c), id, c.PostForm("line"), c.PostForm("words"))
	if err == nil {
		s.notice(c, "Asked. An instructor will look at it; the answer stands here.")
		return s.redirect(c, "/visits/"+url.PathEscape(id)+"/debrief")
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.debriefPage(ctx, person(c), id)
	if again != nil {
		return again
	}
	p.wrongReview(c.PostForm("line"), c.PostForm("words"), faultText(row, fault))
	return s.write(c, row.status, "debrief", p)
}

// marksOfPeople says in words that a person's mark stands in place of the computed one.
func marksOfPeople(m face.Mark) string {
	if m.Computed == nil {
		return ""
	}
	now := marks(m)
	if now == "" {
		now = pts(m.Points)
	}
	return fmt.Sprintf("Marked by an instructor: %s; computed %s. %s", now, pts(*m.Computed), sentence(m.Because))
}

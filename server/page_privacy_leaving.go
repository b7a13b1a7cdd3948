package server

import (
	"context"
	"errors"
	"net/http"
	"time"

	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// leavingPage is where a coordinator erases somebody, holds somebody and puts
// somebody back, and sees whom the school's retention reaches.
type leavingPage struct {
	Base
	One     *leavingOne // nil: nobody is chosen
	Leavers []leaverRow
	Due     []dueRow
	Pager   pager // of Due
	Held    []heldRow
	Find    string
	Found   []foundRow
	More    bool // there are more than are shown
	Term    string
	Wrong   string
}

// leavingOne is the person who is chosen, with the form as it was typed.
type leavingOne struct {
	ID, Name, Login, Role string
	Held, HeldBy, HeldAt  string
	Self                  bool
	Confirm, Reason       string
	Why                   string // of a hold
	Wrong                 string
}

// leaverRow is somebody who leaves.
type leaverRow struct{ ID, Name, Login, Since, Until, By, Held string }

// dueRow is a student whom the retention reaches.
type dueRow struct{ ID, Name, Login, Since, Due, State string }

// heldRow is somebody who is kept from erasure.
type heldRow struct{ ID, Name, Login, Reason, By, At string }

// foundRow is somebody who was looked for.
type foundRow struct{ ID, Name, Login, Role string }

func (s *Server) showLeaving(c *gin.Context) error {
	p, err := s.leavingPage(c)
	if err != nil {
		return err
	}
	if id := c.Query("of"); id != "" {
		if p.One, err = s.leavingOne(c.Request.Context(), person(c), id); err != nil {
			return err
		}
	}
	return s.page(c, "leaving", p)
}

// leavingDeeds are what can be done to somebody, with what is said afterwards.
var leavingDeeds = map[string]struct {
	do   func(s *Server, ctx context.Context, who face.Person, c *gin.Context) error
	said string
}{
	"leave": {func(s *Server, ctx context.Context, who face.Person, c *gin.Context) error {
		return s.leave(ctx, who, c.Param("id"), c.PostForm("confirm"), c.PostForm("reason"))
	}, "The person is signed out and in no list any more. They can be put back with everything for 30 days; then they are erased."},
	"back": {func(s *Server, ctx context.Context, who face.Person, c *gin.Context) error {
		return s.putPersonBack(ctx, who, c.Param("id"), c.PostForm("reason"))
	}, "The person is back, with everything, and can sign in again."},
	"hold": {func(s *Server, ctx context.Context, who face.Person, c *gin.Context) error {
		return s.hold(ctx, who, c.Param("id"), c.PostForm("why"))
	}, "Nothing of this person is erased until the hold is lifted."},
	"lift": {func(s *Server, ctx context.Context, who face.Person, c *gin.Context) error {
		return s.lift(ctx, who, c.Param("id"))
	}, "The hold is lifted. Who leaves has the whole 30 days again."},
}

func (s *Server) doLeaving(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	deed, known := leavingDeeds[c.PostForm("deed")]
	if !known {
		return invalid("/deed", "One of leave, back, hold, lift.")
	}
	err := deed.do(s, ctx, person(c), c)
	if err == nil {
		s.notice(c, deed.said)
		return s.redirect(c, "/leaving")
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.leavingPage(c)
	if again != nil {
		return again
	}
	if p.One, again = s.leavingOne(ctx, person(c), id); again != nil {
		p.Wrong = wrongWords(row, fault) // of who leaves: there is no form of theirs
		return s.write(c, row.status, "leaving", p)
	}
	p.One.Confirm, p.One.Reason, p.One.Why, p.One.Wrong = c.PostForm("confirm"), c.PostForm("reason"), c.PostForm("why"), wrongWords(row, fault)
	return s.write(c, row.status, "leaving", p)
}

func (s *Server) leavingOne(ctx context.Context, who face.Person, id string) (*leavingOne, error) {
	p, err := s.presentPerson(ctx, id)
	if err != nil {
		return nil, err
	}
	one := &leavingOne{ID: p.ID, Name: p.Name, Login: p.Login, Role: p.Role, Held: p.Hold, Self: p.ID == who.ID}
	if p.Hold != "" {
		one.HeldBy, one.HeldAt = s.nameOf(ctx, p.HoldBy), s.moment(p.HoldAt)
	}
	return one, nil
}

func (s *Server) leavingPage(c *gin.Context) (*leavingPage, error) {
	ctx := c.Request.Context()
	p := &leavingPage{Base: Base{Title: "Erasure"}, Find: c.Query("find")}
	leavers, err := s.store.Leavers(ctx)
	if err != nil {
		return nil, err
	}
	for _, l := range leavers {
		by := "the school's retention"
		if l.By != "" {
			by = s.nameOf(ctx, l.By)
		}
		p.Leavers = append(p.Leavers, leaverRow{l.Person, l.Name, l.Login, s.moment(l.Since), s.moment(l.Until), by, l.Hold})
	}
	if err := s.dueRows(ctx, p, c.Query("page")); err != nil {
		return nil, err
	}
	held, err := s.store.Held(ctx)
	if err != nil {
		return nil, err
	}
	for _, h := range held {
		if h.Leaving.IsZero() {
			p.Held = append(p.Held, heldRow{h.ID, h.Name, h.Login, h.Hold, s.nameOf(ctx, h.HoldBy), s.moment(h.HoldAt)})
		}
	}
	found, more, err := s.findAccounts(ctx, p.Find, nil)
	for _, f := range found {
		p.Found = append(p.Found, foundRow{f.ID, f.Name, f.Login, f.Role})
	}
	p.More = more
	return p, err
}

// dueRows are the students whom the retention reaches, one page of them.
func (s *Server) dueRows(ctx context.Context, p *leavingPage, nr string) error {
	all, err := s.fallDue(ctx)
	if err != nil {
		return err
	}
	var rows []dueRow
	for _, d := range all {
		row := dueRow{d.ID, d.Name, d.Login, s.moment(d.Since), s.moment(d.Due), ""}
		switch left := d.Due.Sub(s.now()); {
		case left <= 0:
			row.State = "within a day"
		case left <= 31*24*time.Hour:
			row.State = "within a month"
		}
		rows = append(rows, row)
	}
	p.Due, p.Pager = paged(rows, nr, perPage)
	p.Term, err = s.keepWords(ctx)
	return err
}

func exampleLeaving() *leavingPage {
	p := &leavingPage{Base: Base{Title: "Erasure"}, Wrong: "Not valid.", Find: "kim", More: true, Term: "Students are erased 24 months after their last cohort was archived.",
		One:     &leavingOne{ID: "p1", Name: "Kim Example", Login: "kim", Role: "student", Confirm: "kimm", Reason: "Asked for it.", Why: "An appeal.", Wrong: "Type the login."},
		Leavers: []leaverRow{{"p2", "Robin Example", "robin", "Wed 25 Nov 2026, 09:00", "Fri 25 Dec 2026, 09:00", "Alex Example", ""}, {"p4", "Jo Example", "jo", "", "", "the school's retention", "An appeal is open."}},
		Due:     []dueRow{{"p3", "Sam Example", "sam", "Sat 30 Nov 2024, 09:00", "Mon 30 Nov 2026, 09:00", "within a month"}},
		Held:    []heldRow{{"p5", "Pat Example", "pat", "An appeal is open.", "Alex Example", "Wed 25 Nov 2026, 09:00"}},
		Found:   []foundRow{{"p1", "Kim Example", "kim", "student"}}}
	p.Pager = pager{Page: 2, Pages: 3, Prev: 1, Next: 3, Total: 120}
	return p
}

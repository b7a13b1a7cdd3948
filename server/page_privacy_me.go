package server

import (
	"context"
	"fmt"

	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// mePage tells somebody what is kept of them and why, and hands it out.
type mePage struct {
	Base
	Login, Number, Email, Made string
	Sounds                     string
	Kept                       []keptRow
	Keep                       string // how long
	Held                       bool
}

// keptRow is one kind of what is kept.
type keptRow struct{ What, Much, Why, Seen string }

func (s *Server) showMe(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	me, err := s.store.Person(ctx, who.ID)
	if err != nil {
		return missing("own data", err)
	}
	n, err := s.store.CountOwn(ctx, who.ID)
	if err != nil {
		return err
	}
	p := &mePage{Base: Base{Title: "What is kept of you"}, Login: me.Login, Number: me.Number, Email: me.Email, Made: s.moment(me.Created),
		Sounds: onlyHeard(me.Alternatives), Kept: keptRows(n), Held: me.Hold != ""}
	if p.Keep, err = s.keepWords(ctx); err != nil {
		return err
	}
	return s.page(c, "mydata", p)
}

// keptRows say what is kept, why, and who sees it.
func keptRows(n store.OwnCount) []keptRow {
	staff := "You, your instructors, the coordinators"
	return []keptRow{
		{"Name, login, number and address", "1 account", "To sign you in and to know whose work it is.", "You, your instructors, the coordinators"},
		{"Password", "a hash", "To let in nobody but you.", "Nobody: it cannot be read back"},
		{"Cohorts, and what you have beyond the others in sittings", countIs(n.Cohorts, "cohort", "cohorts"), "To set you work and to give you the time that is yours.", staff},
		{"Turns at what was set, with their clocks", countIs(n.Turns, "turn", "turns"), "To run a sitting fairly, and to show afterwards that it was.", staff},
		{"Visits: every act, what you charted and wrote", fmt.Sprintf("%s, %s", countIs(n.Visits, "visit", "visits"), countIs(n.Acts, "act", "acts")), "A mark is made of them, and they show why it is what it is.", staff},
		{"Marks and debriefs", countIs(n.Reports, "report", "reports"), "To teach, and to decide who has passed.", "Your instructors and the coordinators; you once they are released"},
		{"Lines that you asked to be looked at again", countIs(n.Reviews, "line", "lines"), "To answer you.", staff},
		{"What you expected before a debrief, and how sure you were of what you charted", countIs(n.Forecasts, "visit", "visits"), "To show you how well you judge your own work. It is never marked.", "You; how sure you were of a line also who may read the visit"},
		{"How sounds are given to you, and when you passed a sound check", countIs(n.Grants, "change", "changes"), "So that a sound is no hurdle.", staff},
		{"Drills, item by item, with what you answered", countIs(n.Drills, "drill", "drills"), "To teach, and to choose what is practised next. They count for no mark, and go when you are erased.", "You"},
		{"Which experts you have watched", countIs(n.Watched, "expert", "experts"), "So that one is offered before your first patient of a species only. They go when you are erased.", "You"},
		{"What you looked at again before a debrief, and the plans that you took along", countIs(n.Again, "line", "lines"), "To teach. None of it is marked, and it goes when you are erased.", "You"},
		{"When you were signed in", countIs(n.Sessions, "session", "sessions"), "To end a session that is not yours. Taken away 30 days after it ended.", "You"},
		{"What you did in the school and what was done to your account, with its reason", countIs(n.Notes, "note", "notes"), "So that every deed can be accounted for.", "Your instructors for their cohorts, the coordinators for all"},
	}
}

// keepWords say for how long it is kept.
func (s *Server) keepWords(ctx context.Context) (string, error) {
	months, _, err := s.retention(ctx)
	if err != nil {
		return "", err
	}
	if months == 0 {
		return "The school has set no term. It is kept until a coordinator erases it.", nil
	}
	return fmt.Sprintf("A student who is in no cohort in use is erased %s after the last one was archived, with a month's notice to the coordinators and 30 days more in which it can be undone.",
		countIs(months, "month", "months")), nil
}

func exampleMe() *mePage {
	return &mePage{Base: Base{Title: "What is kept of you"}, Login: "kim", Number: "4711", Email: "kim@example.org", Made: "Wed 25 Nov 2026, 09:00", Sounds: "heard only",
		Kept: keptRows(store.OwnCount{Visits: 3, Acts: 120}), Keep: "Until it is erased.", Held: true}
}

package server

import (
	"dewclaw/server/face"
	"dewclaw/server/roster"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// cohortAnswer is a cohort for those who manage it.
type cohortAnswer struct {
	ID          string `json:"id"`
	Name        string `json:"name"`
	Archived    bool   `json:"archived"`
	Students    int    `json:"students"`
	Instructors int    `json:"instructors"`
}

type cohortsAnswer struct {
	Cohorts []cohortAnswer `json:"cohorts"`
}

// memberAnswer is one of a cohort's people.
type memberAnswer struct {
	Person face.Person `json:"person"` // with the role in the cohort
	Number string      `json:"number,omitempty"`
	Email  string      `json:"email,omitempty"`
	Chosen bool        `json:"password_chosen"`
	Extra  int         `json:"extra_percent,omitempty"`
	Later  int         `json:"later_minutes,omitempty"`
	Pauses int         `json:"pause_minutes,omitempty"`
}

type membersAnswer struct {
	Members []memberAnswer `json:"members"`
}

// nameForm is the body of POST /api/v1/cohorts.
type nameForm struct {
	Name string `json:"name"`
}

// memberForm is the body of POST /api/v1/cohorts/{id}/members.
type memberForm struct {
	Login  string `json:"login"`
	Name   string `json:"name"`
	Number string `json:"number"`
	Email  string `json:"email"`
	Role   string `json:"role"` // student, instructor or none
}

// previewAnswer is what a roster would change.
type previewAnswer struct {
	Seen     string            `json:"seen"` // to be sent back to do just this
	Sharp    bool              `json:"sharp"`
	Changes  []changeAnswer    `json:"changes"`
	Problems []problemInRoster `json:"problems"`
}

type changeAnswer struct {
	Line  int      `json:"line,omitempty"`
	Deed  string   `json:"deed"`
	Login string   `json:"login"`
	Name  string   `json:"name"`
	Role  string   `json:"role"`
	From  []string `json:"from,omitempty"`
	What  string   `json:"what,omitempty"`
}

type problemInRoster struct {
	Line   int    `json:"line"`
	Column string `json:"column,omitempty"`
	Text   string `json:"text"`
}

// doRosterForm is the body of POST /api/v1/cohorts/{id}/roster/do.
type doRosterForm struct {
	Seen  string `json:"seen"`
	Whole bool   `json:"whole"`
	Leave bool   `json:"leave"`
	Sharp bool   `json:"sharp"`
}

// taskAnswer is how something in the background stands.
type taskAnswer struct {
	State string `json:"state"` // none, running, done or broken
	Done  int    `json:"done"`
	Total int    `json:"total"`
	Text  string `json:"text,omitempty"`
}

func taskAnswerOf(is taskState) taskAnswer {
	a := taskAnswer{State: "done", Done: is.Done, Total: is.Total, Text: joined(" ", is.Words, is.Wrong)}
	switch {
	case is.Began.IsZero():
		a.State = "none"
	case is.Running():
		a.State = "running"
	case is.Wrong != "":
		a.State = "broken"
	}
	return a
}

func (s *Server) apiCohorts(c *gin.Context) error {
	all, err := s.cohorts(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	out := cohortsAnswer{[]cohortAnswer{}}
	for _, l := range all {
		out.Cohorts = append(out.Cohorts, cohortAnswer{l.ID, l.Name, !l.Archived.IsZero(), l.Students, l.Instructors})
	}
	return s.answer(c, done, out)
}

func (s *Server) apiMakeCohort(c *gin.Context) error {
	var f nameForm
	if err := decode(c, &f); err != nil {
		return err
	}
	row, err := s.makeCohort(c.Request.Context(), person(c), f.Name)
	if err != nil {
		return err
	}
	all, err := s.counted(c.Request.Context(), []store.Cohort{row})
	if err != nil {
		return err
	}
	return s.answer(c, made, cohortAnswer{row.ID, row.Name, false, all[0].Students, all[0].Instructors})
}

func (s *Server) apiMembers(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	if _, err := s.teaches(ctx, person(c), id); err != nil {
		return err
	}
	all, err := s.store.Members(ctx, id)
	if err != nil {
		return err
	}
	beyond, err := s.accommodations(ctx, id)
	if err != nil {
		return err
	}
	out := membersAnswer{[]memberAnswer{}}
	for _, m := range all {
		out.Members = append(out.Members, memberAnswerOf(m, beyond[m.Person]))
	}
	return s.answer(c, done, out)
}

func memberAnswerOf(m store.Member, a store.Accommodation) memberAnswer {
	return memberAnswer{face.Person{ID: m.Person, Login: m.Login, Name: m.Name, Role: m.Role}, m.Number, m.Email, m.Chosen, a.Extra, a.Later, a.Pauses}
}

// apiMember puts somebody into a cohort, changes the role there, or takes
// somebody out.
func (s *Server) apiMember(c *gin.Context) error {
	ctx, who, id := c.Request.Context(), person(c), c.Param("id")
	var f memberForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if _, err := s.teaches(ctx, who, id); err != nil {
		return err
	}
	if f.Role != "none" {
		p, err := s.addMember(ctx, who, id, newMember{"", f.Login, f.Name, f.Number, f.Email, f.Role})
		if err != nil {
			return err
		}
		m, err := s.memberOf(ctx, who, id, p.ID)
		if err != nil {
			return err
		}
		return s.answer(c, made, memberAnswerOf(m, store.Accommodation{}))
	}
	p, err := s.accountOf(ctx, newMember{Login: f.Login})
	if err != nil {
		return missing("member", err)
	}
	if err := s.changeMember(ctx, who, id, p.ID, ""); err != nil {
		return err
	}
	return s.empty(c)
}

// apiRoster takes a roster and says what it would change; nothing is done.
func (s *Server) apiRoster(c *gin.Context) error {
	ctx, who, id := c.Request.Context(), person(c), c.Param("id")
	data, err := readBody(c)
	if err != nil {
		return err
	}
	if err := s.takeRoster(ctx, who, id, "", data); err != nil {
		return err
	}
	k, ok, err := s.keptRoster(ctx, who.ID, id)
	if err != nil {
		return err
	}
	if !ok {
		return ErrBusy
	}
	p, err := s.planRoster(ctx, who, id, k, c.Query("whole") == "yes")
	if err != nil {
		return err
	}
	return s.answer(c, done, previewAnswerOf(p))
}

func previewAnswerOf(p rosterPlan) previewAnswer {
	out := previewAnswer{p.digest, p.sharp, []changeAnswer{}, []problemInRoster{}}
	for _, ch := range p.changes {
		a := changeAnswer{ch.Row.Line, string(ch.Deed), ch.Row.Login, ch.Row.Name, ch.Row.Role, nil, changeRowOf(ch).What}
		if ch.Deed == roster.Moved {
			a.From = ch.Person.Elsewhere
		}
		out.Changes = append(out.Changes, a)
	}
	for _, x := range p.problems {
		out.Problems = append(out.Problems, problemInRoster{x.Line, x.Column, x.Text})
	}
	return out
}

func (s *Server) apiDoRoster(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	var f doRosterForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if err := s.doRoster(ctx, person(c), id, rosterChoice(f)); err != nil {
		return err
	}
	is, err := s.taskOf(c.Request.Context(), taskRoster, id)
	if err != nil {
		return err
	}
	return s.answer(c, accepted, taskAnswerOf(is))
}

func (s *Server) apiRosterState(c *gin.Context) error { return s.apiTask(c, taskRoster) }

func (s *Server) apiMailState(c *gin.Context) error { return s.apiTask(c, taskMail) }

func (s *Server) apiTask(c *gin.Context, kind string) error {
	if _, err := s.teaches(c.Request.Context(), person(c), c.Param("id")); err != nil {
		return err
	}
	is, err := s.taskOf(c.Request.Context(), kind, c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, taskAnswerOf(is))
}

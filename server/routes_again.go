package server

import (
	"strconv"

	"dewclaw/server/auth"

	"github.com/gin-gonic/gin"
)

// againRoutes are the routes of the second look before a debrief and of the plan
// for the next patient.
func againRoutes() []route {
	return []route{
		{get, "/visits/:id/again", auth.Practise, page, noBody, (*Server).showAgain},
		{post, "/visits/:id/again", auth.Practise, page, small, (*Server).doAgain},
		{post, "/visits/:id/plan", auth.Practise, page, small, (*Server).doPlan},

		{get, "/api/v1/attempts/:id/again", auth.Practise, api, noBody, (*Server).apiAgain},
		{post, "/api/v1/attempts/:id/again/:n", auth.Practise, api, small, (*Server).apiCommitAgain},
		{get, "/api/v1/attempts/:id/again/:n/sound", auth.Practise, api, noBody, (*Server).apiAgainSound},
		{get, "/api/v1/attempts/:id/again/:n/picture", auth.Practise, api, noBody, (*Server).apiAgainPicture},
		{get, "/api/v1/attempts/:id/plans", auth.Practise, api, noBody, (*Server).apiPlans},
		{post, "/api/v1/attempts/:id/plans", auth.Practise, api, small, (*Server).apiMakePlan},
	}
}

// againPages are the pages of the second look.
func againPages(row rowMaker) []pageRow { return []pageRow{row("again", exampleAgain())} }

func (s *Server) apiAgain(c *gin.Context) error {
	y, err := s.lookInto(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, y.face())
}

// claimForm is the body of POST /api/v1/attempts/{id}/again/{n}.
type claimForm struct {
	Claim string `json:"claim"` // one of the choices
}

func (s *Server) apiCommitAgain(c *gin.Context) error {
	var f claimForm
	if err := decode(c, &f); err != nil {
		return err
	}
	n, _ := strconv.Atoi(c.Param("n")) // no number is no finding
	m, err := s.commitAgain(c.Request.Context(), person(c), c.Param("id"), n, f.Claim)
	if err != nil {
		return err
	}
	return s.answer(c, made, m)
}

func (s *Server) apiAgainSound(c *gin.Context) error { return s.serveAgain(c, soundOf) }

func (s *Server) apiAgainPicture(c *gin.Context) error { return s.serveAgain(c, pictureOf) }

func (s *Server) serveAgain(c *gin.Context, what medium) error {
	n, _ := strconv.Atoi(c.Param("n"))
	m, err := s.againMedium(c.Request.Context(), person(c), c.Param("id"), n, what)
	if err != nil {
		return err
	}
	return s.serveClip(c, m)
}

func (s *Server) apiPlans(c *gin.Context) error {
	p, err := s.plans(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, p)
}

// planForm is the body of POST /api/v1/attempts/{id}/plans.
type planForm struct {
	Plan string `json:"plan"` // empty: none
}

func (s *Server) apiMakePlan(c *gin.Context) error {
	var f planForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if err := s.makePlan(c.Request.Context(), person(c), c.Param("id"), f.Plan); err != nil {
		return err
	}
	return s.apiPlans(c)
}

// doPlan takes the plan that was chosen at the end of a debrief.
func (s *Server) doPlan(c *gin.Context) error {
	id, plan := c.Param("id"), c.PostForm("plan")
	if err := s.makePlan(c.Request.Context(), person(c), id, plan); err != nil {
		return err
	}
	if plan == "" {
		s.notice(c, "No plan for the next patient.")
	} else {
		s.notice(c, "It stands over your next practice visit.")
	}
	return s.redirect(c, "/visits/"+id+"/debrief")
}

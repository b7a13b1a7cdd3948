package server

import (
	"strconv"

	"dewclaw/cases/drill"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// drillsAnswer are the kinds of drills, and one's own drills of late.
type drillsAnswer struct {
	Kinds  []face.DrillKind `json:"kinds"`
	Drills []face.DrillRow  `json:"drills"`
}

// drillStart is the body of POST /api/v1/drills.
type drillStart struct {
	Kind    string `json:"kind"`
	Species string `json:"species,omitempty"` // empty: any
}

// drillDeedForm is the body of POST /api/v1/drills/{id}.
type drillDeedForm struct {
	Deed string `json:"deed"`
	N    int    `json:"n,omitempty"` // next: after which item
}

// drillAnswerForm is an answer to an item.
type drillAnswerForm struct {
	Value string `json:"value"`
	Over  int    `json:"over,omitempty"`
	Low   string `json:"low,omitempty"`
	High  string `json:"high,omitempty"`
	Sure  string `json:"sure,omitempty"`
}

// overText is over how many seconds one counted; empty: as asked.
func overText(seconds int) string {
	if seconds == 0 {
		return ""
	}
	return strconv.Itoa(seconds)
}

type drillVoidForm struct {
	Why string `json:"why"`
}

func (s *Server) apiDrills(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	if err := s.notWhileSitting(ctx, who); err != nil {
		return err
	}
	kinds, err := s.drillKinds(ctx, who)
	if err != nil {
		return err
	}
	rows, err := s.ownDrills(ctx, who)
	if err != nil {
		return err
	}
	return s.answer(c, done, drillsAnswer{kinds, rows})
}

func (s *Server) apiBeginDrill(c *gin.Context) error {
	var f drillStart
	if err := decode(c, &f); err != nil {
		return err
	}
	d, err := s.beginDrill(c.Request.Context(), who(c), f.Kind, f.Species)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/drills/"+d.ID)
	return s.drillAnswer(c, made, d.ID)
}

func (s *Server) apiDrill(c *gin.Context) error { return s.drillAnswer(c, done, c.Param("id")) }

// drillAnswer answers with a drill as it stands.
func (s *Server) drillAnswer(c *gin.Context, status int, id string) error {
	v := who(c)
	r, err := s.drillRun(c.Request.Context(), v.person, id)
	if err != nil {
		return err
	}
	return s.answer(c, status, s.faceDrill(r, v.session))
}

func (s *Server) apiDrillDeed(c *gin.Context) error {
	var f drillDeedForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if err := s.drillDeed(c.Request.Context(), who(c), c.Param("id"), f.Deed, f.N); err != nil {
		return err
	}
	return s.drillAnswer(c, done, c.Param("id"))
}

// itemOf is the number of the item that a path names; 0: none.
func itemOf(c *gin.Context) int {
	n, err := strconv.Atoi(c.Param("n"))
	if err != nil {
		return 0
	}
	return n
}

func (s *Server) apiAnswerItem(c *gin.Context) error {
	var f drillAnswerForm
	if err := decode(c, &f); err != nil {
		return err
	}
	a := answered{drill.Answer{Value: f.Value, Over: overText(f.Over), Low: f.Low, High: f.High}, f.Sure}
	if err := s.answerItem(c.Request.Context(), who(c), c.Param("id"), itemOf(c), a); err != nil {
		return err
	}
	return s.drillAnswer(c, done, c.Param("id"))
}

func (s *Server) apiVoidItem(c *gin.Context) error {
	var f drillVoidForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if err := s.voidItem(c.Request.Context(), who(c), c.Param("id"), itemOf(c), f.Why); err != nil {
		return err
	}
	return s.drillAnswer(c, done, c.Param("id"))
}

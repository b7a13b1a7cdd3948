package server

import (
	"slices"
	"strings"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// attemptForm is the body of POST /api/v1/attempts.
type attemptForm struct {
	Case       string `json:"case"`       // a patient's opaque id
	Track      string `json:"track"`      // veterinary or technician; empty: veterinary
	Assignment string `json:"assignment"` // instead of a case: the next patient of one's turn, which is begun where it is not
}

// casesAnswer is for students; staffAnswer for those who may see what is hidden.
type casesAnswer struct {
	Cases []face.Patient `json:"cases"`
}

type staffAnswer struct {
	Cases  []face.StaffCase `json:"cases"`
	Broken []face.Broken    `json:"broken"`
}

type visitsAnswer struct {
	Attempts []face.Visit `json:"attempts"`
}

type lineAnswer struct {
	Acts []sentAct `json:"acts"`
}

func (s *Server) apiCases(c *gin.Context) error {
	ctx := c.Request.Context()
	if !auth.May(auth.Role(person(c).Role), auth.SeeTruth) {
		list, err := s.listCases(ctx, person(c))
		if err != nil {
			return err
		}
		return s.answer(c, done, casesAnswer{list})
	}
	rows, broken, err := s.staffCases(ctx, person(c))
	if err != nil {
		return err
	}
	return s.answer(c, done, staffAnswer{rows, broken})
}

func (s *Server) apiCatalogue(c *gin.Context) error {
	cat, err := s.catalogue(c.Param("species"))
	if err != nil {
		return err
	}
	return s.answer(c, done, cat)
}

// apiLine reads a typed line into acts, without doing them.
func (s *Server) apiLine(c *gin.Context) error {
	text, given := c.GetQuery("text")
	if !given {
		return invalid("/text", "add ?text= and the line, such as ?text=auscultate+left+apex")
	}
	near := c.Query("near")
	if near != nearAll && near != nearNone {
		return invalid("/near", "leave it out, or none")
	}
	places := c.Query("places")
	if places != "" && !slices.Contains(exam.Places, places) {
		return invalid("/places", "leave it out, or one of "+strings.Join(exam.Places, ", "))
	}
	acts, err := s.line(c.Param("species"), text, near, places)
	if err != nil {
		return err
	}
	out := lineAnswer{Acts: []sentAct{}}
	for _, a := range acts {
		out.Acts = append(out.Acts, sendable(a))
	}
	return s.answer(c, done, out)
}

func (s *Server) apiAttempts(c *gin.Context) error {
	rows, err := s.visits(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	return s.answer(c, done, visitsAnswer{rows})
}

func (s *Server) apiStart(c *gin.Context) error {
	var f attemptForm
	if err := decode(c, &f); err != nil {
		return err
	}
	a, err := s.startAsked(c.Request.Context(), who(c), f)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/attempts/"+a.ID)
	return s.answer(c, made, a)
}

func (s *Server) apiAttempt(c *gin.Context) error {
	a, err := s.attempt(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, a)
}

func (s *Server) apiSweep(c *gin.Context) error {
	sw, err := s.sweep(c.Request.Context(), person(c), c.Param("id"), c.Param("region"))
	if err != nil {
		return err
	}
	return s.answer(c, done, sw)
}

// apiFinish takes a visit to its grade. A body is not needed; an empty object is taken.
func (s *Server) apiFinish(c *gin.Context) error {
	if c.Request.ContentLength != 0 {
		if err := decode(c, &struct{}{}); err != nil {
			return err
		}
	}
	a, err := s.finish(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/attempts/"+a.ID+"/report")
	return s.answer(c, accepted, a)
}

func (s *Server) apiReport(c *gin.Context) error {
	r, err := s.report(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, r)
}

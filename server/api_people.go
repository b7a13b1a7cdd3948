package server

import (
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// personForm is the body of POST /api/v1/people.
type personForm struct {
	Login string `json:"login"`
	Name  string `json:"name"`
	Role  string `json:"role"`
}

type peopleAnswer struct {
	People []face.Account `json:"people"`
}

// inviteAnswer holds the path of the one-time link, which is shown once.
type inviteAnswer struct {
	Person face.Person `json:"person"`
	Link   string      `json:"link"`
}

// grantForm is the body of POST /api/v1/people/{id}/alternatives.
type grantForm struct {
	Traced    bool   `json:"traced"`
	Described bool   `json:"described"`
	Reason    string `json:"reason"`
}

func (s *Server) apiPeople(c *gin.Context) error {
	rows, err := s.accounts(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	return s.answer(c, done, peopleAnswer{rows})
}

func (s *Server) apiInvite(c *gin.Context) error {
	var f personForm
	if err := decode(c, &f); err != nil {
		return err
	}
	p, link, err := s.invite(c.Request.Context(), person(c), f.Login, f.Name, auth.Role(f.Role))
	if err != nil {
		return err
	}
	return s.answer(c, made, inviteAnswer{p, link})
}

// apiGrant says which other ways of giving sounds a person has from now on.
func (s *Server) apiGrant(c *gin.Context) error {
	var f grantForm
	if err := decode(c, &f); err != nil {
		return err
	}
	ctx, id := c.Request.Context(), c.Param("id")
	if _, err := s.grant(ctx, person(c), id, store.Alternatives{Traced: f.Traced, Described: f.Described}, f.Reason); err != nil {
		return err
	}
	a, err := s.account(ctx, person(c), id)
	if err != nil {
		return err
	}
	return s.answer(c, done, a)
}

package server

import (
	"dewclaw/server/auth"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// personForm is the body of POST /api/v1/people.
type personForm struct {
	Login string `json:"login"`
	Name  string `json:"name"`
	Role  string `json:"role"`
}

type peopleAnswer struct {
	People []face.Person `json:"people"`
}

// inviteAnswer holds the path of the one-time link, which is shown once.
type inviteAnswer struct {
	Person face.Person `json:"person"`
	Link   string      `json:"link"`
}

func (s *Server) apiPeople(c *gin.Context) error {
	rows, err := s.people(c.Request.Context())
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

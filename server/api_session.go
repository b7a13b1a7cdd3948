package server

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// signInForm is the body of POST /api/v1/session.
type signInForm struct {
	Login    string `json:"login"`
	Password string `json:"password"`
	Cookie   bool   `json:"cookie"` // a browser's cookie in place of tokens
}

// refreshForm is the body of POST /api/v1/token/refresh.
type refreshForm struct {
	Refresh string `json:"refresh_token"`
}

// tokenAnswer is what a program signs in to.
type tokenAnswer struct {
	Person  *face.Person `json:"person,omitempty"`
	Token   string       `json:"token,omitempty"`
	Type    string       `json:"token_type,omitempty"`
	Expires int          `json:"expires_in,omitempty"` // seconds
	Refresh string       `json:"refresh_token,omitempty"`
}

func (s *Server) apiSignIn(c *gin.Context) error {
	var f signInForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if f.Cookie {
		if err := s.signIn(c, f.Login, f.Password); err != nil {
			return err
		}
		p := person(c)
		return s.answer(c, made, tokenAnswer{Person: &p})
	}
	p, err := s.check(c.Request.Context(), f.Login, f.Password)
	if err != nil {
		return err
	}
	return s.admit(c, p)
}

// admit starts a program's session.
func (s *Server) admit(c *gin.Context, p store.Person) error {
	ctx, id, refresh := c.Request.Context(), auth.NewSecret(), auth.NewSecret()
	until := s.now().Add(auth.ProgramLife)
	if _, err := s.store.AddSession(ctx, store.NewSession{ID: id, Person: p.ID, Kind: string(auth.ForProgram), Expires: until}); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	// The refresh token carries the session's id, of which the store has only a hash.
	if err := s.store.AddRefresh(ctx, id, refresh, until); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	who := facePerson(p)
	return s.handOver(c, id, refresh, &who)
}

// handOver answers with a fresh access token and the refresh token for the next one.
func (s *Server) handOver(c *gin.Context, id, refresh string, who *face.Person) error {
	text, err := s.tokens.Issue(auth.ForProgram, id, s.now().Add(auth.AccessLife))
	if err != nil {
		return fmt.Errorf("token: %w", err)
	}
	return s.answer(c, made, tokenAnswer{Person: who, Token: text, Type: "Bearer",
		Expires: int(auth.AccessLife / time.Second), Refresh: id + "." + refresh})
}

// apiRefresh trades a refresh token for new tokens. A token that was used long
// ago ends the session: it or its successor was stolen.
func (s *Server) apiRefresh(c *gin.Context) error {
	var f refreshForm
	if err := decode(c, &f); err != nil {
		return err
	}
	id, old, ok := strings.Cut(f.Refresh, ".")
	if !ok {
		return ErrToken
	}
	next := auth.NewSecret()
	ses, err := s.store.Refresh(c.Request.Context(), old, next, s.now().Add(auth.ProgramLife))
	if errors.Is(err, store.ErrNotFound) || errors.Is(err, store.ErrUsed) {
		s.sessions.forget(id)
		return &Fault{Kind: ErrToken, Cause: err}
	}
	if err != nil {
		return fmt.Errorf("refresh: %w", err)
	}
	if mine, err := s.store.Session(c.Request.Context(), id); err != nil || mine.IDHash != ses.IDHash {
		return &Fault{Kind: ErrToken, Cause: err}
	}
	return s.handOver(c, id, next, nil)
}

func (s *Server) apiWho(c *gin.Context) error {
	p := person(c)
	return s.answer(c, done, tokenAnswer{Person: &p})
}

func (s *Server) apiSignOut(c *gin.Context) error {
	if err := s.signOut(c); err != nil {
		return err
	}
	return s.empty(c)
}

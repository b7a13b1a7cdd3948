package server

import (
	"context"
	"fmt"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// keepFor is how long a session lives beyond the sitting that it is in: nobody is
// signed out over the last patient.
const keepFor = 15 * time.Minute

// outlast is until when a person's session must live for the turns that run; zero:
// none does. One that is paused has no end yet: a whole session's life is added.
func (s *Server) outlast(ctx context.Context, person string) (time.Time, error) {
	rows, err := s.store.LatestTurns(ctx, person)
	if err != nil {
		return time.Time{}, fmt.Errorf("session: %w", err)
	}
	var until time.Time
	for _, row := range rows {
		t, err := s.turn(ctx, row.ID)
		if err != nil {
			continue // an assignment that was deleted keeps nobody signed in
		}
		c := t.clock(s.now())
		ends := c.Ends.Add(keepFor)
		switch c.Phase {
		case exam.Running:
		case exam.Paused:
			ends = ends.Add(auth.SessionLife)
		default:
			continue
		}
		if exam.Kind(t.assignment.Kind) == exam.Sitting && ends.After(until) {
			until = ends
		}
	}
	return until, nil
}

// keepSession notes that a session is in use, lets a browser's live as long as
// the sitting that its person is in, and says until when it then does; zero: as before.
func (s *Server) keepSession(ctx context.Context, id string, purpose auth.Purpose, ses store.Session) (time.Time, error) {
	if err := s.store.TouchSession(ctx, id); err != nil { // writes once a minute
		return time.Time{}, fmt.Errorf("session: %w", err)
	}
	if purpose != auth.ForBrowser {
		return time.Time{}, nil // programs refresh
	}
	until, err := s.outlast(ctx, ses.Person)
	if err != nil || !until.After(ses.Expires) {
		return time.Time{}, err
	}
	if err := s.store.ExtendSession(ctx, id, until); err != nil {
		return time.Time{}, fmt.Errorf("session: %w", err)
	}
	return until, nil
}

// renewCookie gives a browser its session's cookie with a later end.
func (s *Server) renewCookie(c *gin.Context, id string, until time.Time) error {
	text, err := s.tokens.Issue(auth.ForBrowser, id, until)
	if err != nil {
		return fmt.Errorf("session: %w", err)
	}
	s.setCookie(c, s.cookieName(), text, int(until.Sub(s.now()).Seconds()))
	return nil
}

package server

import (
	"context"
	"errors"
	"fmt"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// station is a page that a student meets between an own practice visit and its
// debrief. Each has a button that passes over it, which does what pass does.
type station struct {
	path    string // below /visits/:id/
	applies func(*Server, context.Context, store.Attempt) (bool, error)
	done    func(*Server, context.Context, store.Attempt) (bool, error) // passed over is done too
	pass    func(*Server, context.Context, store.Attempt) error
}

// stations is the way to a debrief, in order. One page more is a row.
func stations() []station {
	return []station{
		{"forecast", always, (*Server).forecastDone, (*Server).passForecast},
		{"again", (*Server).somethingMissed, (*Server).lookedAgain, (*Server).passLooks},
	}
}

func always(*Server, context.Context, store.Attempt) (bool, error) { return true, nil }

// wayBefore is where somebody has to go before the debrief of a visit opens;
// empty: it may open. Only who made a practice visit is asked anything, and not
// of one that ended before there was anything to ask.
func (s *Server) wayBefore(ctx context.Context, who face.Person, row store.Attempt) (string, error) {
	if row.Person != who.ID || row.Purpose != "" || row.State != store.StateGraded {
		return "", nil
	}
	f, err := s.store.Forecast(ctx, row.Transcript)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return "", fmt.Errorf("way to the debrief: %w", err)
	}
	if err == nil && f.At.IsZero() {
		return "", nil
	}
	for _, st := range stations() {
		applies, err := st.applies(s, ctx, row)
		if err != nil {
			return "", fmt.Errorf("way to the debrief: %s: %w", st.path, err)
		}
		if !applies {
			continue
		}
		if done, err := st.done(s, ctx, row); err != nil || !done {
			return "/visits/" + row.ID + "/" + st.path, err
		}
	}
	return "", nil
}

// leadBefore sends who has something to do before a debrief there, and reports
// whether it did.
func (s *Server) leadBefore(c *gin.Context, id string) (bool, error) {
	row, err := s.mayRead(c.Request.Context(), person(c), id)
	if err != nil {
		return false, err
	}
	path, err := s.wayBefore(c.Request.Context(), person(c), row)
	if err != nil || path == "" {
		return false, err
	}
	return true, s.redirect(c, path)
}

// passWay passes over all that is not done yet: for a visit that nobody made by hand.
func (s *Server) passWay(ctx context.Context, row store.Attempt) error {
	for _, st := range stations() {
		if done, err := st.done(s, ctx, row); err != nil || done {
			if err != nil {
				return err
			}
			continue
		}
		if err := st.pass(s, ctx, row); err != nil {
			return fmt.Errorf("pass over %s: %w", st.path, err)
		}
	}
	return nil
}

func (s *Server) passForecast(ctx context.Context, row store.Attempt) error {
	return s.store.SaveForecast(ctx, store.Forecast{Transcript: row.Transcript})
}

// forecastDone reports whether what to expect was said or passed over.
func (s *Server) forecastDone(ctx context.Context, row store.Attempt) (bool, error) {
	_, err := s.store.Forecast(ctx, row.Transcript)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil, err
}

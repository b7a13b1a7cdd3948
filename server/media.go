package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// medium makes an act's sound or picture, with its media type.
type medium func(p *cases.Patient, e rubric.Entry, phase uint64) (kind string, body []byte, err error)

func soundOf(p *cases.Patient, e rubric.Entry, phase uint64) (string, []byte, error) {
	body, err := p.Sound(e, phase)
	return "audio/wav", body, err
}

func pictureOf(p *cases.Patient, e rubric.Entry, phase uint64) (string, []byte, error) {
	pic, err := p.Picture(e, phase)
	return pic.Type, pic.Bytes, err
}

// apiSound serves what is heard at an act.
func (s *Server) apiSound(c *gin.Context) error { return s.serveMedium(c, soundOf) }

// apiPicture serves what is seen at an act.
func (s *Server) apiPicture(c *gin.Context) error { return s.serveMedium(c, pictureOf) }

// serveMedium answers with the same bytes at every request for an act, so that
// a player may ask for a part. It sets no ETag and no time: both would tell one
// clip from another.
func (s *Server) serveMedium(c *gin.Context, make medium) error {
	n, err := strconv.Atoi(c.Param("n"))
	if err != nil || n < 1 {
		return ErrMissing
	}
	kind, body, err := s.medium(c.Request.Context(), person(c), c.Param("id"), n, make)
	if err != nil {
		return err
	}
	c.Header("Content-Type", kind)
	http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(body))
	return nil
}

// medium makes the clip of one act. An act without one, and one that was not
// done, are as absent as another's.
func (s *Server) medium(ctx context.Context, who face.Person, id string, n int, make medium) (string, []byte, error) {
	row, err := s.mayRead(ctx, who, id)
	if err != nil {
		return "", nil, err
	}
	l, err := s.liveOf(ctx, row)
	if err != nil {
		return "", nil, err
	}
	e, err := s.entry(ctx, l, row, n)
	if err != nil {
		return "", nil, err
	}
	kind, body, err := make(l.patient, e, s.phase(row.ID, n)) // without the lock: a patient does not change
	if errors.Is(err, cases.ErrNothingThere) {
		return "", nil, &Fault{Kind: ErrMissing, Cause: err}
	}
	if err != nil {
		return "", nil, fmt.Errorf("medium: %w", err)
	}
	return kind, body, nil
}

// entry is the n-th act.
func (s *Server) entry(ctx context.Context, l *live, row store.Attempt, n int) (rubric.Entry, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if n > len(l.entries) && row.State == store.StateOpen {
		if err := s.catchUp(ctx, l); err != nil {
			return rubric.Entry{}, err
		}
	}
	if n > len(l.entries) {
		return rubric.Entry{}, ErrMissing
	}
	return l.entries[n-1], nil
}

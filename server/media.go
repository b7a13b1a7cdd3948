package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// medium is one of the media of an act.
type medium struct {
	name string
	make func(p *cases.Patient, e rubric.Entry, phase uint64) (clip, error)
}

var (
	soundOf = medium{"sound", func(p *cases.Patient, e rubric.Entry, phase uint64) (clip, error) {
		body, err := p.Sound(e, phase)
		return clip{mediaWAV, body}, err
	}}
	pictureOf = medium{"picture", func(p *cases.Patient, e rubric.Entry, phase uint64) (clip, error) {
		pic, err := p.Picture(e, phase)
		return clip{pic.Type, pic.Bytes}, err
	}}
)

// The media types that are served; another is a fault of ours.
const (
	mediaWAV = "audio/wav"
	mediaSVG = "image/svg+xml"
)

var mediaTypes = []string{mediaWAV, mediaSVG, "image/gif", "image/png", "image/jpeg"}

// drawnPolicy is the content policy of a drawing: opened by itself it loads
// nothing, runs nothing and is nobody's page.
const drawnPolicy = "default-src 'none'; style-src 'unsafe-inline'; sandbox"

// apiSound serves what is heard at an act.
func (s *Server) apiSound(c *gin.Context) error { return s.serveMedium(c, soundOf) }

// apiPicture serves what is seen at an act.
func (s *Server) apiPicture(c *gin.Context) error { return s.serveMedium(c, pictureOf) }

func (s *Server) serveMedium(c *gin.Context, what medium) error {
	n, err := strconv.Atoi(c.Param("n"))
	if err != nil || n < 1 {
		return ErrMissing
	}
	kind, body, err := s.medium(c.Request.Context(), person(c), c.Param("id"), n, what)
	if err != nil {
		return err
	}
	return s.serveClip(c, clip{kind, body})
}

// serveClip answers with the same bytes at every request, so that a player may
// ask for a part. It sets no ETag and no time: both would tell one clip from
// another. A part that there is not is an error like every other, and says how
// long the clip is (RFC 9110, 15.5.17).
func (s *Server) serveClip(c *gin.Context, m clip) error {
	if !slices.Contains(mediaTypes, m.kind) {
		return fmt.Errorf("medium: the media type %q is not served", m.kind)
	}
	c.Header("Content-Type", m.kind)
	if m.kind == mediaSVG {
		c.Header("Content-Security-Policy", drawnPolicy)
	}
	w := &unstored{ResponseWriter: c.Writer}
	http.ServeContent(w, c.Request, "", time.Time{}, bytes.NewReader(m.body))
	if w.refused {
		c.Header("Content-Range", fmt.Sprintf("bytes */%d", len(m.body)))
		return ErrPart
	}
	return nil
}

// unstored keeps no-store where http.ServeContent takes it away, which drops
// Cache-Control from its errors, and keeps its plain words for a part that there
// is not to itself.
type unstored struct {
	gin.ResponseWriter
	refused bool
}

// WriteHeader sends the headers, unless the part was refused.
func (w *unstored) WriteHeader(status int) {
	w.Header().Set("Cache-Control", "no-store")
	if status != http.StatusRequestedRangeNotSatisfiable {
		w.ResponseWriter.WriteHeader(status)
		return
	}
	w.refused = true
	w.Header().Del("Content-Type") // of the plain words
}

// Write sends a part of the body, unless the part was refused.
func (w *unstored) Write(b []byte) (int, error) {
	if w.refused {
		return len(b), nil
	}
	return w.ResponseWriter.Write(b)
}

// medium is the clip of one act: its media type and its bytes, which are shared.
// An act without one, and one that was not done, are as absent as another's.
func (s *Server) medium(ctx context.Context, who face.Person, id string, n int, what medium) (string, []byte, error) {
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
	m, err := s.media.get(ctx, clipKey{row.ID, n, what.name}, func() (clip, error) {
		return what.make(l.patient, e, s.phase(row.ID, n)) // without the lock: a patient does not change
	})
	if errors.Is(err, cases.ErrNothingThere) {
		return "", nil, &Fault{Kind: ErrMissing, Cause: err}
	}
	if err != nil {
		return "", nil, fmt.Errorf("medium: %w", err)
	}
	return m.kind, m.body, nil
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

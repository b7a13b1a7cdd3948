package server

import (
	"errors"
	"fmt"
	"strconv"

	"dewclaw/cases"
	"dewclaw/cases/drill"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// drillMedium is one of the media of an item: of the first or the second of a pair.
type drillMedium struct {
	name string
	make func(it drill.Item, which int, phase uint64) (clip, error)
}

var (
	drillSound = drillMedium{"sound", func(it drill.Item, which int, phase uint64) (clip, error) {
		body, err := it.Sound(which, phase)
		return clip{mediaWAV, body}, err
	}}
	drillPicture = drillMedium{"picture", func(it drill.Item, which int, phase uint64) (clip, error) {
		pic, err := it.Picture(which, phase)
		return clip{pic.Type, pic.Bytes}, err
	}}
)

func (s *Server) drillItemSound(c *gin.Context) error   { return s.serveItem(c, drillSound) }
func (s *Server) drillItemPicture(c *gin.Context) error { return s.serveItem(c, drillPicture) }

// mostClips is more than any item has.
const mostClips = 32

// serveItem serves what is heard or seen at an item that waits or is marked.
func (s *Server) serveItem(c *gin.Context, what drillMedium) error {
	ctx := c.Request.Context()
	r, err := s.drillRun(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(c.Param("n"))
	if err != nil {
		return ErrMissing
	}
	row, err := r.item(n)
	if err != nil {
		return err
	}
	which, err := strconv.Atoi(c.DefaultQuery("which", "0"))
	if err != nil || which < 0 || which >= mostClips || row.State == store.ItemVoid {
		return ErrMissing
	}
	m, err := s.media.get(ctx, clipKey{"drill " + r.row.ID, n, what.name + strconv.Itoa(which)}, func() (clip, error) {
		it, err := drill.Decode(s.library, row.Item)
		if err != nil {
			return clip{}, err
		}
		return what.make(it, which, s.phase("drill "+r.row.ID, mostClips*n+which))
	})
	if errors.Is(err, cases.ErrNothingThere) {
		return &Fault{Kind: ErrMissing, Cause: err}
	}
	if err != nil {
		return fmt.Errorf("drill: medium: %w", err)
	}
	return s.serveClip(c, m)
}

package server

import (
	"context"
	"log/slog"
	"sync"
	"time"
)

// setBack is how far the machine's clock must go back at once before it is said
// in the log; less is what keeping it right comes to. Our own figure.
const setBack = time.Second

// mostAhead is how far what is stored may lie ahead of the machine's clock for a start to
// go on from there: an hour of summer time and some. More is a clock that was wrong.
// Our own figure.
const mostAhead = 90 * time.Minute

// steady is a clock that never goes back. While the machine's clock goes on it shows
// the same. Once that is set back, as by hand or an hour too early at the end of
// summer, it runs on at the pace of the machine's ticks, which nobody sets, until the
// machine's clock has caught up or the program is started anew: in a sitting that
// has begun time neither stands still nor comes twice.
type steady struct {
	wall  func() time.Time     // the machine's clock, which somebody may set
	ticks func() time.Duration // time since some moment, which nobody sets
	log   *slog.Logger

	mu     sync.Mutex
	last   time.Time // what was shown last
	at     time.Duration
	behind time.Duration // by how much the machine's clock was behind it then
}

// newSteady is the clock of a server.
func newSteady(log *slog.Logger) *steady {
	begun := time.Now() // holds the ticks too
	return &steady{wall: time.Now, ticks: func() time.Duration { return time.Since(begun) }, log: log}
}

// now is the time. It is safe for concurrent use.
func (c *steady) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	wall, at := c.wall().Round(0), c.ticks() // Round takes the ticks out, so that clocks are compared
	shown := c.last.Add(at - c.at)
	if c.last.IsZero() || wall.After(shown) {
		shown = wall
	}
	behind := shown.Sub(wall)
	if behind-c.behind >= setBack {
		c.log.Warn("the machine's clock was set back; this server goes on by its own until it is started again", "by", (behind - c.behind).Round(time.Millisecond).String())
	}
	c.last, c.at, c.behind = shown, at, behind
	return shown
}

// notBefore has the clock go on from a moment, where the machine's clock is behind it.
func (c *steady) notBefore(at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	wall := c.wall().Round(0)
	ahead := at.Sub(wall)
	switch {
	case ahead <= 0:
		return
	case ahead > mostAhead:
		c.log.Error("what was stored last lies ahead of the machine's clock: look whether that is right; until it is past, sittings that were begun before do not go on", "by", ahead.Round(time.Second).String())
		return
	case ahead >= setBack:
		c.log.Warn("the machine's clock was set back since the last start; this server goes on from what was stored last", "by", ahead.Round(time.Second).String())
	}
	c.last, c.at, c.behind = at, c.ticks(), ahead
}

// startClock has the clock go on from what is stored, so that a start changes nothing in
// a sitting. A clock that was handed in is left alone.
func (s *Server) startClock(ctx context.Context) error {
	if s.clock == nil {
		return nil
	}
	newest, err := s.store.Newest(ctx)
	if err != nil {
		return err
	}
	s.clock.notBefore(newest)
	return nil
}

package server

import (
	"log/slog"
	"sync"
	"time"
)

// setBack is how far the machine's clock must go back at once before it is said
// in the log; less is what keeping it right comes to. Our own figure.
const setBack = time.Second

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

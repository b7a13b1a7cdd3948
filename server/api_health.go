package server

import (
	"context"
	"time"

	"github.com/gin-gonic/gin"
)

// readyWithin is how long the database may take to say that it is there.
const readyWithin = time.Second

type healthAnswer struct {
	Status string `json:"status"`
}

// healthz says that the process lives, whatever its database does.
func (s *Server) healthz(c *gin.Context) error { return s.answer(c, done, healthAnswer{"alive"}) }

// readyz says that requests may be sent here.
func (s *Server) readyz(c *gin.Context) error {
	if s.draining.Load() {
		return &Fault{Kind: ErrBusy, Text: "This server is closing."}
	}
	ctx, cancel := context.WithTimeout(c.Request.Context(), readyWithin)
	defer cancel()
	if err := s.store.Ready(ctx); err != nil {
		return &Fault{Kind: ErrBusy, Text: "The database does not answer.", Cause: err}
	}
	return s.answer(c, done, healthAnswer{"ready"})
}

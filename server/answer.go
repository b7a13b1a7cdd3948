package server

import (
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"
)

// The statuses of what went well. What went wrong is in errors.go.
const (
	done     = http.StatusOK
	made     = http.StatusCreated
	accepted = http.StatusAccepted
)

// answer writes JSON. Nothing is written unless all of it could be encoded:
// what is hidden refuses.
func (s *Server) answer(c *gin.Context, status int, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("answer: %w", err)
	}
	c.Data(status, "application/json", body)
	return nil
}

// data writes bytes that are at hand.
func (s *Server) data(c *gin.Context, kind string, body []byte) { c.Data(done, kind, body) }

// empty answers that it is done and that there is nothing to say.
func (s *Server) empty(c *gin.Context) error {
	c.Status(http.StatusNoContent)
	c.Writer.WriteHeaderNow()
	return nil
}

package server

import (
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// assignedAnswer are the assignments that are set for a student.
type assignedAnswer struct {
	Assignments []face.Assignment `json:"assignments"`
}

// seatsAnswer is the seating sheet, each seat with the words of its row.
type seatsAnswer struct {
	Now   string      `json:"now"` // in the school's zone
	Seats []seatWords `json:"seats"`
}

// seatWords is a seat with what the page writes of it.
type seatWords struct {
	face.Seat
	Words seatRow `json:"words"`
}

func (s *Server) apiAssignedAll(c *gin.Context) error {
	all, err := s.assignments(c.Request.Context(), person(c), who(c).session)
	if err != nil {
		return err
	}
	return s.answer(c, done, assignedAnswer{all})
}

func (s *Server) apiAssigned(c *gin.Context) error {
	ctx, v := c.Request.Context(), who(c)
	a, cohort, err := s.assigned(ctx, v.person, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.faceAssignment(ctx, v.person, a, cohort, v.session)
	if err != nil {
		return err
	}
	return s.answer(c, done, f)
}

func (s *Server) apiBegin(c *gin.Context) error {
	t, err := s.beginTurn(c.Request.Context(), person(c), c.Param("id"), who(c).session)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/turns/"+t.row.ID)
	return s.clockAnswer(c, made, t.row.ID)
}

func (s *Server) apiTurn(c *gin.Context) error {
	t, err := s.ownTurn(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.faceTurn(c.Request.Context(), t, who(c).session)
	if err != nil {
		return err
	}
	return s.answer(c, done, f)
}

func (s *Server) apiClock(c *gin.Context) error { return s.clockAnswer(c, done, c.Param("id")) }

// apiTurnDeed does one of the deeds of a turn and answers with the clock after it.
func (s *Server) apiTurnDeed(c *gin.Context) error {
	deed := turnDeeds[c.Param("deed")]
	if deed == nil {
		return ErrMissing
	}
	if c.Request.ContentLength != 0 {
		if err := decode(c, &struct{}{}); err != nil {
			return err
		}
	}
	if err := deed(s, c.Request.Context(), person(c), c.Param("id"), who(c).session); err != nil {
		return err
	}
	return s.clockAnswer(c, done, c.Param("id"))
}

func (s *Server) clockAnswer(c *gin.Context, how int, id string) error {
	out, err := s.clockOf(c.Request.Context(), person(c), id, who(c).session)
	if err != nil {
		return err
	}
	return s.answer(c, how, out)
}

func (s *Server) apiSeats(c *gin.Context) error {
	a, _, err := s.watched(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	all, err := s.seats(c.Request.Context(), a)
	if err != nil {
		return err
	}
	out := seatsAnswer{Now: all.Now.In(s.zone()).Format("15:04:05"), Seats: []seatWords{}}
	for _, seat := range all.Seats {
		out.Seats = append(out.Seats, seatWords{seat, s.seatRow(seat)})
	}
	return s.answer(c, done, out)
}

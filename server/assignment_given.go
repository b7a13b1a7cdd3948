package server

import (
	"context"
	"fmt"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
)

// Given is an assignment for GiveAssignment: cases by id, each slot one patient.
type Given struct {
	Cohort, By, Title, Kind string
	Slots                   [][]string
	Opens, Closes           time.Time
	Minutes                 int // of each student; 0: until it closes
	Shuffled                bool
	Reason                  string // why it is set although something speaks against it
}

// GiveAssignment makes an assignment, with what is usual for its kind, and sets it;
// what is wrong with it is an error. It serves demonstrations and load figures; no
// route leads here.
func (s *Server) GiveAssignment(ctx context.Context, g Given) (id string, err error) {
	form := newAssignmentForm{Title: g.Title, Kind: g.Kind, Slots: g.Slots, Opens: g.Opens, Closes: g.Closes, Shuffled: g.Shuffled}
	if g.Minutes > 0 {
		form.Minutes = &g.Minutes
	}
	by := face.Person{ID: g.By, Role: string(auth.Instructor)}
	a, err := s.saveAssignment(ctx, by, g.Cohort, "", "", form.ask())
	if err == nil {
		err = s.setAssignment(ctx, by, a.ID, setForm{Edition: editionOf(a), Uneven: true, Reason: g.Reason})
	}
	if err != nil {
		_, fault := tell(err)
		return "", fmt.Errorf("give %q: %w %v", g.Title, err, fault.Fields)
	}
	return a.ID, nil
}

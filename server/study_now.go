package server

import (
	"context"
	"errors"
	"fmt"

	"dewclaw/server/exam"
	"dewclaw/server/face"
)

// notWhileSitting refuses self-study to whoever is in a sitting that runs or
// stands still: a drill would hint at what is asked there.
func (s *Server) notWhileSitting(ctx context.Context, who face.Person) error {
	rows, err := s.store.LatestTurns(ctx, who.ID)
	if err != nil {
		return fmt.Errorf("sitting: %w", err)
	}
	for _, row := range rows {
		t, err := s.turn(ctx, row.ID)
		if errors.Is(err, ErrMissing) {
			continue // an assignment that was deleted holds nobody up
		}
		if err != nil {
			return err
		}
		if exam.Kind(t.assignment.Kind) != exam.Sitting {
			continue
		}
		f, err := s.faceTurn(ctx, t, "")
		if err != nil {
			return err
		}
		if phase := exam.Phase(f.Phase); phase == exam.Running || phase == exam.Paused {
			return &Fault{Kind: ErrNotNow, Text: "You are in a sitting. Drills and the expert wait until it is over."}
		}
	}
	return nil
}

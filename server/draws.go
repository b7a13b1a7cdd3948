package server

import (
	"context"

	"dewclaw/cases"
	"dewclaw/server/store"
)

// drawSeeds draws the patient of every place of a plan.
func (s *Server) drawSeeds(ctx context.Context, a store.Assignment, plan []planned) error {
	for i := range plan {
		plan[i].Seed = cases.EncodeSeed(cases.NewSeed())
	}
	return nil
}

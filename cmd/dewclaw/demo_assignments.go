package main

import (
	"context"
	"fmt"
	"time"

	"dewclaw/server"
)

// demoAssignments sets a practice that is open and a sitting of next week.
func demoAssignments(ctx context.Context, s *server.Server, cohort, by string) error {
	today := s.Store().Now().UTC().Truncate(24 * time.Hour)
	exam := today.Add(7*24*time.Hour + 9*time.Hour)
	for _, g := range []server.Given{
		{Title: "Hearts, before the lecture", Kind: "practice", Opens: today, Closes: today.Add(21*24*time.Hour + 18*time.Hour),
			Slots: [][]string{{"pippin"}, {"dibs", "otho", "ottilie"}}},
		{Title: "Examination of dog and cat", Kind: "sitting", Opens: exam, Closes: exam.Add(3 * time.Hour), Minutes: 75, Shuffled: true,
			Slots: [][]string{{"wicket"}, {"basil", "pilchard"}, {"clementine", "tinker"}}},
	} {
		g.Cohort, g.By, g.Reason = cohort, by, "For the demonstration"
		if _, err := s.GiveAssignment(ctx, g); err != nil {
			return fmt.Errorf("assignments: %w", err)
		}
	}
	return nil
}

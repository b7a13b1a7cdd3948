package server

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/study"
)

// fade takes out of a hint what this person has had right twice running, and says
// so in words. The caller holds l.mu.
func (s *Server) fade(ctx context.Context, l *live, out *rubric.Outcome) error {
	all, err := s.judgements(ctx, face.Person{ID: l.row.Person})
	if err != nil {
		return fmt.Errorf("hint: %w", err)
	}
	faded := study.Faded(all)
	held := func(region string) bool {
		r := l.cat.Region(region)
		return r != nil && r.Skill != "" && slices.Contains(faded, r.Skill)
	}
	hint, err := l.patient.Hint(l.state(), held)
	if err != nil {
		return fmt.Errorf("hint: %w", err)
	}
	if hint == out.Answer {
		return nil // all of it is still given
	}
	var skills []string
	for _, k := range l.cat.Skills {
		if slices.Contains(faded, k.ID) && slices.ContainsFunc(l.cat.Regions, func(r cases.Region) bool { return r.Skill == k.ID }) {
			skills = append(skills, strings.ToLower(k.Label))
		}
	}
	out.Answer = hint + " About these you are given no hints any more, for you had them right twice running: " + strings.Join(skills, "; ") + "."
	return nil
}

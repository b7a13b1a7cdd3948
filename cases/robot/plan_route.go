package robot

import (
	"slices"

	"dewclaw/rubric"
)

// places gives every step its place on the way.
func (b *planner) places() func(*rubric.Step) int {
	if b.s.way != nil {
		return b.s.way.rank
	}
	place := b.stages()
	early := b.earlySteps(place)
	return func(s *rubric.Step) int {
		if slices.Contains(early, s.ID) {
			return 0
		}
		return place[s.Stage]
	}
}

// stages numbers the stages along the first accepted route; those that it does
// not name follow in the catalogue's order.
func (b *planner) stages() map[string]int {
	place := map[string]int{}
	if len(b.k.Routes) > 0 {
		for _, group := range b.k.Routes[0].Order {
			for _, s := range group {
				place[s] = len(place)
			}
		}
	}
	for _, s := range b.k.Stages {
		if _, ok := place[s]; !ok {
			place[s] = len(place)
		}
	}
	for _, s := range b.early(place) {
		place[s] = 0 // a stable sort leaves it after the first stage
	}
	return place
}

// early are the stages that a good habit wants before others and that the route
// lets come first, such as the gait before the limbs.
func (b *planner) early(place map[string]int) []string {
	var out []string
	for i := range b.k.Rules {
		r := &b.k.Rules[i]
		if r.Tag != "habit" {
			continue
		}
		for _, first := range b.stagesOf(r.Before) {
			late := slices.ContainsFunc(b.stagesOf(r.After), func(s string) bool { return place[s] < place[first] })
			if late && b.floatsFirst(func(f rubric.Float) bool { return slices.Contains(f.Stages, first) }) {
				out = append(out, first)
			}
		}
	}
	return out
}

// earlySteps are the single steps of which the same is true, such as the
// temperature of a cow.
func (b *planner) earlySteps(place map[string]int) []string {
	var out []string
	for i := range b.k.Rules {
		r := &b.k.Rules[i]
		if r.Tag != "habit" {
			continue
		}
		after := b.stagesOf(r.After)
		for j := range b.k.Steps {
			s := &b.k.Steps[j]
			late := slices.ContainsFunc(after, func(stage string) bool { return place[stage] < place[s.Stage] })
			if slices.Contains(r.Before, s.ID) && late && b.floatsFirst(func(f rubric.Float) bool { return slices.Contains(f.Steps, s.ID) }) {
				out = append(out, s.ID)
			}
		}
	}
	return out
}

// stagesOf are the stages of the steps that words name.
func (b *planner) stagesOf(words []string) []string {
	var out []string
	for i := range b.k.Steps {
		if slices.Contains(words, b.k.Steps[i].ID) {
			out = append(out, b.k.Steps[i].Stage)
		}
	}
	return out
}

// floatsFirst says whether the first route lets something that floats come first.
func (b *planner) floatsFirst(is func(rubric.Float) bool) bool {
	return len(b.k.Routes) > 0 && slices.ContainsFunc(b.k.Routes[0].Floats, func(f rubric.Float) bool {
		return is(f) && slices.Contains(f.Places, "first")
	})
}

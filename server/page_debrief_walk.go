package server

import (
	"fmt"
	"slices"

	"dewclaw/server/face"
	"dewclaw/web"
)

// moveRow is a step that would have to stand elsewhere.
type moveRow struct {
	Label, Where string
	Act          int
}

// drawWalk draws the way as it was gone and as the nearest accepted way has it.
func (p *debriefPage) drawWalk(cat *face.Catalogue) {
	steps := p.R.Walk.Steps
	accepted := acceptedWalk(p.R.Walk, cat)
	var moved []string
	for _, w := range steps {
		if !w.Move {
			continue
		}
		p.Moves = append(p.Moves, moveRow{Label: w.Label, Act: w.Act, Where: placeIn(accepted, w)})
		moved = append(moved, regionOf(cat, w.Step))
	}
	p.RouteText = routeText(p.R.Walk, len(p.Moves))
	if len(steps) == 0 {
		return
	}
	d := web.Drawing{Species: p.R.Patient.Species, Dry: p.R.Patient.Dry, Spots: spotsOf(cat), Name: "walked", Title: "The way over the animal as you went it", Route: regionsOf(cat, steps), Moves: moved, Numbers: p.FewMoves()}
	p.Walked = web.Animal(d)
	if len(moved) > 0 {
		d = web.Drawing{Species: p.R.Patient.Species, Dry: p.R.Patient.Dry, Spots: spotsOf(cat), Name: "accepted", Title: "The nearest accepted way", Route: regionsOf(cat, accepted), Accepted: true}
		p.Accepted = web.Animal(d)
	}
}

// mostNumbers is how many numbered rings can be told apart on the drawing.
const mostNumbers = 12

// FewMoves reports whether the steps that would move can be numbered and listed at a glance.
func (p *debriefPage) FewMoves() bool { return len(p.Moves) <= mostNumbers }

func routeText(w face.Walk, moves int) string {
	switch {
	case len(w.Steps) == 0:
		return "No step was done long enough to draw a way."
	case w.Nearest == "":
		return "Too few steps were done to say which accepted way this was."
	case moves == 0:
		return "Your way is an accepted one as it stands."
	case moves == 1:
		return "One step in another place would make your way an accepted one."
	}
	return fmt.Sprintf("%d steps in other places would make your way an accepted one; it cannot be done with fewer.", moves)
}

// acceptedWalk is the walk with every step that has to move put where the
// steps that stay leave room for it in the order of the nearest route.
func acceptedWalk(w face.Walk, cat *face.Catalogue) []face.Walked {
	rank := map[string]int{}
	for i, s := range cat.Stages {
		rank[s.ID] = i
	}
	for i, stage := range w.Order {
		rank[stage] = i
	}
	var walk []face.Walked
	for _, step := range w.Steps {
		if !step.Move {
			walk = append(walk, step)
		}
	}
	for _, step := range w.Steps {
		if step.Move {
			walk = slices.Insert(walk, slot(walk, step, rank), step)
		}
	}
	return walk
}

// slot is where a step goes into a walk: the last place at which it stands
// out of order with the fewest others.
func slot(walk []face.Walked, step face.Walked, rank map[string]int) int {
	own := rank[step.Stage]
	wrong := 0 // others out of order if it stood first
	for _, w := range walk {
		if rank[w.Stage] < own {
			wrong++
		}
	}
	best, least := 0, wrong
	for i, w := range walk {
		switch {
		case rank[w.Stage] < own:
			wrong--
		case rank[w.Stage] > own:
			wrong++
		}
		if wrong <= least {
			best, least = i+1, wrong
		}
	}
	return best
}

// placeIn says behind which step a moved one would stand.
func placeIn(walk []face.Walked, w face.Walked) string {
	for i := range walk {
		if walk[i].Act != w.Act {
			continue
		}
		if i == 0 {
			return "at the very beginning"
		}
		return "after: " + walk[i-1].Label
	}
	return ""
}

func regionOf(cat *face.Catalogue, step string) string {
	if s := cat.Step(step); s != nil {
		return s.Region
	}
	return ""
}

// regionsOf are the regions of a walk, without immediate repeats.
func regionsOf(cat *face.Catalogue, steps []face.Walked) []string {
	var regions []string
	for _, w := range steps {
		r := regionOf(cat, w.Step)
		if r != "" && (len(regions) == 0 || regions[len(regions)-1] != r) {
			regions = append(regions, r)
		}
	}
	return regions
}

package server

import (
	"fmt"

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
	accepted := acceptedWalk(steps, cat)
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
	d := web.Drawing{Species: p.R.Patient.Species, Spots: spotsOf(cat), Name: "walked", Title: "The way over the animal as you went it", Route: regionsOf(cat, steps), Moves: moved}
	p.Walked = web.Animal(d)
	if len(moved) > 0 {
		d = web.Drawing{Species: p.R.Patient.Species, Spots: spotsOf(cat), Name: "accepted", Title: "The nearest accepted way", Route: regionsOf(cat, accepted), Accepted: true}
		p.Accepted = web.Animal(d)
	}
}

func routeText(w face.Walk, moves int) string {
	switch {
	case len(w.Steps) == 0:
		return "You examined nothing, so there is no way to draw."
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
// steps that stay leave room for it: after the last that stays in the same
// stage, else before the first that stays in a later one.
func acceptedWalk(steps []face.Walked, cat *face.Catalogue) []face.Walked {
	rank := map[string]int{}
	for i, s := range cat.Stages {
		rank[s.ID] = i
	}
	var walk []face.Walked
	for _, w := range steps {
		if !w.Move {
			walk = append(walk, w)
		}
	}
	for _, w := range steps {
		if w.Move {
			at := slot(walk, w, rank)
			walk = append(walk[:at:at], append([]face.Walked{w}, walk[at:]...)...)
		}
	}
	return walk
}

// slot is where a step goes into a walk.
func slot(walk []face.Walked, w face.Walked, rank map[string]int) int {
	for i := len(walk) - 1; i >= 0; i-- {
		if walk[i].Stage == w.Stage {
			return i + 1
		}
	}
	for i := range walk {
		if rank[walk[i].Stage] > rank[w.Stage] {
			return i
		}
	}
	return len(walk)
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

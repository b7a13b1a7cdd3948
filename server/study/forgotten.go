package study

import (
	"cmp"
	"slices"

	"dewclaw/rubric/cohort"
)

// When a step counts as forgotten again and again: in so many of the last visits
// to a species, and in at least every third of those that asked for it (derived).
const (
	lastVisits = 8
	leastTimes = 2
	everyThird = 3
)

// Forgotten is a required step that somebody left out again and again.
type Forgotten struct {
	Step         string
	Left, Visits int // left out in so many of the last visits that asked for it
	low          float64
}

// ForgottenOf are the steps that were left out again and again with one species,
// those first of which it is surest.
func ForgottenOf(list []Judgement, species string) []Forgotten {
	own := slices.DeleteFunc(slices.Clone(list), func(j Judgement) bool { return j.Visit == "" || j.Species != species })
	at := map[string]int{}
	var all []Forgotten
	for _, visit := range lastOf(own, lastVisits) {
		for _, j := range visit {
			if !j.Step {
				continue
			}
			if _, met := at[j.Place]; !met {
				at[j.Place] = len(all)
				all = append(all, Forgotten{Step: j.Place})
			}
			f := &all[at[j.Place]]
			f.Visits++
			if j.Mark == 0 {
				f.Left++
			}
		}
	}
	all = slices.DeleteFunc(all, func(f Forgotten) bool { return f.Left < leastTimes || f.Left*everyThird < f.Visits })
	for i := range all {
		all[i].low, _, _ = cohort.Wilson(float64(all[i].Left), float64(all[i].Visits), cohort.Z80)
	}
	slices.SortFunc(all, func(a, b Forgotten) int {
		return cmp.Or(cmp.Compare(b.low, a.low), cmp.Compare(a.Step, b.Step))
	})
	return all
}

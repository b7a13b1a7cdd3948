package study

import "slices"

// successesToFade is how many patients or drills running must have gone well in a
// skill before no hints are given about it.
const successesToFade = 2

// Faded are the skills about which no hints are given any more: in the last two
// patients or drills in which they were met, their marks were right on the whole.
// Judgements stand in the order of time.
func Faded(all []Judgement) []string {
	type met struct{ sum, n int }
	marks, order, skills := map[[2]string]*met{}, map[string][]string{}, []string{}
	for _, j := range all {
		key := [2]string{j.Skill, j.Source()}
		if marks[key] == nil {
			marks[key] = &met{}
			if order[j.Skill] == nil {
				skills = append(skills, j.Skill)
			}
			order[j.Skill] = append(order[j.Skill], j.Source())
		}
		marks[key].sum, marks[key].n = marks[key].sum+j.Mark, marks[key].n+1
	}
	var faded []string
	for _, skill := range skills {
		in := order[skill]
		if len(in) < successesToFade {
			continue
		}
		well := !slices.ContainsFunc(in[len(in)-successesToFade:], func(source string) bool {
			m := marks[[2]string{skill, source}]
			return m.sum < Right*m.n
		})
		if well {
			faded = append(faded, skill)
		}
	}
	return faded
}

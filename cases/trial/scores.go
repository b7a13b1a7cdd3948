package trial

import (
	"fmt"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// Score is what a kind of robot earns on a case: the mean of its totals, points
// of 100.
type Score struct {
	Robot string  `json:"robot"`
	Total float64 `json:"total"`
}

// scored are the kinds of robots whose scores are told, from able to none. One
// that stands for several is the best of them.
var scored = []struct {
	name   string
	robots []string
}{
	{"ideal", []string{"ideal"}},
	{"typical 5", []string{"typical 5"}},
	{"typical 4", []string{"typical 4"}},
	{"typical 3", []string{"typical 3"}},
	{"typical 2", []string{"typical 2"}},
	{"typical 1", []string{"typical 1"}},
	{"reckless", []string{"reckless"}},
	{"every step, all normal", []string{"every step, all normal"}},
	{"untouched", []string{"empty", "all normal", "all abnormal", "invented vitals"}},
}

// ScoreNames are the kinds of robots in the order of Scores.
func ScoreNames() []string {
	var out []string
	for _, s := range scored {
		out = append(out, s.name)
	}
	return out
}

// Scores sends robots to the patients that the first seeds draw of a case, and
// gives what they earn by the rubric.
func Scores(l *cases.Library, r rubric.Rubric, c *cases.Case, seeds int) ([]Score, error) {
	if seeds < 1 {
		return nil, fmt.Errorf("trial: %d seeds; right would be at least 1", seeds)
	}
	out := make([]Score, len(scored))
	for seed := range uint64(seeds) {
		p, k, err := patient(l, r, c, seed)
		if err != nil {
			return nil, fmt.Errorf("trial: case %s: %w", c.ID, err)
		}
		s := &subject{p: p, r: &r, k: k, seed: seed}
		for i, kind := range scored {
			out[i].Robot = kind.name
			best := rubric.Points(0)
			for _, name := range kind.robots {
				rep, err := s.report(name)
				if err != nil {
					return nil, fmt.Errorf("trial: case %s: %w", c.ID, err)
				}
				best = max(best, rep.Total)
			}
			out[i].Total += points(best) / float64(seeds)
		}
	}
	return out, nil
}

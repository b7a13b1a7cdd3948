package study

import (
	"time"

	"dewclaw/rubric/cohort"
)

// What a figure of a skill rests on, and when it says too little. The share of
// the lines of one patient is not as much as that of as many patients: n lines of
// one count as n / (1 + alike (n-1)), a design effect with a correlation of .3
// (derived).
const (
	lastSources = 6   // patients and drills, the last ones
	alike       = .3  // how alike the lines of one patient are
	fewSources  = 3   // below, nothing is said
	widest      = .40 // an interval wider than this says nothing
)

// Skill is what some judgements say of one skill.
type Skill struct {
	ID        string
	Lines     int // on which the figure rests: the last patients and drills
	Patients  int
	Drills    int
	Middle    float64 // share of the next lines to expect; 0 without any
	Low, High float64 // in 80 of 100 such intervals the share lies within
	Little    bool    // too little was seen to say so
	Last      time.Time
	Due       time.Time // when to meet it again; zero: never met
}

// SkillsOf is what judgements in the order of time say of each of some skills,
// in their order.
func SkillsOf(list []Judgement, ids []string) []Skill {
	own := map[string][]Judgement{}
	for _, j := range list {
		own[j.Skill] = append(own[j.Skill], j)
	}
	out := make([]Skill, len(ids))
	for i, id := range ids {
		out[i] = skillOf(id, own[id])
	}
	return out
}

func skillOf(id string, own []Judgement) Skill {
	s := Skill{ID: id, Little: true}
	if len(own) == 0 {
		return s
	}
	s.Last = own[len(own)-1].At
	_, s.Due = space(own)
	var right, n float64
	for _, group := range lastOf(own, lastSources) {
		weight := 1 / (1 + alike*float64(len(group)-1))
		for _, j := range group {
			right, n = right+weight*float64(j.Mark)/whole, n+weight
		}
		s.Lines += len(group)
		if group[0].Visit != "" {
			s.Patients++
		} else {
			s.Drills++
		}
	}
	right = min(right, n) // the sums may differ in their last digit
	s.Middle, _ = cohort.WilsonMiddle(right, n, cohort.Z80)
	s.Low, s.High, _ = cohort.Wilson(right, n, cohort.Z80)
	s.Little = s.Patients+s.Drills < fewSources || s.High-s.Low > widest
	return s
}

// lastOf are the judgements of the last n patients and drills.
func lastOf(list []Judgement, n int) [][]Judgement {
	groups := map[string][]Judgement{}
	var order []string
	for i := len(list) - 1; i >= 0; i-- {
		from := list[i].Source()
		if _, met := groups[from]; !met {
			if len(order) == n {
				continue
			}
			order = append(order, from)
		}
		groups[from] = append(groups[from], list[i])
	}
	out := make([][]Judgement, len(order))
	for i, from := range order {
		out[i] = groups[from]
	}
	return out
}

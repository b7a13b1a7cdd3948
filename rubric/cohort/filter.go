package cohort

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Model is what is assumed of skills and of lines, in logits: a student whose skill
// is as much above the difficulty of a line as logit(p) earns the share p of it.
// A rise in one skill goes with a rise in the others, for much of what makes a
// student good is the same in all.
type Model struct {
	Skills int
	Mean   float64 // of every skill of a student of whom nothing is known
	Shared float64 // variance that all skills have in common
	Own    float64 // variance that each skill has besides
	Drift  float64 // variance that a week adds to each skill, half of it shared
	// Alike is how much the lines of one skill in one attempt say the same: n lines
	// count as n / (1 + Alike (n-1)).
	Alike float64
	// Spread is the standard deviation of a line's difficulty about its forecast.
	Spread float64
	// Noise is the variance of a day and a line about the skill, which the
	// forecast of a share has besides.
	Noise float64
}

// Standard is the model that is used. Its figures are derived, and held to
// simulated students that do not follow it.
func Standard(skills int) Model {
	return Model{Skills: skills, Mean: -.2, Shared: .64, Own: .36, Drift: .03, Alike: .3, Spread: .4, Noise: .34}
}

// Line is one judged line of an attempt.
type Line struct {
	Skill      int     // 0 to Skills-1
	Mark       float64 // share of what the line gives, 0 to 1
	Difficulty float64 // forecast, logits: 0 is a line of which a skill of 0 earns half
}

// Skilled is what is known of the skills of one student at one time: a Gaussian
// of their logits, and on what it rests. It is made by Start and moved by After and
// Learn, in the order of time.
type Skilled struct {
	model    Model
	mean     []float64
	cov      *mat.SymDense
	lines    []int
	patients []int
}

// Start is what is known of a student of whom nothing was seen. It panics if the
// model has no skill.
func (m Model) Start() *Skilled {
	s := &Skilled{model: m, mean: make([]float64, m.Skills), cov: mat.NewSymDense(m.Skills, nil), lines: make([]int, m.Skills), patients: make([]int, m.Skills)}
	for i := range s.mean {
		s.mean[i] = m.Mean
	}
	s.widen(m.Shared, m.Own)
	return s
}

// widen adds a shared variance to all skills and an own one to each.
func (s *Skilled) widen(shared, own float64) {
	for i := range s.mean {
		s.cov.SetSym(i, i, s.cov.At(i, i)+shared+own)
		for j := range i {
			s.cov.SetSym(j, i, s.cov.At(j, i)+shared)
		}
	}
}

// Clone is a copy that can be moved by itself.
func (s *Skilled) Clone() *Skilled {
	c := *s
	c.mean, c.lines, c.patients = slices.Clone(s.mean), slices.Clone(s.lines), slices.Clone(s.patients)
	c.cov = mat.NewSymDense(len(s.mean), nil)
	c.cov.CopySym(s.cov)
	return &c
}

// Mean is the expected skill, in logits.
func (s *Skilled) Mean(skill int) float64 { return s.mean[skill] }

// Covariance is that of two skills, in squared logits; of one with itself its
// variance.
func (s *Skilled) Covariance(a, b int) float64 { return s.cov.At(a, b) }

// Lines is on how many judged lines what is known of a skill rests.
func (s *Skilled) Lines(skill int) int { return s.lines[skill] }

// Patients is from how many attempts those lines come.
func (s *Skilled) Patients(skill int) int { return s.patients[skill] }

// After lets weeks pass, in which skills may have changed either way. Less than
// none is refused.
func (s *Skilled) After(weeks float64) error {
	if !(weeks >= 0) || math.IsInf(weeks, 1) {
		return fmt.Errorf("cohort: %v weeks cannot pass, it must be 0 or more", weeks)
	}
	v := s.model.Drift * weeks
	s.widen(v/2, v/2)
	return nil
}

// Learn takes in the judged lines of one attempt, in any order. A line that cannot
// be is refused, and then nothing is taken in.
//
// With g = 1/sqrt(1 + 3 spread^2/pi^2), E = logistic(g (mean - difficulty)) and, for
// n lines of a skill, d = 1 + alike (n-1), the lines give the skill the slope
// u = sum g (mark - E)/d and the information L = sum g^2 E (1-E)/d; then the new
// covariance is (S^-1 + diag L)^-1, and the mean moves by it times u. With one skill
// and d = 1 this is the rating of Glickman (Appl Stat 1999;48:377-394, from memory).
func (s *Skilled) Learn(attempt []Line) error {
	spreads := make([]float64, len(attempt))
	for i := range spreads {
		spreads[i] = s.model.Spread
	}
	return s.learn(attempt, spreads)
}

// learn is Learn with a spread for each line.
func (s *Skilled) learn(attempt []Line, spreads []float64) error {
	count := make([]int, len(s.mean))
	for i, l := range attempt {
		if err := s.check(i, l); err != nil {
			return err
		}
		count[l.Skill]++
	}
	slope, information := make([]float64, len(s.mean)), make([]float64, len(s.mean))
	for i, l := range attempt {
		d := 1 + s.model.Alike*float64(count[l.Skill]-1)
		g := 1 / math.Sqrt(1+3*spreads[i]*spreads[i]/(math.Pi*math.Pi))
		e := logistic(g * (s.mean[l.Skill] - l.Difficulty))
		slope[l.Skill] += g * (l.Mark - e) / d
		information[l.Skill] += g * g * e * (1 - e) / d
	}
	s.inform(information)
	var move mat.VecDense
	move.MulVec(s.cov, mat.NewVecDense(len(slope), slope))
	for k, n := range count {
		s.mean[k] += move.AtVec(k)
		s.lines[k] += n
		s.patients[k] += min(n, 1)
	}
	return nil
}

// check finds what cannot be a line.
func (s *Skilled) check(i int, l Line) error {
	switch {
	case l.Skill < 0 || l.Skill >= len(s.mean):
		return fmt.Errorf("cohort: line %d is of skill %d, there are 0 to %d", i+1, l.Skill, len(s.mean)-1)
	case !(l.Mark >= 0) || l.Mark > 1:
		return fmt.Errorf("cohort: line %d has the mark %v, it must be 0 to 1", i+1, l.Mark)
	case math.IsNaN(l.Difficulty) || math.IsInf(l.Difficulty, 0):
		return fmt.Errorf("cohort: line %d has the difficulty %v, it must be a number", i+1, l.Difficulty)
	}
	return nil
}

// inform turns S into (S^-1 + diag L)^-1, one skill after the other (Sherman and
// Morrison), which needs no inverse.
func (s *Skilled) inform(information []float64) {
	column := mat.NewVecDense(len(s.mean), nil)
	for k, l := range information {
		if l == 0 {
			continue
		}
		for i := range s.mean {
			column.SetVec(i, s.cov.At(i, k))
		}
		s.cov.SymRankOne(s.cov, -l/(1+l*s.cov.At(k, k)), column)
	}
}

// logistic is the share that goes with a logit.
func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

package cohort

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// What the words of a forecast mean (derived).
const (
	VerdictPatients = 3   // from fewer nothing is said
	VerdictWidth    = .40 // an interval wider than this says nothing
	VerdictHolds    = .8  // the share that a skill that holds would earn at least
	VerdictNotYet   = .6  // the share that a skill that is not yet there would miss
	VerdictSure     = .8  // how probable either must be
)

// Verdict is what is said of a skill.
type Verdict string

// The verdicts.
const (
	TooLittle Verdict = "too little seen"
	Holds     Verdict = "holds"
	NotYet    Verdict = "not yet"
	Open      Verdict = "open"
)

// Forecast is the share that a student would earn of further lines of a skill.
type Forecast struct {
	Share     float64 // 0 to 1
	Low, High float64 // within which the share of a long run lies in 80 of 100 cases
	Lines     int     // judged lines that it rests on
	Patients  int     // attempts that they come from
	Verdict   Verdict
}

// Tenths is the forecast as it is said: would get about so many of 10 (from so
// many, to so many).
func (f Forecast) Tenths() (about, from, to int) {
	ten := func(p float64) int { return int(math.Round(10 * p)) }
	return ten(f.Share), ten(f.Low), ten(f.High)
}

// Forecast is that of lines of a skill whose forecast difficulty is so many logits.
//
// The share is logistic((m - b)/sqrt(1 + pi v/8)), where v is the variance of the
// skill, of a line's difficulty and of the day: the usual approximation to a
// logistic mixed by a Gaussian (MacKay, Neural Comput 1992;4:720-736, from memory).
// Interval and verdict are about the share that the skill would earn in a long run.
// That skill is within m +- 1.2816 sqrt(S) in 80 of 100 cases, and would earn what
// the same formula gives of it without S, for it is one skill.
func (s *Skilled) Forecast(skill int, difficulty float64) Forecast {
	m, v := s.mean[skill], s.cov.At(skill, skill)
	noise := s.model.Spread*s.model.Spread + s.model.Noise
	half := Z80 * math.Sqrt(v)
	f := Forecast{
		Share: mixed(m-difficulty, v+noise),
		Low:   mixed(m-half-difficulty, noise),
		High:  mixed(m+half-difficulty, noise),
		Lines: s.lines[skill], Patients: s.patients[skill],
	}
	f.Verdict = verdict(f, func(share float64) float64 {
		return atLeast(share, m-difficulty, v, noise)
	})
	return f
}

// mixed is the expected share of a logit that scatters with a variance.
func mixed(logit, variance float64) float64 {
	return logistic(logit / math.Sqrt(1+math.Pi*variance/8))
}

// atLeast is how probable it is that the skill earns a share or more in a long run.
func atLeast(share, logit, variance, noise float64) float64 {
	needs := math.Log(share/(1-share)) * math.Sqrt(1+math.Pi*noise/8)
	return distuv.UnitNormal.CDF((logit - needs) / math.Sqrt(variance))
}

// verdict is what is said, given how probable it is to earn a share at least.
func verdict(f Forecast, atLeast func(share float64) float64) Verdict {
	switch {
	case f.Patients < VerdictPatients || f.High-f.Low > VerdictWidth:
		return TooLittle
	case atLeast(VerdictHolds) >= VerdictSure:
		return Holds
	case 1-atLeast(VerdictNotYet) >= VerdictSure:
		return NotYet
	}
	return Open
}

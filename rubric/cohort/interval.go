package cohort

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Level95 is how often a 95 % interval is right.
const Level95 = .95

// tail is the share above the upper end of an interval that is right as often as
// level. A level that is none (0, 1, NaN) is taken as .95.
func tail(level float64) float64 {
	if !(level > 0) || !(level < 1) {
		level = Level95
	}
	return (1 - level) / 2
}

// Mean is the mean of some numbers with its t interval, in their units (Student,
// Biometrika 1908;6:1-25). It is for one number a student: a total, or what a
// student gained from one week to another; who is Missing is left out. Numbers that
// are all alike have no interval, for that would be of no width and promise too much.
func Mean(xs []float64, level float64) Estimate {
	xs = slices.DeleteFunc(slices.Clone(xs), missing)
	if l := short(TooFewStudents, len(xs), 2); l.Why != "" {
		return lacking(l)
	}
	mean, sd := stat.MeanStdDev(xs, nil)
	if alike(sd*sd, xs...) {
		return lacking(Lack{Why: AllAlike})
	}
	n := float64(len(xs))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile(1 - tail(level))
	half := t * sd / math.Sqrt(n)
	return estimate(mean, mean-half, mean+half)
}

// alike says that a variance is nothing but what rounding leaves of numbers of
// that size.
func alike(variance float64, xs ...float64) bool {
	largest := 0.0
	for _, x := range xs {
		largest = max(largest, math.Abs(x))
	}
	return variance <= 1e-24*largest*largest
}

// missing says that a number is none.
func missing(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }

// quantile is the value below which the share p of sorted numbers lies, with a
// straight line between neighbours (type 7 of Hyndman and Fan, Am Stat
// 1996;50:361-365, from memory; gonum has types 1 and 4 only).
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	low := min(max(0, int(at)), len(sorted)-1)
	high := min(low+1, len(sorted)-1)
	return sorted[low] + (at-float64(low))*(sorted[high]-sorted[low])
}

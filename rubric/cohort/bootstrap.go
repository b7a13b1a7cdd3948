package cohort

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// BootstrapStudents is how few students are resampled at the least
	// (psychometrics: fewer than about ten are not reported).
	BootstrapStudents = 10
	// Resamples is how often they are resampled where nothing else is said.
	Resamples = 1999
)

// Statistic is a figure of the students whose places in the list are given; a
// place may come more than once. Not ok: the figure is not defined for these.
type Statistic func(places []int) (value float64, ok bool)

// Resampled is a figure and what became of it when the students were drawn anew
// with replacement (Efron and Tibshirani, An Introduction to the Bootstrap, 1993,
// from memory).
type Resampled struct {
	Theta   Told
	Seed    uint64 // gives the same resamples again
	Drawn   int    // resamples for which the figure was defined
	Skipped int    // resamples for which it was not
	// Bias is z0: the normal quantile of the share of resamples below Theta.
	// OneSided: all or none lie below, so that it is infinite and there is no BCa
	// interval.
	Bias     float64
	OneSided bool
	// Acceleration is a, from leaving out one student at a time, centred.
	Acceleration float64

	sorted []float64
}

// Bootstrap draws n students anew, as often as resamples says. The same seed gives
// the same resamples on every machine.
func Bootstrap(n, resamples int, seed uint64, of Statistic) Resampled {
	r := rand.New(rand.NewPCG(seed, 0))
	places := make([]int, max(0, n))
	out := resample(n, resamples, of, func(int) []int {
		for i := range places {
			places[i] = r.IntN(n)
		}
		return places
	})
	out.Seed = seed
	return out
}

// resample draws by next, which is given the number of the resample.
func resample(n, resamples int, of Statistic, next func(int) []int) Resampled {
	out := Resampled{Theta: Told{Lack: short(TooFewStudents, n, BootstrapStudents)}}
	if !out.Theta.Known() {
		return out
	}
	whole := make([]int, n)
	for i := range whole {
		whole[i] = i
	}
	theta, ok := defined(of, whole)
	if !ok {
		out.Theta.Lack = Lack{Why: AllAlike}
		return out
	}
	out.Theta.Value = theta
	for i := range max(0, resamples) {
		if v, ok := defined(of, next(i)); ok {
			out.sorted = append(out.sorted, v)
		}
	}
	slices.Sort(out.sorted)
	out.Drawn, out.Skipped = len(out.sorted), max(0, resamples)-len(out.sorted)
	out.Bias, out.OneSided = bias(out.sorted, theta)
	out.Acceleration = acceleration(whole, of)
	return out
}

// defined is the figure, unless it is no number.
func defined(of Statistic, places []int) (float64, bool) {
	v, ok := of(places)
	return v, ok && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// bias is z0, and whether it is infinite.
func bias(sorted []float64, theta float64) (z0 float64, oneSided bool) {
	below, _ := slices.BinarySearch(sorted, theta)
	if below == 0 || below == len(sorted) {
		return 0, true
	}
	return distuv.UnitNormal.Quantile(float64(below) / float64(len(sorted))), false
}

// acceleration is a: how fast the spread of the figure changes with the figure.
// A student without whom the figure is not defined is passed over.
func acceleration(whole []int, of Statistic) float64 {
	var left []float64
	rest := make([]int, 0, len(whole))
	for out := range whole {
		rest = append(append(rest[:0], whole[:out]...), whole[out+1:]...)
		if v, ok := defined(of, rest); ok {
			left = append(left, v)
		}
	}
	mean := stat.Mean(left, nil)
	squares, cubes := 0.0, 0.0
	for _, v := range left {
		d := mean - v
		squares, cubes = squares+d*d, cubes+d*d*d
	}
	if squares == 0 {
		return 0
	}
	return cubes / (6 * math.Pow(squares, 1.5))
}

// SD is the standard deviation of the resampled figure: its standard error.
func (r Resampled) SD() Told {
	if l := r.lack(); l.Why != "" {
		return Told{Lack: l}
	}
	return Told{Value: stat.StdDev(r.sorted, nil)}
}

// Percentile is the interval between two quantiles (type 7) of the resampled
// figure.
func (r Resampled) Percentile(level float64) Estimate {
	if l := r.lack(); l.Why != "" {
		return lacking(l)
	}
	t := tail(level)
	return estimate(r.Theta.Value, quantile(r.sorted, t), quantile(r.sorted, 1-t))
}

// BCa is the interval corrected for bias and acceleration (Efron, J Am Stat Assoc
// 1987;82:171-185, from memory). Where the resamples are one-sided, or the
// acceleration is so large that the correction turns round, it is the percentile
// interval, and corrected is false.
func (r Resampled) BCa(level float64) (e Estimate, corrected bool) {
	if r.lack().Why != "" || r.OneSided {
		return r.Percentile(level), false
	}
	low, ok1 := r.corrected(tail(level))
	high, ok2 := r.corrected(1 - tail(level))
	if !ok1 || !ok2 {
		return r.Percentile(level), false
	}
	return estimate(r.Theta.Value, quantile(r.sorted, low), quantile(r.sorted, high)), true
}

// corrected is the share of resamples to cut at instead of p.
func (r Resampled) corrected(p float64) (share float64, ok bool) {
	z := r.Bias + distuv.UnitNormal.Quantile(p)
	below := 1 - r.Acceleration*z
	if below <= 0 {
		return 0, false
	}
	return distuv.UnitNormal.CDF(r.Bias + z/below), true
}

// lack says why there is no interval.
func (r Resampled) lack() Lack {
	switch {
	case !r.Theta.Known():
		return r.Theta.Lack
	case r.Drawn < 2 || alike(stat.Variance(r.sorted, nil), r.sorted...):
		return Lack{Why: AllAlike}
	}
	return Lack{}
}

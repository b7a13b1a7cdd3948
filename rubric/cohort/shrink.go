package cohort

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ShrinkLines is how few figures can be drawn towards each other at the least.
const ShrinkLines = 4

// Shrunken are figures of one kind drawn towards their mean, each the more the less
// was seen of it.
type Shrunken struct {
	Mean    float64    // of all, weighted by how well each is known
	Between float64    // variance of the true figures, estimated; 0 or more
	Factor  []float64  // 0 leaves a figure where it is, 1 takes it to the mean
	Values  []Estimate // with 95 % intervals
	Lack    Lack
}

// Shrink draws figures towards their mean; variance is that of each by sampling
// alone. One of 0 says that its marks are all alike, and then nothing is drawn. It is the empirical Bayes estimate of Morris (J Am Stat Assoc
// 1983;78:47-55, from memory); with equal variances it is that of James and Stein.
// Figures that are not known are left out by whoever calls.
func Shrink(values, variance []float64) Shrunken {
	k := len(values)
	if l := short(TooFewLines, k, ShrinkLines); l.Why != "" {
		return Shrunken{Lack: l}
	}
	if !(slices.Min(variance) > 0) {
		return Shrunken{Lack: Lack{Why: AllAlike}}
	}
	s := Shrunken{Factor: make([]float64, k), Values: make([]Estimate, k)}
	weights := make([]float64, k)
	s.Mean, s.Between = between(values, variance, weights)
	sum, seen := 0.0, 0.0
	for i, w := range weights {
		sum, seen = sum+w, seen+w*variance[i]
	}
	z := distuv.UnitNormal.Quantile(1 - tail(Level95))
	for i, v := range variance {
		b := float64(k-3) / float64(k-1) * v / (v + s.Between)
		middle := values[i] + b*(s.Mean-values[i])
		// What is unsure: the figure itself, and how far it should be drawn.
		drawn := 2 / float64(k-3) * b * b * (seen/sum + s.Between) / (v + s.Between)
		off := values[i] - s.Mean
		half := z * math.Sqrt(v*(1-b*(1-weights[i]/sum))+drawn*off*off)
		s.Factor[i], s.Values[i] = b, estimate(middle, middle-half, middle+half)
	}
	return s
}

// between finds the mean and the variance of the true figures by turns, and leaves
// the weights they have then.
func between(values, variance, weights []float64) (mean, a float64) {
	k := float64(len(values))
	for range 200 {
		for i, v := range variance {
			weights[i] = 1 / (v + a)
		}
		mean = stat.Mean(values, weights)
		over, sum := 0.0, 0.0
		for i, w := range weights {
			d := values[i] - mean
			over, sum = over+w*(k/(k-1)*d*d-variance[i]), sum+w
		}
		next := max(0, over/sum)
		if math.Abs(next-a) <= 1e-13*(1+a) {
			break
		}
		a = next
	}
	return mean, a
}

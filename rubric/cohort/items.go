package cohort

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
)

const (
	// CorrelationStudents is how few students a correlation is told from: with
	// three its interval has no end.
	CorrelationStudents = 4
	// nearlyOne keeps Fisher's z of a correlation of 1 finite.
	nearlyOne = .999
)

// Missing stands for a mark of a line that a student was not given.
func Missing() float64 { return math.NaN() }

// Sheet is the marks of some students for the same lines. It is the input of what
// is said about lines; every row of Marks is a student and has a mark in points, or
// Missing, for each line. Most is the most that can be earned with each line, more
// than 0.
type Sheet struct {
	Marks [][]float64
	Most  []float64
}

// Item is what the marks say about one line.
type Item struct {
	Students int // who were given the line
	// Difficulty is the mean mark as a share of the most: the higher the easier,
	// with its Wilson interval of 95 %. The word is that of the trade.
	Difficulty Estimate
	// Corrected is the correlation of the line with the rest of the exam without
	// it, with Fisher's interval of 95 %. Of a student who was not given all lines
	// the rest is what was earned of what could be.
	Corrected Estimate
	// The same two drawn towards those of the other lines, for ranking: a line of
	// which little is seen must not be first or last by chance.
	ShrunkenDifficulty Estimate
	ShrunkenCorrected  Estimate
}

// check finds what cannot be a sheet.
func (s Sheet) check() error {
	for j, most := range s.Most {
		if !(most > 0) || math.IsInf(most, 1) {
			return fmt.Errorf("cohort: line %d gives at most %v points, it must be more than 0", j+1, most)
		}
	}
	for i, marks := range s.Marks {
		if len(marks) != len(s.Most) {
			return fmt.Errorf("cohort: student %d has %d marks for %d lines", i+1, len(marks), len(s.Most))
		}
		for j, m := range marks {
			if m < 0 || m > s.Most[j] {
				return fmt.Errorf("cohort: student %d has %v points in line %d, which gives 0 to %v", i+1, m, j+1, s.Most[j])
			}
		}
	}
	return nil
}

// Items says of each line how hard it was and whether it goes with the rest.
// Lack of students, or of differences, is said line by line; an error says that the
// marks are none.
func Items(s Sheet) ([]Item, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	out := make([]Item, len(s.Most))
	within := within(s)
	for j := range s.Most {
		shares, rest := s.line(j)
		out[j] = Item{Students: len(shares), Difficulty: difficulty(shares), Corrected: Correlation(shares, rest)}
	}
	shrinkDifficulty(out, within)
	shrinkCorrected(out)
	return out, nil
}

// line is what the students who were given the line earned of it, and of the rest,
// as shares. One who was given nothing else is left out of neither: the rest is
// then Missing.
func (s Sheet) line(j int) (shares, rest []float64) {
	for _, marks := range s.Marks {
		if math.IsNaN(marks[j]) {
			continue
		}
		earned, most := 0.0, 0.0
		for i, m := range marks {
			if i != j && !math.IsNaN(m) {
				earned, most = earned+m, most+s.Most[i]
			}
		}
		shares = append(shares, marks[j]/s.Most[j])
		if most > 0 {
			rest = append(rest, earned/most)
		} else {
			rest = append(rest, Missing())
		}
	}
	return shares, rest
}

// difficulty is the mean share with its interval.
func difficulty(shares []float64) Estimate {
	sum := 0.0
	for _, y := range shares {
		sum += y
	}
	n := float64(len(shares))
	low, high, ok := Wilson(min(sum, n), n, Z95)
	if !ok {
		return lacking(Lack{Why: TooFewStudents, Have: len(shares), Need: 1})
	}
	return estimate(sum/n, low, high)
}

// Correlation is that of Pearson of two columns of one length, -1 to 1, with Fisher's
// interval of 95 % (Metron 1921;1:3-32, from memory). A row with a Missing is left
// out.
func Correlation(a, b []float64) Estimate {
	var x, y []float64
	for i := range a {
		if !missing(a[i]) && !missing(b[i]) {
			x, y = append(x, a[i]), append(y, b[i])
		}
	}
	if l := short(TooFewStudents, len(x), CorrelationStudents); l.Why != "" {
		return lacking(l)
	}
	if alike(stat.Variance(x, nil), x...) || alike(stat.Variance(y, nil), y...) {
		return lacking(Lack{Why: AllAlike})
	}
	r := min(1, max(-1, stat.Correlation(x, y, nil)))
	z, half := fisher(r), Z95*math.Sqrt(fisherVariance(len(x)))
	return estimate(r, min(r, math.Tanh(z-half)), max(r, math.Tanh(z+half)))
}

// fisher is Fisher's z of a correlation, kept finite.
func fisher(r float64) float64 { return math.Atanh(min(nearlyOne, max(-nearlyOne, r))) }

// fisherVariance is how far it scatters by chance.
func fisherVariance(students int) float64 { return 1 / float64(students-3) }

// within is the variance of shares within a line, of all lines together: that of
// one line of which all earned everything would be 0 and promise too much.
func within(s Sheet) float64 {
	squares, free := 0.0, 0.0
	for j := range s.Most {
		shares, _ := s.line(j)
		if n := float64(len(shares)); n > 1 {
			squares, free = squares+(n-1)*stat.Variance(shares, nil), free+n-1
		}
	}
	if free == 0 {
		return 0
	}
	return squares / free
}

// shrinkDifficulty fills in the shrunken difficulties, kept within 0 and 1.
func shrinkDifficulty(items []Item, within float64) {
	var values, variance []float64
	var at []int
	for j, it := range items {
		items[j].ShrunkenDifficulty = lacking(it.Difficulty.Lack)
		if it.Difficulty.Known() {
			at, values, variance = append(at, j), append(values, it.Difficulty.Value), append(variance, within/float64(it.Students))
		}
	}
	put(Shrink(values, variance), at, func(j int, e Estimate) {
		if e.Known() {
			e = estimate(e.Value, max(0, e.Low), min(1, e.High))
		}
		items[j].ShrunkenDifficulty = e
	})
}

// shrinkCorrected fills in the shrunken correlations, drawn together as Fisher's z.
func shrinkCorrected(items []Item) {
	s, at := shrinkFisher(items)
	for j, it := range items {
		items[j].ShrunkenCorrected = lacking(it.Corrected.Lack)
	}
	put(s, at, func(j int, e Estimate) {
		if e.Known() {
			e = estimate(math.Tanh(e.Value), math.Tanh(e.Low), math.Tanh(e.High))
		}
		items[j].ShrunkenCorrected = e
	})
}

// shrinkFisher draws the z of the correlations that are known together, and says
// of which lines they are.
func shrinkFisher(items []Item) (s Shrunken, at []int) {
	var values, variance []float64
	for j, it := range items {
		if it.Corrected.Known() {
			at, values, variance = append(at, j), append(values, fisher(it.Corrected.Value)), append(variance, fisherVariance(it.Students))
		}
	}
	return Shrink(values, variance), at
}

// put hands each line its shrunken figure, or why there is none.
func put(s Shrunken, at []int, set func(j int, e Estimate)) {
	for i, j := range at {
		if s.Lack.Why != "" {
			set(j, lacking(s.Lack))
		} else {
			set(j, s.Values[i])
		}
	}
}

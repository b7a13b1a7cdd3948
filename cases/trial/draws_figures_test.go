package trial

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// By hand: three patients, three streams.
//
//	         streams       mean   off
//	A        60  62  64      62    -3
//	B        64  64  67      65     0
//	C        65  69  70      68    +3
//	mean     63  65  67      65
//
// Left over: A 0 0 0, B +1 -1 0, C -1 +1 0; squares 4 over (3-1)(3-1) = 1 a visit,
// 1/3 a mean of three. Observed variance 18/2 = 9, so 8 2/3 is real: SD 2.943. Off
// drawn together by 2.943/3; the 5th and 95th of a hundred lie .1 of the way in:
// width 1.8 x 2.943.
//
// Without the stream A is -3 -3 -3, B 1 -1 0, C 2 4 3. The real variance from the
// products of two streams: without the first (9 + 0 + 12)/2 = 10.5, without the
// second 7.5, without the third 8; squares about their mean 5.1667, by 2/3 3.4444:
// standard error 1.8559, so SD lies between the roots of 4.9549 and 12.3785.
func TestDrawsByHand(t *testing.T) {
	totals := [][]rubric.Points{{60_000, 62_000, 64_000}, {64_000, 64_000, 67_000}, {65_000, 69_000, 70_000}}
	s := spreadOf(totals)
	require.Equal(t, int64(65_000), s.mean)
	require.Equal(t, []int64{-3000, 0, 3000}, s.off)
	require.Equal(t, int64(9_000_000), s.observed)
	require.Equal(t, int64(1_000_000), s.each)
	require.Equal(t, int64(333_333), s.noise)
	require.InDelta(t, 1_855_921, float64(s.unsure), coarse)
	require.Equal(t, []int64{-2944, 0, 2944}, s.quiet())

	var d Draws
	d.Seeds = 3
	d.fill(totals, kinds("a", "a", "b"), seedsTo(3))
	require.Equal(t, rubric.Points(65_000), d.Mean)
	require.Equal(t, rubric.Points(2943), d.SD)
	require.InDelta(t, 2226, int(d.SDLow), 1)
	require.InDelta(t, 3518, int(d.SDHigh), 1)
	require.Equal(t, rubric.Points(577), d.Noise)
	require.InDelta(t, 5299, int(d.Width), 1)
	require.Equal(t, 2, d.Excluded)
	require.Equal(t, []Row{{cases.SeedOf(0), 62_056}, {cases.SeedOf(1), 65_000}, {cases.SeedOf(2), 67_944}}, d.Table.Rows)
	require.Equal(t, []Row{{cases.SeedOf(1), 65_000}}, d.Table.Fit())
	require.Equal(t, NotJudged, d.Verdict)
}

// Two kinds of patients between which a student makes its mistakes apart, all
// alike within a kind: chance of a few visits is taken for no spread, and a real
// one is still found.
func TestSharedNoiseIsNoFault(t *testing.T) {
	draw := rand.New(rand.NewPCG(11, 12))
	judged := func(apart float64) map[Verdict]int {
		out := map[Verdict]int{}
		for range 100 {
			totals, _ := simulated(draw, 120, 40, .1, .2)
			for j := range 40 {
				a, b := 3*draw.NormFloat64()-apart/2, 3*draw.NormFloat64()+apart/2
				for i := range totals {
					totals[i][j] += rubric.Points(1000 * []float64{a, b}[i%2])
				}
			}
			d := Draws{Seeds: 120}
			d.fill(totals, kinds(alternating(120)...), seedsTo(120))
			out[d.Verdict]++
		}
		return out
	}
	alike, apart := judged(0), judged(5)
	t.Log(alike, apart)
	require.Zero(t, alike[SpreadAtFault])
	require.Greater(t, alike[DrawsAccepted], 85)
	require.Greater(t, apart[SpreadAtFault], 85)
	require.Zero(t, apart[DrawsAccepted])
}

// What cannot be judged says so in words, and what would be right.
func TestWhatChanceHidesIsNotJudged(t *testing.T) {
	draw := rand.New(rand.NewPCG(13, 14))
	totals, _ := simulated(draw, 200, 8, 0, 2)
	d := Draws{Seeds: 200}
	d.fill(totals, kinds(alternating(200)...), seedsTo(200))
	require.Equal(t, NotJudged, d.Verdict)
	require.Regexp(t, `^The robots' own chance moves a draw by 0\.[67]\d? points, more than 0\.5, and hides what the draw itself does\. Right would be about 1\d visits a patient instead of 8\.$`, d.Reasons[0])

	d = Draws{Seeds: 500, Excluded: 200, SD: 1500, SDLow: 900, SDHigh: 1900, Visits: 128}
	v, why := d.verdict(&spread{}, true)
	require.Equal(t, NotJudged, v)
	require.Equal(t, "By the robots' own chance that may be anything from 0.9 to 1.9, so that it cannot be said whether the spread is at fault. Right would be more than 128 visits a patient.", why[1])
}

// kinds are patients of one drawn field.
func kinds(values ...string) [][]cases.Drawn {
	var out [][]cases.Drawn
	for _, v := range values {
		out = append(out, []cases.Drawn{{Place: "field", Value: v}})
	}
	return out
}

// simulated is a table of patients whose D, streams and noise are known.
func simulated(draw *rand.Rand, patients, visits int, sd, noise float64) (totals [][]rubric.Points, d []float64) {
	stream := make([]float64, visits)
	for j := range stream {
		stream[j] = 8 * draw.NormFloat64()
	}
	for i := range patients {
		d = append(d, sd*draw.NormFloat64())
		totals = append(totals, nil)
		for j := range visits {
			totals[i] = append(totals[i], rubric.Points(math.Round(1000*(70+d[i]+stream[j]+noise*draw.NormFloat64()))))
		}
	}
	return totals, d
}

// Mean, variances and quantiles agree with gonum's, over random tables. gonum's
// quantile lies at p n of the numbers, ours at (n-1) p + 1 of them.
func TestFiguresAgreeWithGonum(t *testing.T) {
	draw := rand.New(rand.NewPCG(3, 4))
	for range 100 {
		patients, visits := 2+draw.IntN(300), 3+draw.IntN(20)
		totals, _ := simulated(draw, patients, visits, 3*draw.Float64(), 3*draw.Float64())
		s := spreadOf(totals)
		rows, columns := make([][]float64, patients), make([][]float64, visits)
		var all, means []float64
		for i := range totals {
			for j, x := range totals[i] {
				rows[i] = append(rows[i], float64(x))
				columns[j] = append(columns[j], float64(x))
				all = append(all, float64(x))
			}
			means = append(means, stat.Mean(rows[i], nil))
		}
		mean := stat.Mean(all, nil)
		left := 0.0
		for i := range rows {
			for j := range columns {
				x := rows[i][j] - means[i] - stat.Mean(columns[j], nil) + mean
				left += x * x
			}
		}
		each := left / float64((patients-1)*(visits-1))
		require.InDelta(t, mean, float64(s.mean), .51)
		require.InEpsilon(t, stat.Variance(means, nil)+1e4, float64(s.observed)+1e4, 1e-3)
		require.InEpsilon(t, each+1e4, float64(s.each)+1e4, 1e-3)
		require.InEpsilon(t, each/float64(visits)+1e4, float64(s.noise)+1e4, 1e-3)
		require.InDelta(t, math.Sqrt(float64(s.real())), stat.StdDev(floats(s.quiet()), nil), 2, "drawn together to the real SD")

		sorted := slices.Sorted(slices.Values(s.off))
		for _, p := range []int{0, 50, 250, 500, 950, 1000} {
			n := float64(patients)
			at := min(1, (float64(p)/1000*(n-1)+1)/n)
			require.InDelta(t, stat.Quantile(at, stat.LinInterp, floats(sorted), nil), float64(quantile(sorted, p)), 1)
		}
	}
}

func floats(of []int64) []float64 {
	var out []float64
	for _, x := range of {
		out = append(out, float64(x))
	}
	return out
}

// Where D is known, it is found again: its SD without the noise, and every
// patient's own; with the noise left in, SD would be half as large again.
func TestNoiseIsTakenOut(t *testing.T) {
	draw := rand.New(rand.NewPCG(5, 6))
	totals, d := simulated(draw, 2000, 4, 1, 2)
	s := spreadOf(totals)
	require.InDelta(t, 1000*stat.StdDev(d, nil), math.Sqrt(float64(s.real())), 60)
	require.Greater(t, math.Sqrt(float64(s.observed)), 1350.0)
	require.Greater(t, stat.Correlation(d, floats(s.quiet()), nil), .65)
	totals, _ = simulated(draw, 2000, 4, 0, 2)
	s = spreadOf(totals)
	require.Less(t, math.Sqrt(float64(s.real())), 300.0, "nothing but noise")
}

// The largest table that is taken stays within 64 bits.
func TestTheLargestTableDoesNotOverflow(t *testing.T) {
	totals := make([][]rubric.Points, mostSeeds)
	for i := range totals {
		for j := range mostVisits {
			totals[i] = append(totals[i], rubric.Points(100_000*((i+j/64)%2)))
		}
	}
	s := spreadOf(totals) // half the visits turn the other way, so that all is noise
	require.Equal(t, int64(50_000), s.mean)
	require.Zero(t, s.observed)
	require.InEpsilon(t, 2.5e9*mostSeeds*mostVisits/((mostSeeds-1)*(mostVisits-1)), float64(s.each), 1e-6)
	for i := range totals {
		for j := range totals[i] {
			totals[i][j] = rubric.Points(100_000 * (i % 2))
		}
	}
	s = spreadOf(totals)
	require.Zero(t, s.each)
	require.InEpsilon(t, 2.5e9*mostSeeds/(mostSeeds-1), float64(s.real()), 1e-6)
	groups := grouped(alternating(mostSeeds))
	require.Equal(t, 1000, explained(groups, &s))
}

func alternating(n int) []string {
	var out []string
	for i := range n {
		out = append(out, fmt.Sprint("kind ", i%2))
	}
	return out
}

// What a field explains is R squared of the means of its groups, adjusted for
// their number, as gonum has it; and of chance alone next to nothing.
func TestExplainedAgreesWithGonum(t *testing.T) {
	draw := rand.New(rand.NewPCG(7, 8))
	for range 50 {
		n, k := 60+draw.IntN(300), 2+draw.IntN(6)
		values, d := make([]string, n), make([]float64, n)
		totals := make([][]rubric.Points, n)
		for i := range n {
			g := draw.IntN(k)
			values[i] = fmt.Sprint("v", g)
			d[i] = math.Round(1000 * (float64(g) + 2*draw.NormFloat64()))
			totals[i] = []rubric.Points{70_000 + rubric.Points(d[i]), 60_000 + rubric.Points(d[i]), 65_000 + rubric.Points(d[i])}
		}
		s := spreadOf(totals)
		groups := grouped(values)
		estimate := make([]float64, n)
		for _, g := range groups {
			sum := 0.0
			for _, i := range g {
				sum += d[i] / float64(len(g))
			}
			for _, i := range g {
				estimate[i] = sum
			}
		}
		r2 := stat.RSquaredFrom(estimate, d, nil)
		want := 1 - (1-r2)*float64(n-1)/float64(n-len(groups))
		require.InDelta(t, 1000*max(0, want), float64(explained(groups, &s)), 3)
	}
	over := 0
	for range 200 { // fields that have nothing to do with it
		totals, _ := simulated(draw, 500, 8, 1, .6)
		s := spreadOf(totals)
		values := make([]string, 500)
		for i := range values {
			values[i] = fmt.Sprint("v", draw.IntN(8))
		}
		if explained(grouped(values), &s) >= leastShare {
			over++
		}
	}
	require.LessOrEqual(t, over, 1)
}

// A student that errs in a field errs alike with all patients of one value: that
// is noise too, though it lies between the values.
func TestSharedNoiseIsNoExplanation(t *testing.T) {
	draw := rand.New(rand.NewPCG(9, 10))
	sum := 0
	for range 40 {
		totals, _ := simulated(draw, 400, 8, 1, .2)
		values := alternating(400)
		for j := range 8 {
			x := rubric.Points(1000 * draw.NormFloat64())
			for i := range totals {
				totals[i][j] += x * rubric.Points(1-2*(i%2))
			}
		}
		s := spreadOf(totals)
		sum += explained(grouped(values), &s)
	}
	require.Less(t, sum/40, 120, "the noise of a value is an eighth of what the field would have")
}

// Neighbouring numbers come together into groups of about the same size, and
// only numbers do; a few values stay apart.
func TestGroups(t *testing.T) {
	var numbers []string
	for i := range 160 {
		numbers = append(numbers, rubric.Milli(1000*(60+i%40)).String())
	}
	groups := grouped(numbers)
	require.Len(t, groups, mostGroups)
	for _, g := range groups {
		require.Len(t, g, 20)
	}
	require.Equal(t, [][]int{{1}, {2}, {0, 3}}, grouped([]string{"10", "9", "9.5", "10"}))
	require.Equal(t, [][]int{{0, 3}, {2}, {1}}, grouped([]string{"10", "none", "9", "10"}))
}

// verdictOf judges patients with these D, without noise.
func verdictOf(d []float64, values ...string) Draws {
	var totals [][]rubric.Points
	for _, x := range d {
		p := 70_000 + rubric.Points(math.Round(1000*x))
		totals = append(totals, []rubric.Points{p, p - 5000, p + 5000})
	}
	if values == nil {
		values = alternating(len(d))
	}
	out := Draws{Seeds: len(d)}
	out.fill(totals, kinds(values...), seedsTo(len(d)))
	return out
}

// mix is so many of each figure.
func mix(of map[float64]int) []float64 {
	var out []float64
	for x, n := range of {
		for range n {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return out
}

func TestVerdicts(t *testing.T) {
	for _, x := range []struct {
		name string
		d    []float64
		want Verdict
		out  int
		says string
	}{
		{"all alike", mix(map[float64]int{0: 100}), DrawsAccepted, 0, "No draw can be told from another"},
		{"narrow", mix(map[float64]int{-1: 50, 1: 49, 0: 1}), DrawsAccepted, 0, "varies by 1 points (SD; at most 1) from one draw to another, and 90 of 100 draws lie within 2 points (at most 3)."},
		{"a few far off", mix(map[float64]int{0: 97, 3: 3}), DrawsAccepted, 3, "3 of 100 seeds (3 %) lie more than 1.5 points from the mean. They are not given."},
		{"a tenth very far", mix(map[float64]int{0: 90, 4: 10}), SeedsExcluded, 10, "10 of 100 seeds (10 %) lie more than 1.5 points from the mean. They are not given."},
		{"a quarter far off", mix(map[float64]int{0: 75, 4: 25}), SpreadAtFault, 25, "25 of 100 seeds (25 %) lie more than 1.5 points from the mean. At most 20 % may."},
		{"two kinds within the limit", mix(map[float64]int{-1.4: 50, 1.4: 50}), SpreadAtFault, 0, "Without the 0 seeds beyond 1.5 points it still varies by 1.41 (SD)."},
		{"too few", mix(map[float64]int{-1: 49, 1: 50}), NotJudged, 0, "99 seeds are too few to judge; right would be at least 100."},
	} {
		d := verdictOf(x.d)
		require.Equal(t, x.want, d.Verdict, x.name)
		require.Equal(t, x.out, d.Excluded, x.name)
		require.Contains(t, fmt.Sprint(d.Reasons), x.says, x.name)
		require.Len(t, d.Table.Fit(), d.Seeds-d.Excluded)
	}
	// Named by what it goes with, or said to go with nothing.
	d := mix(map[float64]int{-2: 50, 2: 50})
	sides := make([]string, 100)
	for i := range sides {
		sides[i] = "grey"
		if d[i] > 0 {
			sides[i] = "pink"
		}
	}
	named := verdictOf(d, sides...)
	require.Equal(t, "field explains most: 100 % of it. Hardest is grey (-2 points), easiest pink (+2 points). Narrow its spread.", named.Reasons[2])
	require.Contains(t, verdictOf(d).Reasons[2], "No single drawn field explains it")
}

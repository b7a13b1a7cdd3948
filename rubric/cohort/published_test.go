package cohort

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// published reads a table of testdata/published, whose first line is its source,
// without the column of names if it has one.
func published(t *testing.T, name string) [][]float64 {
	t.Helper()
	data, err := os.ReadFile("testdata/published/" + name)
	require.NoError(t, err)
	source, err := bufio.NewReader(bytes.NewReader(data)).ReadString('\n')
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(source, "# "), "%s must name its source", name)
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	first := 1
	if rows[0][0] == "i1" {
		first = 0
	}
	var out [][]float64
	for _, row := range rows[1:] {
		var values []float64
		for _, cell := range row[first:] {
			v, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			values = append(values, v)
		}
		out = append(out, values)
	}
	return out
}

// ones is a sheet of lines that give one point each.
func ones(marks [][]float64) Sheet {
	s := Sheet{Marks: marks}
	for range marks[0] {
		s.Most = append(s.Most, 1)
	}
	return s
}

// lsat are the 1,000 students of the patterns.
func lsat(t *testing.T) [][]float64 {
	var out [][]float64
	for _, row := range published(t, "lsat6_patterns.csv") {
		for range int(row[5]) {
			out = append(out, row[:5])
		}
	}
	require.Len(t, out, 1000)
	return out
}

// column is one column of rows.
func column(rows [][]float64, j int) []float64 {
	out := make([]float64, len(rows))
	for i := range rows {
		out[i] = rows[i][j]
	}
	return out
}

// interval holds an estimate to three figures.
func interval(t *testing.T, value, low, high, delta float64, e Estimate) {
	t.Helper()
	require.True(t, e.Known(), e.Lack.String())
	require.InDelta(t, value, e.Value, delta)
	require.InDelta(t, low, e.Low, delta)
	require.InDelta(t, high, e.High, delta)
}

// R, t.test of the data set sleep, paired: mean 1.58, .7001142 to 2.4598858 (from
// memory).
func TestPublishedTInterval(t *testing.T) {
	t.Parallel()
	interval(t, 1.58, .7001142, 2.4598858, 5e-8, Mean(column(published(t, "sleep_10.csv"), 0), .95))
}

// The law schools of Efron and Tibshirani 1993: r = .776 (from memory). All digits on
// fixed resamples by Python with numpy and scipy, and by R's boot where it says so.
func TestPublishedBootstrapOfACorrelation(t *testing.T) {
	t.Parallel()
	data, index := published(t, "law_school_15.csv"), published(t, "law_boot_index_399x15.csv")
	r := resample(15, len(index), func(places []int) (float64, bool) {
		var x, y []float64
		for _, i := range places {
			x, y = append(x, data[i][0]), append(y, data[i][1])
		}
		c := Correlation(x, y)
		return c.Value, c.Known()
	}, fixed(index))
	require.InDelta(t, .776, r.Theta.Value, .0005)
	require.InDelta(t, .776374491289407, r.Theta.Value, 1e-12)
	require.Equal(t, 399, r.Drawn)
	require.Zero(t, r.Skipped)
	require.InDelta(t, .1326466465389636, r.SD().Value, 1e-12) // R 4.2.2 sd
	require.InDelta(t, -.11648500379553851, r.Bias, 1e-9)
	require.InDelta(t, -.07567156493787919, r.Acceleration, 1e-12) // R boot 1.3 empinf(jack), centred
	interval(t, .776374491289407, .47295909668514646, .9582823665027538, 1e-12, r.Percentile(.95))
	e, corrected := r.BCa(.95)
	require.True(t, corrected)
	interval(t, .776374491289407, .31014286315413075, .9385681005863882, 1e-9, e)
}

// The spatial test of Efron and Tibshirani 1993, chapter 14: variance 171.5,
// acceleration .061 (from memory); digits as above.
func TestPublishedBootstrapOfAVariance(t *testing.T) {
	t.Parallel()
	data, index := column(published(t, "spatial_A_26.csv"), 0), published(t, "spatial_boot_index_399x26.csv")
	r := resample(26, len(index), varianceOf(data), fixed(index))
	require.InDelta(t, 171.5, r.Theta.Value, .05)
	require.InDelta(t, .061, r.Acceleration, .0005)
	require.InDelta(t, .06124011981230745, r.Acceleration, 1e-12)
	require.InDelta(t, .2249024827156035, r.Bias, 1e-9)
	interval(t, 171.53402366863904, 96.71612426035504, 232.54792899408284, 1e-9, r.Percentile(.90))
	e, corrected := r.BCa(.90)
	require.True(t, corrected)
	interval(t, 171.53402366863904, 118.86150803785328, 264.70718731612857, 1e-6, e)
}

// fixed hands out resamples that were drawn before, counted from 1.
func fixed(index [][]float64) func(int) []int {
	return func(n int) []int {
		var places []int
		for _, i := range index[n] {
			places = append(places, int(i)-1)
		}
		return places
	}
}

// varianceOf is the variance, divided by n, of the numbers at some places.
func varianceOf(data []float64) Statistic {
	return func(places []int) (float64, bool) {
		sum, squares := 0.0, 0.0
		for _, i := range places {
			sum, squares = sum+data[i], squares+data[i]*data[i]
		}
		n := float64(len(places))
		return squares/n - sum/n*(sum/n), true
	}
}

// Section 6 of the law school admission test, as in Rizopoulos, J Stat Softw
// 2006;17(5) (from memory, four digits); all digits by Python.
func TestPublishedItemsOfATest(t *testing.T) {
	t.Parallel()
	items, err := Items(ones(lsat(t)))
	require.NoError(t, err)
	says := []float64{.1128, .1532, .1728, .1444, .1216}
	digits := []float64{.11283268892234224, .15317812011652887, .17277894329108767, .14442809524709405, .12159640254709614}
	for j, p := range []float64{.924, .709, .553, .763, .870} {
		require.InDelta(t, p, items[j].Difficulty.Value, 1e-12)
		require.InDelta(t, says[j], items[j].Corrected.Value, .00005)
		require.InDelta(t, digits[j], items[j].Corrected.Value, 1e-12)
		require.InDelta(t, p, items[j].ShrunkenDifficulty.Value, .01, "1,000 students need no help")
	}
}

// Ten students and ten lines (core.ecu.edu KR20, read): shares right; corrected
// correlations by Python and R's psych. That of the third line is exactly 0, those of
// the seventh and the ninth are negative.
func TestPublishedItemsOfTenStudents(t *testing.T) {
	t.Parallel()
	items, err := Items(ones(published(t, "kr20_10x10.csv")))
	require.NoError(t, err)
	r := map[int]float64{0: .705889154385799, 2: 0, 3: .4735891992193446, 5: .2861465445558276, 6: -.027444509554644156, 8: -.12361284651454936, 9: .4758668672668008}
	for j, p := range []float64{.7, .7, .6, .7, .6, .8, .7, .7, .5, .6} {
		require.InDelta(t, p, items[j].Difficulty.Value, 1e-12)
		if want, ok := r[j]; ok {
			require.InDelta(t, want, items[j].Corrected.Value, 1e-12)
		}
		require.Less(t, items[j].ShrunkenCorrected.Value, .6, "ten students prove nothing")
	}
}

// Alpha .2950 of the same test (Rizopoulos 2006, from memory); KR-20 is 305/438 of the
// ten students and the variance of their totals, divided by n, 5.84 (read). SEM by R's
// psych.
func TestPublishedAlpha(t *testing.T) {
	t.Parallel()
	c, lack := Cross(lsat(t))
	require.Empty(t, lack)
	require.InDelta(t, .2950, c.Alpha(.95).Value, .00005)
	require.InDelta(t, .2949971922159539, c.Alpha(.95).Value, 1e-12)
	require.InDelta(t, .8690666123933, c.SEM(.95).Value, 1e-12)

	c, lack = Cross(published(t, "kr20_10x10.csv"))
	require.Empty(t, lack)
	require.InDelta(t, 305.0/438, c.Alpha(.95).Value, 1e-12)
	require.InDelta(t, 5.84, c.SD*c.SD*9/10, 1e-12)
	require.InDelta(t, 1.403698817542556, c.SEM(.95).Value, 1e-12)
	require.InDelta(t, c.SD*math.Sqrt(1-c.Alpha(.95).Value), c.SEM(.95).Value, 1e-12)
}

// Brennan 2001, synthetic p x i: components .0574 and .0754 (from memory); all digits by
// Python. Alpha is G of as many lines, and twice as many are what Spearman and Brown
// say.
func TestPublishedG(t *testing.T) {
	t.Parallel()
	c, lack := Cross(published(t, "brennan_pi_10x12.csv"))
	require.Empty(t, lack)
	p, i, rest := c.Components()
	require.InDelta(t, .0574, p, .00005)
	require.InDelta(t, .0754, i, .00005)
	require.InDelta(t, .8157407407407407, c.BetweenStudents, 1e-12)
	require.InDelta(t, .881060606060606, c.BetweenCases, 1e-12)
	require.InDelta(t, .12685185185185197, rest, 1e-12)
	for cases, want := range map[int][2]float64{
		12: {.8444948921679908, .7730235194105978}, 1: {.31155778894472336, .22106969205834667}, 24: {.9156923076923076, .8719833786159501},
	} {
		require.InDelta(t, want[0], c.G(cases, .95).Value, 1e-12)
		require.InDelta(t, want[1], c.Phi(cases, .95).Value, 1e-12)
	}
	require.InDelta(t, c.Alpha(.95).Value, c.G(12, .95).Value, 1e-12)
	require.InDelta(t, math.Sqrt((i+rest)/12), c.AbsoluteSEM(12, .95).Value, 1e-12)
}

// Shrout and Fleiss 1979: .71 and .91 of ICC(3), .29 and .62 of ICC(2), of one and of
// four judges (from memory). All digits and the intervals of 95 % by Python, and
// identical by R's psych.
func TestPublishedIntervalsOfGAndPhi(t *testing.T) {
	t.Parallel()
	c, lack := Cross(published(t, "shrout_fleiss_1979.csv"))
	require.Empty(t, lack)
	interval(t, .7148407148407154, .34246476503392614, .9458582599553597, 1e-9, c.G(1, .95))
	interval(t, .9093155423770697, .6756747138163055, .9858916781690623, 1e-9, c.G(4, .95))
	interval(t, .9093155423770697, .6756747138163055, .9858916781690623, 1e-9, c.Alpha(.95))
	interval(t, .2897637795275592, .018786513374712044, .7610843696489529, 1e-9, c.Phi(1, .95))
	interval(t, .6200505475989893, .07113681530250347, .9272320401677219, 1e-9, c.Phi(4, .95))
}

// Efron and Morris, Sci Am 1977: 18 batters of 45 times at bat, mean .265, factor .212,
// and the shrunken averages as printed (from memory).
func TestPublishedShrinking(t *testing.T) {
	t.Parallel()
	rows := published(t, "batters_18.csv")
	var values, variance []float64
	for _, row := range rows {
		values, variance = append(values, row[0]/45), append(variance, .265*.735/45)
	}
	s := Shrink(values, variance)
	require.InDelta(t, .265, s.Mean, .0005)
	for i, row := range rows {
		require.InDelta(t, .212, 1-s.Factor[i], .001)
		require.InDelta(t, row[1], s.Values[i].Value, .001)
	}
}

package cohort

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

func TestLackInWords(t *testing.T) {
	t.Parallel()
	require.Equal(t, "too few students: 12, and it takes 30", Lack{Why: TooFewStudents, Have: 12, Need: 30}.String())
	require.Equal(t, "all marks are alike", Lack{Why: AllAlike}.String())
	require.Empty(t, Lack{}.String())
}

func TestMeanOfWhatHasNone(t *testing.T) {
	t.Parallel()
	require.Equal(t, Lack{Why: TooFewStudents, Need: 2}, Mean(nil, .95).Lack)
	require.Equal(t, Lack{Why: TooFewStudents, Have: 1, Need: 2}, Mean([]float64{4}, .95).Lack)
	require.Equal(t, AllAlike, Mean([]float64{.1, .1, .1}, .95).Lack.Why)
	require.Equal(t, Mean([]float64{1, 2, 4}, .95), Mean([]float64{1, Missing(), 2, 4}, .95))
	require.Equal(t, Lack{Why: TooFewStudents, Have: 3, Need: 4}, Correlation([]float64{1, 2, 3, Missing()}, []float64{1, 2, 3, 4}).Lack)
	require.Equal(t, Mean([]float64{1, 2, 4}, .95), Mean([]float64{1, 2, 4}, 7), "a level that is none is .95")
}

// The same seed draws the same; another does not. The interval of a mean by bootstrap is
// near that of t.
func TestBootstrapHasASeed(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	data := make([]float64, 40)
	for i := range data {
		data[i] = 60 + 10*r.NormFloat64()
	}
	mean := func(places []int) (float64, bool) {
		sum := 0.0
		for _, i := range places {
			sum += data[i]
		}
		return sum / float64(len(places)), true
	}
	a, b, c := Bootstrap(40, Resamples, 7, mean), Bootstrap(40, Resamples, 7, mean), Bootstrap(40, Resamples, 8, mean)
	require.Equal(t, a, b)
	require.Equal(t, uint64(7), a.Seed)
	require.NotEqual(t, a.Percentile(.95), c.Percentile(.95))
	want := Mean(data, .95)
	e, corrected := a.BCa(.95)
	require.True(t, corrected)
	for _, e := range []Estimate{e, a.Percentile(.95)} {
		interval(t, want.Value, want.Low, want.High, .5, e)
	}
}

func TestBootstrapOfWhatHasNone(t *testing.T) {
	t.Parallel()
	one := func([]int) (float64, bool) { return 1, true }
	require.Equal(t, Lack{Why: TooFewStudents, Have: 9, Need: 10}, Bootstrap(9, 99, 1, one).Percentile(.95).Lack)
	require.Equal(t, AllAlike, Bootstrap(20, 99, 1, one).SD().Lack.Why)
	require.Equal(t, AllAlike, Bootstrap(20, 0, 1, varianceOf(make([]float64, 20))).Percentile(.95).Lack.Why)
	never := Bootstrap(20, 99, 1, func([]int) (float64, bool) { return math.NaN(), true })
	e, corrected := never.BCa(.95)
	require.False(t, corrected)
	require.Equal(t, AllAlike, e.Lack.Why)

	// The largest of all is never passed: none lies above, and so none is corrected.
	least := Bootstrap(20, 199, 1, func(places []int) (float64, bool) {
		low := 20
		for _, i := range places {
			low = min(low, i)
		}
		return float64(low), low < 5
	})
	require.True(t, least.OneSided)
	e, corrected = least.BCa(.95)
	require.False(t, corrected)
	require.Equal(t, least.Percentile(.95), e)
	require.Equal(t, 199, least.Drawn+least.Skipped)
}

// An acceleration so large that the correction turns round corrects nothing.
func TestBCaThatTurnsRound(t *testing.T) {
	t.Parallel()
	r := Resampled{Theta: Told{Value: 2}, Drawn: 3, Bias: .1, Acceleration: .6, sorted: []float64{1, 2, 4}}
	e, corrected := r.BCa(.95)
	require.False(t, corrected)
	require.Equal(t, r.Percentile(.95), e)
	interval(t, 2, 1.05, 3.9, 1e-12, e)
}

// Of equal variances it is the estimate of James and Stein: 1 - (k-3) V / sum of squares.
func TestShrinkOfEqualVariancesIsJamesAndStein(t *testing.T) {
	t.Parallel()
	values, v := []float64{.2, .5, .6, .8, .9, .3}, .01
	mean, squares := stat.Mean(values, nil), 0.0
	for _, y := range values {
		squares += (y - mean) * (y - mean)
	}
	s := Shrink(values, []float64{v, v, v, v, v, v})
	for i, y := range values {
		require.InDelta(t, mean+(1-3*v/squares)*(y-mean), s.Values[i].Value, 1e-9)
	}
	// Half the interval by hand: the figure's own variance less what the mean of six
	// tells, and how unsure the factor b is.
	b, off := 3*v/squares, values[0]-mean
	require.InDelta(t, 1.959964*math.Sqrt(v*(1-b*5/6)+2.0/3*b*b*off*off), s.Values[0].High-s.Values[0].Value, 1e-6)
	require.Equal(t, Lack{Why: TooFewLines, Have: 3, Need: 4}, Shrink(values[:3], values[:3]).Lack)
	require.Equal(t, AllAlike, Shrink(values[:4], []float64{1, 1, 0, 1}).Lack.Why)
	same := Shrink([]float64{.5, .5, .5, .5}, []float64{.1, .2, .1, .2})
	require.Zero(t, same.Between)
	require.InDelta(t, .5, same.Values[1].Value, 1e-12)
}

// Of true figures drawn from a normal distribution and seen with unequal variances the
// intervals hold 95 of 100, and the shrunken are nearer to the truth than what was seen.
func TestShrunkenIntervalsHold(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 3))
	var held, all, raw, shrunken float64
	for range 500 {
		truth, seen, variance := make([]float64, 15), make([]float64, 15), make([]float64, 15)
		for i := range truth {
			truth[i], variance[i] = .7+.15*r.NormFloat64(), .005+.04*r.Float64()
			seen[i] = truth[i] + math.Sqrt(variance[i])*r.NormFloat64()
		}
		for i, e := range Shrink(seen, variance).Values {
			all++
			if e.Low <= truth[i] && truth[i] <= e.High {
				held++
			}
			raw, shrunken = raw+math.Pow(seen[i]-truth[i], 2), shrunken+math.Pow(e.Value-truth[i], 2)
		}
	}
	t.Logf("held %.3f, squared error %.3f of what was seen", held/all, shrunken/raw)
	require.InDelta(t, .95, held/all, .02)
	require.Less(t, shrunken, .7*raw)
}

// Points instead of ones, and a student who was not given a line: by hand. Three lines of
// 2, 4 and 10 points; the shares of the first are 1, .5, 0, .5, its rest 10/14, 7/14, 0/14
// and, without the last line, 2/4.
func TestItemsOfPointsAndAbsences(t *testing.T) {
	t.Parallel()
	s := Sheet{Most: []float64{2, 4, 10}, Marks: [][]float64{{2, 3, 7}, {1, 2, 5}, {0, 0, 0}, {1, 2, Missing()}, {Missing(), Missing(), 3}}}
	items, err := Items(s)
	require.NoError(t, err)
	require.Equal(t, 4, items[0].Students)
	require.InDelta(t, .5, items[0].Difficulty.Value, 1e-12)
	require.InDelta(t, stat.Correlation([]float64{1, .5, 0, .5}, []float64{10.0 / 14, .5, 0, .5}, nil), items[0].Corrected.Value, 1e-12)
	low, high, _ := Wilson(2, 4, Z95)
	interval(t, .5, low, high, 1e-12, items[0].Difficulty)
	require.Equal(t, TooFewLines, items[0].ShrunkenDifficulty.Lack.Why)
	// The fifth student has nothing besides the third line: three are left with both.
	require.Equal(t, Lack{Why: TooFewStudents, Have: 3, Need: 4}, items[2].Corrected.Lack)
}

// By hand: five students and four lines with 1, 2, 3 and 4 right. Within lines the squares
// are 4 in all on 16 degrees of freedom, .25, so that a share has .05; between lines they are
// .2. With four lines James and Stein draw by 1 x .05/.2, a quarter of the way.
func TestShrunkenDifficultyByHand(t *testing.T) {
	t.Parallel()
	marks := [][]float64{{1, 1, 1, 1}, {0, 1, 1, 1}, {0, 0, 1, 1}, {0, 0, 0, 1}, {0, 0, 0, 0}}
	items, err := Items(ones(marks))
	require.NoError(t, err)
	for j, want := range []float64{.275, .425, .575, .725} {
		require.InDelta(t, want, items[j].ShrunkenDifficulty.Value, 1e-9)
	}
}

// A line that says the same as the rest has the correlation 1, and its interval still has a
// lower end that is less.
func TestCorrelationOfOne(t *testing.T) {
	t.Parallel()
	x := []float64{1, 2, 3, 4, 5}
	interval(t, 1, math.Tanh(math.Atanh(.999)-1.96/math.Sqrt2), 1, 1e-12, Correlation(x, x))
}

func TestItemsRefuseWhatIsNoSheet(t *testing.T) {
	t.Parallel()
	for want, s := range map[string]Sheet{
		"line 2 gives at most 0 points, it must be more than 0":   {Most: []float64{1, 0}},
		"student 1 has 1 marks for 2 lines":                       {Most: []float64{1, 1}, Marks: [][]float64{{1}}},
		"student 2 has 3 points in line 1, which gives 0 to 2":    {Most: []float64{2}, Marks: [][]float64{{1}, {3}}},
		"student 1 has -1 points in line 1":                       {Most: []float64{2}, Marks: [][]float64{{-1}}},
		"student 1 has +Inf points in line 1, which gives 0 to 2": {Most: []float64{2}, Marks: [][]float64{{math.Inf(1)}}},
	} {
		_, err := Items(s)
		require.ErrorContains(t, err, want)
		_, err = MisKeys(s, nil)
		require.ErrorContains(t, err, want)
	}
}

// An exam of normal marks with known components: each interval holds what it is about in
// 95 of 100 exams (with 600 exams within 2.5 either way).
func TestReliabilityIntervalsHold(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 5))
	const n, k, exams = 40, 8, 600
	student, apart, rest := 6.0, 4.0, 10.0 // standard deviations
	sp, sc, sr := student*student, apart*apart, rest*rest
	truth := []float64{sp / (sp + sr/k), sp / (sp + (sc+sr)/k), k * math.Sqrt((sc+sr)/k), math.Sqrt(k * sr)}
	held := make([]float64, len(truth))
	for range exams {
		rel := Reliable(drawExam(r, n, k, student, apart, rest))
		for i, e := range []Estimate{rel.Alpha, rel.Phi, rel.AbsoluteSEM, rel.SEM} {
			require.True(t, e.Known())
			if e.Low <= truth[i] && truth[i] <= e.High {
				held[i]++
			}
		}
	}
	t.Logf("held: alpha %.3f, Phi %.3f, absolute SEM %.3f, SEM %.3f", held[0]/exams, held[1]/exams, held[2]/exams, held[3]/exams)
	for i := range held {
		require.InDelta(t, .95, held[i]/exams, .025)
	}
}

func drawExam(r *rand.Rand, students, cases int, student, apart, rest float64) [][]float64 {
	hard := make([]float64, cases)
	for j := range hard {
		hard[j] = apart * r.NormFloat64()
	}
	out := make([][]float64, students)
	for i := range out {
		own := 60 + student*r.NormFloat64()
		for j := range hard {
			out[i] = append(out[i], own+hard[j]+rest*r.NormFloat64())
		}
	}
	return out
}

func TestReliabilityOfTooFew(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(6, 6))
	marks := drawExam(r, 30, 6, 8, 2, 5)
	require.True(t, Reliable(marks).Alpha.Known())
	marks[4][2] = Missing()
	rel := Reliable(marks)
	require.Equal(t, 1, rel.Dropped)
	for _, e := range []Estimate{rel.Alpha, rel.SEM, rel.G, rel.Phi} {
		require.Equal(t, Lack{Why: TooFewStudents, Have: 29, Need: 30}, e.Lack)
		require.Zero(t, e.Value)
	}
	require.True(t, rel.AbsoluteSEM.Known())

	require.Equal(t, Lack{Why: TooFewCases, Have: 5, Need: 6}, Reliable(drawExam(r, 60, 5, 8, 2, 5)).Phi.Lack)
	require.Equal(t, Lack{Why: TooFewCases, Have: 1, Need: 2}, Reliable(drawExam(r, 60, 1, 8, 2, 5)).AbsoluteSEM.Lack)
	require.Equal(t, Lack{Why: TooFewStudents, Have: 0, Need: 30}, Reliable(nil).Alpha.Lack)
	require.Equal(t, Lack{Why: TooFewStudents, Have: 9, Need: 10}, Reliable(drawExam(r, 9, 4, 8, 2, 5)).AbsoluteSEM.Lack)
	absent := [][]float64{{Missing(), Missing()}, {Missing(), 1}, {1}}
	require.Equal(t, 3, Reliable(absent).Dropped)
}

func TestReliabilityOfWhatIsAlike(t *testing.T) {
	t.Parallel()
	same := make([][]float64, 30)
	for i := range same {
		same[i] = []float64{.1, .1, .1, .1, .1, .1}
	}
	rel := Reliable(same)
	for _, e := range []Estimate{rel.Alpha, rel.SEM, rel.G, rel.Phi, rel.AbsoluteSEM} {
		require.Equal(t, AllAlike, e.Lack.Why)
	}
	// Marks that only tell who is who: alpha is 1, and there is no error.
	for i := range same {
		for j := range same[i] {
			same[i][j] = float64(i) / 7
		}
	}
	rel = Reliable(same)
	interval(t, 1, 1, 1, 1e-12, rel.Alpha)
	interval(t, 1, 1, 1, 1e-12, rel.Phi)
	require.Equal(t, AllAlike, rel.AbsoluteSEM.Lack.Why)
	// Cases that are as hard for everybody: G is 1, Phi is not. By hand of 0 1 / 1 2 / 2 3:
	// students 1, cases .5, so Phi of one case is 2/3 and of two .8; the F of 2 and 1
	// degrees of freedom has its .975 at 799.5, that of 1 and 2 at 38.506.
	c, _ := Cross([][]float64{{0, 1}, {1, 2}, {2, 3}})
	interval(t, 1, 1, 1, 1e-12, c.G(2, .95))
	interval(t, 2.0/3, 3*2/(799.5*2*1.5+3*2), 3*38.506*2/(2*1.5+3*38.506*2), 1e-4, c.Phi(1, .95))
	require.InDelta(t, .8, c.Phi(2, .95).Value, 1e-12)
	require.Equal(t, Lack{Why: TooFewCases, Have: 0, Need: 1}, c.Phi(0, .95).Lack)
	require.Equal(t, Lack{Why: TooFewCases, Have: 0, Need: 1}, c.AbsoluteSEM(0, .95).Lack)
	// Cases that are alike on the whole: Phi is G.
	c, _ = Cross([][]float64{{0, 1, 0}, {2, 2, 2}, {4, 3, 4}})
	require.Equal(t, c.G(5, .95), c.Phi(5, .95))
	// What is left is 1/3 on four degrees of freedom, whose chi squared goes from .4844 to
	// 11.143 (tables, from memory); of the mean of three cases it is 1/9.
	interval(t, 1.0/3, math.Sqrt(4/11.143/9), math.Sqrt(4/.4844/9), 1e-4, c.AbsoluteSEM(3, .95))
	// Hardly more than chance: the lower end is 0 and not less.
	c, _ = Cross([][]float64{{1, 0, 1}, {0, 1, 0}, {1, 1, 1}, {0, 0, 0}})
	require.Greater(t, c.G(3, .95).Value, 0.0)
	require.Zero(t, c.G(3, .95).Low)
	require.Zero(t, c.Phi(3, .95).Low)
	// Students who differ by nothing but chance: alpha is below 0 and told, G is not.
	c, lack := Cross([][]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 1, 0}})
	require.Empty(t, lack)
	require.Negative(t, c.Alpha(.95).Value)
	require.InDelta(t, c.SD, c.SEM(.95).Value, 1e-12)
	require.Equal(t, NoDifference, c.G(3, .95).Lack.Why)
	require.Equal(t, NoDifference, c.Phi(3, .95).Lack.Why)
}

// No figure that is told is ever NaN or infinite, its interval holds it, and what is not
// told is 0, whatever the marks.
func TestNothingIsEverNaN(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(8, 8))
	for range 600 {
		n, k, kinds, gone := r.IntN(45), 1+r.IntN(9), 1+r.IntN(3), r.Float64()*.4*float64(r.IntN(2))
		s, forecast := Sheet{}, make([][]float64, n)
		for range k {
			s.Most = append(s.Most, float64(1+r.IntN(4)))
		}
		for i := range n {
			row := make([]float64, k)
			for j := range row {
				row[j] = s.Most[j] * float64(r.IntN(kinds)) / 2
				if r.Float64() < gone {
					row[j] = Missing()
				}
				forecast[i] = append(forecast[i], float64(r.IntN(5))/4)
			}
			s.Marks = append(s.Marks, row)
		}
		items, err := Items(s)
		require.NoError(t, err)
		for _, it := range items {
			for _, e := range []Estimate{it.Difficulty, it.Corrected, it.ShrunkenDifficulty, it.ShrunkenCorrected} {
				sound(t, e)
			}
		}
		rel := Reliable(s.Marks)
		for _, e := range []Estimate{rel.Alpha, rel.SEM, rel.G, rel.Phi, rel.AbsoluteSEM} {
			sound(t, e)
		}
		found, err := MisKeys(s, forecast)
		require.NoError(t, err)
		sound(t, Estimate{Told: found.Chance, Low: found.Chance.Value, High: found.AtMost + float64(k)})
		for _, l := range found.Lines {
			for _, v := range []Told{l.Z, l.R, l.Score} {
				sound(t, Estimate{Told: v, Low: v.Value, High: v.Value})
			}
		}
	}
}

func sound(t *testing.T, e Estimate) {
	t.Helper()
	for _, v := range []float64{e.Value, e.Low, e.High} {
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", e)
	}
	if !e.Known() {
		require.Zero(t, e.Value)
		return
	}
	require.LessOrEqual(t, e.Low, e.Value+1e-9)
	require.GreaterOrEqual(t, e.High, e.Value-1e-9)
}

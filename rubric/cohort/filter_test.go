package cohort

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Glickman's example: 1500 with 200 plays 1400 (30), won, 1550 (100) and 1700 (300),
// lost: g .9955 .9531 .7242 and E .639 .432 .303 (read), then 1464 and 151.4 (from
// memory); all digits by Python. A point of that scale is ln 10 / 400 logits.
func TestPublishedGlicko(t *testing.T) {
	t.Parallel()
	q := math.Ln10 / 400
	m := Model{Skills: 1, Own: 200 * 200 * q * q}
	s := m.Start()
	var games []Line
	for i, rating := range []float64{1400, 1550, 1700} {
		games = append(games, Line{Difficulty: (rating - 1500) * q, Mark: []float64{1, 0, 0}[i]})
	}
	require.NoError(t, s.learn(games, []float64{30 * q, 100 * q, 300 * q}))
	rating, rd := 1500+s.Mean(0)/q, math.Sqrt(s.Covariance(0, 0))/q
	require.InDelta(t, 1464, rating, .5)
	require.InDelta(t, 151.4, rd, .05)
	require.InDelta(t, 1464.1064627569112, rating, 1e-8)
	require.InDelta(t, 151.39890244796933, rd, 1e-8)
}

// By hand: ten skills start at -.2 with variances 1 and covariances .64; ten weeks add
// .03 x 10 x (.5 J + .5 I) = .3 to each and .15 to each pair.
func TestStartAndTime(t *testing.T) {
	t.Parallel()
	s := Standard(10).Start()
	require.InDelta(t, 1, s.Covariance(3, 3), 1e-15)
	require.InDelta(t, .64, s.Covariance(3, 7), 1e-15)
	require.NoError(t, s.After(10))
	require.InDelta(t, -.2, s.Mean(9), 1e-15)
	require.InDelta(t, 1.3, s.Covariance(3, 3), 1e-14)
	require.InDelta(t, .79, s.Covariance(3, 7), 1e-14)
	for _, weeks := range []float64{-1, math.NaN(), math.Inf(1)} {
		require.ErrorContains(t, s.After(weeks), "it must be 0 or more")
	}
}

// The formulas as they are written, with gonum's inverse, against the filter.
func TestLearnIsTheFormula(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(4, 4))
	s := Standard(10).Start()
	for range 40 {
		require.NoError(t, s.After(r.Float64()))
		attempt := someLines(r, 1+r.IntN(60))
		mean, cov := byTheFormula(t, s, attempt)
		require.NoError(t, s.Learn(attempt))
		for k := range 10 {
			require.InDelta(t, mean.AtVec(k), s.Mean(k), 1e-9)
			for l := range 10 {
				require.InDelta(t, cov.At(k, l), s.Covariance(k, l), 1e-9)
			}
		}
	}
	require.InDelta(t, 40, s.Patients(0), 8)
}

// What is known stays a Gaussian however much is seen, and ever more is known.
func TestManyAttemptsLeaveAGaussian(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 4))
	s := Standard(10).Start()
	for range 3000 {
		require.NoError(t, s.Learn(someLines(r, 40)))
	}
	var c mat.Cholesky
	require.True(t, c.Factorize(s.cov))
	for k := range 10 {
		require.Less(t, s.Covariance(k, k), .01)
		require.False(t, math.IsNaN(s.Mean(k)))
	}
}

func someLines(r *rand.Rand, n int) []Line {
	out := make([]Line, n)
	for i := range out {
		out[i] = Line{Skill: r.IntN(10), Mark: float64(r.IntN(5)) / 4, Difficulty: r.NormFloat64()}
	}
	return out
}

func byTheFormula(t *testing.T, s *Skilled, attempt []Line) (*mat.VecDense, *mat.Dense) {
	n := make([]float64, 10)
	for _, l := range attempt {
		n[l.Skill]++
	}
	g := 1 / math.Sqrt(1+3*.16/(math.Pi*math.Pi))
	u, inverse := mat.NewVecDense(10, nil), mat.NewDense(10, 10, nil)
	require.NoError(t, inverse.Inverse(s.cov))
	for _, l := range attempt {
		k := l.Skill
		d := 1 + .3*(n[k]-1)
		e := 1 / (1 + math.Exp(-g*(s.Mean(k)-l.Difficulty)))
		u.SetVec(k, u.AtVec(k)+g*(l.Mark-e)/d)
		inverse.Set(k, k, inverse.At(k, k)+g*g*e*(1-e)/d)
	}
	var cov mat.Dense
	require.NoError(t, cov.Inverse(inverse))
	mean := mat.NewVecDense(10, nil)
	mean.MulVec(&cov, u)
	for k := range 10 {
		mean.SetVec(k, mean.AtVec(k)+s.Mean(k))
	}
	return mean, &cov
}

// What is seen of one skill says something of the others, and of itself most; a copy is
// left alone, and the order of the lines of an attempt is nothing.
func TestWhatOneSkillSaysOfTheOthers(t *testing.T) {
	t.Parallel()
	s := Standard(10).Start()
	before := s.Clone()
	attempt := []Line{{Skill: 2, Mark: 1}, {Skill: 2, Mark: 1, Difficulty: 1}, {Skill: 5, Mark: .5}}
	require.NoError(t, s.Learn(attempt))
	require.Greater(t, s.Mean(2), s.Mean(3))
	require.Greater(t, s.Mean(3), before.Mean(3))
	require.Less(t, s.Covariance(2, 2), s.Covariance(3, 3))
	require.Less(t, s.Covariance(3, 3), 1.0)
	require.InDelta(t, 1, before.Covariance(3, 3), 1e-15)
	require.Equal(t, []int{0, 2, 0, 1}, []int{before.Lines(2), s.Lines(2), s.Lines(3), s.Patients(2)})

	attempt[0], attempt[2] = attempt[2], attempt[0]
	require.NoError(t, before.Learn(attempt))
	require.InDelta(t, s.Mean(2), before.Mean(2), 1e-12)
	require.NoError(t, s.Learn(nil), "an attempt in which nothing was judged")
	require.InDelta(t, s.Mean(2), before.Mean(2), 1e-12)
}

func TestLearnRefusesWhatIsNoLine(t *testing.T) {
	t.Parallel()
	s := Standard(2).Start()
	for want, l := range map[string]Line{
		"line 2 is of skill 2, there are 0 to 1":      {Skill: 2},
		"line 2 is of skill -1":                       {Skill: -1},
		"line 2 has the mark 1.5, it must be 0 to 1":  {Mark: 1.5},
		"line 2 has the mark NaN":                     {Mark: math.NaN()},
		"line 2 has the difficulty +Inf, it must be ": {Difficulty: math.Inf(1)},
	} {
		require.ErrorContains(t, s.Learn([]Line{{Mark: 1}, l}), want)
	}
	require.InDelta(t, -.2, s.Mean(0), 1e-15)
	require.Zero(t, s.Lines(0))
}

// By hand, of a student of whom nothing is known: the share is logistic(-.2 /
// sqrt(1 + 1.5 pi/8)), the interval goes from -1.4816 to 1.0816 over sqrt(1 + .5 pi/8);
// the digits are Python's.
func TestForecastByHand(t *testing.T) {
	t.Parallel()
	f := Standard(10).Start().Forecast(4, 0)
	require.InDelta(t, .46041854716801917, f.Share, 1e-12)
	require.InDelta(t, .20512399653702013, f.Low, 1e-12)
	require.InDelta(t, .7288639634742421, f.High, 1e-12)
	require.Equal(t, TooLittle, f.Verdict)
	about, from, to := f.Tenths()
	require.Equal(t, []int{5, 2, 7}, []int{about, from, to})
}

// The share of the forecast is the mean over the skill, the difficulty and the day: the
// approximation is held to the sum it stands for.
func TestForecastIsNearlyTheMixture(t *testing.T) {
	t.Parallel()
	for _, logit := range []float64{-3, -1, 0, .5, 2, 3} {
		for _, v := range []float64{.5, .8, 1.5} {
			sum, weight := 0.0, 0.0
			for x := -8.0; x <= 8; x += .01 {
				w := math.Exp(-x * x / 2)
				sum, weight = sum+w*logistic(logit+x*math.Sqrt(v)), weight+w
			}
			require.InDelta(t, sum/weight, mixed(logit, v), .012)
		}
	}
}

// The edges of the words, by a skill put where it is wanted.
func TestVerdicts(t *testing.T) {
	t.Parallel()
	noise := math.Sqrt(1 + math.Pi*.5/8)
	at := func(share, sigmas, sd float64, patients int) Verdict {
		s := Standard(1).Start()
		s.mean[0] = math.Log(share/(1-share))*noise + sigmas*sd
		s.cov.SetSym(0, 0, sd*sd)
		s.patients[0] = patients
		return s.Forecast(0, 0).Verdict
	}
	// .8416 standard deviations above .8 it is there in 80 of 100 cases.
	require.Equal(t, Holds, at(.8, .842, .3, 3))
	require.Equal(t, Open, at(.8, .841, .3, 3))
	require.Equal(t, TooLittle, at(.8, .842, .3, 2))
	require.Equal(t, NotYet, at(.6, -.842, .3, 3))
	require.Equal(t, Open, at(.6, -.841, .3, 3))
	require.Equal(t, TooLittle, at(.5, 0, .9, 9), "the interval is wider than .40")
	require.Equal(t, Open, at(.7, 0, .6, 9))
	// About a half the width is .40 where 1.2816 sd is logit(.7) = .8473 times the noise.
	edge := math.Log(.7/.3) * noise / 1.2816
	require.Equal(t, Open, at(.5, 0, edge-.001, 9))
	require.Equal(t, TooLittle, at(.5, 0, edge+.001, 9))
}

// Students as the model supposes them: the interval holds what the skill earns in a long
// run in 80 of 100 cases, and what holds or is not yet there is so at least as often. This shows the arithmetic, not how
// students behave.
func TestIntervalsCoverStudentsOfTheModel(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(9, 1))
	var covered, all float64
	said, right := map[Verdict]float64{}, map[Verdict]float64{}
	m := Standard(10)
	m.Alike = 0 // these lines are independent
	for range 400 {
		s, skill := m.Start(), drawSkills(r, m)
		for range 15 {
			require.NoError(t, s.Learn(playLines(r, m, skill, 24)))
		}
		for k, own := range skill {
			difficulty := -1.5 * float64(k%2)
			f := s.Forecast(k, difficulty)
			truth := mixed(own-difficulty, .5)
			all++
			if f.Low <= truth && truth <= f.High {
				covered++
			}
			said[f.Verdict]++
			if f.Verdict == Holds && truth >= .8 || f.Verdict == NotYet && truth < .6 {
				right[f.Verdict]++
			}
		}
	}
	t.Logf("covered %.3f, said %v, right %v", covered/all, said, right)
	require.InDelta(t, .80, covered/all, .05)
	for _, v := range []Verdict{Holds, NotYet} {
		require.Greater(t, said[v], 50.0)
		require.GreaterOrEqual(t, right[v]/said[v], .80)
	}
}

func drawSkills(r *rand.Rand, m Model) []float64 {
	out, shared := make([]float64, m.Skills), r.NormFloat64()*math.Sqrt(m.Shared)
	for k := range out {
		out[k] = m.Mean + shared + r.NormFloat64()*math.Sqrt(m.Own)
	}
	return out
}

func playLines(r *rand.Rand, m Model, skill []float64, n int) []Line {
	out := make([]Line, n)
	for i := range out {
		l := Line{Skill: r.IntN(len(skill)), Difficulty: r.NormFloat64() * .8}
		if r.Float64() < logistic(skill[l.Skill]-l.Difficulty-r.NormFloat64()*m.Spread) {
			l.Mark = 1
		}
		out[i] = l
	}
	return out
}

// What a cohort page does: 200 students with 50 attempts each, 24 lines an attempt.
func BenchmarkCohort(b *testing.B) {
	r := rand.New(rand.NewPCG(2, 2))
	attempt := someLines(r, 24)
	for range b.N {
		for range 200 {
			s := Standard(10).Start()
			for range 50 {
				_ = s.After(.25)
				_ = s.Learn(attempt)
			}
		}
	}
}

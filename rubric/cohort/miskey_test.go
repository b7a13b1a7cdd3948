package cohort

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// exam draws students, lines and marks as the forecasts suppose: the difficulty is .4
// about what was forecast, the student of one day is .34 (variance) about the skill.
func exam(r *rand.Rand, students, lines int) (Sheet, [][]float64) {
	b, real := make([]float64, lines), make([]float64, lines)
	s := Sheet{}
	for j := range b {
		b[j] = -1 + .8*r.NormFloat64()
		real[j] = b[j] + .4*r.NormFloat64()
		s.Most = append(s.Most, 1)
	}
	var forecast [][]float64
	for range students {
		skill := -.2 + r.NormFloat64()
		var marks, said []float64
		for j := range b {
			said = append(said, mixed(skill-b[j], .5))
			mark := 0.0
			if r.Float64() < logistic(skill-real[j]+math.Sqrt(.34)*r.NormFloat64()) {
				mark = 1
			}
			marks = append(marks, mark)
		}
		s.Marks, forecast = append(s.Marks, marks), append(forecast, said)
	}
	return s, forecast
}

// With no wrong key there is at most one flag an exam, and on the whole about as many as
// are said to come by chance.
func TestFlagsByChance(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(11, 1))
	var flags, expected, atMost float64
	const exams = 150
	for range exams {
		s, forecast := exam(r, 40, 40)
		found, err := MisKeys(s, forecast)
		require.NoError(t, err)
		require.True(t, found.Chance.Known())
		flags, expected, atMost = flags+float64(found.Flags), expected+found.Chance.Value, atMost+found.AtMost
	}
	t.Logf("flags an exam %.2f, by chance %.2f, at most %.2f", flags/exams, expected/exams, atMost/exams)
	require.LessOrEqual(t, flags/exams, 1.0)
	require.InDelta(t, flags/exams, expected/exams, .25)
	// 40 x (1 - .9938 x .945): nearly .06 a line.
	require.InDelta(t, 2.4, atMost/exams, .1)
}

// If lines have nothing to do with each other, as many are flagged as are said at most.
func TestFlagsOfUnrelatedLines(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(12, 1))
	var flags, atMost float64
	const exams = 150
	for range exams {
		s := Sheet{}
		for range 40 {
			s.Most = append(s.Most, 1)
		}
		for range 30 {
			row := make([]float64, 40)
			for j := range row {
				row[j] = float64(r.IntN(2))
			}
			s.Marks = append(s.Marks, row)
		}
		found, err := MisKeys(s, nil)
		require.NoError(t, err)
		require.Equal(t, NoForecast, found.Lines[0].Z.Lack.Why)
		flags, atMost = flags+float64(found.Flags), atMost+found.AtMost
	}
	t.Logf("flags an exam %.2f, said at most %.2f", flags/exams, atMost/exams)
	require.InDelta(t, atMost/exams, flags/exams, .3)
}

// A line marked against a wrong key, where the right ones lose what the wrong ones get,
// is flagged in about four of five exams of 40 students and 40 lines, and mostly
// comes first; where about half were to get it the wrong key changes little.
func TestAPlantedMisKeyIsFound(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(13, 1))
	first, flagged := 0, 0
	for range 100 {
		s, forecast := exam(r, 40, 40)
		for i := range s.Marks {
			s.Marks[i][17] = 1 - s.Marks[i][17]
		}
		found, err := MisKeys(s, forecast)
		require.NoError(t, err)
		if found.Lines[0].Line == 17 {
			first++
		}
		if slices.ContainsFunc(found.Lines, func(l Suspect) bool { return l.Line == 17 && l.Flag }) {
			flagged++
		}
	}
	t.Logf("of 100 flagged %d, first %d", flagged, first)
	require.GreaterOrEqual(t, flagged, 75)
	require.GreaterOrEqual(t, first, 65)
}

// By hand: 16 students, all forecast .5 of a line, none gets it. Off by -8; the variance
// is 16 x .25 of their own, less 16 c/16, and 16 c of what they share, c = .16/(1 + pi/16).
// All are alike, so there is no correlation, and the line is flagged by the forecast alone.
func TestALineThatNobodyGets(t *testing.T) {
	t.Parallel()
	s, forecast := Sheet{Most: []float64{1, 1}}, [][]float64{}
	for i := range 16 {
		s.Marks = append(s.Marks, []float64{0, float64(i % 2)})
		forecast = append(forecast, []float64{.5, .5})
	}
	found, err := MisKeys(s, forecast)
	require.NoError(t, err)
	c := .16 / (1 + math.Pi/16)
	require.Equal(t, 0, found.Lines[0].Line)
	require.InDelta(t, -8/math.Sqrt(4-c+16*c), found.Lines[0].Z.Value, 1e-12)
	require.InDelta(t, 8/math.Sqrt(4-c+16*c), found.Lines[0].Score.Value, 1e-12)
	require.Equal(t, AllAlike, found.Lines[0].R.Lack.Why)
	require.True(t, found.Lines[0].Flag)
	require.Equal(t, 1, found.Flags)
	require.Zero(t, found.Lines[1].Score.Value)
	require.Equal(t, TooFewLines, found.Chance.Lack.Why)
}

// By hand: of 28 students a line is flagged at r < -1.645/sqrt(28), of which Fisher's z is
// -.3213. If lines are about z = .3 with variances .04 between them and 1/25 by chance, it
// is 2.1967 standard deviations below them: 0.013996 of such lines (Python). Of unrelated ones
// Student's t of -1.6678 with 26 degrees of freedom is so low in .053678 of cases (Python, by sum).
func TestChanceByHand(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 0.013996448, related(Shrunken{Mean: .3, Between: .04}, 28), 1e-8)
	require.InDelta(t, .05, unrelated(100000), 1e-4)
	require.InDelta(t, .053678454899, unrelated(28), 1e-7)
	require.InDelta(t, .44, either(.2, .3), 1e-15)
}

func TestMisKeysOfTooFewAndOfNone(t *testing.T) {
	t.Parallel()
	s, forecast := exam(rand.New(rand.NewPCG(1, 1)), 9, 5)
	found, err := MisKeys(s, forecast)
	require.NoError(t, err)
	for _, l := range found.Lines {
		require.Equal(t, Lack{Why: TooFewStudents, Have: 9, Need: 10}, l.Score.Lack)
		require.False(t, l.Flag)
	}
	require.Zero(t, found.AtMost)
	found, err = MisKeys(Sheet{}, nil)
	require.NoError(t, err)
	require.Empty(t, found.Lines)

	_, err = MisKeys(s, forecast[:8])
	require.ErrorContains(t, err, "8 forecasts for 9 students")
	forecast[3] = forecast[3][:4]
	_, err = MisKeys(s, forecast)
	require.ErrorContains(t, err, "student 4 has 4 forecasts for 5 lines")
	forecast[3] = []float64{.1, .2, 1.3, .4, .5}
	_, err = MisKeys(s, forecast)
	require.ErrorContains(t, err, "student 4 is forecast 1.3 of line 3, it must be 0 to 1")
}

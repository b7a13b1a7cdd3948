package cohort

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"dewclaw/rubric"
)

// reports makes reports of two or more domains out of columns in points.
func reports(ids []string, columns ...[]float64) []rubric.Report {
	out := make([]rubric.Report, len(columns[0]))
	for n := range out {
		for i, id := range ids {
			p := rubric.Points(math.Round(columns[i][n] * 1000))
			out[n].Domains = append(out[n].Domains, rubric.Domain{ID: id, Points: p})
			out[n].Total += p
		}
	}
	return out
}

var two = []string{rubric.DomainOrder, rubric.DomainFindings}

// Worked by hand. Order 2, 4, 6, 8: mean 5, deviations -3 -1 1 3, squares 20,
// variance 20/3. Findings 1, 5, 3, 7: mean 4, deviations -3 1 -1 3, squares 20.
// Products 9 -1 -1 9 = 16, covariance 16/3, correlation 16/20 = .8. Total 3, 9,
// 9, 15: deviations -6 0 0 6, squares 72, variance 24. Order with total:
// (18 + 18)/3 = 12, so its effective weight is 12/24 = .5, and so is the other.
func TestWeightsByHand(t *testing.T) {
	w, err := Weigh(reports(two, []float64{2, 4, 6, 8}, []float64{1, 5, 3, 7}), rubric.Weights{Order: 10, Findings: 30})
	require.NoError(t, err)
	require.Equal(t, 4, w.Reports)
	require.InDelta(t, 9, w.Mean.Value, 1e-12)
	require.InDelta(t, math.Sqrt(24), w.SD.Value, 1e-12)
	require.InDelta(t, .25, w.Domains[0].Nominal.Value, 1e-12)
	require.InDelta(t, .75, w.Domains[1].Nominal.Value, 1e-12)
	require.InDelta(t, 5, w.Domains[0].Mean.Value, 1e-12)
	require.InDelta(t, math.Sqrt(20.0/3), w.Domains[0].SD.Value, 1e-12)
	require.InDelta(t, .5, w.Domains[0].Effective.Value, 1e-12)
	require.InDelta(t, .5, w.Domains[1].Effective.Value, 1e-12)
	require.InDelta(t, .8, w.Correlation[0][1].Value, 1e-12)
	require.Equal(t, w.Correlation[0][1], w.Correlation[1][0])
	require.Equal(t, rubric.DomainOrder, w.Largest.A)
	require.Equal(t, rubric.DomainFindings, w.Largest.B)
}

// A domain that spreads three times as far and correlates with nothing weighs
// nine tenths, whatever the rubric says: 9 / (1 + 9).
func TestSpreadWeighsNotTheNominal(t *testing.T) {
	w, err := Weigh(reports(two, []float64{1, 1, 2, 2}, []float64{0, 3, 0, 3}), rubric.Weights{Order: 50, Findings: 50})
	require.NoError(t, err)
	require.InDelta(t, .1, w.Domains[0].Effective.Value, 1e-12)
	require.InDelta(t, .9, w.Domains[1].Effective.Value, 1e-12)
	require.InDelta(t, 0, w.Correlation[0][1].Value, 1e-12)
}

// Anscombe, Graphs in statistical analysis, Am Stat 1973;27:17-21, first set:
// mean of y 7.50, variance of x 11, correlation .816 (data and figures from memory).
func TestCorrelationOfAPublishedSet(t *testing.T) {
	x := []float64{10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5}
	y := []float64{8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68}
	w, err := Weigh(reports(two, x, y), rubric.Weights{Order: 1, Findings: 1})
	require.NoError(t, err)
	require.InDelta(t, .816, w.Largest.R.Value, .0005)
	require.InDelta(t, math.Sqrt(11), w.Domains[0].SD.Value, 1e-9)
	require.InDelta(t, 7.50, w.Domains[1].Mean.Value, .005)
}

// The effective weights add up to 1, and the matrix is gonum's, for any points.
func TestEffectiveWeightsAddUpToOne(t *testing.T) {
	ids := []string{"order", "completeness", "findings", "vitals", "handling", "conclusions"}
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 1))
		columns := make([][]float64, len(ids))
		for n := range 5 + int(seed) {
			_ = n
			base := r.Float64() * 5
			for i := range columns {
				columns[i] = append(columns[i], math.Round(1000*(base+r.Float64()*float64(i+1)))/1000)
			}
		}
		w, err := Weigh(reports(ids, columns...), rubric.Weights{Order: 10, Completeness: 25, Findings: 25, Vitals: 20, Handling: 10, Conclusions: 10})
		require.NoError(t, err)
		sum := 0.0
		for _, d := range w.Domains {
			sum += d.Effective.Value
		}
		require.InDelta(t, 1, sum, 1e-9, "seed %d", seed)

		flat := mat.NewDense(len(columns[0]), len(ids), nil)
		for i := range columns {
			flat.SetCol(i, columns[i])
		}
		var want mat.SymDense
		stat.CorrelationMatrix(&want, flat, nil)
		for i := range ids {
			for j := range ids {
				require.InDelta(t, want.At(i, j), w.Correlation[i][j].Value, 1e-9)
			}
		}
	}
}

func TestWhatNeverVariesCorrelatesWithNothing(t *testing.T) {
	w, err := Weigh(reports(two, []float64{5, 5, 5}, []float64{1, 2, 3}), rubric.Weights{Order: 1, Findings: 1})
	require.NoError(t, err)
	require.False(t, w.Correlation[0][1].Known)
	require.False(t, w.Largest.R.Known)
	require.InDelta(t, 0, w.Domains[0].Effective.Value, 1e-12)
	require.InDelta(t, 1, w.Domains[1].Effective.Value, 1e-12)

	data, err := json.Marshal(w)
	require.NoError(t, err)
	require.Contains(t, string(data), `"correlation":[[null,null],[null,1]]`)
	var back Weights
	require.NoError(t, json.Unmarshal(data, &back))
	require.False(t, back.Correlation[0][1].Known)
	require.True(t, back.Correlation[1][1].Known)
}

func TestWeighRefusesWhatCannotBeWeighed(t *testing.T) {
	one := reports(two, []float64{1}, []float64{2})
	_, err := Weigh(one, rubric.Weights{})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = Weigh(nil, rubric.Weights{})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = Weigh(append(one, reports([]string{"order"}, []float64{1})...), rubric.Weights{})
	require.ErrorContains(t, err, "report 2 has 1 domains")
	_, err = Weigh(append(one, reports([]string{"findings", "order"}, []float64{1}, []float64{1})...), rubric.Weights{})
	require.ErrorContains(t, err, `report 2 has domain "findings"`)
}

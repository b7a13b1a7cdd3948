// Package cohort draws figures from many reports and marks. It is pure: reports,
// marks and lines in, figures out. It knows no patient, no student and no robot, so
// that the same figures can be drawn from a class and from simulated students.
//
// Three kinds are here: what the domains of a rubric weigh (Weigh); what is known of
// one student's skills (Model, Skilled, Forecast); and statistics of an exam (Mean,
// Bootstrap, Items, Reliable, MisKeys). A statistic that cannot be told has a Lack
// that says why, never a number.
package cohort

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"dewclaw/rubric"
)

// Weights says what the domains of a rubric really weigh among some reports.
type Weights struct {
	Reports int            `json:"reports"`
	Mean    Figure         `json:"mean"` // of the total, points of 100
	SD      Figure         `json:"sd"`
	Domains []DomainWeight `json:"domains"`
	// Correlation is the matrix of the domains' points, in the order of
	// Domains. A domain that never varies correlates with nothing: null.
	Correlation [][]Figure `json:"correlation"`
	Largest     Pair       `json:"largest"`
}

// DomainWeight is one domain among some reports.
type DomainWeight struct {
	ID      string `json:"id"`
	Nominal Figure `json:"nominal"` // what the rubric says, as a share of all its points
	Mean    Figure `json:"mean"`    // points of 100
	SD      Figure `json:"sd"`      // of a sample: divided by n-1
	// Effective is cov(domain, total) / var(total): the share of the spread of
	// the totals that comes from this domain. The shares of all domains add up
	// to 1, because the total is their sum.
	// The term is that of Wang and Stanley, Rev Educ Res 1970;40:663-705 (from
	// memory).
	Effective Figure `json:"effective"`
}

// Pair is two domains and how their points correlate (Pearson).
type Pair struct {
	A string `json:"a"`
	B string `json:"b"`
	R Figure `json:"r"`
}

// Figure is a number that may be impossible to tell, such as a correlation
// with what never varies. It is null in JSON then, and otherwise rounded to
// six decimals.
type Figure struct {
	Value float64
	Known bool
}

// decimals of a figure in JSON, as a factor.
const decimals = 1e6

// MarshalJSON writes null for what cannot be told.
func (f Figure) MarshalJSON() ([]byte, error) {
	if !f.Known {
		return []byte("null"), nil
	}
	return json.Marshal(math.Round(f.Value*decimals) / decimals)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (f *Figure) UnmarshalJSON(data []byte) error {
	var v *float64
	if err := json.Unmarshal(data, &v); err != nil {
		return err
	}
	*f = Figure{}
	if v != nil {
		*f = figure(*v)
	}
	return nil
}

// figure makes a Figure; not a number is not known.
func figure(v float64) Figure {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Figure{}
	}
	return Figure{Value: v, Known: true}
}

// ErrTooFew is wrapped where there are fewer than two reports: nothing varies.
var ErrTooFew = errors.New("cohort: at least two reports are needed before anything can vary")

// Weigh draws the weights from reports that one rubric gave. All of them must
// list the same domains in the same order, as Grade does.
func Weigh(reports []rubric.Report, nominal rubric.Weights) (Weights, error) {
	columns, total, err := Columns(reports)
	if err != nil {
		return Weights{}, err
	}
	w := Weights{Reports: len(reports)}
	mean, sd := stat.MeanStdDev(total, nil)
	w.Mean, w.SD = figure(mean), figure(sd)
	says := shares(nominal)
	for i, d := range reports[0].Domains {
		mean, sd := stat.MeanStdDev(columns[i], nil)
		w.Domains = append(w.Domains, DomainWeight{
			ID: d.ID, Nominal: figure(says[d.ID]), Mean: figure(mean), SD: figure(sd),
			Effective: figure(stat.Covariance(columns[i], total, nil) / stat.Variance(total, nil)),
		})
	}
	w.Correlation = Correlations(columns, columns)
	w.Largest = largest(w)
	return w, nil
}

// Columns are the points of every domain, report by report, and the totals, in
// points of 100.
func Columns(reports []rubric.Report) (domains [][]float64, total []float64, err error) {
	if len(reports) < 2 {
		return nil, nil, fmt.Errorf("%w; these are %d", ErrTooFew, len(reports))
	}
	ids := reports[0].Domains
	domains, total = make([][]float64, len(ids)), make([]float64, len(reports))
	for i := range domains {
		domains[i] = make([]float64, len(reports))
	}
	for n := range reports {
		total[n] = points(reports[n].Total)
		if len(reports[n].Domains) != len(ids) {
			return nil, nil, fmt.Errorf("cohort: report %d has %d domains, the first has %d", n+1, len(reports[n].Domains), len(ids))
		}
		for i, d := range reports[n].Domains {
			if d.ID != ids[i].ID {
				return nil, nil, fmt.Errorf("cohort: report %d has domain %q where the first has %q", n+1, d.ID, ids[i].ID)
			}
			domains[i][n] = points(d.Points)
		}
	}
	return domains, total, nil
}

// Correlations is the Pearson correlation of every row series with every
// column series. All series have the same length, at least two.
func Correlations(rows, columns [][]float64) [][]Figure {
	out := make([][]Figure, len(rows))
	for i := range rows {
		out[i] = make([]Figure, len(columns))
		for j := range columns {
			out[i][j] = figure(stat.Correlation(rows[i], columns[j], nil))
		}
	}
	return out
}

// largest is the pair of different domains that correlates most; of equals the
// first. What makes two domains say the same twice is a positive correlation,
// so the sign counts.
func largest(w Weights) Pair {
	var best Pair
	for i := range w.Correlation {
		for j := range i {
			if r := w.Correlation[i][j]; r.Known && (!best.R.Known || r.Value > best.R.Value) {
				best = Pair{A: w.Domains[j].ID, B: w.Domains[i].ID, R: r}
			}
		}
	}
	return best
}

// points are points of 100.
func points(p rubric.Points) float64 { return float64(p) / 1000 }

// shares are the nominal weights as parts of their sum.
func shares(w rubric.Weights) map[string]float64 {
	all := map[string]int{
		rubric.DomainOrder: w.Order, rubric.DomainCompleteness: w.Completeness, rubric.DomainFindings: w.Findings,
		rubric.DomainVitals: w.Vitals, rubric.DomainHandling: w.Handling, rubric.DomainConclusions: w.Conclusions,
	}
	sum := 0
	for _, n := range all {
		sum += n
	}
	out := map[string]float64{}
	for id, n := range all {
		out[id] = float64(n) / float64(max(1, sum))
	}
	return out
}

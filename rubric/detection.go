package rubric

import "math"

// Detection counts how the student told abnormal from normal, over what was
// examined: vitals are left out, and so is what was charted without being
// examined. It is for display and for cohorts; no mark depends on it. The four
// counts are what a report holds; the figures below are worked out on demand,
// may differ in the last bit between processors, and are never stored.
type Detection struct {
	Hits        int `json:"hits"`         // abnormal findings examined and charted as abnormal
	Misses      int `json:"misses"`       // abnormal findings examined and called normal or left blank
	FalseAlarms int `json:"false_alarms"` // normal places examined and charted as abnormal
	TrueNormals int `json:"true_normals"` // normal places examined and charted as normal
}

// signals are the abnormal findings, noise the normal places.
func (d Detection) signals() int { return max(0, d.Hits) + max(0, d.Misses) }

func (d Detection) noise() int { return max(0, d.FalseAlarms) + max(0, d.TrueNormals) }

// Sensitivity is the share of abnormal findings called abnormal. It is
// undefined where none was examined.
func (d Detection) Sensitivity() (value float64, ok bool) { return ratio(d.Hits, d.signals()) }

// Specificity is the share of normal places called normal. It is undefined
// where none was charted.
func (d Detection) Specificity() (value float64, ok bool) { return ratio(d.TrueNormals, d.noise()) }

func ratio(n, of int) (float64, bool) {
	if of <= 0 {
		return 0, false
	}
	return float64(max(0, n)) / float64(of), true
}

// DPrime is z(H) - z(F), how far apart abnormal and normal lie for this
// student, in standard deviations. H and F are corrected by the log-linear
// rule, (hits + .5) / (signals + 1) and (false alarms + .5) / (noise + 1), in
// every case and not only in extreme ones (Hautus 1995, Behavior Research
// Methods 27:46-51), so that it is finite. It is undefined without an abnormal
// finding or without a normal place.
func (d Detection) DPrime() (value float64, ok bool) {
	if d.signals() == 0 || d.noise() == 0 {
		return 0, false
	}
	return probit(loglinear(d.Hits, d.signals())) - probit(loglinear(d.FalseAlarms, d.noise())), true
}

func loglinear(n, of int) float64 { return (float64(max(0, n)) + .5) / (float64(of) + 1) }

// probit is the quantile of the standard normal distribution.
func probit(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// Matthews is the correlation of what was called with what was there, from -1
// to 1 (Matthews 1975, Biochimica et Biophysica Acta 405:442-451). It is
// undefined where a row or a column of the table is empty; others then say 0.
func (d Detection) Matthews() (value float64, ok bool) {
	tp, fn, fp, tn := float64(max(0, d.Hits)), float64(max(0, d.Misses)), float64(max(0, d.FalseAlarms)), float64(max(0, d.TrueNormals))
	under := (tp + fp) * (tp + fn) * (tn + fp) * (tn + fn)
	if under == 0 {
		return 0, false
	}
	return (tp*tn - fp*fn) / math.Sqrt(under), true
}

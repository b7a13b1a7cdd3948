package cases

import (
	"slices"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// vitals holds every vital plainly inside its reference range or plainly
// outside it, so that nobody is marked down over a borderline draw.
func (q *caseCheck) vitals() {
	q.eachRange(func(f *Field, row normal.Row) {
		if t := q.k.truthAt(rubric.Place{Field: f.ID}); t != nil {
			q.plain(f, row, t)
			return
		}
		q.usual(f, row)
	})
}

// eachRange goes through the vitals that have a range at this age and size.
func (q *caseCheck) eachRange(visit func(*Field, normal.Row)) {
	for i := range q.c.Fields {
		f := &q.c.Fields[i]
		if f.Vital == "" || f.Vital == "weight" {
			continue
		}
		if row, ok := q.ranges.Lookup(q.k.Species, q.k.Signalment.AgeDays, q.k.Signalment.Grams, f.Vital); ok {
			visit(f, row)
		}
	}
}

// plain holds what the case says of a vital on one side of its limits.
func (q *caseCheck) plain(f *Field, row normal.Row, t *Truth) {
	low, high, err := truthRange(t)
	if err != nil {
		return // number has complained
	}
	least, most := plainly(row)
	inside := low >= row.Low && high <= row.High
	beyond := low >= least && low > row.High || high <= most && high < row.Low
	if !inside && !beyond {
		q.say(t.key(), "%s %s..%s is neither plainly normal (%s..%s for this patient) nor plainly abnormal (at most %s or at least %s); move the whole spread to one side",
			f.ID, low, high, row.Low, row.High, most, least)
	}
}

// usual holds what the species' normal animal has inside this patient's range.
func (q *caseCheck) usual(f *Field, row normal.Row) {
	low, high, err := rangeOf(f.NormalAt)
	if err == nil && (low < row.Low || high > row.High) {
		q.say([]string{"truth"}, "%s is not given, and the usual %s is not normal at this age and size (%s..%s); say it under truth",
			f.ID, f.NormalAt, row.Low, row.High)
	}
}

// plainly is from where on a vital is plainly too high, and up to where it is
// plainly too low: beyond the grey zone by the marking tolerance.
func plainly(row normal.Row) (least, most rubric.Milli) {
	return row.GreyHigh + vitalTolerance(row, row.GreyHigh), row.GreyLow - vitalTolerance(row, row.GreyLow)
}

// vitalTolerance is by how much an abnormal vital must clear the grey zone:
// the marking tolerance of the engine's usual window. Both are rules of this
// project, not published figures.
func vitalTolerance(row normal.Row, x rubric.Milli) rubric.Milli {
	switch row.Vital {
	case "heart_rate":
		return max(4000, x/20)
	case "resp_rate":
		if x > 40000 {
			return max(4000, x/20)
		}
		return max(2000, x/20)
	case "temperature":
		return 200
	case "body_condition":
		if row.Unit == "/5" {
			return 500
		}
		return 1000
	}
	return 0
}

// abnormal says whether the case makes this place abnormal.
func (q *caseCheck) abnormal(f *Field, site string) bool {
	t := q.k.truthAt(rubric.Place{Field: f.ID, Site: site})
	if t == nil {
		return false
	}
	if f.Chosen() {
		return slices.ContainsFunc(t.Values, func(v string) bool { return f.Choice(v) != nil && f.Abnormal(v) })
	}
	row, ok := q.ranges.Lookup(q.k.Species, q.k.Signalment.AgeDays, q.k.Signalment.Grams, f.Vital)
	low, high, err := truthRange(t)
	if !ok || err != nil {
		return false
	}
	return (low < row.Low || high > row.High) && !q.pants(f)
}

// pants says that the case makes the animal pant, so that how fast it breathes
// is no abnormality: there is no rate to count.
func (q *caseCheck) pants(f *Field) bool {
	t := q.k.truthAt(rubric.Place{Field: rhythms[f.Vital]})
	return f.Vital == "resp_rate" && t != nil && !slices.ContainsFunc(t.Values, func(v string) bool { return v != rubric.Panting })
}

package cases

import (
	"fmt"

	"dewclaw/rubric"
)

// Fault is something that a patient must not be, as a seed has drawn it.
type Fault struct {
	What  string // of which place or rule
	Got   string
	Bound string // what would be right
}

// Faults checks a patient as drawn, where CheckCase checks what may be drawn:
// that every abnormal truth can be found by a step that exists for it, that
// every vital lies plainly inside or plainly outside its reference range, and
// that the signs that belong together agree. What it returns tells the truth,
// so that it is for whoever writes cases and for nobody else.
func (p *Patient) Faults() []Fault {
	var out []Fault
	for i := range p.cat.Fields {
		f := &p.cat.Fields[i]
		for _, site := range sitesOf(f) {
			if p.wrongAt(f, site) && !p.shows(f, site) {
				out = append(out, Fault{placeName(f.ID, site), p.truth.at(rubric.Place{Field: f.ID, Site: site}) + ", and no step that exists for this patient shows it", "one that does"})
			}
		}
		if fault, ok := p.vitalFault(f); ok {
			out = append(out, fault)
		}
	}
	for _, b := range p.cat.breaches(p) {
		out = append(out, Fault{"rule " + b.link.ID, b.found(), b.link.Say})
	}
	return out
}

// wrongAt says whether the truth of a place is abnormal, be it a vital or not.
func (p *Patient) wrongAt(f *Field, site string) bool {
	at := rubric.Place{Field: f.ID, Site: site}
	if f.Vital == "" {
		return p.abnormal(f, at)
	}
	for _, reading := range p.may(f, site) {
		return reading != readNormal
	}
	return false
}

// vitalFault says of a vital that it lies between plainly normal and plainly
// abnormal.
func (p *Patient) vitalFault(f *Field) (Fault, bool) {
	s := p.kase.Signalment
	row, ok := p.ranges.Lookup(p.kase.Species, s.AgeDays, s.Grams, f.Vital)
	if f.Vital == "" || f.Vital == "weight" || !ok || p.pants(f) {
		return Fault{}, false
	}
	x := p.rest(rubric.Place{Field: f.ID, Site: sitesOf(f)[0]})
	least, most := plainly(row)
	if x >= row.Low && x <= row.High || x >= least && x > row.High || x <= most && x < row.Low {
		return Fault{}, false
	}
	return Fault{f.ID, x.String(), fmt.Sprintf("%s..%s, or at most %s, or at least %s", row.Low, row.High, most, least)}, true
}

package cases

import (
	"slices"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// agrees holds what the case states against the table of signs that must agree.
func (q *caseCheck) agrees() {
	for _, b := range q.c.breaches(q) {
		q.say(q.standsAt(b), "%s", b)
	}
}

// standsAt is where the file says what breaks a link: at its place, else at any
// field of the link that the case states.
func (q *caseCheck) standsAt(b breach) []string {
	if t := q.k.truthOver(rubric.Place{Field: b.at.field.ID, Site: b.at.site}); t != nil {
		return t.key()
	}
	for _, s := range slices.Concat(b.link.When, b.link.Never, b.link.Then) {
		for i := range q.k.Truth {
			if f := q.c.Field(q.k.Truth[i].Field); f != nil && s.names(q.c, f) {
				return q.k.Truth[i].key()
			}
		}
	}
	return []string{"truth"}
}

// truthOver finds what the case states of a place: at its site, or at none for
// all of them.
func (k *Case) truthOver(p rubric.Place) *Truth {
	if t := k.truthAt(p); t != nil {
		return t
	}
	return k.truthAt(rubric.Place{Field: p.Field})
}

func (q *caseCheck) shows(f *Field, site string) bool {
	ever, _ := q.discoverable(f, site)
	return ever
}

// may lists what a seed may draw for a place of the case. Of a place that the
// case does not state it is what is normal, without the rare variants.
func (q *caseCheck) may(f *Field, site string) []string {
	t := q.k.truthOver(rubric.Place{Field: f.ID, Site: site})
	switch {
	case !f.Chosen():
		return q.readings(f, t)
	case t != nil:
		return slices.DeleteFunc(slices.Clone(t.Values), func(v string) bool { return f.Choice(v) == nil }) // of others truths complains
	case f.Strongest && f.PerSite:
		if faded := q.faded(f, site); faded != nil {
			return faded
		}
	case f.Choice(q.k.Demeanour) != nil:
		return []string{q.k.Demeanour}
	}
	return f.Normal
}

// faded is what a finding that radiates may be at a site that the case does not
// state: less than at its strongest, as Patient.fade makes it. It is nil where
// the finding is stated nowhere.
func (q *caseCheck) faded(f *Field, site string) []string {
	var peak *Truth
	most := -1
	for i := range q.k.Truth {
		t := &q.k.Truth[i]
		if n := f.highest(t.Values); t.Field == f.ID && n > most {
			peak, most = t, n
		}
	}
	if peak == nil {
		return nil
	}
	var out []string
	for _, v := range peak.Values {
		out = append(out, f.Of[max(0, f.rank(v)-steps(peak.Site, site))].ID)
	}
	return out
}

// readings are the ways in which what is measured may read.
func (q *caseCheck) readings(f *Field, t *Truth) []string {
	if t == nil {
		return []string{readNormal}
	}
	low, high, err := truthRange(t)
	least, most, ok := q.c.usualRange(q.ranges, q.k, f)
	if err != nil || !ok || q.pants(f) {
		return nil
	}
	var out []string
	if low < least {
		out = append(out, readLow)
	}
	if low <= most && high >= least {
		out = append(out, readNormal)
	}
	if high > most {
		out = append(out, readHigh)
	}
	return out
}

// usualRange is what is normal of something measured: by the table for this
// signalment, else by the catalogue.
func (c *Catalogue) usualRange(rows normal.Table, k *Case, f *Field) (low, high rubric.Milli, ok bool) {
	if row, ok := rows.Lookup(k.Species, k.Signalment.AgeDays, k.Signalment.Grams, f.Vital); ok {
		return row.Low, row.High, true
	}
	low, high, err := rangeOf(f.NormalAt)
	return low, high, err == nil && f.Vital != "weight"
}

func (p *Patient) shows(f *Field, site string) bool {
	for i := range p.cat.Steps {
		if s := &p.cat.Steps[i]; s.shows(f, site) && p.Applies(s.ID) {
			return true
		}
	}
	return false
}

// may is the one value that a place of this patient has.
func (p *Patient) may(f *Field, site string) []string {
	at := rubric.Place{Field: f.ID, Site: site}
	if f.Chosen() {
		return []string{p.truth.at(at)}
	}
	low, high, ok := p.cat.usualRange(p.ranges, p.kase, f)
	switch m := p.rest(at); {
	case !ok || p.pants(f):
		return nil
	case m < low:
		return []string{readLow}
	case m > high:
		return []string{readHigh}
	}
	return []string{readNormal}
}

// pants says whether this patient pants, so that it has no rate to read.
func (p *Patient) pants(f *Field) bool {
	return f.Vital == "resp_rate" && p.truth.at(rubric.Place{Field: rhythms[f.Vital]}) == rubric.Panting
}

package cases

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// Patient is one attempt's patient: a case, drawn. It is hidden, safe for use
// by many at once, and never changes.
type Patient struct {
	kase *Case
	cat  *Catalogue
	seed Seed
	flip bool // left and right are swapped

	ranges normal.Table // the reference ranges that it is drawn and marked by

	truth    truths // of every field at every site, at rest
	withhold []string
	hazards  []danger
	pain     []Pain
	temper   temper
	reacts   reaction
	fragile  frailty
	words    signals
}

// danger is a hazard with the region that foreshadows it.
type danger struct {
	Hazard
	region string // of its step; empty where any step counts or none
}

// MarshalJSON refuses: a patient is hidden.
func (*Patient) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (*Patient) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (*Patient) LogValue() slog.Value { return slog.StringValue(hidden) }

// NewPatient draws the whole truth of a case for one seed: the species' normal
// from the catalogue and the reference ranges, over it what the case states.
func NewPatient(l *Library, c *Case, seed Seed) (*Patient, error) {
	if l != nil && l.ranges != nil {
		return NewPatientBy(l, c, seed, l.ranges)
	}
	return NewPatientBy(l, c, seed, normal.Rows())
}

// NewPatientBy draws by a table of reference ranges that may be an earlier one,
// so that a patient can be drawn as it was.
func NewPatientBy(l *Library, c *Case, seed Seed, ranges normal.Table) (*Patient, error) {
	if l == nil || c == nil {
		return nil, errors.New("cases: a patient needs a library and a case")
	}
	cat := l.Catalogue(c.Species)
	if cat == nil {
		return nil, fmt.Errorf("cases: %s: no catalogue for species %q", c.ID, c.Species)
	}
	p := &Patient{kase: c, cat: cat, seed: seed, ranges: ranges, truth: newTruths(cat)}
	p.flip = c.Mirror && seed.roll("mirror").below(2) == 1
	if err := p.drawNormal(); err != nil {
		return nil, err
	}
	if err := p.drawCase(); err != nil {
		return nil, err
	}
	p.fade()
	p.temper = temperOf(c.Demeanour)
	p.reacts = reactionOf(c.Species)
	p.fragile = frailtyOf(c.Fragile)
	p.words = signalsOf(c.Species)
	p.withhold = c.Withhold
	p.pain = slices.Clone(c.Pain)
	for i := range p.pain {
		p.pain[i].Site = p.side(p.pain[i].Site)
	}
	p.gatherHazards()
	return p, nil
}

// gatherHazards lists the case's hazards, then the catalogue's. One act can be
// a hazard of both; the case's stands first and is the one that counts.
func (p *Patient) gatherHazards() {
	for _, h := range slices.Concat(p.kase.Hazards, p.cat.Hazards) {
		h.Site = p.side(h.Site)
		d := danger{Hazard: h}
		if s := p.cat.Step(h.Step); s != nil {
			d.region = s.Region
		}
		if len(p.hazards) < maxHazards {
			p.hazards = append(p.hazards, d)
		}
	}
}

// side swaps left and right in a site's name where this patient is mirrored.
func (p *Patient) side(site string) string {
	if !p.flip {
		return site
	}
	words := strings.Fields(site)
	for i, w := range words {
		switch w {
		case "left":
			words[i] = "right"
		case "right":
			words[i] = "left"
		}
	}
	return strings.Join(words, " ")
}

// place reads "field" or "field@site" of the case, mirrored where this patient is.
func (p *Patient) place(s string) rubric.Place {
	at := ParsePlace(s)
	at.Site = p.side(at.Site)
	return at
}

// Applies says whether a step of the catalogue exists for this patient's sex
// and age.
func (p *Patient) Applies(stepID string) bool {
	s := p.cat.Step(stepID)
	return s != nil && s.Applies.Match(p.kase.Signalment)
}

// Catalogue is the examination of this patient's species. It is not hidden.
func (p *Patient) Catalogue() *Catalogue { return p.cat }

// Withheld says whether a step should wait until this patient is stable. It is
// hidden: who examines has to judge it.
func (p *Patient) Withheld(stepID string) bool { return slices.Contains(p.withhold, stepID) }

// sitesOf are the sites at which a field has a truth: one empty site where it has none.
func sitesOf(f *Field) []string {
	if !f.PerSite || len(f.Sites) == 0 {
		return []string{""}
	}
	return f.Sites
}

// drawNormal gives every field the value of a normal animal of this signalment.
func (p *Patient) drawNormal() error {
	for i := range p.cat.Fields {
		f := &p.cat.Fields[i]
		value, err := p.normalOf(f)
		if err != nil {
			return err
		}
		for _, site := range sitesOf(f) {
			p.truth.set(rubric.Place{Field: f.ID, Site: site}, value)
		}
	}
	return nil
}

// A normal animal shows an unusual but harmless variant now and then: one time in this many.
const variantOneIn = 8

// normalOf draws the normal value of a field, the same at every site: an
// animal is alike on both sides unless its case says otherwise.
func (p *Patient) normalOf(f *Field) (string, error) {
	d := p.seed.roll("normal:" + f.ID)
	if f.Chosen() {
		return p.normalChoice(f, d)
	}
	if f.Vital == "weight" {
		return roundTo(rubric.Milli(p.kase.Signalment.Grams), grainOf(f, rubric.Milli(p.kase.Signalment.Grams))).String(), nil
	}
	low, high, err := p.normalSpan(f)
	if err != nil {
		return "", err
	}
	grain := grainOf(f, low)
	return d.between(roundTo(low, grain), roundTo(high, grain), grain).String(), nil
}

func (p *Patient) normalChoice(f *Field, d dice) (string, error) {
	if f.Vital == "" && f.Choice(p.kase.Demeanour) != nil {
		return p.kase.Demeanour, nil // the field that describes the demeanour
	}
	if len(f.Normal) == 0 {
		return "", fmt.Errorf("cases: catalogue %s: field %s has no normal value", p.cat.Species, f.ID)
	}
	if len(f.Variants) > 0 && !f.Strongest && !p.pertinent(f.ID) && d.below(variantOneIn) == 0 {
		if own := p.ownVariants(f); len(own) > 0 {
			return own[d.below(len(own))], nil
		}
	}
	return f.Normal[d.below(len(f.Normal))], nil
}

// ownVariants are those that may be met in a patient of this sex and age.
func (p *Patient) ownVariants(f *Field) []string {
	return slices.DeleteFunc(slices.Clone(f.Variants), func(id string) bool {
		ch := f.Choice(id)
		return ch != nil && !ch.Applies.Match(p.kase.Signalment)
	})
}

// pertinent says whether the case lists the field among its negatives.
func (p *Patient) pertinent(field string) bool {
	return slices.ContainsFunc(p.kase.Negatives, func(s string) bool { return ParsePlace(s).Field == field })
}

// normalSpan is the middle third of the reference range of this signalment, so
// that handling alone seldom carries a normal animal out of it; else the
// catalogue's own span.
func (p *Patient) normalSpan(f *Field) (low, high rubric.Milli, err error) {
	if f.Vital != "" {
		s := p.kase.Signalment
		if row, ok := p.ranges.Lookup(p.kase.Species, s.AgeDays, s.Grams, f.Vital); ok {
			third := (row.High - row.Low) / 3
			return row.Low + third, row.High - third, nil
		}
	}
	low, high, err = span(f.NormalAt)
	if err != nil {
		return 0, 0, fmt.Errorf("cases: catalogue %s: field %s: normal value %q: %w", p.cat.Species, f.ID, f.NormalAt, err)
	}
	return low, high, nil
}

// span reads "1.5" or "1.0..1.8".
func span(s string) (low, high rubric.Milli, err error) {
	from, to, ranged := strings.Cut(s, "..")
	if low, err = rubric.ParseMilli(strings.TrimSpace(from)); err != nil {
		return 0, 0, err
	}
	if !ranged {
		return low, low, nil
	}
	if high, err = rubric.ParseMilli(strings.TrimSpace(to)); err != nil {
		return 0, 0, err
	}
	if high < low {
		return 0, 0, errors.New("the range runs downwards")
	}
	return low, high, nil
}

// grainOf is the step in which a field's numbers are drawn and shown: whole
// beats and scores, tenths else; scales show hundredths below ten kilograms.
func grainOf(f *Field, near rubric.Milli) rubric.Milli {
	switch {
	case f.Kind == "count" || f.Kind == "score":
		return 1000
	case f.Vital == "weight" && near < 10_000:
		return 10
	default:
		return 100
	}
}

// roundTo rounds to the nearest grain, halves away from zero.
func roundTo(m, grain rubric.Milli) rubric.Milli {
	if m < 0 {
		return -roundTo(-m, grain)
	}
	return (m + grain/2) / grain * grain
}

// drawCase lays what the case states over the normal animal.
func (p *Patient) drawCase() error {
	for _, t := range p.kase.Truth {
		f := p.cat.Field(t.Field)
		if f == nil {
			return fmt.Errorf("cases: %s: truth names field %q, which the catalogue %s does not have", p.kase.ID, t.Field, p.cat.Species)
		}
		value, err := p.drawTruth(f, t)
		if err != nil {
			return fmt.Errorf("cases: %s: truth of %s: %w", p.kase.ID, t.Field, err)
		}
		if t.Site != "" {
			p.truth.set(rubric.Place{Field: f.ID, Site: p.side(t.Site)}, value)
			continue
		}
		for _, site := range sitesOf(f) {
			p.truth.set(rubric.Place{Field: f.ID, Site: site}, value)
		}
	}
	return nil
}

func (p *Patient) drawTruth(f *Field, t Truth) (string, error) {
	d := p.seed.roll(t.Field + "@" + t.Site)
	if len(t.Values) > 0 {
		value := t.Values[d.below(len(t.Values))]
		if f.Chosen() {
			return value, nil
		}
		m, err := rubric.ParseMilli(value)
		return m.String(), err
	}
	low, high, err := span(t.Low + ".." + t.High)
	if err != nil {
		return "", err
	}
	return d.between(low, high, grainOf(f, low)).String(), nil
}

// fade gives the sites around the strongest one less of a finding that
// radiates: a neighbour on the same side one grade less, the other side two.
// Sites for which the case states a value keep it.
func (p *Patient) fade() {
	for i := range p.cat.Fields {
		f := &p.cat.Fields[i]
		if !f.Strongest || !f.PerSite {
			continue
		}
		stated := map[string]bool{}
		for _, t := range p.kase.Truth {
			if t.Field == f.ID {
				stated[p.side(t.Site)] = true
			}
		}
		if stated[""] || len(stated) == 0 {
			continue
		}
		peak, most := p.strongest(f)
		for _, site := range f.Sites {
			if !stated[site] {
				p.truth.set(rubric.Place{Field: f.ID, Site: site}, f.Of[max(0, most-steps(peak, site))].ID)
			}
		}
	}
}

// strongest is the site where a finding is greatest, the first of equals, and
// its place on the scale.
func (p *Patient) strongest(f *Field) (site string, grade int) {
	grade = -1
	for _, s := range sitesOf(f) {
		if g := p.gradeAt(f, s); g > grade {
			site, grade = s, g
		}
	}
	return site, max(grade, 0)
}

// gradeAt is where the truth at a site stands on the field's scale, from 0.
func (p *Patient) gradeAt(f *Field, site string) int {
	value := p.truth.at(rubric.Place{Field: f.ID, Site: site})
	return slices.IndexFunc(f.Of, func(c Choice) bool { return c.ID == value })
}

// steps is how many grades a finding loses from one site to another.
func steps(from, to string) int {
	side := func(s string) string { first, _, _ := strings.Cut(s, " "); return first }
	switch {
	case from == to:
		return 0
	case side(from) == side(to):
		return 1
	default:
		return 2
	}
}

// rest is the truth of a number at rest.
func (p *Patient) rest(at rubric.Place) rubric.Milli {
	m, err := rubric.ParseMilli(p.truth.at(at))
	if err != nil {
		return 0 // choices have no number
	}
	return m
}

package cases

import (
	"errors"
	"slices"
	"strings"

	"dewclaw/rubric"
)

// handlePrefix marks a handling action among step ids.
const handlePrefix = "handle:"

// Key compiles case, catalogue, rubric and the draw into the engine's answer
// key. A row of the rubric that names a step which this species does not have
// is left out; one for another track, species or situation does not apply.
func (p *Patient) Key(r rubric.Rubric, options ...KeyOption) (rubric.Key, error) {
	c := p.kase
	if len(r.Steps) == 0 {
		return rubric.Key{}, errors.New("cases: a key needs a rubric with required steps")
	}
	b := &keyMaker{p: p, r: &r, key: rubric.Key{
		Species: c.Species, Situation: c.Situation, Track: r.Track,
		Topics: slices.Clone(c.History.Required),
	}}
	for _, s := range p.cat.Stages {
		b.key.Stages = append(b.key.Stages, s.ID)
	}
	b.steps()
	b.orders()
	b.fields()
	b.findings()
	b.negatives()
	b.vitals()
	b.expected()
	if err := b.precautions(); err != nil {
		return rubric.Key{}, err
	}
	for _, change := range options {
		change(b)
	}
	return b.key, nil
}

// keyMaker is one key being compiled.
type keyMaker struct {
	p   *Patient
	r   *rubric.Rubric
	key rubric.Key
}

// matches says whether a row of the rubric is for this patient.
func (b *keyMaker) matches(w rubric.Where) bool {
	return w.Match(b.key.Species, b.key.Situation, b.key.Track)
}

// need is what the rubric requires of a step.
type need struct {
	weight   rubric.Weight
	critical bool
}

// required are the rubric's steps for this patient; the heaviest row of a step
// counts. What is withheld is not required.
func (b *keyMaker) required() map[string]need {
	out := map[string]need{}
	for _, row := range b.r.Steps {
		if b.matches(row.Where) && !slices.Contains(b.p.withhold, row.Step) {
			had := out[row.Step]
			out[row.Step] = need{max(had.weight, row.Weight), had.critical || row.Critical}
		}
	}
	return out
}

func (b *keyMaker) steps() {
	required := b.required()
	for i := range b.p.cat.Steps {
		s := &b.p.cat.Steps[i]
		if !b.p.Applies(s.ID) {
			continue
		}
		step := rubric.Step{
			ID: s.ID, Kind: rubric.Examine, AlsoIn: s.AlsoIn, Sites: s.Sites, Least: s.Least,
			Touch: s.Touch, Measure: s.Measure, Reveals: s.Reveals,
		}
		if g := b.p.cat.Region(s.Region); g != nil {
			step.Stage = g.Stage
		}
		if s.Sense == "reading" {
			step.Sites = nil // its sites are instead of each other: one of them is enough
		}
		if n, ok := required[s.ID]; ok {
			step.Required, step.Weight, step.Critical = true, n.weight, n.critical
		}
		b.key.Steps = append(b.key.Steps, step)
	}
	for i := range b.p.cat.Handling {
		id := handlePrefix + b.p.cat.Handling[i].ID
		if n, ok := required[id]; ok {
			b.key.Steps = append(b.key.Steps, rubric.Step{ID: id, Kind: rubric.Handle, Required: true, Weight: n.weight, Critical: n.critical})
		}
	}
}

// orders takes over the rules and routes that are for this patient.
func (b *keyMaker) orders() {
	for _, row := range b.r.Rules {
		if b.matches(row.Where) {
			b.key.Rules = append(b.key.Rules, row.Rule)
		}
	}
	for _, row := range b.r.Routes {
		if b.matches(row.Where) {
			b.key.Routes = append(b.key.Routes, row.Route)
		}
	}
}

// fields are those that some step which exists for this patient can show.
func (b *keyMaker) fields() {
	for _, f := range b.p.cat.RubricFields() {
		if len(b.shownBy(f.ID, "")) == 0 {
			continue
		}
		if own := b.p.cat.Field(f.ID); !own.Chosen() && f.Vital == "" {
			if low, high, err := span(own.NormalAt); err == nil {
				f.Ranged, f.NormalLow, f.NormalHigh = true, low, high
			}
		}
		b.key.Fields = append(b.key.Fields, f)
	}
	slices.SortFunc(b.key.Fields, func(x, y rubric.Field) int { return strings.Compare(x.ID, y.ID) })
}

// shownBy are the steps of this patient that show a field at a site, in the
// catalogue's order; without a site, at any.
func (b *keyMaker) shownBy(field, site string) []string {
	f := b.p.cat.Field(field)
	if f == nil {
		return nil
	}
	var out []string
	for i := range b.p.cat.Steps {
		s := &b.p.cat.Steps[i]
		if !slices.Contains(s.Reveals, field) || !b.p.Applies(s.ID) {
			continue
		}
		if site == "" || !f.PerSite || len(s.Sites) == 0 || slices.Contains(s.Sites, site) {
			out = append(out, s.ID)
		}
	}
	return out
}

// abnormal says whether the truth of a place that is no vital sign is abnormal.
func (p *Patient) abnormal(f *Field, at rubric.Place) bool {
	value := p.truth.at(at)
	if f.Chosen() {
		return f.Abnormal(value)
	}
	low, high, err := span(f.NormalAt)
	if err != nil {
		return false // without a normal value there is nothing to differ from
	}
	m := p.rest(at)
	return m < low || m > high
}

// findings are the abnormal truths. A finding that radiates is one, at its
// strongest site, and may be charted wherever it is heard.
func (b *keyMaker) findings() {
	for i := range b.key.Fields {
		f := b.p.cat.Field(b.key.Fields[i].ID)
		if f.Vital != "" {
			continue
		}
		var sites []string
		for _, site := range sitesOf(f) {
			if b.p.abnormal(f, rubric.Place{Field: f.ID, Site: site}) && len(b.shownBy(f.ID, site)) > 0 {
				sites = append(sites, site)
			}
		}
		if f.Strongest && len(sites) > 1 {
			peak, _ := b.p.strongest(f)
			b.finding(f, peak, slices.DeleteFunc(sites, func(s string) bool { return s == peak }))
			continue
		}
		for _, site := range sites {
			b.finding(f, site, nil)
		}
	}
}

func (b *keyMaker) finding(f *Field, site string, also []string) {
	steps := b.shownBy(f.ID, site)
	for _, s := range also {
		for _, id := range b.shownBy(f.ID, s) {
			if !slices.Contains(steps, id) {
				steps = append(steps, id)
			}
		}
	}
	b.key.Findings = append(b.key.Findings, rubric.Finding{
		Field: f.ID, Site: site, Also: also, Value: b.p.truth.at(rubric.Place{Field: f.ID, Site: site}),
		Major: f.Weight == "major", Steps: steps,
	})
}

// negatives are the pertinent ones that this draw left normal. One that names no
// site stands for all sites of its field; where the draw made some of them
// abnormal, for the others.
func (b *keyMaker) negatives() {
	for _, s := range b.p.kase.Negatives {
		at := b.p.place(s)
		f := b.p.cat.Field(at.Field)
		if f == nil || len(b.shownBy(at.Field, at.Site)) == 0 {
			continue
		}
		all := []rubric.Place{at}
		if at.Site == "" {
			all = all[:0]
			for _, site := range sitesOf(f) {
				all = append(all, rubric.Place{Field: f.ID, Site: site})
			}
		}
		left := slices.DeleteFunc(slices.Clone(all), func(x rubric.Place) bool { return b.p.abnormal(f, x) })
		if len(left) == len(all) {
			left = []rubric.Place{at}
		}
		b.key.Negatives = append(b.key.Negatives, left...)
	}
}

// vitals are the fields of the key that are vital signs, with their reference
// ranges; a vital is required where a required step measures it.
func (b *keyMaker) vitals() {
	for i := range b.key.Fields {
		f := b.p.cat.Field(b.key.Fields[i].ID)
		if f.Vital == "" {
			continue
		}
		rest := b.p.rest(rubric.Place{Field: f.ID, Site: sitesOf(f)[0]})
		v := rubric.Vital{Field: f.ID, Name: f.Vital, Rest: rest, Steps: b.shownBy(f.ID, "")}
		v.Irregular = b.p.uneven(f.Vital)
		v.Window = b.window(f.Vital, rest, v.Irregular)
		if f.Vital == "resp_rate" && b.p.cat.Field(rhythms[f.Vital]) != nil {
			v.Rhythm, v.Uncounted = rhythms[f.Vital], []string{rubric.Panting}
		}
		b.ranges(&v, f)
		for _, s := range b.key.Steps {
			v.Required = v.Required || s.Required && slices.Contains(v.Steps, s.ID)
		}
		b.key.Vitals = append(b.key.Vitals, v)
	}
}

// ranges fills in the reference range: the table's, else the catalogue's own.
func (b *keyMaker) ranges(v *rubric.Vital, f *Field) {
	s := b.p.kase.Signalment
	if row, ok := b.p.ranges.Lookup(b.p.kase.Species, s.AgeDays, s.Grams, f.Vital); ok {
		v.HasRange, v.Row = true, row.ID
		v.Low, v.High, v.GreyLow, v.GreyHigh = row.Low, row.High, row.GreyLow, row.GreyHigh
		return
	}
	if f.Vital == "weight" {
		return // what an animal should weigh is its body condition's business
	}
	if low, high, err := span(f.NormalAt); err == nil {
		v.HasRange, v.Row = true, "catalogue/"+f.ID
		v.Low, v.High, v.GreyLow, v.GreyHigh = low, high, low, high
	}
}

// rhythms are the fields that say whether a rate comes evenly.
var rhythms = map[string]string{"heart_rate": "heart.rhythm", "resp_rate": "resp.pattern"}

// uneven says whether a rate is too irregular to be counted over a short window.
func (p *Patient) uneven(vital string) bool {
	f := p.cat.Field(rhythms[vital])
	return f != nil && vital == "heart_rate" && p.irregular(rubric.Place{Field: f.ID, Site: sitesOf(f)[0]})
}

// window is over how many seconds a rate has to be counted; 0 for what is no rate.
func (b *keyMaker) window(vital string, rest rubric.Milli, irregular bool) int {
	w := b.r.Windows
	switch {
	case vital != "heart_rate" && vital != "resp_rate":
		return 0
	case irregular:
		return w.Irregular
	case vital == "heart_rate":
		return w.Heart
	case rest > rubric.Milli(w.FastAbove)*1000:
		return w.FastBreathing
	default:
		return w.Breathing
	}
}

// expected are the conclusions, with the places of this patient.
func (b *keyMaker) expected() {
	c := b.p.kase.Conclusions
	e := rubric.Expected{Accept: slices.Clone(c.Accept), Urgency: c.Urgency, Report: b.p.all(c.Report)}
	for _, x := range c.Problems {
		e.Problems = append(e.Problems, rubric.Problem{ID: x.ID, Signs: b.p.all(x.Signs)})
	}
	b.key.Expected = e
}

// all reads places; one of a field with sites that names none is left so, and
// any of its sites will do.
func (p *Patient) all(places []string) []rubric.Place {
	var out []rubric.Place
	for _, s := range places {
		out = append(out, p.place(s))
	}
	return out
}

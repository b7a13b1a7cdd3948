package cases

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// examine plays a manoeuvre. The clock moves by the step's seconds, or by those
// of the contact where these are more.
func (p *Patient) examine(t *turn) error {
	step, err := p.stepOf(t.act)
	if err != nil {
		return err
	}
	per, ok := manners[t.act.Manner]
	if !ok {
		return &ActError{"manner", fmt.Sprintf("%q is no manner", cut(t.act.Manner)), "gentle, firm or none"}
	}
	if step.Touch && p.refuses(t, step, per) {
		return nil
	}
	cost := max(step.Seconds, t.act.Seconds)
	p.handsOn(t, cost, step.Touch)
	p.strains(t.s, step.Stress*per/1000)
	p.hurts(t, step)
	p.tells(t, step)
	p.meets(t, step)
	if t.s.ended != goesOn {
		return nil
	}
	t.s.remember(slices.IndexFunc(p.cat.Steps, func(s Step) bool { return s.ID == step.ID }))
	t.s.open = contact{of: t.act.N, seconds: t.act.Seconds, charged: cost, most: p.worthStaying(step, t.act.Site)}
	if step.Touch {
		t.s.open.touch = 1
	}
	p.senses(t, step)
	return nil
}

// worthStaying is how many seconds of a contact there is something to sense: the
// length of the clip where there is one, else what the step takes.
func (p *Patient) worthStaying(step *Step, site string) int {
	if row := lookOf(step); p.Heard(step.ID, site) || row != nil && row.moves {
		return senses.Seconds
	}
	return max(step.Seconds, step.Least)
}

// stepOf finds the step and checks its site. A verb of the catalogue on a
// region where it makes no sense is allowed: it costs time and yields nothing.
func (p *Patient) stepOf(act rubric.Act) (*Step, error) {
	step := p.cat.Step(act.Step)
	if step == nil {
		if step = p.idle(act.Step); step == nil {
			return nil, p.unknownStep(act.Step)
		}
	}
	if !step.Applies.Match(p.kase.Signalment) {
		return nil, &ActError{"step", step.ID + " does not apply to a patient of this sex and age", "another step"}
	}
	if len(step.Sites) == 0 && act.Site != "" {
		return nil, &ActError{"site", step.ID + " has no sites", "leave the site out"}
	}
	if len(step.Sites) > 0 && !slices.Contains(step.Sites, act.Site) {
		return nil, &ActError{"site", fmt.Sprintf("%s has no site %q", step.ID, cut(act.Site)), strings.Join(step.Sites, ", ")}
	}
	return step, nil
}

// idle is a manoeuvre that makes no sense: a known verb on a known region.
func (p *Patient) idle(id string) *Step {
	region, verb, ok := strings.Cut(id, ".")
	known := slices.ContainsFunc(p.cat.Steps, func(s Step) bool {
		_, v, _ := strings.Cut(s.ID, ".")
		return v == verb
	})
	if !ok || !known || p.cat.Region(region) == nil {
		return nil
	}
	return &Step{ID: id, Region: region, Verb: verb, Seconds: 10, Stress: 5, Touch: true}
}

func (p *Patient) unknownStep(id string) error {
	e := &ActError{"step", fmt.Sprintf("%q is no step of the catalogue", cut(id)), "a step of the catalogue, such as " + p.cat.Steps[0].ID}
	region, _, _ := strings.Cut(id, ".")
	var here []string
	for _, s := range p.cat.Steps {
		if s.Region == region {
			here = append(here, s.ID)
		}
	}
	if len(here) > 0 {
		e.Right = strings.Join(here, ", ")
	}
	return e
}

// places are where a step shows a field.
func places(step *Step, f *Field, site string) []rubric.Place {
	if !f.PerSite {
		return []rubric.Place{{Field: f.ID}}
	}
	if len(step.Sites) > 0 {
		if slices.Contains(f.Sites, site) {
			return []rubric.Place{{Field: f.ID, Site: site}}
		}
		return nil
	}
	var all []rubric.Place
	for _, s := range f.Sites {
		all = append(all, rubric.Place{Field: f.ID, Site: s})
	}
	return all
}

// senses fills in what the student senses and, hidden, what was there.
func (p *Patient) senses(t *turn, step *Step) {
	for _, id := range step.Reveals {
		f := p.cat.Field(id)
		if f == nil {
			continue
		}
		for _, at := range places(step, f, t.act.Site) {
			value := p.valueNow(t.s, step, f, at, t.act.Site)
			t.out.Shown = append(t.out.Shown, rubric.Shown{Field: at.Field, Site: at.Site, Value: value})
			pc := p.percept(step, f, at, p.heardHere(f, value, t.act.Site), t.act.Site)
			if pc.Sense == "reading" && t.act.Seconds < step.Takes {
				p.rises(t, step, value)
				pc.Sense, pc.Words = "rising", ""
			}
			t.out.Percepts = append(t.out.Percepts, pc)
		}
	}
}

// nothingMet is said of the feel of what is not met at all.
const nothingMet = "With nothing met there, its feel cannot be told."

// missed says that the field tells how a node feels that is not felt.
func (p *Patient) missed(at rubric.Place) bool {
	node, ok := strings.CutSuffix(at.Field, ".texture")
	return ok && p.truth.at(rubric.Place{Field: node + ".size", Site: at.Site}) == "not felt"
}

// percept words the value of a field as it is sensed: never a number that has
// to be counted or timed. A choice that is heard or seen keeps its words, for
// whoever is given them in place of the clip.
func (p *Patient) percept(step *Step, f *Field, at rubric.Place, value, site string) rubric.Percept {
	out := rubric.Percept{Field: at.Field, Site: at.Site, Sense: cmp.Or(p.sensed(step, f, site), "words")}
	if out.Sense != "words" && (f.Kind == "count" || f.Kind == "time") {
		out.Words = step.Label
		if site != "" {
			out.Words += ", " + site
		}
		return out
	}
	if p.missed(at) {
		out.Words = nothingMet
		return out
	}
	if ch := f.Band(value); ch != nil && len(ch.Cue) > 0 {
		d := p.seed.roll("cue:" + at.Field + "@" + at.Site + "=" + ch.ID)
		out.Words = ch.Cue[d.below(len(ch.Cue))]
		return out
	}
	if f.Chosen() {
		out.Words = value
		return out
	}
	out.Sense = "reading"
	out.Words = strings.TrimSpace(value + " " + f.Unit)
	return out
}

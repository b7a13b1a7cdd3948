package robot

import (
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// player carries out a plan act by act and reacts to what it senses.
type player struct {
	p     *cases.Patient
	k     *rubric.Key
	s     *style
	c     chance
	acts  []rubric.Act
	state []byte
	ended bool

	charted map[rubric.Place]string
	regions map[string]bool // where something was examined
}

// visit plans and plays.
func visit(p *cases.Patient, k rubric.Key, s style) []rubric.Act {
	v := &player{p: p, k: &k, s: &s, c: newChance(s.seed), charted: map[rubric.Place]string{}, regions: map[string]bool{}}
	b := &planner{p: p, k: &k, s: &s, c: newChance(s.seed + 1)}
	for _, it := range b.plan() {
		v.carryOut(it)
	}
	v.finish()
	return v.acts
}

// do plays one act; an act that cannot be played is left out.
func (v *player) do(a rubric.Act) (rubric.Entry, bool) {
	if v.ended {
		return rubric.Entry{}, false
	}
	if step := v.p.Catalogue().Step(a.Step); step != nil && a.Kind == rubric.Examine {
		a.Seconds = max(a.Seconds, step.Takes) // every robot waits until an instrument has settled
	}
	out, err := v.p.Apply(v.state, a)
	if err != nil {
		return rubric.Entry{}, false
	}
	a.N = len(v.acts) + 1
	v.acts = append(v.acts, a)
	v.state = out.State
	v.ended = out.Ended != ""
	return rubric.Entry{Act: a, Outcome: out}, true
}

// carryOut does an item, gives a refusing animal time, and charts what it found.
func (v *player) carryOut(it item) {
	if v.s.rough && it.step != nil && it.step.Touch {
		it.act.Manner = "firm"
	}
	const tries = 6
	for range tries {
		e, ok := v.do(it.act)
		if !ok {
			return
		}
		if e.Outcome.Refused {
			if !v.s.deaf {
				v.soothe()
			}
			continue
		}
		if it.act.Kind == rubric.Examine {
			v.chart(e)
		}
		if len(e.Outcome.Signs) > 0 && !v.s.deaf && it.step != nil {
			v.calm()
		}
		return
	}
}

// calm answers a sign.
func (v *player) calm() { v.do(rubric.Act{Kind: rubric.Handle, How: "reassure"}) }

// soothe gives an animal that has refused a pause.
func (v *player) soothe() {
	v.calm()
	v.do(rubric.Act{Kind: rubric.Wait, Seconds: 60})
}

// finish states the rest of every region as normal and concludes.
func (v *player) finish() {
	seen := map[string]bool{}
	for i := range v.k.Fields {
		region := v.k.Fields[i].Region
		if v.regions[region] && !seen[region] {
			seen[region] = true
			v.do(rubric.Act{Kind: rubric.Record, Region: region, Value: "normal"})
		}
	}
	v.do(v.conclusion())
}

func (v *player) conclusion() rubric.Act {
	a := rubric.Act{Kind: rubric.Conclude, Urgency: v.k.Expected.Urgency}
	if v.s.chart != faithful {
		a.Urgency = "routine"
		return a
	}
	for _, x := range v.k.Expected.Problems {
		if !v.c.one(v.s.muddled) {
			a.Problems = append(a.Problems, x.ID)
		}
	}
	if v.c.one(v.s.muddled) {
		a.Urgency = []string{"routine", "same day", "emergency"}[v.c.below(3)]
	}
	a.Report = v.report()
	return a
}

// report is the report to the veterinarian, out of the robot's own chart.
func (v *player) report() *rubric.Handover {
	r := &rubric.Handover{
		Situation: "Examined now; the findings are below.", Background: "As told by the owner.",
		Assessment: "The findings below differ from normal.", Request: "Please see this patient.",
	}
	for _, at := range v.k.Expected.Report {
		for i := range v.k.Fields {
			if f := &v.k.Fields[i]; f.ID == at.Field {
				r.Fields = append(r.Fields, v.given(f, at.Site)...)
			}
		}
	}
	return r
}

// given are the charted values of a field at a site, or at all where none is asked for.
func (v *player) given(f *rubric.Field, site string) []rubric.Given {
	sites := []string{site}
	if site == "" && f.PerSite {
		sites = f.Sites
	}
	var out []rubric.Given
	for _, s := range sites {
		value, ok := v.charted[rubric.Place{Field: f.ID, Site: s}]
		if ok && !v.c.one(v.s.forget) {
			out = append(out, rubric.Given{Field: f.ID, Site: s, Value: value})
		}
	}
	return out
}

// field finds a field of the key.
func (v *player) field(id string) *rubric.Field {
	for i := range v.k.Fields {
		if v.k.Fields[i].ID == id {
			return &v.k.Fields[i]
		}
	}
	return nil
}

// vital finds a vital of the key.
func (v *player) vital(field string) *rubric.Vital {
	for i := range v.k.Vitals {
		if v.k.Vitals[i].Field == field {
			return &v.k.Vitals[i]
		}
	}
	return nil
}

// firstWord is the number of a reading such as "38.6 degC".
func firstWord(s string) string {
	w, _, _ := strings.Cut(s, " ")
	return w
}

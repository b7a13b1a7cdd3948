package rubric_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// world is a patient reduced to what the engine sees: a key, the truth at every
// place, and a player that shows the truth of what is examined. It simulates
// nothing else, so that a test says exactly what a transcript holds.
type world struct {
	r     rubric.Rubric
	key   rubric.Key
	truth map[rubric.Place]string
}

// layout lists the steps of the examination as stage, step, sites, least seconds.
var layout = []struct {
	stage, step, sites string
	least              int
	touch              bool
}{
	{"distance", "distance.observe", "", 10, false}, {"distance", "breathing.count", "", 15, false}, {"distance", "weight.measure", "", 0, false},
	{"head", "head.inspect", "", 0, false}, {"head", "head.palpate", "left,right", 0, true}, {"head", "eyes.inspect", "left,right", 0, true},
	{"head", "eyes.light", "left,right", 0, true}, {"head", "eyes.menace", "left,right", 0, true}, {"head", "eyes.ophthalmoscopy", "left,right", 10, true},
	{"head", "ears.inspect", "left,right", 0, true}, {"head", "ears.smell", "left,right", 0, true}, {"head", "ears.otoscopy", "left,right", 8, true},
	{"head", "nose.inspect", "left,right", 0, true}, {"head", "mouth.inspect", "", 0, true}, {"head", "mouth.refill", "", 0, true},
	{"head", "mouth.smell", "", 0, true}, {"head", "mouth.open", "", 0, true}, {"head", "teeth.inspect", "left,right", 0, true},
	{"head", "head_nodes.palpate", "left,right", 0, true},
	{"neck", "throat.palpate", "", 0, true}, {"neck", "neck.inspect", "left,right", 0, true}, {"neck", "neck.palpate", "", 0, true},
	{"neck", "neck.move", "", 0, true}, {"neck", "neck_nodes.palpate", "left,right", 0, true},
	{"forelimbs", "forelimb.palpate", "left,right", 0, true}, {"forelimbs", "forelimb.move", "left,right", 0, true},
	{"forelimbs", "forepaw.inspect", "left,right", 0, true}, {"forelimbs", "axillary_nodes.palpate", "left,right", 0, true},
	{"chest", "chest.palpate", "left,right", 5, true}, {"chest", "heart.auscultate", "left apex,left base,right apex", 5, true},
	{"chest", "pulse.palpate", "left,right", 8, true}, {"chest", "lungs.auscultate", "left dorsal,left ventral,right dorsal,right ventral", 4, true},
	{"chest", "chest.percuss", "left,right", 0, true},
	{"abdomen", "abdomen.inspect", "", 0, false}, {"abdomen", "abdomen.auscultate", "", 15, true}, {"abdomen", "abdomen.palpate", "cranial,middle,caudal", 5, true},
	{"abdomen", "mammae.palpate", "left,right", 0, true},
	{"trunk", "condition.assess", "", 0, true}, {"trunk", "muscle.assess", "", 0, true}, {"trunk", "coat.inspect", "", 0, true},
	{"trunk", "skin.inspect", "", 0, true}, {"trunk", "skin.tent", "", 0, true}, {"trunk", "spine.palpate", "", 0, true},
	{"hindlimbs", "hindlimb.palpate", "left,right", 0, true}, {"hindlimbs", "stifle.palpate", "left,right", 0, true}, {"hindlimbs", "hip.move", "left,right", 0, true},
	{"hindlimbs", "hindlimb.move", "left,right", 0, true}, {"hindlimbs", "hindpaw.inspect", "left,right", 0, true},
	{"hindlimbs", "popliteal_nodes.palpate", "left,right", 0, true}, {"hindlimbs", "inguinal_nodes.palpate", "left,right", 0, true},
	{"rear", "tail.palpate", "", 0, true}, {"rear", "perineum.inspect", "", 0, true}, {"rear", "genitals.inspect", "", 0, true},
	{"rear", "temperature.measure", "", 0, true}, {"rear", "rectum.palpate", "", 0, true},
	{"gait", "gait.observe", "", 5, false},
}

// signs are the vitals: field, name, kind, truth, low, high, grey low, grey high, steps.
var signs = []struct {
	field, name, kind, truth string
	low, high, glow, ghigh   rubric.Milli
	step                     string
}{
	{"body.condition", "body_condition", "score", "5", 4000, 5000, 4000, 5000, "condition.assess"},
	{"crt", "crt", "time", "1.5", 1000, 2000, 1000, 2000, "mouth.refill"},
	{"heart.rate", "heart_rate", "count", "96", 70000, 120000, 60000, 150000, "heart.auscultate"},
	{"resp.rate", "resp_rate", "count", "24", 15000, 34000, 10000, 40000, "breathing.count"},
	{"temperature", "temperature", "number", "38.5", 37700, 39200, 37200, 39900, "temperature.measure"},
	{"weight", "weight", "number", "24", 0, 0, 0, 0, "weight.measure"},
}

func newWorld(t testing.TB, id, situation string) *world {
	t.Helper()
	r, err := file.Builtin(id)
	require.NoError(t, err)
	w := &world{r: r, truth: map[rubric.Place]string{}, key: rubric.Key{Species: "dog", Situation: situation, Track: r.Track,
		Stages:   []string{"distance", "head", "neck", "forelimbs", "chest", "abdomen", "trunk", "hindlimbs", "rear", "gait"},
		Topics:   []string{"appetite", "exercise"},
		Expected: rubric.Expected{Urgency: "routine"}}}
	w.steps()
	w.fields()
	for _, row := range r.Rules {
		if row.Match("dog", situation, r.Track) {
			w.key.Rules = append(w.key.Rules, row.Rule)
		}
	}
	for _, row := range r.Routes {
		if row.Match("dog", situation, r.Track) {
			w.key.Routes = append(w.key.Routes, row.Route)
		}
	}
	return w
}

func (w *world) steps() {
	need := map[string]rubric.StepRow{}
	for _, row := range w.r.Steps {
		if row.Match("dog", w.key.Situation, w.r.Track) {
			need[row.Step] = row
		}
	}
	for _, l := range layout {
		s := rubric.Step{ID: l.step, Kind: rubric.Examine, Stage: l.stage, Least: l.least, Touch: l.touch}
		if l.sites != "" {
			s.Sites = strings.Split(l.sites, ",")
		}
		switch l.step {
		case "breathing.count":
			s.AlsoIn = []string{"chest"}
		case "pulse.palpate":
			s.AlsoIn = []string{"hindlimbs"}
		}
		s.Measure = strings.HasSuffix(l.step, ".measure") || strings.HasSuffix(l.step, ".count")
		row, ok := need[l.step]
		s.Required, s.Weight, s.Critical = ok, row.Weight, row.Critical
		w.key.Steps = append(w.key.Steps, s)
	}
	for _, row := range w.r.Steps {
		if strings.HasPrefix(row.Step, "handle:") && row.Match("dog", w.key.Situation, w.r.Track) {
			w.key.Steps = append(w.key.Steps, rubric.Step{ID: row.Step, Kind: rubric.Handle, Required: true, Weight: row.Weight, Critical: row.Critical})
		}
	}
}

// fields gives every step a choice to chart, at each of its sites, some of them
// also a grade, and the vitals to the steps that measure them.
func (w *world) fields() {
	for i := range w.key.Steps {
		s := &w.key.Steps[i]
		if s.Kind == rubric.Handle {
			continue
		}
		region, _, _ := strings.Cut(s.ID, ".")
		look := rubric.Field{ID: s.ID + ".look", Kind: "choice", Region: region, PerSite: len(s.Sites) > 0, Sites: s.Sites,
			Of: []string{"usual", "other", "odd", "bad"}, Normal: []string{"usual"}, Variants: []string{"other"}}
		list := []rubric.Field{look}
		if s.Touch {
			list = append(list, rubric.Field{ID: s.ID + ".pain", Kind: "grade", Region: region, PerSite: len(s.Sites) > 0, Sites: s.Sites,
				Of: []string{"none", "1", "2", "3", "4"}, Normal: []string{"none"}, Tolerance: 1})
		}
		for _, v := range signs {
			if v.step == s.ID {
				list = append(list, rubric.Field{ID: v.field, Kind: v.kind, Region: region, Vital: v.name})
			}
		}
		for _, f := range list {
			s.Reveals = append(s.Reveals, f.ID)
			w.key.Fields = append(w.key.Fields, f)
			for _, p := range places(&f) {
				w.truth[p] = "usual"
				if f.Kind == "grade" {
					w.truth[p] = "none"
				}
			}
		}
	}
	for _, v := range signs {
		w.truth[rubric.Place{Field: v.field}] = v.truth
		rest, _ := rubric.ParseMilli(v.truth)
		w.key.Vitals = append(w.key.Vitals, rubric.Vital{Field: v.field, Name: v.name, Rest: rest, HasRange: v.high > 0, Low: v.low, High: v.high,
			GreyLow: v.glow, GreyHigh: v.ghigh, Steps: []string{v.step}, Required: w.step(v.step).Required, Row: "dog.medium." + v.name})
	}
	slices.SortFunc(w.key.Fields, func(a, b rubric.Field) int { return strings.Compare(a.ID, b.ID) })
}

func places(f *rubric.Field) []rubric.Place {
	if !f.PerSite {
		return []rubric.Place{{Field: f.ID}}
	}
	var list []rubric.Place
	for _, s := range f.Sites {
		list = append(list, rubric.Place{Field: f.ID, Site: s})
	}
	return list
}

func (w *world) step(id string) *rubric.Step {
	for i := range w.key.Steps {
		if w.key.Steps[i].ID == id {
			return &w.key.Steps[i]
		}
	}
	panic("no step " + id)
}

func (w *world) field(id string) *rubric.Field {
	for i := range w.key.Fields {
		if w.key.Fields[i].ID == id {
			return &w.key.Fields[i]
		}
	}
	panic("no field " + id)
}

// abnormal makes a place abnormal and lists it as a finding.
func (w *world) abnormal(step, what, site, value string, major bool) {
	id := step + "." + what
	w.truth[rubric.Place{Field: id, Site: site}] = value
	w.key.Findings = append(w.key.Findings, rubric.Finding{Field: id, Site: site, Value: value, Major: major, Steps: []string{step}})
}

// vital sets the truth of a vital, at rest and when measured.
func (w *world) vital(field, value string) {
	w.truth[rubric.Place{Field: field}] = value
	for i := range w.key.Vitals {
		if w.key.Vitals[i].Field == field {
			w.key.Vitals[i].Rest, _ = rubric.ParseMilli(value)
		}
	}
}

// play numbers the acts and shows the truth of what is examined. An examine
// without seconds gets enough of them.
func (w *world) play(acts []rubric.Act) rubric.Transcript {
	t := make(rubric.Transcript, len(acts))
	for i, a := range acts {
		a.N = i + 1
		t[i].Act = a
		if a.Kind != rubric.Examine {
			continue
		}
		for j := range w.key.Steps {
			if s := &w.key.Steps[j]; s.ID == a.Step {
				for _, f := range s.Reveals {
					p := rubric.Place{Field: f}
					if w.field(f).PerSite {
						p.Site = a.Site
					}
					if v, ok := w.truth[p]; ok {
						t[i].Outcome.Shown = append(t[i].Outcome.Shown, rubric.Shown{Field: p.Field, Site: p.Site, Value: v})
					}
				}
			}
		}
	}
	return t
}

// do is the acts of one step done well: every site, long enough.
func (w *world) do(id string) []rubric.Act {
	s := w.step(id)
	if s.Kind == rubric.Handle {
		return []rubric.Act{{Kind: rubric.Handle, How: strings.TrimPrefix(id, "handle:")}}
	}
	var acts []rubric.Act
	for _, site := range append([]string{}, sitesOf(s)...) {
		acts = append(acts, rubric.Act{Kind: rubric.Examine, Step: id, Site: site, Seconds: max(30, s.Least)})
	}
	return acts
}

func sitesOf(s *rubric.Step) []string {
	if len(s.Sites) == 0 {
		return []string{""}
	}
	return s.Sites
}

// chart is the records of a step charted rightly.
func (w *world) chart(id string) []rubric.Act {
	var acts []rubric.Act
	for _, f := range w.step(id).Reveals {
		field := w.field(f)
		for _, p := range places(field) {
			a := rubric.Act{Kind: rubric.Record, Field: p.Field, Site: p.Site, Value: w.truth[p]}
			if field.Vital != "" {
				a.Interpretation = w.call(f)
			}
			acts = append(acts, a)
		}
	}
	return acts
}

func (w *world) call(field string) string {
	for _, v := range w.key.Vitals {
		m, _ := rubric.ParseMilli(w.truth[rubric.Place{Field: field}])
		switch {
		case v.Field != field || !v.HasRange:
		case m < v.Low:
			return "low"
		case m > v.High:
			return "high"
		default:
			return "normal"
		}
	}
	return ""
}

// required lists the required steps in the order of the key.
func (w *world) required() []string {
	var ids []string
	for _, s := range w.key.Steps {
		if s.Required {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// visit does the steps in this order, charts each rightly, asks and concludes.
func (w *world) visit(ids []string) []rubric.Act {
	var acts []rubric.Act
	for _, topic := range w.key.Topics {
		acts = append(acts, rubric.Act{Kind: rubric.Ask, Topic: topic})
	}
	for _, id := range ids {
		acts = append(append(acts, w.do(id)...), w.chart(id)...)
	}
	return append(acts, w.conclusion())
}

func (w *world) conclusion() rubric.Act {
	a := rubric.Act{Kind: rubric.Conclude, Urgency: w.key.Expected.Urgency}
	for _, p := range w.key.Expected.Problems {
		a.Problems = append(a.Problems, p.ID)
	}
	if w.key.Track == "technician" {
		a.Problems = nil
		a.Report = &rubric.Handover{Situation: "a dog", Background: "old", Assessment: "unwell", Request: "please come"}
		for _, p := range w.key.Expected.Report {
			a.Report.Fields = append(a.Report.Fields, rubric.Given{Field: p.Field, Site: p.Site, Value: w.truth[p]})
		}
	}
	return a
}

// sick is the usual patient of these tests: two major and a minor finding,
// pertinent negatives, a fast heart, two precautions.
func sick(t testing.TB, id string) *world {
	t.Helper()
	w := newWorld(t, id, "routine")
	w.abnormal("heart.auscultate", "look", "left apex", "bad", true)
	w.abnormal("stifle.palpate", "pain", "right", "3", true)
	w.abnormal("skin.inspect", "look", "", "odd", false)
	w.vital("heart.rate", "168")
	for _, f := range []string{"hip.move.pain", "lungs.auscultate.look", "abdomen.palpate.pain", "mouth.inspect.look", "popliteal_nodes.palpate.look"} {
		w.key.Negatives = append(w.key.Negatives, rubric.Place{Field: f})
	}
	w.key.Precautions = []rubric.Precaution{
		{ID: "look first", Kind: "before", Done: []string{"distance.observe"}, Steps: []string{"touch"}},
		{ID: "better side first", Kind: "last", Steps: []string{"stifle.palpate@right"}, Among: []string{"stifle.palpate@left"}},
	}
	w.key.Expected = rubric.Expected{Urgency: "same day",
		Problems: []rubric.Problem{{ID: "cruciate disease", Signs: []rubric.Place{{Field: "stifle.palpate.pain", Site: "right"}}},
			{ID: "heart murmur", Signs: []rubric.Place{{Field: "heart.auscultate.look", Site: "left apex"}}}},
		Report: []rubric.Place{{Field: "stifle.palpate.pain", Site: "right"}, {Field: "heart.rate"}}}
	return w
}

func (w *world) grade(acts []rubric.Act) rubric.Report { return rubric.Grade(w.r, w.key, w.play(acts)) }

func domain(t testing.TB, rep rubric.Report, id string) rubric.Domain {
	t.Helper()
	for _, d := range rep.Domains {
		if d.ID == id {
			return d
		}
	}
	require.Fail(t, "no domain "+id)
	return rubric.Domain{}
}

func line(t testing.TB, rep rubric.Report, id string) rubric.Line {
	t.Helper()
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if l.ID == id {
				return l
			}
		}
	}
	require.Fail(t, "no line "+id, dump(rep))
	return rubric.Line{}
}

func dump(rep rubric.Report) string {
	var b strings.Builder
	for _, d := range rep.Domains {
		fmt.Fprintf(&b, "%s %s/%s\n", d.ID, d.Points, d.Max)
		for _, l := range d.Lines {
			fmt.Fprintf(&b, "   %-50s %8s /%8s %s %v\n", l.ID, l.Points, l.Max, l.Code, l.Acts)
		}
	}
	return b.String()
}

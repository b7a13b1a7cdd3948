package rubric_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// A patient of another species, of a few steps: what counts is the rubric's
// rules and routes for it, before its catalogue exists.
func strange(t testing.TB, species, situation string) *world {
	t.Helper()
	w := newWorld(t, "veterinary", situation)
	w.key.Species = species
	w.key.Rules, w.key.Routes = nil, nil
	for _, row := range w.r.Rules {
		if row.Match(species, situation, w.r.Track) {
			w.key.Rules = append(w.key.Rules, row.Rule)
		}
	}
	for _, row := range w.r.Routes {
		if row.Match(species, situation, w.r.Track) {
			w.key.Routes = append(w.key.Routes, row.Route)
		}
	}
	return w
}

// orderOf grades a walk through these steps, and then more that the patient does
// not need, and returns Order. The steps are all that it needs, so that nothing
// is missing.
func (w *world) orderOf(t testing.TB, walk []string, more ...string) rubric.Domain {
	t.Helper()
	for i := range w.key.Steps {
		s := &w.key.Steps[i]
		s.Required = slices.Contains(walk, s.ID)
		s.Weight = 1
	}
	var acts []rubric.Act
	for _, id := range slices.Concat(walk, more) {
		if id == "ask" {
			acts = append(acts, rubric.Act{Kind: rubric.Ask, Topic: "appetite"})
			continue
		}
		if how, ok := cutHandle(id); ok {
			acts = append(acts, rubric.Act{Kind: rubric.Handle, How: how})
			continue
		}
		acts = append(acts, w.do(id)...)
	}
	return domain(t, w.grade(acts), rubric.DomainOrder)
}

func cutHandle(id string) (string, bool) {
	const prefix = "handle:"
	if len(id) > len(prefix) && id[:len(prefix)] == prefix {
		return id[len(prefix):], true
	}
	return "", false
}

// Orders that are taught and must earn all of Order, each with where it is taught.
func TestTaughtOrdersEarnAllOfOrder(t *testing.T) {
	for _, row := range []struct {
		name, source, species, situation string
		walk                             []string
	}{
		{"small mammal: weight and temperature first, mouth last", "LafeberVet, Physical examination of small exotic mammals", "rabbit", "routine",
			[]string{"distance.observe", "breathing.count", "weight.measure", "temperature.measure", "eyes.inspect", "nose.inspect", "ears.inspect", "neck.palpate", "forelimb.palpate",
				"heart.auscultate", "lungs.auscultate", "abdomen.auscultate", "abdomen.palpate", "hindlimb.palpate", "genitals.inspect", "mouth.open", "teeth.inspect"}},
		{"horse: gut sounds before pressing on the belly", "medicine texts, from memory", "horse", "routine",
			[]string{"distance.observe", "breathing.count", "head.inspect", "mouth.inspect", "neck.inspect", "heart.auscultate", "lungs.auscultate", "abdomen.inspect", "abdomen.auscultate", "abdomen.palpate", "temperature.measure"}},
		{"cattle: sides, behind, then head and neck", "large-animal examination text, medic.studio", "cattle", "routine",
			[]string{"distance.observe", "breathing.count", "handle:settle", "forelimb.palpate", "lungs.auscultate", "heart.auscultate", "abdomen.auscultate", "hindlimb.palpate", "temperature.measure", "perineum.inspect",
				"head.inspect", "eyes.inspect", "mouth.inspect", "neck.palpate"}},
		{"cat: settled, the head at the end", "AAFP/ISFM, J Feline Med Surg 2022;24:1093-1132 (tailored, low fear)", "cat", "routine",
			[]string{"ask", "distance.observe", "breathing.count", "handle:settle", "heart.auscultate", "lungs.auscultate", "abdomen.palpate", "forelimb.palpate", "hindlimb.palpate", "temperature.measure", "neck.palpate", "eyes.inspect", "mouth.inspect"}},
		{"dog: gut sounds before pressing on the belly, common practice", "common practice, no source", "dog", "routine",
			[]string{"distance.observe", "breathing.count", "head.inspect", "neck.palpate", "forelimb.palpate", "heart.auscultate", "abdomen.auscultate", "abdomen.palpate", "hindlimb.palpate", "temperature.measure"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			w := strange(t, row.species, row.situation)
			d := w.orderOf(t, row.walk)
			require.Equal(t, d.Max, d.Points, "%s\n%s", row.source, dump(rubric.Report{Domains: []rubric.Domain{d}}))
		})
	}
}

// Teachers contradict each other; the situation says who is right. Each row is a
// pair of walks that differ in one thing: the same difference is kept in one
// situation and broken, or no matter, in the other.
func TestTheSituationResolvesConflicts(t *testing.T) {
	head := []string{"distance.observe", "breathing.count"}
	for _, row := range []struct {
		conflict, species, situation, rule string
		early, late                        []string
		code                               map[bool]string // whether the thing is early: the code of the rule
	}{
		{"temperature near the end in a routine visit", "dog", "routine", "temperature-late",
			[]string{"temperature.measure", "mouth.inspect", "heart.auscultate", "abdomen.palpate"}, []string{"mouth.inspect", "heart.auscultate", "abdomen.palpate", "temperature.measure"},
			map[bool]string{true: "habit.broken", false: "habit.kept"}},
		{"temperature before the details where heat stroke or shock is the question", "dog", "triage", "temperature-early",
			[]string{"mouth.inspect", "temperature.measure", "abdomen.palpate", "spine.palpate"}, []string{"mouth.inspect", "abdomen.palpate", "spine.palpate", "temperature.measure"},
			map[bool]string{true: "rule.kept", false: "rule.share"}},
		{"history first in a routine visit", "dog", "routine", "history-first",
			[]string{"ask", "heart.auscultate", "mouth.inspect"}, []string{"heart.auscultate", "ask", "mouth.inspect"},
			map[bool]string{true: "habit.kept", false: "habit.broken"}},
		{"primary survey before history in triage", "dog", "triage", "survey-before-history",
			[]string{"handle:oxygen", "ask", "heart.auscultate", "mouth.inspect"}, []string{"ask", "handle:oxygen", "heart.auscultate", "mouth.inspect"},
			map[bool]string{true: "rule.kept", false: "rule.broken"}},
		{"a small mammal's temperature is taken first", "rabbit", "routine", "weight-and-temperature-first",
			[]string{"weight.measure", "temperature.measure", "abdomen.palpate", "teeth.inspect"}, []string{"abdomen.palpate", "teeth.inspect", "weight.measure", "temperature.measure"},
			map[bool]string{true: "rule.kept", false: "rule.share"}},
		{"listening before pressing changes gut sounds in a horse", "horse", "routine", "listen-to-gut-first",
			[]string{"abdomen.auscultate", "abdomen.palpate", "heart.auscultate"}, []string{"abdomen.palpate", "abdomen.auscultate", "heart.auscultate"},
			map[bool]string{true: "rule.kept", false: "rule.broken"}},
		{"the thermometer before a finger in the rectum", "dog", "routine", "temperature-before-rectum",
			[]string{"heart.auscultate", "temperature.measure", "rectum.palpate"}, []string{"heart.auscultate", "rectum.palpate", "temperature.measure"},
			map[bool]string{true: "rule.kept", false: "rule.broken"}},
	} {
		for early, walk := range map[bool][]string{true: row.early, false: row.late} {
			w := strange(t, row.species, row.situation)
			// What is needed at the end of a walk could be forgiven as late: a last
			// step that is not needed stands there.
			d := w.orderOf(t, slices.Concat(head, walk), "coat.inspect")
			require.Equal(t, row.code[early], codeOfRule(d, row.rule), "%s: %v\n%s", row.conflict, walk, dump(rubric.Report{Domains: []rubric.Domain{d}}))
		}
	}
	// Neither rule speaks in the other's situation.
	for situation, absent := range map[string][]string{"routine": {"temperature-early", "survey-before-history", "oxygen-first"}, "triage": {"temperature-late", "history-first", "listen-while-quiet"}} {
		for _, rule := range strange(t, "dog", situation).key.Rules {
			require.NotContains(t, absent, rule.ID, situation)
		}
	}
}

func codeOfRule(d rubric.Domain, rule string) string {
	for _, l := range d.Lines {
		if l.ID == "order/rule/"+rule {
			return l.Code
		}
	}
	return "not judged"
}

// Every species that order is taught for has a way over it and at least the
// rules that hold for all, in both rubrics; each rule has its tag, its reason and
// its source, and is the same in both.
func TestRulesOfOrderForEverySpecies(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		r, err := file.Builtin(id)
		require.NoError(t, err)
		for _, row := range r.Rules {
			require.Contains(t, []string{"safety", "physiology", "habit"}, row.Tag, row.ID)
			require.NotEmpty(t, row.Why, row.ID)
			require.NotEmpty(t, row.Source, row.ID)
			require.Equal(t, row.Tag == "habit", row.Weight == 0, row.ID)
		}
		for species, own := range map[string][]string{
			"dog":        {"temperature-late", "listen-while-quiet", "gait-before-limbs", "room-light-first", "thrill-before-stethoscope"},
			"cat":        {"temperature-late", "settle-first"},
			"horse":      {"listen-to-gut-first", "settle-first", "temperature-before-rectum"},
			"cattle":     {"listen-to-gut-first", "settle-first", "cattle-temperature-early", "rectum-last"},
			"rabbit":     {"listen-to-gut-first", "mouth-last", "weight-and-temperature-first"},
			"guinea pig": {"listen-to-gut-first", "mouth-last", "weight-and-temperature-first"},
		} {
			var ids, routes []string
			for _, row := range r.Rules {
				if row.Match(species, "routine", r.Track) {
					ids = append(ids, row.ID)
				}
			}
			for _, row := range r.Routes {
				if row.Match(species, "routine", r.Track) {
					routes = append(routes, row.ID)
				}
			}
			require.Subset(t, ids, append([]string{"look-first", "count-breaths-first", "history-first"}, own...), species)
			way := "head-to-tail"
			if slices.Contains(own, "mouth-last") { // a way along which the mouth comes early would break that rule
				way = "mouth-at-the-end"
				require.NotContains(t, routes, "head-to-tail", species)
			}
			require.Contains(t, routes, way, species)
		}
	}
	a, err := file.Builtin("veterinary")
	require.NoError(t, err)
	b, err := file.Builtin("technician")
	require.NoError(t, err)
	require.Equal(t, a.Rules, b.Rules)
	require.Equal(t, a.Routes, b.Routes)
}

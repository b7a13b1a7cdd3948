package file

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

const small = `rubric: small
title: Small
track: veterinary
version: 2
weights: {order: 10, completeness: 25, findings: 25, vitals: 20, handling: 10, conclusions: 10}
pass: 62.5
hurdles: {findings: 0.5}
windows: {heart: 15, breathing: 30, fast breathing: 15, fast above: 40, irregular: 60}
mark share: 0.5
steps:
  - {step: distance.observe, weight: essential, species: [dog], when: [routine]}
  - {step: "handle:oxygen", weight: extra, critical: true, track: [technician]}
rules:
  - {id: look-first, kind: before-first, before: [distance.observe], after: [touch], weight: 4, tag: safety, why: Because., source: "common practice, no source"}
routes:
  - id: head-to-tail
    order: [[distance], [head, neck]]
    floats: [{steps: [temperature.measure], places: [first, in place]}, {stages: [neck], places: [last]}]
`

func TestParse(t *testing.T) {
	got, err := Parse("small.yaml", []byte(small))
	require.NoError(t, err)
	require.Equal(t, rubric.Rubric{
		ID: "small", Title: "Small", Track: "veterinary", Version: 2,
		Weights: rubric.Weights{Order: 10, Completeness: 25, Findings: 25, Vitals: 20, Handling: 10, Conclusions: 10},
		Pass:    62_500, Hurdles: []rubric.Hurdle{{Domain: "findings", Share: 500}},
		Windows: rubric.Windows{Heart: 15, Breathing: 30, FastBreathing: 15, FastAbove: 40, Irregular: 60}, MarkShare: 500,
		Steps: []rubric.StepRow{
			{Where: rubric.Where{Species: []string{"dog"}, When: []string{"routine"}}, Step: "distance.observe", Weight: 3},
			{Where: rubric.Where{Track: []string{"technician"}}, Step: "handle:oxygen", Weight: 1, Critical: true}},
		Rules: []rubric.RuleRow{{Rule: rubric.Rule{ID: "look-first", Kind: "before-first", Before: []string{"distance.observe"}, After: []string{"touch"}, Weight: 4, Tag: "safety", Why: "Because.", Source: "common practice, no source"}}},
		Routes: []rubric.RouteRow{{Route: rubric.Route{ID: "head-to-tail", Order: [][]string{{"distance"}, {"head", "neck"}},
			Floats: []rubric.Float{{Steps: []string{"temperature.measure"}, Places: []string{"first", "in place"}}, {Stages: []string{"neck"}, Places: []string{"last"}}}}}},
	}, got)
	require.Equal(t, []Reference{
		{"step", "distance.observe", 11, 12}, {"step", "handle:oxygen", 12, 12}, {"step", "distance.observe", 14, 51},
		{"stage", "distance", 17, 14}, {"stage", "head", 17, 26}, {"stage", "neck", 17, 32}, {"step", "temperature.measure", 18, 23}, {"stage", "neck", 18, 83}},
		References("small.yaml", []byte(small)))
}

func TestProblemsAreNamedWithTheirPlace(t *testing.T) {
	for _, row := range []struct{ name, old, with, want string }{
		{"unknown key", "version: 2", "version: 2\ncolour: red", `x.yaml:5:1: unknown key "colour" in a rubric; known are`},
		{"key twice", "version: 2", "version: 2\nversion: 3", `x.yaml:5:1: key "version" stands twice`},
		{"missing key", "version: 2\n", "", `x.yaml:1:1: a rubric needs a key "version"`},
		{"wrong type", "version: 2", "version: two", "x.yaml:4:10: version must be a whole number from 1 to 1000000"},
		{"a quoted number", "version: 2", `version: "2"`, "x.yaml:4:10: version must be a whole number"},
		{"weights", "order: 10,", "order: 11,", "x.yaml:5:10: the weights add up to 101; they must add up to 100"},
		{"weight missing", "order: 10, ", "", `x.yaml:5:10: weights needs a key "order"`},
		{"negative weight", "order: 10,", "order: -10,", "must be a whole number from 0 to 100"},
		{"pass", "pass: 62.5", "pass: 101", "x.yaml:6:7: pass must be a number from 0 to 100"},
		{"not a number", "pass: 62.5", "pass: .nan", "pass must be a number"},
		{"hurdle", "findings: 0.5", "findings: 1.5", "the hurdle of findings must be a number from 0 to 1"},
		{"hurdle of nothing", "{findings: 0.5}", "{luck: 0.5}", `unknown key "luck" in hurdles`},
		{"window", "heart: 15", "heart: 1", "the window of heart must be a whole number from 5 to 300"},
		{"track", "track: veterinary", "track: nurse", "x.yaml:3:8: track must be one of veterinary, technician"},
		{"id", "rubric: small", "rubric: Small One", `must be small letters, digits and dashes`},
		{"weight word", "weight: essential", "weight: heavy", "weight must be one of essential, standard, extra"},
		{"situation", "when: [routine]", "when: [sometimes]", "every item of when must be one of routine, focused, triage"},
		{"flag", "critical: true", "critical: maybe", "critical must be true or false"},
		{"not a list", "before: [distance.observe]", "before: distance.observe", "before must be a list"},
		{"empty list", "before: [distance.observe]", "before: []", "before must name something"},
		{"a habit with weight", "tag: safety", "tag: habit", "is a habit: it is feedback only, so its weight must be 0"},
		{"why", "why: Because.", `why: ""`, "why must be a text"},
		{"stage twice", "[head, neck]", "[head, distance]", `stage "distance" stands twice in a route`},
		{"float of nothing", "{stages: [neck], places: [last]}", "{places: [last]}", "a float needs stages or steps"},
		{"place", "places: [last]", "places: [middle]", "must be one of first, in place, last"},
		{"a scalar for a rubric", small, "hello", "x.yaml:1:1: a rubric must be a mapping"},
		{"empty", small, "", "x.yaml:1:1: the file is empty"},
		{"second document", "version: 2", "version: 2\n---\nrubric: b", "a second document; write one rubric a file"},
		{"no steps", stepsOfSmall(), "steps: []\n", "steps must name something"},
		{"an anchor", "title: Small", "title: &t Small", "x.yaml:2:8: anchors and aliases are not used here"},
		{"not YAML", "title: Small", "title: [", "not YAML"},
		{"a tab", "title: Small", "\ttitle: Small", "not YAML"},
		{"too large", small, strings.Repeat("#", sizeMost+1), "bytes; a rubric is at most"},
		{"a step twice", `  - {step: "handle:oxygen"`, "  - {step: distance.observe, weight: extra}\n  - {step: \"handle:oxygen\"", `step "distance.observe" stands twice for the same patients`},
	} {
		t.Run(row.name, func(t *testing.T) {
			require.Contains(t, small, row.old)
			_, err := Parse("x.yaml", []byte(strings.Replace(small, row.old, row.with, 1)))
			require.ErrorContains(t, err, row.want)
			var all *Error
			require.ErrorAs(t, err, &all)
		})
	}
}

// stepsOfSmall is the part of small from its steps to its rules.
func stepsOfSmall() string {
	return small[strings.Index(small, "steps:"):strings.Index(small, "rules:")]
}

func TestAllProblemsAtOnceInTheOrderOfTheFile(t *testing.T) {
	bad := strings.NewReplacer("version: 2", "version: two", "pass: 62.5", "pass: x", "weight: essential", "weight: heavy", "tag: safety", "tag: luck").Replace(small)
	_, err := Parse("x.yaml", []byte(bad))
	var all *Error
	require.True(t, errors.As(err, &all))
	require.Len(t, all.Problems, 4)
	for i, line := range []int{4, 6, 11, 14} {
		require.Equal(t, line, all.Problems[i].Line)
	}
}

func TestRulesThatGoRoundInACircle(t *testing.T) {
	rule := func(id, before, after, where string) string {
		return "\n  - {id: " + id + ", kind: share, before: [" + before + "], after: [" + after + "], weight: 1, tag: safety, why: w, source: s" + where + "}"
	}
	with := func(rules ...string) error {
		_, err := Parse("x.yaml", []byte(strings.Replace(small, "routes:", strings.TrimPrefix(strings.Join(rules, ""), "\n")+"\nroutes:", 1)))
		return err
	}
	require.NoError(t, with(rule("a", "x", "y", ""), rule("b", "y", "z", "")))
	require.ErrorContains(t, with(rule("a", "x", "y", ""), rule("b", "y", "x", "")), "x.yaml:15:5: rules go round in a circle: x -> y -> x; take one of these rules out")
	require.ErrorContains(t, with(rule("a", "x", "y", ""), rule("b", "y", "z", ""), rule("c", "z", "x", "")), "x -> y -> z -> x")
	require.ErrorContains(t, with(rule("a", "x", "x", "")), "x -> x")
	require.NoError(t, with(rule("a", "x", "y", ", species: [dog]"), rule("b", "y", "x", ", species: [cat]")), "never at one patient")
	require.ErrorContains(t, with(rule("a", "x", "y", ", species: [dog, cat]"), rule("b", "y", "x", ", species: [cat]")), "circle")
}

func TestBuiltin(t *testing.T) {
	require.Equal(t, []string{"technician", "veterinary"}, IDs())
	for _, id := range IDs() {
		r, err := Builtin(id)
		require.NoError(t, err)
		require.Equal(t, id, r.ID)
		require.Equal(t, id, r.Track)
		require.Equal(t, rubric.Points(70_000), r.Pass)
		w := r.Weights
		require.Equal(t, 100, w.Order+w.Completeness+w.Findings+w.Vitals+w.Handling+w.Conclusions)
		for _, rule := range r.Rules {
			require.NotEmpty(t, rule.Source, rule.ID)
			require.Equal(t, rule.Tag == "habit", rule.Weight == 0, rule.ID)
		}
	}
	_, err := Builtin("nobody's")
	require.ErrorIs(t, err, ErrUnknown)
	require.ErrorContains(t, err, "shipped are technician, veterinary")
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(small))
	for _, id := range IDs() {
		data, err := Source(id)
		require.NoError(f, err)
		f.Add(data)
	}
	for _, s := range []string{"weights: {order: 100}", "rules: [{id: a, before: [a@b, ask, touch, wait, 'handle:x'], after: [a]}]", "routes: [{id: r, order: [[a], [a]], floats: [{places: [last]}]}]", "windows: {heart: 1e9}", "steps: []", "hurdles: {findings: -0}", "!!binary x", "", "---", "a: &a [*a]", "rubric: {", "rules: [{before: [a], after: [a]}]", "steps: [[[[]]]]", "\xff", "? a"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := Parse("f.yaml", data)
		if err != nil {
			var all *Error
			require.ErrorAs(t, err, &all)
			for _, p := range all.Problems {
				require.Positive(t, p.Line)
				require.Positive(t, p.Col)
			}
			return
		}
		w := r.Weights
		require.Equal(t, 100, w.Order+w.Completeness+w.Findings+w.Vitals+w.Handling+w.Conclusions)
	})
}

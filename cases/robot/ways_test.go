package robot

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// fiveStages is a key with one step a stage, a group of three, and floats.
func fiveStages() rubric.Key {
	step := func(id, stage string, also ...string) rubric.Step {
		return rubric.Step{ID: id, Kind: rubric.Examine, Stage: stage, AlsoIn: also, Required: true, Touch: id != "look"}
	}
	return rubric.Key{
		Stages: []string{"far", "head", "chest", "belly", "back", "rear"},
		Steps:  []rubric.Step{step("look", "far"), step("head", "head"), step("chest", "chest"), step("belly", "belly"), step("back", "back", "head"), step("heat", "rear")},
		Routes: []rubric.Route{{
			ID: "along", Order: [][]string{{"far"}, {"head"}, {"chest", "belly", "back"}, {"rear"}},
			Floats: []rubric.Float{{Steps: []string{"heat"}, Places: []string{"first", "in place", "last"}}},
		}},
		Rules: []rubric.Rule{{ID: "look-first", Kind: "before-first", Before: []string{"look"}, After: []string{"touch"}, Weight: 1, Tag: "physiology"}},
	}
}

func names(ways []Way) []string {
	var out []string
	for _, w := range ways {
		out = append(out, w.String())
	}
	return out
}

// The ways are the route as written, every order of a group, every place of what
// floats and every stage of what belongs to several; a rule with marks leaves
// out those that would break it, a habit none.
func TestWaysAreAllThatTheKeyAccepts(t *testing.T) {
	k := fiveStages()
	want := []string{
		"along",
		"along, chest then back then belly", "along, belly then chest then back", "along, belly then back then chest",
		"along, back then chest then belly", "along, back then belly then chest",
		"along, heat first", "along, heat last",
		"along, back with head",
	}
	require.Equal(t, want, names(Ways(k)))
	rule := rubric.Rule{ID: "heat-late", Kind: "share", Before: []string{"chest"}, After: []string{"heat"}, Weight: 1, Tag: "safety"}
	k.Rules = append(k.Rules, rule)
	require.Equal(t, slices.DeleteFunc(slices.Clone(want), func(w string) bool { return w == "along, heat first" }), names(Ways(k)))
	k.Rules[1].Tag = "habit"
	require.Equal(t, want, names(Ways(k)))
	k.Rules[1].Tag, k.Rules[1].After = "safety", []string{"head"}
	require.Empty(t, Ways(k), "no order of this key can keep it")
	_, ok := DrawWay(k, 1)
	require.False(t, ok)
	_, ok = DrawWay(rubric.Key{}, 1)
	require.False(t, ok)
}

// A drawn way varies everything at once, and the same seed draws the same.
func TestDrawnWaysVary(t *testing.T) {
	seen := map[string]bool{}
	for seed := range uint64(300) {
		w, ok := DrawWay(fiveStages(), seed)
		require.True(t, ok)
		again, _ := DrawWay(fiveStages(), seed)
		require.Equal(t, w, again)
		seen[w.String()] = true
	}
	require.Len(t, seen, 6*3*2, "six orders of the group, three places of heat, two stages of back")
	require.True(t, seen["along, back then belly then chest, heat first, back with head"])
}

// Every accepted way earns all of Order, and who walks it backwards does not.
func TestEveryWayEarnsAllOfOrder(t *testing.T) {
	routes := map[string]bool{}
	l := library(t)
	for _, id := range []string{"tansy", "fergus"} {
		r, err := file.Builtin("veterinary")
		require.NoError(t, err)
		drawTrials(t, r, l, l.Case(id), 1, func(t *testing.T, x *trial) {
			ways := Ways(x.k)
			require.GreaterOrEqual(t, len(ways), 5)
			for seed := range uint64(10) {
				w, ok := DrawWay(x.k, seed)
				require.True(t, ok)
				ways = append(ways, w)
			}
			for _, w := range ways {
				routes[w.Route] = true
				rep := x.grade(t, IdealAlong(x.p, x.k, w))
				require.Equal(t, 1000, share(rep, "order"), "%s %s: %s", x.name, w, lost(rep))
			}
			if x.k.Situation == "triage" {
				return // of so few steps the rules alone make the order
			}
			back := ways[0]
			back.order = slices.Clone(back.order)
			slices.Reverse(back.order)
			require.Less(t, share(x.grade(t, IdealAlong(x.p, x.k, back)), "order"), 700, "%s backwards", x.name)
		})
	}
	for _, id := range []string{"head-to-tail", "limbs-together", "airway-breathing-circulation"} {
		require.True(t, routes[id], id)
	}
}

// A habit that speaks against the route costs the ideal student nothing of
// Order: the route has marks, the habit has none.
func TestARouteWeighsMoreThanAHabit(t *testing.T) {
	r, err := file.Builtin("veterinary")
	require.NoError(t, err)
	r.Rules = append(slices.Clone(r.Rules), rubric.RuleRow{Rule: rubric.Rule{
		ID: "rear-before-head", Kind: "before-first", Before: []string{"perineum.inspect", "genitals.inspect"}, After: []string{"mouth.inspect", "eyes.inspect", "ears.inspect"}, Why: "Invented.", Tag: "habit",
	}})
	l := library(t)
	drawTrials(t, r, l, l.Case("tansy"), 2, func(t *testing.T, x *trial) {
		require.True(t, slices.ContainsFunc(x.k.Rules, func(r rubric.Rule) bool { return r.ID == "rear-before-head" }))
		rep := x.grade(t, Ideal(x.p, x.k))
		require.Equal(t, 1000, share(rep, "order"), lost(rep))
	})
}

// Chest, pulse, temperature and weight all taken first is one accepted way only
// when all four stand there: the engine must find them together.
func TestSeveralThingsFirst(t *testing.T) {
	l := cases.Builtin()
	r, err := file.Builtin("veterinary")
	require.NoError(t, err)
	p, err := cases.NewPatient(l, l.Case("juniper"), cases.SeedOf(60))
	require.NoError(t, err)
	k, err := p.Key(r)
	require.NoError(t, err)
	w, ok := DrawWay(k, 60)
	require.True(t, ok)
	require.Contains(t, w.String(), "chest first")
	require.Contains(t, w.String(), "pulse.palpate first")
	played, err := p.Play(IdealAlong(p, k, w))
	require.NoError(t, err)
	order := rubric.Grade(r, k, played).Domains[0]
	require.Equal(t, order.Max, order.Points)
}

package rubric_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// stageKey has steps of stages, written stage.step, with sites left and right
// where the name ends in "!". A step that begins with ~ touches.
func stageKey(steps ...string) rubric.Key {
	k := rubric.Key{}
	for _, s := range steps {
		id, touch := strings.CutPrefix(s, "~")
		id, sited := strings.CutSuffix(id, "!")
		stage, _, _ := strings.Cut(id, ".")
		step := rubric.Step{ID: id, Kind: rubric.Examine, Stage: stage, Touch: touch}
		if sited {
			step.Sites = []string{"left", "right"}
		}
		k.Steps = append(k.Steps, step)
	}
	return k
}

// trail is the examine acts of a walk; "ask", "wait" and "handle:" are acts too.
func trail(walk string) rubric.Transcript {
	var list rubric.Transcript
	for _, word := range strings.Fields(walk) {
		a := rubric.Act{N: len(list) + 1, Kind: rubric.Examine}
		a.Step, a.Site, _ = strings.Cut(word, "@")
		switch how, handled := strings.CutPrefix(word, "handle:"); {
		case handled:
			a = rubric.Act{N: a.N, Kind: rubric.Handle, How: how}
		case word == "ask":
			a = rubric.Act{N: a.N, Kind: rubric.Ask, Topic: "appetite"}
		case word == "wait":
			a = rubric.Act{N: a.N, Kind: rubric.Wait, Seconds: 5}
		}
		list = append(list, rubric.Entry{Act: a})
	}
	return list
}

var onlyOrder = rubric.Rubric{Weights: rubric.Weights{Order: 100}}

// What a rule names: a step, a step at a site, touching, asking, handling. A step
// that both sides name is not compared with itself, but its sites are; what the
// key does not know is never judged.
func TestWhatARuleNames(t *testing.T) {
	for _, row := range []struct{ name, before, after, walk, right, pairs string }{
		{"a step", "a.one", "b.one", "a.one b.one", "1", "1"},
		{"the other way", "a.one", "b.one", "b.one a.one", "0", "1"},
		{"a side", "a.two@left", "b.one", "a.two@right a.two@left b.one", "1", "1"},
		{"a side too late", "a.two@left", "b.one", "a.two@right b.one a.two@left", "0", "1"},
		{"a side never done", "a.two@left", "b.one", "a.two@right b.one", "", ""},
		{"a side that is none", "a.two@front", "b.one", "a.two@left b.one", "", ""},
		{"one side before the other", "a.two@left", "a.two@right", "a.two@left a.two@right b.one", "1", "1"},
		{"one side after the other", "a.two@left", "a.two@right", "a.two@right a.two@left b.one", "0", "1"},
		{"a side and its step", "a.two@left", "a.two", "a.two@left a.two@right b.one", "", ""},
		{"a step and its side", "a.two", "a.two@left", "a.two@left a.two@right b.one", "", ""},
		{"touching, itself left out", "a.two", "touch", "a.two@left b.one c.one", "1", "1"},
		{"touching too soon", "a.two", "touch", "b.one a.two@left c.one", "0", "1"},
		{"asking before handling", "ask", "handle:settle", "ask handle:settle a.one b.one", "1", "1"},
		{"handling before asking", "ask", "handle:settle", "handle:settle ask a.one b.one", "0", "1"},
		{"waiting before touching", "wait", "touch", "wait a.one b.one", "1", "1"},
		{"a step that the key does not know, at a side that its first step has", "no.such@left", "b.one", "a.two@left b.one", "", ""},
		{"a step that the key does not know", "no.such", "b.one", "a.two@left b.one", "", ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			k := stageKey("~a.two!", "a.one", "~b.one", "c.one")
			k.Rules = []rubric.Rule{{ID: "r", Kind: "share", Before: []string{row.before}, After: []string{row.after}, Weight: 1, Tag: "safety"}}
			d := rubric.Grade(onlyOrder, k, trail(row.walk)).Domains[0]
			right, pairs := "", ""
			for _, l := range d.Lines {
				if l.ID == "order/rule/r" {
					right, pairs = argOf(l, "right"), argOf(l, "pairs")
				}
			}
			require.Equal(t, row.right+" of "+row.pairs, right+" of "+pairs)
		})
	}
}

func argOf(l rubric.Line, name string) string {
	for _, a := range l.Args {
		if a.Name == name {
			return a.Value
		}
	}
	return ""
}

// A side that is done late is left out of its rules as its step is.
func TestALateSideIsLeftOutOfItsRules(t *testing.T) {
	k := stageKey("a.one", "b.one", "~c.two!")
	for i := range k.Steps {
		k.Steps[i].Required = true
		k.Steps[i].Weight = 1
	}
	k.Rules = []rubric.Rule{{ID: "r", Kind: "before-first", Before: []string{"c.two@left"}, After: []string{"a.one"}, Weight: 1, Tag: "safety"}}
	d := rubric.Grade(onlyOrder, k, trail("a.one b.one c.two@left")).Domains[0]
	require.Equal(t, d.Max, d.Points, dump(rubric.Report{Domains: []rubric.Domain{d}}))
}

// A step that may stand in another stage is in order in either, though the route
// has no float for it, and only there.
func TestAStepThatMayStandElsewhere(t *testing.T) {
	k := stageKey("a.one", "a.two", "b.one", "c.one", "d.one")
	k.Routes = []rubric.Route{{ID: "r", Order: [][]string{{"a"}, {"b"}, {"c"}, {"d"}}}}
	k.Steps[1].AlsoIn = []string{"c"}
	for walk, against := range map[string]int{"a.one a.two b.one c.one d.one": 0, "a.one b.one a.two c.one d.one": 0, "a.one b.one c.one a.two d.one": 0, "a.one b.one c.one d.one a.two": 1} {
		with, got := rubric.Pairs(k, trail(walk))
		require.Equal(t, against, got, walk)
		require.Positive(t, with)
	}
}

// Of two routes that are kept alike the one that says more is the nearest.
func TestTheNearestRouteSaysMost(t *testing.T) {
	k := stageKey("a.one", "b.one", "c.one")
	less, more := rubric.Route{ID: "less", Order: [][]string{{"a"}, {"b", "c"}}}, rubric.Route{ID: "more", Order: [][]string{{"a"}, {"b"}, {"c"}}}
	for _, routes := range [][]rubric.Route{{less, more}, {more, less}} {
		k.Routes = routes
		require.Equal(t, "more", rubric.Grade(onlyOrder, k, trail("a.one b.one c.one")).Walk.Nearest)
		require.Equal(t, "less", rubric.Grade(onlyOrder, k, trail("a.one c.one b.one")).Walk.Nearest)
	}
}

// The walk in a report stands beside the route nearest to all that was done, also
// where late steps are left out of the mark or were tried so: what is late is
// shown as such.
func TestTheWalkShowsWhatWasLate(t *testing.T) {
	w := sick(t, "veterinary")
	rng := rand.New(rand.NewPCG(5, 5))
	for range 200 {
		ids := w.required()
		for range rng.IntN(12) {
			a, b := rng.IntN(len(ids)), rng.IntN(len(ids))
			ids[a], ids[b] = ids[b], ids[a]
		}
		list := w.play(w.visit(ids))
		require.Equal(t, rubric.FreshWalk(w.key, list), rubric.Grade(w.r, w.key, list).Walk)
	}
}

// bestPlacing is the fit of a walk to the route a, b, c, d when one step may
// stand in several places, by trying them all: the best share of pairs in order,
// then the most pairs.
func bestPlacing(walk []string, floating string, places []string, also string) (with, against int) {
	rank := func(id string) int { return int(id[0]-'a') + 1 }
	var options []int
	for _, p := range places {
		switch p {
		case "first":
			options = append(options, 1)
		case "in place":
			options = append(options, rank(floating))
			if also != "" {
				options = append(options, rank(also))
			}
		case "last":
			options = append(options, 5)
		}
	}
	for _, o := range options {
		in, out := 0, 0
		for i, x := range walk {
			for _, y := range walk[i+1:] {
				p, q := rank(x), rank(y)
				if x == floating {
					p = o
				}
				if y == floating {
					q = o
				}
				switch {
				case p < q:
					in++
				case p > q:
					out++
				}
			}
		}
		if a, b := in*(with+against), with*(in+out); with+against == 0 || a > b || (a == b && in > with) {
			with, against = in, out
		}
	}
	return with, against
}

// A step that floats is put where it fits best, of all places that the route
// allows it and no other.
func TestAFloatIsPutWhereItFitsBest(t *testing.T) {
	k := stageKey("a.one", "a.two", "b.one", "b.two", "c.one", "c.two", "d.one", "d.two")
	// A stage that the key does not know, and one that stands twice, of which the
	// first counts, change nothing.
	order := [][]string{{"a", "nowhere"}, {"b"}, {"c", "a"}, {"d"}}
	rng := rand.New(rand.NewPCG(11, 11))
	for _, places := range [][]string{{"first"}, {"last"}, {"in place"}, {"first", "in place"}, {"first", "last"}, {"in place", "last"}, {"first", "in place", "last"}} {
		for range 300 {
			floating := k.Steps[rng.IntN(len(k.Steps))].ID
			also := ""
			for i := range k.Steps {
				k.Steps[i].AlsoIn = nil
				if k.Steps[i].ID == floating && rng.IntN(2) == 0 {
					also = string(rune('a' + rng.IntN(4)))
					k.Steps[i].AlsoIn = []string{also, "nowhere else"}
				}
			}
			k.Routes = []rubric.Route{{ID: "r", Order: order, Floats: []rubric.Float{{Steps: []string{floating}, Places: places}}}}
			var walk []string
			for _, i := range rng.Perm(len(k.Steps))[:2+rng.IntN(7)] {
				walk = append(walk, k.Steps[i].ID)
			}
			with, against := rubric.Pairs(k, trail(strings.Join(walk, " ")))
			wantWith, wantAgainst := bestPlacing(walk, floating, places, also)
			require.Equal(t, [2]int{wantWith, wantAgainst}, [2]int{with, against}, "%v, %s floats %v, also in %q", walk, floating, places, also)
		}
	}
	// A stage that floats carries its steps, each by itself is no way back.
	k = stageKey("a.one", "b.one", "b.two", "c.one")
	k.Routes = []rubric.Route{{ID: "r", Order: [][]string{{"a"}, {"b"}, {"c"}}, Floats: []rubric.Float{{Stages: []string{"b"}, Places: []string{"last"}}}}}
	with, against := rubric.Pairs(k, trail("a.one c.one b.one b.two"))
	require.Equal(t, [2]int{5, 0}, [2]int{with, against})
	with, against = rubric.Pairs(k, trail("a.one b.one b.two c.one"))
	require.Equal(t, [2]int{3, 2}, [2]int{with, against})
}

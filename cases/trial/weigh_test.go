package trial

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

func builtin(t *testing.T, id string) rubric.Rubric {
	t.Helper()
	r, err := file.Builtin(id)
	require.NoError(t, err)
	return r
}

func TestWeighingIsTheSameForTheSameSeed(t *testing.T) {
	l, r := cases.Builtin(), builtin(t, "veterinary")
	text := func(seed uint64) string {
		w, err := Weigh(l, r, []*cases.Case{l.Case("fergus")}, 24, seed)
		require.NoError(t, err)
		data, err := json.Marshal(w)
		require.NoError(t, err)
		return string(data)
	}
	require.Equal(t, text(3), text(3))
	require.NotEqual(t, text(3), text(4))
}

// Among robots of independent skills no two domains correlate by more than .30.
func TestDomainsSayDifferentThings(t *testing.T) {
	l, r := cases.Builtin(), builtin(t, "veterinary")
	n := 2500
	if testing.Short() {
		n = 400
	}
	slack := func(n int) float64 { // chance, where there are few robots
		if testing.Short() {
			return 3 / math.Sqrt(float64(n))
		}
		return 0
	}
	w := Weighing{Robots: n, Seed: 1}
	require.NoError(t, w.figures(l, r, l.Cases()))
	sum := 0.0
	for i, d := range w.Weights.Domains {
		sum += d.Effective.Value
		for j := range i {
			require.LessOrEqual(t, w.Weights.Correlation[i][j].Value, MostCorrelation+slack(n), "%s and %s", d.ID, w.Weights.Domains[j].ID)
		}
		// The correlation is low because the skills are, not because chance
		// drowns them: every skill moves its own domain, and no other as much.
		require.Greater(t, w.Moves[i][i].Value, .45, d.ID)
		for j := range w.Moves {
			require.True(t, j == i || w.Moves[j][i].Value < w.Moves[i][i].Value-.2, "%s is moved by the skill of %s", d.ID, w.Weights.Domains[j].ID)
		}
	}
	require.InDelta(t, 1, sum, 1e-9, "the total is the sum of the domains")
}

// Every bound holds for cases of every species and situation by both rubrics.
// That of random order holds for whole examinations on average, and not for
// every case: of the handful of steps of a focused one or of a triage chance
// puts many in order.
func TestBoundsHoldForTheLibrary(t *testing.T) {
	l := cases.Builtin()
	over := sample(l)
	if testing.Short() {
		over = over[:2]
	}
	for _, id := range file.IDs() {
		list, err := bounds(l, builtin(t, id), over, 2, 16)
		require.NoError(t, err)
		kinds := map[string]int{}
		random, n := 0.0, 0
		for _, b := range list {
			kinds[b.Robot]++
			switch {
			case !b.Judged:
				require.NotEmpty(t, b.Why)
				require.Empty(t, l.Case(b.Case).Conclusions.Problems, b.Case)
			case b.Robot == "random order" && l.Case(b.Case).Situation == "routine":
				random, n = random+b.Figure, n+1
				require.Less(t, b.Figure, .3, b.Case)
			case b.Robot == "random order":
				require.Less(t, b.Figure, .75, b.Case)
			default:
				require.True(t, b.Holds, "%s: %s", id, b.Sentence())
			}
		}
		for _, who := range []string{"empty", "all normal", "all abnormal", "invented vitals", "every step, all normal", "every step, charted at random", "random order"} {
			require.Equal(t, 0, kinds[who]%len(over), who)
			require.Positive(t, kinds[who], who)
		}
		t.Logf("%s: random order earns %.3f of Order over %d routine cases", id, random/float64(max(n, 1)), n)
	}
}

// A bound that does not hold says so: with a pass mark of 20 and no hurdle, who
// does every step and charts all as normal passes.
func TestWhatMissesIsSaid(t *testing.T) {
	b := Bound{Case: "x", Robot: "empty", What: "the total", Figure: 12.5, Limit: 10, Judged: true}
	require.False(t, b.settled().Holds)
	require.Equal(t, "x, empty: the total is 12.50 and should be at most 10.00.", b.Sentence())
	require.True(t, Bound{Figure: 90, Limit: 90, Least: true, Judged: true}.settled().Holds)
	require.False(t, Bound{Figure: 89.9, Limit: 90, Least: true, Judged: true}.settled().Holds)
	require.False(t, Bound{Figure: 1, Limit: 10}.settled().Holds, "what is not judged does not hold")

	l, r := cases.Builtin(), builtin(t, "veterinary")
	r.Pass, r.Hurdles = 20_000, nil
	w, err := Weigh(l, r, []*cases.Case{l.Case("monty")}, 10, 1)
	require.NoError(t, err)
	require.True(t, slices.ContainsFunc(w.Misses, func(m string) bool {
		return strings.HasPrefix(m, "monty, every step, all normal: the number of visits passed is 10")
	}), "%v", w.Misses)
}

func TestTooFewRobotsIsSaid(t *testing.T) {
	l, r := cases.Builtin(), builtin(t, "technician")
	few := func(n int) bool {
		w, err := Weigh(l, r, []*cases.Case{l.Case("tansy")}, n, 1)
		require.NoError(t, err)
		return slices.ContainsFunc(w.Notes, func(s string) bool { return strings.HasPrefix(s, "Too few robots") })
	}
	require.True(t, few(LeastRobots-1))
	require.False(t, few(LeastRobots))
}

// What is marked twice is named with the case, the precaution and what it doubles.
func TestMarkedTwice(t *testing.T) {
	l := cases.Builtin()
	said, err := doubles(l, builtin(t, "veterinary"), []*cases.Case{l.Case("fergus"), l.Case("tansy")})
	require.NoError(t, err)
	require.Contains(t, said, `Marked twice (fergus): the precaution "stop in time" of Handling needs "handle:stop", which is a required step of Completeness.`)
	none := *l.Case("monty")
	none.Precautions = []string{"look first"}
	said, err = doubles(l, builtin(t, "veterinary"), []*cases.Case{&none})
	require.NoError(t, err)
	require.True(t, slices.ContainsFunc(said, func(s string) bool {
		return strings.HasSuffix(s, `the precaution "look first" of Handling is the rule "look-first" of Order.`) && strings.Contains(s, "monty")
	}), "%v", said)
	none.Precautions = []string{"settle first"}
	said, err = doubles(l, builtin(t, "veterinary"), []*cases.Case{&none})
	require.NoError(t, err)
	require.Empty(t, said)
}

func TestWeighRefusesWhatCannotBeGraded(t *testing.T) {
	l, r := cases.Builtin(), builtin(t, "veterinary")
	_, err := Weigh(l, r, nil, 100, 1)
	require.ErrorContains(t, err, "at least one case")
	for _, n := range []int{-1, 0, 1, mostRobots + 1} {
		_, err = Weigh(l, r, l.Cases(), n, 1)
		require.ErrorContains(t, err, "right would be 2 to")
	}
	r.Steps = nil
	_, err = Weigh(l, r, l.Cases(), 10, 1)
	require.ErrorContains(t, err, "required steps")
}

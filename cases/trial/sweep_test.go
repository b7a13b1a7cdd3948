package trial

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

func bothRubrics(t *testing.T) []rubric.Rubric {
	t.Helper()
	var out []rubric.Rubric
	for _, id := range file.IDs() {
		out = append(out, builtin(t, id))
	}
	return out
}

// sample is the first case of every species and situation: what the tests can
// afford. `dewclaw check --seeds` goes through all of them.
func sample(l *cases.Library) []*cases.Case {
	var out []*cases.Case
	for _, c := range l.Cases() {
		if !slices.ContainsFunc(out, func(o *cases.Case) bool { return o.Species == c.Species && o.Situation == c.Situation }) {
			out = append(out, c)
		}
	}
	return out
}

// lines are the misses as they are printed.
func lines(s Sweep) []string {
	var out []string
	for _, m := range s.Misses {
		out = append(out, m.String())
	}
	return out
}

// The library holds, of every species and situation one case, with the seed
// that tries all accepted orders.
func TestSampleOfTheLibraryHolds(t *testing.T) {
	l := cases.Builtin()
	over := sample(l)
	if testing.Short() {
		over = over[:1]
	}
	s, err := Check(l, over, bothRubrics(t), 1)
	require.NoError(t, err)
	require.Empty(t, lines(s))
	require.Equal(t, len(over), s.Cases)
	require.Equal(t, 2*len(over), s.Patients)
	require.GreaterOrEqual(t, s.Orders, 2*len(over)*8)
	require.Greater(t, s.Visits, s.Orders)
}

// What does not hold is printed in one line with the case, the seed, who, what,
// what it got and what would be right; a line of the report by its id.
func TestWhatDoesNotHoldIsNamed(t *testing.T) {
	l := cases.Builtin()
	check := func(c cases.Case, r rubric.Rubric, seeds int) []string {
		s, err := Check(l, []*cases.Case{&c}, []rubric.Rubric{r}, seeds)
		require.NoError(t, err)
		require.Equal(t, len(s.Misses) == 0, s.Holds())
		return lines(s)
	}
	veterinary := builtin(t, "veterinary")
	require.Empty(t, check(*l.Case("monty"), veterinary, 2))

	// A negative that only a step shows which the situation does not ask for.
	c := *l.Case("fergus")
	c.Negatives = append(slices.Clone(c.Negatives), "node.popliteal.size@left")
	require.True(t, slices.ContainsFunc(check(c, veterinary, 2), func(line string) bool {
		return strings.HasPrefix(line, "fergus: seed 0: veterinary, ideal: findings/negative/node.popliteal.size@left: got 0 (negative.unseen); should be ")
	}))

	// A patient between normal and plainly abnormal.
	c = *l.Case("monty")
	c.Truth = append(slices.Clone(c.Truth), cases.Truth{Field: "temperature", Values: []string{"39.6"}})
	require.Contains(t, check(c, veterinary, 2), "monty: seed 0: temperature: got 39.6; should be 37.7..39.2, or at most 37, or at least 40.1 (2 times)")

	// One that contradicts itself.
	c.Truth = append(slices.Clone(l.Case("monty").Truth), cases.Truth{Field: "heart.thrill", Site: "left", Values: []string{"present"}})
	require.True(t, slices.ContainsFunc(check(c, veterinary, 1), func(line string) bool {
		return strings.HasPrefix(line, "monty: seed 0: rule thrill-murmur: got heart.thrill@left is present; should be a thrill goes with")
	}))

	// A rubric by which who does not look passes.
	lax := veterinary
	lax.Pass, lax.Hurdles = 20_000, nil
	require.Contains(t, check(*l.Case("monty"), lax, 3), "monty: seed 0: veterinary, every step, all normal: the number of visits passed: got 1.00; should be at most 0.00 (3 times)")

	// One whose route cannot be walked without breaking its own rule.
	strict := veterinary
	strict.Rules = append(slices.Clone(strict.Rules), rubric.RuleRow{Rule: rubric.Rule{
		ID: "backwards", Kind: "before-first", Before: []string{"genitals.inspect"}, After: []string{"mouth.inspect"}, Weight: 5, Tag: "safety",
	}})
	require.Contains(t, strings.Join(check(*l.Case("tansy"), strict, 1), "\n"), "order/route head-to-tail: got no way along it that keeps the rules of order")
}

// Who works on in triage, or does what is withheld, is named.
func TestWhoDoesNotStopIsNamed(t *testing.T) {
	l := cases.Builtin()
	r := builtin(t, "veterinary")
	p, k, err := patient(l, r, l.Case("fergus"), 0)
	require.NoError(t, err)
	s := &caseSweep{l: l, c: l.Case("fergus"), watched: newWatcher()}
	s.stops(&subject{p: p, r: &r, k: k}, []rubric.Act{
		{Kind: rubric.Examine, Step: "rectum.palpate"}, {Kind: rubric.Handle, How: "stop"}, {Kind: rubric.Examine, Step: "heart.auscultate"},
	})
	require.Equal(t, []string{
		"fergus: seed 0: veterinary, ideal: withheld step: got rectum.palpate; should be not done",
		"fergus: seed 0: veterinary, ideal: after stop: got heart.auscultate; should be nothing examined",
	}, lines(Sweep{Misses: s.misses}))
	s.misses = nil
	s.stops(&subject{p: p, r: &r, k: k}, nil)
	require.Equal(t, []string{"fergus: seed 0: veterinary, ideal: stop: got never; should be handle:stop before the end"}, lines(Sweep{Misses: s.misses}))
}

func TestTheSameSweepForTheSameSeeds(t *testing.T) {
	l := cases.Builtin()
	over := []*cases.Case{l.Case("fergus"), l.Case("monty")}
	a, err := Check(l, over, bothRubrics(t), 2)
	require.NoError(t, err)
	b, err := Check(l, over, bothRubrics(t), 2)
	require.NoError(t, err)
	require.Equal(t, a, b)
	_, err = Check(l, over, bothRubrics(t), 0)
	require.ErrorContains(t, err, "right would be at least 1")
}

// Scores fall from the ideal to who touches nothing.
func TestScoresFall(t *testing.T) {
	l := cases.Builtin()
	s, err := Scores(l, builtin(t, "veterinary"), l.Case("monty"), 4)
	require.NoError(t, err)
	require.Equal(t, len(ScoreNames()), len(s))
	require.Greater(t, s[0].Total, 97.0)
	require.Greater(t, s[0].Total, s[1].Total)
	require.Greater(t, s[1].Total, s[5].Total, "a beginner")
	require.LessOrEqual(t, s[len(s)-1].Total, mostUntouched)
	_, err = Scores(l, builtin(t, "veterinary"), l.Case("monty"), 0)
	require.ErrorContains(t, err, "right would be")
}

package trial

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

func seedsTo(n int) []cases.Seed {
	out := make([]cases.Seed, n)
	for i := range out {
		out[i] = cases.SeedOf(uint64(i))
	}
	return out
}

// measured are the draws of a case of the library with some truths more.
func measured(t *testing.T, id string, seeds int, opts DrawOptions, more ...cases.Truth) Draws {
	t.Helper()
	l := cases.Builtin()
	c := *l.Case(id)
	c.Truth = append(slices.Clone(c.Truth), more...)
	d, err := Measure(context.Background(), l, &c, builtin(t, "veterinary"), nil, seedsTo(seeds), opts)
	require.NoError(t, err)
	require.Len(t, d.Table.Rows, seeds)
	return d
}

// plainOrNot is a field that in half of the draws is abnormal in a way that no
// cue tells, which no case file could state: no student can chart it.
var plainOrNot = cases.Truth{Field: "mentation", Values: []string{"bright", "untold"}}

// One drawn field makes two kinds of patients, and is found at fault by its name.
// That it is this field and by how much, two means of the table say too.
func TestASpreadAtFaultIsNamed(t *testing.T) {
	d := measured(t, "tansy", 100, DrawOptions{Least: 3, Most: 3}, plainOrNot)
	require.Equal(t, SpreadAtFault, d.Verdict)
	require.Greater(t, d.SD, MostSD)
	require.Greater(t, 5*d.Excluded, d.Seeds)
	require.Equal(t, "mentation", d.Fields[0].Place)
	require.Greater(t, d.Fields[0].Share, 900)
	said := strings.Join(d.Reasons, "\n")
	require.Contains(t, said, "mentation explains most: ")
	require.Contains(t, said, "At most 20 % may.")

	var by [2][]float64
	l := cases.Builtin()
	c := *l.Case("tansy")
	c.Truth = append(slices.Clone(c.Truth), plainOrNot)
	for _, r := range d.Table.Rows {
		_, k, err := patientOf(l, builtin(t, "veterinary"), &c, r.Seed)
		require.NoError(t, err)
		wrong := slices.ContainsFunc(k.Findings, func(f rubric.Finding) bool { return f.Field == "mentation" })
		at := 0
		if wrong {
			at = 1
		}
		by[at] = append(by[at], points(r.D-d.Mean))
	}
	for i, v := range d.Fields[0].Values {
		require.Equal(t, plainOrNot.Values[i], v.Words())
		require.Equal(t, len(by[i]), v.Patients)
		require.InEpsilon(t, stat.Mean(by[i], nil), points(v.Off), .02)
	}
}

func patientOf(l *cases.Library, r rubric.Rubric, c *cases.Case, seed cases.Seed) (*cases.Patient, rubric.Key, error) {
	p, err := cases.NewPatient(l, c, seed)
	if err != nil {
		return nil, rubric.Key{}, err
	}
	k, err := p.Key(r)
	return p, k, err
}

// A shipped patient whose spreads are narrow has nothing to find fault with.
func TestANarrowSpreadIsAccepted(t *testing.T) {
	d := measured(t, "monty", 100, DrawOptions{Least: 4, Most: 8})
	require.Equal(t, DrawsAccepted, d.Verdict, d.Reasons)
	require.LessOrEqual(t, d.SD, MostSD)
	require.LessOrEqual(t, d.Noise, mostNoise)
	require.Empty(t, d.Fields, "nothing to look into")
	require.Len(t, d.Levels, 5)
	require.True(t, slices.IsSortedFunc(d.Levels, func(a, b Level) int { return int(a.Mean - b.Mean) }))
	require.InDelta(t, points(d.Pass), points(d.Mean), 5, "the borderline student earns about the pass mark")
}

// With every drawn value stated, nothing is drawn any more, and that is said.
func TestAFixedPatientIsSaidToBe(t *testing.T) {
	p, _, err := patientOf(cases.Builtin(), builtin(t, "veterinary"), cases.Builtin().Case("monty"), cases.SeedOf(7))
	require.NoError(t, err)
	var fixed []cases.Truth
	for _, v := range p.Drawn() {
		at := cases.ParsePlace(v.Place)
		fixed = append(fixed, cases.Truth{Field: at.Field, Site: at.Site, Values: []string{v.Value}})
	}
	require.False(t, cases.Builtin().Case("monty").Mirror)
	l := cases.Builtin()
	c := *l.Case("monty")
	c.Truth = slices.DeleteFunc(slices.Clone(c.Truth), func(t cases.Truth) bool { return len(t.Values) != 1 })
	c.Truth = append(c.Truth, fixed...)
	d, err := Measure(context.Background(), l, &c, builtin(t, "veterinary"), nil, seedsTo(5), DrawOptions{})
	require.NoError(t, err)
	require.Equal(t, DrawsAccepted, d.Verdict)
	require.Equal(t, []string{"Nothing of this patient is drawn, so that no draw is harder than another."}, d.Reasons)
	require.Zero(t, d.Excluded)
}

// Common streams of chance: between two patients the same student out of the
// same stream differs by far less than out of two streams.
func TestCommonStreamsMakeDifferencesSmall(t *testing.T) {
	const patients, streams = 12, 16
	r := builtin(t, "veterinary")
	var same, other []float64
	var first []float64
	for i := range patients {
		p, k, err := patientOf(cases.Builtin(), r, cases.Builtin().Case("monty"), cases.SeedOf(uint64(i)))
		require.NoError(t, err)
		var totals []float64
		for j := range uint64(streams) {
			x, err := evenly(&subject{p: p, r: &r, k: k}, 600, j)
			require.NoError(t, err)
			totals = append(totals, points(x))
		}
		if i == 0 {
			first = totals
			continue
		}
		for j := range totals {
			same = append(same, totals[j]-first[j])
			other = append(other, totals[j]-first[(j+1)%streams])
		}
	}
	a, b := stat.Variance(same, nil), stat.Variance(other, nil)
	t.Logf("variance of a difference between two patients: %.3f out of the same stream, %.3f out of two", a, b)
	require.Less(t, 20*a, b)
}

// The same arguments give the same figures and the same table.
func TestDrawsAreDeterministic(t *testing.T) {
	a, b := measured(t, "fergus", 6, DrawOptions{Most: 8}), measured(t, "fergus", 6, DrawOptions{Most: 8})
	require.Equal(t, a, b)
	require.Equal(t, NotJudged, a.Verdict)
	require.Equal(t, []string{"6 seeds are too few to judge; right would be at least 100."}, a.Reasons)
}

// It tells how far it is, and stops when it is told to.
func TestMeasuringCanBeWatchedAndStopped(t *testing.T) {
	l, r := cases.Builtin(), builtin(t, "veterinary")
	var done, of []int
	tell := func(d, o int) { done, of = append(done, d), append(of, o) }
	_, err := Measure(context.Background(), l, l.Case("monty"), r, nil, seedsTo(3), DrawOptions{Least: 3, Most: 3, Progress: tell})
	require.NoError(t, err)
	require.Equal(t, []int{5, 10, 15, 18, 21, 24}, done)
	require.Equal(t, []int{24, 24, 24, 24, 24, 24}, of)

	ctx, cancel := context.WithCancel(context.Background())
	n := 0
	_, err = Measure(ctx, l, l.Case("monty"), r, nil, seedsTo(50), DrawOptions{Progress: func(int, int) {
		if n++; n == 2 {
			cancel()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, 2, n)
}

func TestMeasureRefusesWhatMakesNoSense(t *testing.T) {
	l, r := cases.Builtin(), builtin(t, "veterinary")
	monty := l.Case("monty")
	for _, x := range []struct {
		c     *cases.Case
		seeds []cases.Seed
		opts  DrawOptions
		want  string
	}{
		{nil, seedsTo(2), DrawOptions{}, "measured of a case"},
		{monty, seedsTo(1), DrawOptions{}, "1 seeds; right would be 2 to 2000"},
		{monty, seedsTo(2001), DrawOptions{}, "2001 seeds; right would be 2 to 2000"},
		{monty, append(seedsTo(3), cases.SeedOf(1)), DrawOptions{}, "seeds 2 and 4 are the same"},
		{monty, seedsTo(2), DrawOptions{Least: 1}, "1 to 128 visits a patient; right would be from 3 to 128"},
		{monty, seedsTo(2), DrawOptions{Least: 9, Most: 8}, "9 to 8 visits a patient"},
		{monty, seedsTo(2), DrawOptions{Most: 129}, "8 to 129 visits a patient"},
		{&cases.Case{ID: "x", Species: "wombat"}, seedsTo(2), DrawOptions{}, `no catalogue for species "wombat"`},
	} {
		_, err := Measure(context.Background(), l, x.c, r, nil, x.seeds, x.opts)
		require.ErrorContains(t, err, x.want)
	}
	_, err := Measure(context.Background(), l, monty, rubric.Rubric{}, nil, seedsTo(2), DrawOptions{})
	require.ErrorContains(t, err, "draws of case monty")
}

// What is stored belongs to one case, rubric and table of ranges.
func TestDrawsKeyTellsWhatDrawsAreOf(t *testing.T) {
	l := cases.Builtin()
	key := func(id, scheme string, ranges normal.Table) string {
		k, err := DrawsKey(l, l.Case(id), builtin(t, scheme), ranges)
		require.NoError(t, err)
		return k
	}
	own := normal.Rows()
	own[0].High++
	keys := []string{
		key("monty", "veterinary", nil), key("fergus", "veterinary", nil), key("monty", "technician", nil),
		key("monty", "veterinary", normal.Rows()), key("monty", "veterinary", own),
	}
	require.Equal(t, keys[0], key("monty", "veterinary", nil))
	slices.Sort(keys)
	require.Len(t, slices.Compact(keys), 5)
}

// Between the levels the borderline lies on straight lines, by hand: from 60 at
// 500 to 76 at 700, 70 is ten sixteenths of the way.
func TestBorderlineLiesBetweenLevels(t *testing.T) {
	levels := []Level{{100, 30_000}, {300, 45_000}, {500, 60_000}, {700, 76_000}, {900, 95_000}}
	require.Equal(t, 625, borderline(levels, 70_000))
	require.Equal(t, 500, borderline(levels, 60_000))
	require.Equal(t, 100, borderline(levels, 20_000))
	require.Equal(t, 900, borderline(levels, 99_000))
	d := Draws{Levels: levels, Pass: 99_000, Skill: 900, Seeds: 500}
	d.judge(&spread{}, false)
	require.Contains(t, d.Reasons[1], "No level of student earns the pass mark of 99 on average, so the nearest, of 900 in a thousand of every skill")
}

// A page for the instructor has the figures and no seed.
func TestDrawsTellNoSeed(t *testing.T) {
	d := measured(t, "monty", 2, DrawOptions{Least: 3, Most: 3})
	text, err := json.Marshal(d)
	require.NoError(t, err)
	require.NotContains(t, string(text), "able")
	require.NotContains(t, strings.ToLower(string(text)), `"seed"`)
}

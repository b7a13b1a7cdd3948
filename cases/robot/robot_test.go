package robot

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// seedsACase is how many patients are drawn of every case. What is held here of
// few is held of many by `dewclaw check --seeds`.
const seedsACase = 4

// trial is one patient with its key.
type trial struct {
	name string
	p    *cases.Patient
	r    rubric.Rubric
	k    rubric.Key
	seed uint64
}

// grade plays acts and marks them.
func (x *trial) grade(t *testing.T, acts []rubric.Act) rubric.Report {
	t.Helper()
	tr, err := x.p.Play(acts)
	require.NoError(t, err, x.name)
	return rubric.Grade(x.r, x.k, tr)
}

// share is a domain's points in thousandths of its maximum.
func share(rep rubric.Report, domain string) int {
	for _, d := range rep.Domains {
		if d.ID == domain && d.Max > 0 {
			return int(d.Points * 1000 / d.Max)
		}
	}
	return 0
}

// library is the one compiled in, and the trial cases of testdata.
func library(t *testing.T) *cases.Library {
	t.Helper()
	l, err := cases.Load(cases.BuiltinFiles(), os.DirFS("testdata"))
	require.NoError(t, err)
	for _, b := range l.Broken() {
		require.NotContains(t, b.Name, "trial-", "%v", b.Problems)
	}
	return l
}

// some are all cases, and in a short run the first of every species and
// situation, with those of testdata.
func some(all []*cases.Case) []*cases.Case {
	if !testing.Short() {
		return all
	}
	var out []*cases.Case
	for _, c := range all {
		known := slices.ContainsFunc(out, func(o *cases.Case) bool { return o.Species == c.Species && o.Situation == c.Situation })
		if !known || strings.HasPrefix(c.ID, "trial-") {
			out = append(out, c)
		}
	}
	return out
}

// trials calls do for every case of the library, both rubrics, and some seeds:
// for several cases at once, so that do must lock what it shares.
func trials(t *testing.T, seeds uint64, do func(t *testing.T, x *trial)) {
	t.Helper()
	t.Run("all", func(t *testing.T) {
		eachCase(t, func(r rubric.Rubric, l *cases.Library, c *cases.Case) {
			t.Run(r.ID+"/"+c.ID, func(t *testing.T) {
				t.Parallel()
				drawTrials(t, r, l, c, seeds, do)
			})
		})
	})
}

// inTurn is trials one after the other, always in the same order.
func inTurn(t *testing.T, seeds uint64, do func(t *testing.T, x *trial)) {
	t.Helper()
	eachCase(t, func(r rubric.Rubric, l *cases.Library, c *cases.Case) { drawTrials(t, r, l, c, seeds, do) })
}

func eachCase(t *testing.T, do func(rubric.Rubric, *cases.Library, *cases.Case)) {
	t.Helper()
	l := library(t)
	for _, track := range []string{"veterinary", "technician"} {
		r, err := file.Builtin(track)
		require.NoError(t, err)
		for _, c := range some(l.Cases()) {
			do(r, l, c)
		}
	}
}

func drawTrials(t *testing.T, r rubric.Rubric, l *cases.Library, c *cases.Case, seeds uint64, do func(t *testing.T, x *trial)) {
	t.Helper()
	for seed := range seeds {
		p, err := cases.NewPatient(l, c, cases.SeedOf(seed))
		require.NoError(t, err)
		k, err := p.Key(r)
		require.NoError(t, err)
		do(t, &trial{name: fmt.Sprintf("%s seed %d", c.ID, seed), p: p, r: r, k: k, seed: seed})
	}
}

// lost lists what a report took away.
func lost(rep rubric.Report) string {
	out := fmt.Sprintf("total %s critical %v\n", rep.Total, rep.Critical)
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if l.Points < l.Max || l.Points < 0 {
				out += fmt.Sprintf("  %s of %s  %s %s %v %v\n", l.Points, l.Max, l.ID, l.Code, l.Args, l.Acts)
			}
		}
	}
	return out
}

func TestIdealScoresNearlyEverything(t *testing.T) {
	trials(t, seedsACase, func(t *testing.T, x *trial) {
		rep := x.grade(t, Ideal(x.p, x.k))
		require.GreaterOrEqual(t, rep.Total, rubric.Points(97_000), "%s: %s", x.name, lost(rep))
		require.Equal(t, 1000, share(rep, "order"), "%s: %s", x.name, lost(rep))
		require.True(t, rep.Pass, "%s: %s", x.name, lost(rep))
		require.Empty(t, rep.Critical)
		require.Empty(t, rep.Held)
	})
}

func TestWhoTouchesNothingGetsNothing(t *testing.T) {
	trials(t, 2, func(t *testing.T, x *trial) {
		for name, robot := range map[string]Student{"empty": Empty, "all normal": AllNormal, "all abnormal": AllAbnormal, "invented": Invented} {
			rep := x.grade(t, robot(x.p, x.k))
			require.LessOrEqual(t, rep.Total, rubric.Points(10_000), "%s %s: %s", name, x.name, lost(rep))
			require.False(t, rep.Pass)
		}
	})
}

// A robot that does every step but does not look never passes a patient that
// has something, and earns little of Findings.
func TestStepsWithoutFindingsDoNotPass(t *testing.T) {
	trials(t, 1, func(t *testing.T, x *trial) {
		if len(x.k.Findings) == 0 {
			return
		}
		robots := map[string][]rubric.Act{"routine normal": RoutineNormal(x.p, x.k)}
		for seed := range uint64(2) {
			robots[fmt.Sprint("random chart ", seed)] = RandomChart(x.p, x.k, seed)
		}
		for name, acts := range robots {
			rep := x.grade(t, acts)
			require.False(t, rep.Pass, "%s %s: %s", name, x.name, lost(rep))
			require.LessOrEqual(t, share(rep, "findings"), 150, "%s %s: %s", name, x.name, lost(rep))
		}
	})
}

// Over the whole examinations of the library random order earns little. A
// focused one and a triage are left out: of a handful of steps chance puts many
// in order.
func TestRandomOrderEarnsLittleOfOrder(t *testing.T) {
	var lock sync.Mutex
	sum, n := 0, 0
	trials(t, 12, func(t *testing.T, x *trial) {
		if x.k.Situation != "routine" {
			return
		}
		got := share(x.grade(t, RandomOrder(x.p, x.k, x.seed)), "order")
		lock.Lock()
		defer lock.Unlock()
		sum += got
		n++
	})
	require.LessOrEqual(t, sum/n, 150)
	t.Logf("random order: %d of 1000 of Order over %d visits", sum/n, n)
}

// In triage whoever stops in time is far ahead of whoever works through.
func TestStoppingInTimeBeatsRecklessness(t *testing.T) {
	trials(t, 5, func(t *testing.T, x *trial) {
		if x.k.Situation != "triage" {
			return
		}
		right, wrong := x.grade(t, Ideal(x.p, x.k)), x.grade(t, Reckless(x.p, x.k))
		require.GreaterOrEqual(t, right.Total, rubric.Points(90_000))
		require.GreaterOrEqual(t, right.Total-wrong.Total, rubric.Points(40_000), "%s: %s", x.name, lost(wrong))
		require.False(t, wrong.Pass)
	})
}

// Better students score better on the whole, and all of them can be played.
func TestLevelsClimb(t *testing.T) {
	var sum, n [6]int
	var lock sync.Mutex
	trials(t, 1, func(t *testing.T, x *trial) {
		for level := 1; level <= 5; level++ {
			for seed := range uint64(2) {
				got := x.grade(t, Typical(x.p, x.k, level, seed)).Total
				lock.Lock()
				sum[level] += int(got)
				n[level]++
				lock.Unlock()
			}
		}
	})
	for level := 1; level <= 5; level++ {
		mean := sum[level] / n[level]
		t.Logf("level %d: %d", level, mean/1000)
		if level > 1 {
			require.Greater(t, mean, sum[level-1]/n[level-1])
		}
	}
	require.Less(t, sum[1]/n[1], 60_000)
	require.Greater(t, sum[5]/n[5], 80_000)
}

func TestSameSeedSameStudent(t *testing.T) {
	l := library(t)
	r, err := file.Builtin("veterinary")
	require.NoError(t, err)
	p, err := cases.NewPatient(l, l.Cases()[0], cases.SeedOf(3))
	require.NoError(t, err)
	k, err := p.Key(r)
	require.NoError(t, err)
	require.Equal(t, Typical(p, k, 3, 9), Typical(p, k, 3, 9))
	require.NotEqual(t, Typical(p, k, 3, 9), Typical(p, k, 3, 10))
}

// A friendly animal bears a whole orderly examination without showing unease; a
// wary one shows that it has enough; a fearful one refuses whoever pays no heed,
// and lets itself be examined by whoever does (see TestIdeal...).
func TestDemeanoursDiffer(t *testing.T) {
	l := library(t)
	r, err := file.Builtin("veterinary")
	require.NoError(t, err)
	signs, refusals := map[string]int{}, map[string]int{}
	demeanours := []string{"calm", "friendly", "wary", "fearful", "defensive"}
	for _, d := range demeanours {
		c := *l.Case("trial-frightened")
		c.Demeanour = d
		for seed := range uint64(5) {
			p, err := cases.NewPatient(l, &c, cases.SeedOf(seed))
			require.NoError(t, err)
			k, err := p.Key(r)
			require.NoError(t, err)
			tr, err := p.Play(visit(p, k, style{deaf: true, careless: 1000}))
			require.NoError(t, err)
			for _, e := range tr {
				signs[d] += len(e.Outcome.Signs)
				if e.Outcome.Refused {
					refusals[d]++
				}
			}
		}
	}
	t.Log("signs", signs, "refusals", refusals)
	require.LessOrEqual(t, signs["calm"], 5, "at most once a visit")
	require.Less(t, signs["friendly"], 10)
	require.Greater(t, signs["wary"], signs["friendly"])
	require.Zero(t, refusals["friendly"])
	require.Greater(t, signs["fearful"], signs["wary"])
	require.Positive(t, refusals["fearful"])
	require.Positive(t, refusals["defensive"])
}

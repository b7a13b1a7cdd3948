package robot

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// skilledTrials calls do for the shipped cases under both rubrics.
func skilledTrials(t *testing.T, seeds uint64, do func(x *trial)) {
	t.Helper()
	l := cases.Builtin()
	for _, track := range []string{"veterinary", "technician"} {
		r, err := file.Builtin(track)
		require.NoError(t, err)
		for _, c := range some(l.Cases()) {
			for seed := range seeds {
				p, err := cases.NewPatient(l, c, cases.SeedOf(seed))
				require.NoError(t, err)
				k, err := p.Key(r)
				require.NoError(t, err)
				do(&trial{name: track + "/" + c.ID, p: p, r: r, k: k})
			}
		}
	}
}

// Whoever has every skill does as well as the ideal student.
func TestAbleIsIdeal(t *testing.T) {
	skilledTrials(t, 2, func(x *trial) {
		rep := x.grade(t, Skilled(x.p, x.k, Able, 1))
		require.GreaterOrEqual(t, rep.Total, rubric.Points(96_000), "%s: %s", x.name, lost(rep))
		require.True(t, rep.Pass, "%s: %s", x.name, lost(rep))
		require.Empty(t, rep.Held)
	})
}

// spills are the domains that a missing skill reaches too, by the rubric's or
// the case's own making: what was not done cannot be found, measured or kept.
var spills = map[string][]string{
	rubric.DomainOrder:        {rubric.DomainHandling}, // looking first is a precaution too
	rubric.DomainCompleteness: {rubric.DomainOrder, rubric.DomainFindings, rubric.DomainVitals, rubric.DomainHandling, rubric.DomainConclusions},
	rubric.DomainFindings:     {rubric.DomainConclusions},                      // a problem needs its signs on the sheet
	rubric.DomainVitals:       {rubric.DomainConclusions},                      // so does one whose sign is a vital
	rubric.DomainHandling:     {rubric.DomainOrder, rubric.DomainCompleteness}, // oxygen, stop and call are steps, and oxygen comes first
}

// A skill that is missing costs its own domain much, and no other domain
// anything that it does not reach by the rubric's making.
func TestOneSkillSpoilsOneDomain(t *testing.T) {
	names := SkillNames()
	const seeds = 1
	mean := func(has Skills) map[string]int {
		sum, n := map[string]int{}, 0
		skilledTrials(t, seeds, func(x *trial) {
			rep := x.grade(t, Skilled(x.p, x.k, has, uint64(n)))
			for _, d := range names {
				sum[d] += share(rep, d)
			}
			n++
		})
		for d := range sum {
			sum[d] /= n
		}
		return sum
	}
	able := mean(Able)
	for i, lacks := range []Skills{
		{0, 1000, 1000, 1000, 1000, 1000}, {1000, 0, 1000, 1000, 1000, 1000}, {1000, 1000, 0, 1000, 1000, 1000},
		{1000, 1000, 1000, 0, 1000, 1000}, {1000, 1000, 1000, 1000, 0, 1000}, {1000, 1000, 1000, 1000, 1000, 0},
	} {
		got := mean(lacks)
		t.Logf("without %s: %v", names[i], got)
		require.Less(t, got[names[i]], able[names[i]]-400, "%s", names[i])
		for _, d := range names {
			reached := d == names[i]
			for _, s := range spills[names[i]] {
				reached = reached || s == d
			}
			if !reached {
				require.InDelta(t, able[d], got[d], 40, "%s without %s", d, names[i])
			}
		}
	}
}

func TestSkillsAreIndependent(t *testing.T) {
	const n = 2500
	columns := make([][]float64, len(SkillNames()))
	for seed := range uint64(n) {
		for i, s := range DrawSkills(seed).List() {
			require.True(t, s >= 0 && s <= 1000)
			columns[i] = append(columns[i], float64(s))
		}
	}
	for i := range columns {
		// Even between 0 and 1000: mean 500, SD 1000/sqrt(12) = 288.7.
		mean, sd := stat.MeanStdDev(columns[i], nil)
		require.InDelta(t, 500, mean, 20)
		require.InDelta(t, 288.7, sd, 8)
		for j := range i {
			require.InDelta(t, 0, stat.Correlation(columns[i], columns[j], nil), .08, "%d with %d", i, j) // 4 / sqrt(n)
		}
		next := columns[i][1:]
		require.InDelta(t, 0, stat.Correlation(columns[i][:n-1], next, nil), .08, "neighbouring seeds")
	}
}

func TestSkilledIsTheSameForTheSameSeed(t *testing.T) {
	skilledTrials(t, 1, func(x *trial) {
		has := DrawSkills(5)
		require.Equal(t, Skilled(x.p, x.k, has, 5), Skilled(x.p, x.k, has, 5))
		require.NotEqual(t, Skilled(x.p, x.k, has, 5), Skilled(x.p, x.k, has, 6))
	})
}

// No robot looks at what was there: it may read percepts, never what an
// outcome hides.
func TestNobodyPeeks(t *testing.T) {
	names, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		f, err := parser.ParseFile(token.NewFileSet(), name, src, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				require.NotContains(t, []string{"Shown", "Events"}, s.Sel.Name, name)
			}
			return true
		})
	}
}

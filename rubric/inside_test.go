package rubric

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The lengths are the textbook ones (Needleman and Wunsch aside, the usual two
// examples of a longest increasing subsequence): 6 of the van der Corput order
// of 16, and 4 of 10 9 2 5 3 7 101 18.
func TestLongestRise(t *testing.T) {
	for _, row := range []struct {
		ranks []int32
		want  int
	}{
		{[]int32{0, 8, 4, 12, 2, 10, 6, 14, 1, 9, 5, 13, 3, 11, 7, 15}, 6},
		{[]int32{10, 9, 2, 5, 3, 7, 101, 18}, 4},
		{nil, 0}, {[]int32{3}, 1}, {[]int32{3, 3, 3}, 3}, {[]int32{3, 2, 1}, 1}, {[]int32{-1, 2, -1, 1, 2}, 2},
	} {
		n, last := 0, int32(-1)
		for i, keep := range longestRise(row.ranks) {
			if keep {
				require.GreaterOrEqual(t, row.ranks[i], last)
				last = row.ranks[i]
				n++
			}
		}
		require.Equal(t, row.want, n, row.ranks)
	}
}

// Two tied orders of one stage a step: 2c - 1 of the route is Kendall's tau.
// Hollander and Wolfe's nine tuna samples, as in R's help of cor.test (from
// memory): T = 26, so 26 pairs concordant, 10 discordant, tau = .4444444.
func TestTheRouteIsKendallsTau(t *testing.T) {
	x := []float64{44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1}
	y := []float64{2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8}
	byX, byY := make([]int, len(x)), make([]int, len(x))
	for i := range x {
		byX[i], byY[i] = i, i
	}
	slices.SortFunc(byX, func(a, b int) int { return sign3(x[a] - x[b]) })
	slices.SortFunc(byY, func(a, b int) int { return sign3(y[a] - y[b]) })
	name := func(i int) string { return string(rune('a' + i)) }
	k := Key{Routes: []Route{{ID: "y"}}}
	for _, i := range byY {
		k.Stages = append(k.Stages, name(i))
		k.Steps = append(k.Steps, Step{ID: name(i), Kind: Examine, Stage: name(i), Required: true, Weight: 1})
		k.Routes[0].Order = append(k.Routes[0].Order, []string{name(i)})
	}
	var list Transcript
	for n, i := range byX {
		list = append(list, Entry{Act: Act{N: n + 1, Kind: Examine, Step: name(i)}})
	}
	g := newRun(&Rubric{}, &k, list)
	g.follow()
	f := newWalkMap(g).best(nil)
	require.Equal(t, 26, f.with)
	require.Equal(t, 10, f.against)
}

func sign3(f float64) int {
	switch {
	case f < 0:
		return -1
	case f > 0:
		return 1
	}
	return 0
}

// Every constant of codes.go stands in the list of codes, once, and is used.
func TestEveryCodeIsListedAndUsed(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	declared, used := map[string]bool{}, map[string]bool{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(tree, func(n ast.Node) bool {
			if id, ok := n.(*ast.Ident); ok && strings.HasPrefix(id.Name, "code") && len(id.Name) > 4 && id.Name[4] >= 'A' && id.Name[4] <= 'Z' {
				if name == "codes.go" {
					declared[id.Name] = true
				} else {
					used[id.Name] = true
				}
			}
			return true
		})
	}
	require.Equal(t, declared, used)
	require.Len(t, codes, len(declared))
	sorted := slices.Clone(codes)
	slices.Sort(sorted)
	require.Len(t, slices.Compact(sorted), len(codes))
}

// The engine imports nothing of ours, and of the standard library nothing that
// knows the time, chance or the outside world.
func TestTheEngineImportsNothingOfOurs(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	allowed := []string{"bufio", "bytes", "cmp", "encoding/json", "errors", "fmt", "io", "log/slog", "slices", "strconv", "strings", "unicode", "unicode/utf8"}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		require.NoError(t, err)
		if name == "detection.go" { // figures for display: TestNoMarkRestsOnTheFiguresForDisplay
			continue
		}
		for _, imp := range tree.Imports {
			require.Contains(t, allowed, strings.Trim(imp.Path.Value, `"`), name)
		}
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		require.NotRegexp(t, `\bfloat(32|64)\b`, string(text), name)
	}
}

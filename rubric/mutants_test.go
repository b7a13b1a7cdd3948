package rubric_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var mutants = flag.Int("mutants", 0, "how many mutants of the domain files to try, spread evenly over all; each is a build and a test run of its own")

// domainFiles hold the arithmetic of a mark.
var domainFiles = []string{"order.go", "completeness.go", "findings.go", "match.go", "negatives.go", "alarms.go", "sides.go", "contradictions.go", "vitals.go", "counting.go", "handling.go", "conclusions.go", "grade.go", "walk.go"}

// swaps flips a comparison or a connective.
var swaps = map[token.Token]token.Token{
	token.LSS: token.GEQ, token.GEQ: token.LSS, token.GTR: token.LEQ, token.LEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
}

// terms are the operators whose right hand side can be dropped.
var terms = []token.Token{token.ADD, token.SUB, token.MUL}

// mutant is one change of one expression.
type mutant struct {
	file, place, change string
	source              []byte
}

// TestMutantsDie changes one comparison or drops one term of the domain files
// at a time and runs the tests over the changed engine. A mutant that lives
// is printed: it is either a hole in the tests or the same program.
func TestMutantsDie(t *testing.T) {
	all := allMutants(t)
	require.Greater(t, len(all), 200, "the domain files have been renamed: no mutant would be tried")
	chosen := spread(all, *mutants)
	lived := 0
	for _, m := range chosen {
		killers := killedBy(t, m)
		verdict := "killed by " + strings.Join(killers, ", ")
		if len(killers) == 0 {
			lived++
			verdict = "LIVES"
		}
		fmt.Printf("%-48s %-24s %s\n", m.place, m.change, verdict)
	}
	fmt.Printf("%d of %d mutants tried, %d killed\n", len(chosen), len(all), len(chosen)-lived)
}

func spread(all []mutant, n int) []mutant {
	if n >= len(all) {
		return all
	}
	var some []mutant
	for i := range n {
		some = append(some, all[i*len(all)/n])
	}
	return some
}

func allMutants(t *testing.T) []mutant {
	t.Helper()
	var all []mutant
	for _, name := range domainFiles {
		if _, err := os.Stat(name); err != nil {
			continue
		}
		fset := token.NewFileSet()
		file, err := parser.ParseFile(fset, name, nil, parser.ParseComments)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			e, ok := n.(*ast.BinaryExpr)
			if !ok {
				return true
			}
			place := fset.Position(e.OpPos).String()
			if to, ok := swaps[e.Op]; ok {
				from := e.Op
				e.Op = to
				all = append(all, mutant{name, place, fmt.Sprintf("%s becomes %s", from, to), render(t, fset, file)})
				e.Op = from
			}
			if slices.Contains(terms, e.Op) && !isText(e) {
				right := e.Y
				e.Y = neutral(e.Op)
				all = append(all, mutant{name, place, fmt.Sprintf("drops the term after %s", e.Op), render(t, fset, file)})
				e.Y = right
			}
			return true
		})
	}
	return all
}

// neutral is what a dropped term leaves behind.
func neutral(op token.Token) ast.Expr {
	if op == token.MUL {
		return &ast.BasicLit{Kind: token.INT, Value: "1"}
	}
	return &ast.BasicLit{Kind: token.INT, Value: "0"}
}

// isText reports whether a sum joins strings.
func isText(e *ast.BinaryExpr) bool {
	text := false
	ast.Inspect(e, func(n ast.Node) bool {
		if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
			text = true
		}
		return !text
	})
	return text
}

func render(t *testing.T, fset *token.FileSet, file *ast.File) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, printer.Fprint(&b, fset, file))
	return b.Bytes()
}

var failed = regexp.MustCompile(`(?m)^--- FAIL: (\w+)`)

// attempts are the test runs that a mutant must survive, from the quickest: the
// laws on few examples, then on all, with the digests, which only say that
// something has changed; then the robots and the goldens.
func attempts(overlay, bin string) [][]string {
	const none = "Mutants|Fuzz|Arrows|Alone|EveryCode|ImportsNothing"
	return [][]string{
		{bin, "-test.failfast", "-test.timeout=60s", "-rapid.checks=15", "-test.skip=" + none + "|SameBytes"},
		{bin, "-test.failfast", "-test.timeout=60s", "-test.skip=" + none + "|SameBytes"},
		{bin, "-test.failfast", "-test.timeout=60s", "-test.run=SameBytes"},
		{"go", "test", "-vet=off", "-timeout=60s", "-overlay", overlay, "-skip", none, "dewclaw/rubric/cohort", "dewclaw/cases/robot", "dewclaw/cmd/dewclaw"},
	}
}

// killedBy builds the tests of the engine over a mutant, once, and runs them,
// then those of other packages, until something fails; it names what failed.
// A mutant that does not build is killed by the compiler.
func killedBy(t *testing.T, m mutant) []string {
	t.Helper()
	dir := t.TempDir()
	changed := filepath.Join(dir, m.file)
	require.NoError(t, os.WriteFile(changed, m.source, 0o600))
	real, err := filepath.Abs(m.file)
	require.NoError(t, err)
	overlay, err := json.Marshal(map[string]any{"Replace": map[string]string{real: changed}})
	require.NoError(t, err)
	list, bin := filepath.Join(dir, "overlay.json"), filepath.Join(dir, "tests")
	require.NoError(t, os.WriteFile(list, overlay, 0o600))
	if _, err := exec.Command("go", "test", "-c", "-vet=off", "-overlay", list, "-o", bin, "dewclaw/rubric").CombinedOutput(); err != nil {
		return []string{"the compiler"}
	}
	for _, run := range attempts(list, bin) {
		out, err := exec.Command(run[0], run[1:]...).CombinedOutput()
		if err == nil {
			continue
		}
		var names []string
		for _, f := range failed.FindAllSubmatch(out, -1) {
			names = append(names, string(f[1]))
		}
		if len(names) == 0 {
			names = []string{"a panic or the time limit"}
		}
		slices.Sort(names)
		return slices.Compact(names)
	}
	return nil
}

package rubric_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var mutants = flag.Int("mutants", 0, "how many mutants of the domain files to try, spread evenly over all; each is a run of the tests")

var at = flag.String("at", "", "only mutants whose place, such as order.go:39:15, matches this expression")

// domainFiles hold the arithmetic of a mark.
var domainFiles = []string{"order.go", "walk.go", "walk_fit.go", "completeness.go", "findings.go", "match.go", "negatives.go", "alarms.go", "vitals.go", "counting.go",
	"handling.go", "conclusions.go", "grade.go", "tally.go"}

// swaps flips a comparison or a connective.
var swaps = map[token.Token]token.Token{
	token.LSS: token.GEQ, token.GEQ: token.LSS, token.GTR: token.LEQ, token.LEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
}

// terms are the operators whose right hand side can be dropped.
var terms = []token.Token{token.ADD, token.SUB, token.MUL}

// mutant is one change of one expression.
type mutant struct {
	id            int
	place, change string
	twin          twin
}

// twin names a mutant wherever its line has moved to.
type twin struct{ file, function, expression, change string }

// alikeFile lists the mutants that were judged to be the same program, and why.
const alikeFile = "../testdata/mutants_alike.csv"

// TestMutantsDie changes one comparison or drops one term of the domain files
// at a time and runs the tests over the changed engine. All mutants are built
// into one program, and MUTANT says which of them is awake. A mutant that lives
// is printed, with the reason where it is known to be the same program; one
// without a reason is a hole in the tests or has not been judged yet.
func TestMutantsDie(t *testing.T) {
	o := newOrchard(t)
	require.Greater(t, len(o.all), 200, "the domain files have been renamed: no mutant would be tried")
	alike := o.alike(t)
	if *mutants == 0 {
		t.Skipf("%d mutants; go test ./rubric -run MutantsDie -mutants %d -v -timeout 12h", len(o.all), len(o.all))
	}
	o.build(t)
	require.Empty(t, o.killers(0), "the tests must pass while no mutant is awake")
	only, err := regexp.Compile(*at)
	require.NoError(t, err)
	chosen := spread(slices.DeleteFunc(slices.Clone(o.all), func(m mutant) bool { return !only.MatchString(m.place) }), *mutants)
	lived, same := 0, 0
	for _, m := range chosen {
		killers := o.killers(m.id)
		why, known := alike[m.twin]
		verdict := "killed by " + strings.Join(killers, ", ")
		switch {
		case len(killers) > 0 && known:
			t.Errorf("%s is not the same program, though %s says so: %s", m.place, alikeFile, verdict)
		case len(killers) > 0:
		case known:
			same++
			verdict = "alike: " + why
		default:
			lived++
			verdict = "LIVES"
		}
		fmt.Printf("%-28s %-28s %s\n", m.place, m.change, verdict)
	}
	fmt.Printf("%d of %d mutants tried, %d killed, %d alike, %d live\n", len(chosen), len(o.all), len(chosen)-same-lived, same, lived)
}

// alike reads why mutants are the same program. Every row must name one mutant:
// a row outlives the expression that it judged otherwise.
func (o *orchard) alike(t *testing.T) map[twin]string {
	t.Helper()
	f, err := os.Open(alikeFile)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"file", "function", "expression", "change", "why"}, rows[0])
	why := map[twin]string{}
	for _, row := range rows[1:] {
		is := twin{row[0], row[1], row[2], row[3]}
		n := 0
		for _, m := range o.all {
			if m.twin == is {
				n++
			}
		}
		require.Equal(t, 1, n, "%s: %v must be one mutant", alikeFile, is)
		require.NotEmpty(t, row[4], "%s: %v needs a reason", alikeFile, is)
		why[is] = row[4]
	}
	return why
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

// orchard holds the files with every mutant asleep in them.
type orchard struct {
	all     []mutant
	files   map[string]string // name: text
	overlay string
	rooms   []string // the programs to run, from the quickest
	fset    *token.FileSet
	info    *types.Info
	src     []byte
	tree    *ast.File // the file being grafted, of which src is the text
}

func newOrchard(t *testing.T) *orchard {
	t.Helper()
	o := &orchard{files: map[string]string{}, fset: token.NewFileSet(), info: &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}}
	names, err := filepath.Glob("*.go")
	require.NoError(t, err)
	var files []*ast.File
	byName := map[string]*ast.File{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(o.fset, name, nil, parser.ParseComments)
		require.NoError(t, err)
		files, byName[name] = append(files, f), f
	}
	conf := types.Config{Importer: importer.ForCompiler(o.fset, "source", nil)}
	_, err = conf.Check("dewclaw/rubric", o.fset, files, o.info)
	require.NoError(t, err)
	for _, name := range domainFiles {
		f := byName[name]
		require.NotNil(t, f, "%s is no file of the engine any more", name)
		o.tree = f
		o.src, err = os.ReadFile(name)
		require.NoError(t, err)
		o.files[name] = o.graft(f, f.FileStart, f.FileEnd)
	}
	return o
}

// graft writes a stretch of a file with all mutants in it.
func (o *orchard) graft(root ast.Node, from, to token.Pos) string {
	var b strings.Builder
	at := from
	ast.Inspect(root, func(n ast.Node) bool {
		e, ok := n.(*ast.BinaryExpr)
		if !ok {
			return true
		}
		kind := o.typeOf(e)
		if kind == "" {
			return true
		}
		b.WriteString(o.text(at, e.Pos()))
		at = e.End()
		b.WriteString(o.branch(e, kind))
		return false
	})
	b.WriteString(o.text(at, to))
	return b.String()
}

func (o *orchard) text(from, to token.Pos) string {
	return string(o.src[o.fset.Position(from).Offset:o.fset.Position(to).Offset])
}

// functionAt is the name of the function around a position; empty outside of any.
func functionAt(f *ast.File, at token.Pos) string {
	for _, d := range f.Decls {
		if fn, ok := d.(*ast.FuncDecl); ok && fn.Pos() <= at && at < fn.End() {
			return fn.Name.Name
		}
	}
	return ""
}

// typeOf is the type of an expression that can be changed; empty where none of
// its changes is tried: a constant, a text, another operator.
func (o *orchard) typeOf(e *ast.BinaryExpr) string {
	tv := o.info.Types[e]
	if tv.Value != nil || tv.Type == nil {
		return ""
	}
	if _, ok := swaps[e.Op]; ok {
		return "bool"
	}
	basic, ok := tv.Type.Underlying().(*types.Basic)
	if !slices.Contains(terms, e.Op) || !ok || basic.Info()&types.IsString != 0 {
		return ""
	}
	return types.TypeString(tv.Type, func(p *types.Package) string {
		if p.Path() == "dewclaw/rubric" {
			return ""
		}
		return p.Name()
	})
}

// branch writes an expression as a choice between its change and itself.
func (o *orchard) branch(e *ast.BinaryExpr, kind string) string {
	p := o.fset.Position(e.OpPos)
	m := mutant{id: len(o.all) + 1, place: fmt.Sprintf("%s:%d:%d", p.Filename, p.Line, p.Column), change: "drops the term after " + e.Op.String()}
	if to, ok := swaps[e.Op]; ok {
		m.change = fmt.Sprintf("%s becomes %s", e.Op, to)
	}
	m.twin = twin{p.Filename, functionAt(o.tree, e.Pos()), o.text(e.Pos(), e.End()), m.change}
	o.all = append(o.all, m)
	x, y := o.graft(e.X, e.X.Pos(), e.X.End()), o.graft(e.Y, e.Y.Pos(), e.Y.End())
	changed := "(" + x + ") - 0"
	if to, ok := swaps[e.Op]; ok {
		changed = "(" + x + ") " + to.String() + " (" + y + ")"
	}
	return fmt.Sprintf("func() %s { if mutantAwake == %d { return %s }; return (%s) %s (%s) }()", kind, m.id, changed, x, e.Op, y)
}

const awake = `package rubric

import (
	"os"
	"strconv"
)

var mutantAwake, _ = strconv.Atoi(os.Getenv("MUTANT"))
`

// build makes the tests of the engine, the robots and the goldens over the
// orchard, once.
func (o *orchard) build(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	replace := map[string]string{}
	o.files["mutant_awake.go"] = awake
	for name, text := range o.files {
		grafted := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(grafted, []byte(text), 0o600))
		real, err := filepath.Abs(name)
		require.NoError(t, err)
		replace[real] = grafted
	}
	list, err := json.Marshal(map[string]any{"Replace": replace})
	require.NoError(t, err)
	o.overlay = filepath.Join(dir, "overlay.json")
	require.NoError(t, os.WriteFile(o.overlay, list, 0o600))
	for _, room := range []string{"rubric", "rubric/normal", "cases/robot", "cmd/dewclaw"} {
		bin := filepath.Join(dir, strings.ReplaceAll(room, "/", "-"))
		out, err := exec.Command("go", "test", "-c", "-vet=off", "-overlay", o.overlay, "-o", bin, "dewclaw/"+room).CombinedOutput()
		require.NoError(t, err, string(out))
		o.rooms = append(o.rooms, bin)
	}
}

// runs are the test runs that a mutant must survive, from the quickest: the laws
// on few examples, then on all; the digests, which only say that something has
// changed; then the ranges, the robots and the goldens.
var runs = []struct {
	room int
	dir  string
	args string
}{
	{0, ".", "-rapid.checks=15 -test.skip=Mutants|Fuzz|Alone|EveryCode|EveryLine|ImportsNothing|SameBytes"},
	{0, ".", "-test.skip=Mutants|Fuzz|Alone|EveryCode|ImportsNothing|SameBytes"},
	{0, ".", "-test.run=SameBytes"},
	{1, "normal", ""},
	{2, "../cases/robot", "-test.skip=SameVisits"},
	{3, "../cmd/dewclaw", "-test.run=Golden"},
}

var failed = regexp.MustCompile(`(?m)^--- FAIL: (\w+)`)

// killers runs the tests with one mutant awake until something fails, and names
// what failed. A mutant may loop and eat: time and memory are bounded.
func (o *orchard) killers(id int) []string {
	for _, r := range runs {
		cmd := exec.Command("sh", "-c", `ulimit -v 6000000; exec "$0" "$@"`, o.rooms[r.room], "-test.failfast", "-test.timeout=90s")
		cmd.Args = append(cmd.Args, strings.Fields(r.args)...)
		cmd.Dir, cmd.Env = r.dir, append(os.Environ(), fmt.Sprintf("MUTANT=%d", id))
		out, err := cmd.CombinedOutput()
		if err == nil {
			continue
		}
		var names []string
		for _, f := range failed.FindAllSubmatch(out, -1) {
			names = append(names, string(f[1]))
		}
		if len(names) == 0 {
			names = []string{"a panic or the time limit"}
			if bytes.Contains(out, []byte("out of memory")) {
				names = []string{"the memory limit"}
			}
		}
		slices.Sort(names)
		return slices.Compact(names)
	}
	return nil
}

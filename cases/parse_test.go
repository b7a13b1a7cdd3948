package cases

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
)

var accept = flag.Bool("accept", false, "write the problems as found into testdata/cases")

const brokenFiles = "../testdata/cases/broken"

// Every broken file in testdata has its problems beside it, as `dewclaw check`
// prints them: what is wrong, where, and what would be right.
func TestBrokenFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(brokenFiles, "*.yaml"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 8)
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			var b strings.Builder
			for _, p := range CheckFile(Builtin(), name, data) {
				if p.File == name { // those of the catalogue that it extends move with that file
					b.WriteString(p.String() + "\n")
				}
			}
			golden := strings.TrimSuffix(file, ".yaml") + ".want"
			if *accept {
				require.NoError(t, os.WriteFile(golden, []byte(b.String()), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			require.Equal(t, string(want), b.String())
		})
	}
}

func TestTooLargeIsSaidNotRead(t *testing.T) {
	data := []byte("case: big\nteaching: " + strings.Repeat("x", MaxCase))
	_, problems := Builtin().ParseCase("big.yaml", data)
	require.Len(t, problems, 1)
	require.Equal(t, "big.yaml:1:1: the file is 65556 bytes long; at most 65536 are read", problems[0].String())
}

// An alias bomb: nine levels of nine would unfold to hundreds of millions of
// nodes. It is refused at its first anchor, unread.
func TestAliasBombIsRefused(t *testing.T) {
	var b strings.Builder
	b.WriteString("case: bomb\na0: &a0 [x, x, x, x, x, x, x, x, x]\n")
	for i := '1'; i <= '9'; i++ {
		last := string(i - 1)
		b.WriteString("a" + string(i) + ": &a" + string(i) + " [" + strings.Repeat("*a"+last+", ", 8) + "*a" + last + "]\n")
	}
	_, problems := Builtin().ParseCase("bomb.yaml", []byte(b.String()))
	var refused bool
	for _, p := range problems {
		refused = refused || strings.HasPrefix(p.Message, "anchor &a0")
	}
	require.True(t, refused)
}

func TestBrokenCaseNeverStopsLoad(t *testing.T) {
	school := fstest.MapFS{
		"cases/bad.yaml":   {Data: []byte("case: bad\nspecies: dgo\n")},
		"cases/notes.txt":  {Data: []byte("not a case")},
		"cases/twice.yaml": {Data: Builtin().Case("tansy").Source},
	}
	l, err := Load(BuiltinFiles(), school)
	require.NoError(t, err)
	require.NotNil(t, l.Case("tansy"))
	require.Len(t, l.Cases(), len(Builtin().Cases()))
	broken := l.Broken()
	require.Len(t, broken, 2)
	require.Equal(t, "cases/bad.yaml", broken[0].Name)
	require.Equal(t, `cases/bad.yaml:2:1: there is no catalogue for the species "dgo"; did you mean "dog"?`, broken[0].Problems[0].String())
	require.Equal(t, "cases/twice.yaml", broken[1].Name)
	require.Contains(t, broken[1].Problems[0].Message, "stands in another file already")
}

// A later file system lies over an earlier one, file by file.
func TestLaterFilesLieOverEarlier(t *testing.T) {
	mine := strings.Replace(string(Builtin().Case("tansy").Source), "name: Tansy", "name: Sorrel", 1)
	l, err := Load(BuiltinFiles(), fstest.MapFS{"cases/tansy.yaml": {Data: []byte(mine)}})
	require.NoError(t, err)
	require.Equal(t, "Sorrel", l.Case("tansy").Signalment.Name)
	require.Empty(t, l.Broken())
	require.NotEqual(t, Builtin().Case("tansy").Hash, l.Case("tansy").Hash)
}

func TestBrokenCatalogueStopsLoad(t *testing.T) {
	_, err := Load(BuiltinFiles(), fstest.MapFS{"catalogue/dog.yaml": {Data: []byte("catalogue: dog\nextends: mamal\n")}})
	var problems ProblemsError
	require.ErrorAs(t, err, &problems)
	require.EqualError(t, err, `catalogue/dog.yaml:2:1: extends: there is no other catalogue "mamal"; did you mean "mammal"?`)
}

// The case in the package comment is a whole one.
func TestExampleOfTheGrammarIsWhole(t *testing.T) {
	doc, err := os.ReadFile("doc.go")
	require.NoError(t, err)
	var b strings.Builder
	inside := false
	for _, line := range strings.Split(string(doc), "\n") {
		text, indented := strings.CutPrefix(line, "//\t")
		inside = indented && (inside || strings.HasPrefix(text, "case: "))
		if inside {
			b.WriteString(text + "\n")
		}
	}
	k, problems := Builtin().ParseCase("doc.yaml", []byte(b.String()))
	require.Empty(t, problems)
	require.Equal(t, "willow", k.ID)
	require.Equal(t, 2192, k.Signalment.AgeDays) // 6 x 365.25, rounded
	require.Equal(t, 18000, k.Signalment.Grams)
}

// Units by definition: the international pound is 453.59237 g.
func TestAgesAndWeights(t *testing.T) {
	for _, row := range []struct {
		age, weight string
		days, grams int
	}{
		{"3 d", "850 g", 3, 850},
		{"10 wk", "5.2 kg", 70, 5200},
		{"5 mo", "12 lb", 152, 5443},
		{"1.5 y", "0.9 kg", 548, 900},
	} {
		_, problems := Builtin().ParseCase("x", []byte("case: x\nsignalment: {age: "+row.age+", weight: "+row.weight+"}\n"))
		for _, p := range problems {
			require.NotContains(t, p.Message, "should be a", row.age)
		}
		k, _ := Builtin().ParseCase("x", []byte("case: x\nsignalment: {age: "+row.age+", weight: "+row.weight+"}\n"))
		require.Equal(t, row.days, k.Signalment.AgeDays, row.age)
		require.Equal(t, row.grams, k.Signalment.Grams, row.weight)
	}
}

// FuzzCheckFile holds that no file makes the reader panic, and that every
// problem has a place inside the file.
func FuzzCheckFile(f *testing.F) {
	files, err := filepath.Glob(filepath.Join(brokenFiles, "*.yaml"))
	require.NoError(f, err)
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(data)
	}
	for _, k := range Builtin().Cases() {
		f.Add(k.Source)
	}
	l := Builtin()
	f.Fuzz(func(t *testing.T, data []byte) {
		lines := strings.Count(string(data), "\n") + strings.Count(string(data), "\r") + strings.Count(string(data), "\u0085") + strings.Count(string(data), "\u2028") + strings.Count(string(data), "\u2029") + 2
		for _, p := range CheckFile(l, "f.yaml", data) {
			require.NotEmpty(t, p.Message)
			if p.File == "f.yaml" {
				require.LessOrEqual(t, p.Line, lines)
			}
			require.Positive(t, p.Line)
			require.Positive(t, p.Col)
		}
	})
}

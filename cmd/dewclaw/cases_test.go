package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/cases/trial"
)

// The table has every case, sorted, in three formats that say the same.
func TestCasesListsTheLibrary(t *testing.T) {
	all := cases.Builtin().Cases()
	code, text, _ := called(t, "cases")
	require.Equal(t, 0, code)
	lines := strings.Split(strings.TrimSpace(text), "\n")
	require.Len(t, lines, len(all)+2)
	require.Equal(t, caseHeads, strings.Fields(lines[0]))
	require.Regexp(t, `^dog +whole animal +routine +1 +routine +practice +memory +tansy +\S`, lines[slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, " tansy ") })])

	code, data, _ := called(t, "cases", "--format", "json")
	require.Equal(t, 0, code)
	var rows []caseRow
	require.NoError(t, json.Unmarshal([]byte(data), &rows))
	require.Len(t, rows, len(all))
	require.True(t, slices.IsSortedFunc(rows, func(a, b caseRow) int { return strings.Compare(a.Species, b.Species) }))

	code, data, _ = called(t, "cases", "--format", "csv")
	require.Equal(t, 0, code)
	records, err := csv.NewReader(strings.NewReader(data)).ReadAll()
	require.NoError(t, err)
	require.Equal(t, caseHeads, records[0])
	for i, r := range rows {
		require.Equal(t, r.cells(), records[i+1])
	}
}

// With robots every case has its scores, the ideal first and those who touch
// nothing last.
func TestCasesWithRobots(t *testing.T) {
	l, err := cases.Load(cases.BuiltinFiles())
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, listCases(alone(t, l, "monty"), casesFlags{Format: "json", Track: "technician", Robots: true, Seeds: 2}, &b))
	var rows []caseRow
	require.NoError(t, json.Unmarshal(b.Bytes(), &rows))
	require.Len(t, rows, 1)
	require.Len(t, rows[0].Robots, len(trial.ScoreNames()))
	require.Greater(t, rows[0].Robots[0].Total, 97.0)
	require.LessOrEqual(t, rows[0].Robots[len(rows[0].Robots)-1].Total, 10.0)

	b.Reset()
	require.NoError(t, listCases(alone(t, l, "monty"), casesFlags{Format: "text", Track: "veterinary", Robots: true, Seeds: 1}, &b))
	require.Contains(t, strings.Split(b.String(), "\n")[0], "ideal  typical 5  typical 4")
}

// alone is a library with one of the cases.
func alone(t *testing.T, l *cases.Library, id string) *cases.Library {
	t.Helper()
	files := fstest.MapFS{"cases/x.yaml": {Data: l.Case(id).Source}}
	return loaded(t, files)
}

// loaded are the built-in catalogues with these cases and no other.
func loaded(t *testing.T, files fstest.MapFS) *cases.Library {
	t.Helper()
	for _, name := range []string{"mammal.yaml", "dog.yaml"} {
		data, err := fs.ReadFile(cases.BuiltinFiles(), "catalogue/"+name)
		require.NoError(t, err)
		files["catalogue/"+name] = &fstest.MapFile{Data: data}
	}
	l, err := cases.Load(files)
	require.NoError(t, err)
	require.Empty(t, l.Broken())
	return l
}

// Text of a case that a spreadsheet would take for a formula is made plain text
// (OWASP, CSV injection); in the other formats it stands as written.
func TestCasesKeepsFormulasOutOfSpreadsheets(t *testing.T) {
	source := strings.Replace(string(cases.Builtin().Case("tansy").Source), "title: Passport visit before a holiday", "title: \"=HYPERLINK(1)\"", 1)
	l := loaded(t, fstest.MapFS{"cases/x.yaml": {Data: []byte(source)}})
	var b bytes.Buffer
	require.NoError(t, listCases(l, casesFlags{Format: "csv"}, &b))
	records, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Equal(t, "'=HYPERLINK(1)", records[1][len(records[1])-1])
	b.Reset()
	require.NoError(t, listCases(l, casesFlags{Format: "json"}, &b))
	require.Contains(t, b.String(), `"title": "=HYPERLINK(1)"`)
	for cell, want := range map[string]string{
		"=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\t=1": "'\t=1", "\r=1": "'\r=1",
		"": "", "5 - 3": "5 - 3", "dog": "dog", "'=1": "'=1", "éclair": "éclair",
	} {
		require.Equal(t, want, plainCell(cell))
	}
}

func TestCasesRefusesWordsThatMakeNoSense(t *testing.T) {
	for _, x := range []struct{ args, want string }{
		{"cases --format xml", `--format is "xml"; right would be text, json or csv`},
		{"cases --robots --seeds 0", "--seeds is 0; right would be 1 to 1000"},
		{"cases dogs", `cases takes no word "dogs"`},
	} {
		code, out, errs := called(t, strings.Fields(x.args)...)
		require.Equal(t, 2, code, x.args)
		require.Empty(t, out)
		require.Contains(t, errs, x.want)
	}
	code, _, errs := called(t, "cases", "--robots", "--track", "nursing")
	require.Equal(t, 1, code)
	require.Contains(t, errs, "no built-in rubric of that id")
}

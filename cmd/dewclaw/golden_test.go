package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// aCase is a patient of the library.
const aCase = "fergus"

var update = flag.Bool("update", false, "accept what the goldens print now")

// TestGoldenGrades grades every folder of testdata/grading through the command
// line: transcript.jsonl is what was done, args the further words of the call,
// want.txt the report that a person has checked by reading.
func TestGoldenGrades(t *testing.T) {
	folders, err := filepath.Glob("../../testdata/grading/*/transcript.jsonl")
	require.NoError(t, err)
	require.NotEmpty(t, folders)
	for _, transcript := range folders {
		dir := filepath.Dir(transcript)
		t.Run(filepath.Base(dir), func(t *testing.T) {
			words, err := os.ReadFile(filepath.Join(dir, "args"))
			require.NoError(t, err)
			args := append([]string{"grade", "--transcript", transcript}, strings.Fields(string(words))...)
			var out, errw bytes.Buffer
			status := run(t.Context(), args, nil, &out, &errw)
			require.Empty(t, errw.String())
			require.Zero(t, status)
			want := filepath.Join(dir, "want.txt")
			if *update {
				require.NoError(t, os.WriteFile(want, out.Bytes(), 0o644))
			}
			expected, err := os.ReadFile(want)
			require.NoError(t, err)
			require.Equal(t, string(expected), out.String())
		})
	}
}

// TestCallsInTheWrongWords holds what the command line says to a bad call, and
// the exit status: 1 the work failed, 2 the words were wrong.
func TestCallsInTheWrongWords(t *testing.T) {
	transcript := filepath.Join(t.TempDir(), "t.jsonl")
	require.NoError(t, os.WriteFile(transcript, []byte(`{"n":1,"kind":"examine","step":"tail.polish"}`+"\n"), 0o644))
	for name, c := range map[string]struct {
		args   []string
		status int
		says   string
	}{
		"no such command":  {[]string{"examine"}, 2, `no command "examine"`},
		"no such flag":     {[]string{"grade", "--cas", "x"}, 2, "dewclaw grade --help"},
		"no files":         {[]string{"grade"}, 2, "--case and --transcript"},
		"a format unknown": {[]string{"grade", "--case", "x", "--transcript", transcript, "--format", "pdf"}, 2, "text or json"},
		"no such case":     {[]string{"grade", "--case", "nowhere.yaml", "--transcript", transcript}, 1, "no case file nowhere.yaml"},
		"no such track":    {[]string{"grade", "--case", aCase, "--transcript", transcript, "--track", "surgeon"}, 1, "surgeon"},
		"no transcript":    {[]string{"grade", "--case", aCase, "--transcript", "nowhere.jsonl"}, 1, "nowhere.jsonl"},
		"an unknown step":  {[]string{"grade", "--case", aCase, "--transcript", transcript}, 1, "tail.polish"},
		"check of nothing": {[]string{"check", "nowhere.yaml"}, 1, "nowhere.yaml"},
	} {
		t.Run(name, func(t *testing.T) {
			var out, errw bytes.Buffer
			require.Equal(t, c.status, run(t.Context(), c.args, nil, &out, &errw), errw.String())
			require.Contains(t, errw.String(), c.says)
		})
	}
}

// TestTheLibraryIsClean is dewclaw check over what is built in.
func TestTheLibraryIsClean(t *testing.T) {
	var out, errw bytes.Buffer
	require.Zero(t, run(t.Context(), []string{"check"}, nil, &out, &errw), out.String()+errw.String())
	require.Contains(t, out.String(), "no problem")
}

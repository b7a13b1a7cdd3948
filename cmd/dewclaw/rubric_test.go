package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/trial"
	"dewclaw/rubric/file"
)

// said runs a call that should succeed and returns what it prints.
func said(t *testing.T, words ...string) string {
	t.Helper()
	var out, errw bytes.Buffer
	require.Zero(t, run(t.Context(), words, nil, &out, &errw), "%v: %s", words, errw.String())
	require.Empty(t, errw.String())
	return out.String()
}

func TestRubricListNamesEveryBuiltIn(t *testing.T) {
	text := said(t, "rubric", "list")
	for _, id := range file.IDs() {
		r, err := file.Builtin(id)
		require.NoError(t, err)
		require.Contains(t, text, id)
		require.Contains(t, text, r.Title)
	}
}

// Show says everything that a rubric holds: every rule with its reason and source,
// every route, and every required step by its label.
func TestRubricShowTellsAll(t *testing.T) {
	for _, id := range file.IDs() {
		r, err := file.Builtin(id)
		require.NoError(t, err)
		text := said(t, "rubric", "show", id)
		for _, rule := range r.Rules {
			require.Contains(t, text, "  "+rule.ID+": ")
			require.Contains(t, text, rule.Why)
			require.Contains(t, text, "Source: "+rule.Source)
		}
		for _, route := range r.Routes {
			require.Contains(t, text, "\n  "+route.ID)
		}
		require.Contains(t, text, "Listen to the heart                                essential (routine, focused)")
		require.Contains(t, text, "Watch from a distance                              essential (routine, focused, triage)")
		require.Contains(t, text, "Give oxygen                                        essential, leaving it out is critical (triage; dog, cat, rabbit)")
		require.Contains(t, text, "look-first: Watch from a distance before any touch")
		require.Contains(t, text, "Free: Take the temperature may come first, or in place, or last.")
		require.Contains(t, text, "A habit: feedback only, no marks.")
		require.Contains(t, text, "at least 0.5 of the points of Findings")
		require.Contains(t, text, "heart 15 s, breathing 30 s")
		require.NotContains(t, text, "heart.auscultate", "labels, not ids")
	}
}

func TestRubricShowReadsAFile(t *testing.T) {
	data, err := file.Source("technician")
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "own.yaml")
	own := strings.Replace(string(data), "title: Whole examination, technician student", "title: Ours", 1)
	require.NoError(t, os.WriteFile(name, []byte(own), 0o600))
	require.True(t, strings.HasPrefix(said(t, "rubric", "show", name), "Ours\n"))
}

func TestRubricWeighPrintsTheTable(t *testing.T) {
	text := said(t, "rubric", "weigh", "--case", "fergus", "--case", "tansy", "--robots", "60")
	for _, want := range []string{
		"60 robots of six independent skills on fergus, tansy, seed 1", "nominal", "effective", "sum", "1.000", "Largest: ", "should be at most 0.30",
		"What each skill (row) moves (column)", "invented vitals", "not judged: nothing is abnormal", "holds",
		"the lead over the reckless", "misses: fergus, random order", "Marked twice",
	} {
		require.Contains(t, text, want)
	}
	require.Equal(t, 2, strings.Count(text, "*")-strings.Count(text, "marked with *"), "the largest pair stands twice in the matrix")
	require.NotContains(t, text, "Too few robots")
	require.Contains(t, said(t, "rubric", "weigh", "--case", "tansy", "--robots", "9"), "Too few robots: 9 are hardly more than chance")
}

func TestRubricWeighAsJSON(t *testing.T) {
	var w trial.Weighing
	require.NoError(t, json.Unmarshal([]byte(said(t, "rubric", "weigh", "--track", "technician", "--case", "monty", "--robots", "40", "--seed", "7", "--format", "json")), &w))
	require.Equal(t, "technician", w.Rubric)
	require.Equal(t, []string{"monty"}, w.Cases)
	require.Equal(t, 40, w.Weights.Reports)
	require.Len(t, w.Weights.Correlation, 6)
	require.NotEmpty(t, w.Bounds)
	sum := 0.0
	for _, d := range w.Weights.Domains {
		sum += d.Effective.Value
	}
	require.InDelta(t, 1, sum, 1e-5, "six decimals are printed")
}

func TestRubricCallsInTheWrongWords(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "broken.yaml")
	require.NoError(t, os.WriteFile(broken, []byte("rubric: x\nweights: {order: ten}\n"), 0o600))
	for _, c := range []struct {
		words  string
		status int
		says   string
	}{
		{"rubric polish", 2, `no command "polish" of rubric`},
		{"rubric list all", 2, "takes no words"},
		{"rubric show", 2, "takes one word"},
		{"rubric show nosuch", 1, "built in are technician, veterinary"},
		{"rubric show veterinary --species unicorn", 2, "right would be one of cat, cattle, dog"},
		{"rubric show " + broken, 1, "broken.yaml:2:"},
		{"rubric weigh --robots 1", 2, "at least 2"},
		{"rubric weigh --format xml", 2, "text or json"},
		{"rubric weigh --case nosuch", 1, "no case file nosuch"},
		{"rubric weigh --rubric nosuch", 1, "no rubric file nosuch"},
		{"rubric weigh --rubric technician --track veterinary", 1, "--track says veterinary"},
		{"rubric weigh --robots many", 2, "robots"},
	} {
		var out, errw bytes.Buffer
		require.Equal(t, c.status, run(t.Context(), strings.Fields(c.words), nil, &out, &errw), c.words)
		require.Contains(t, errw.String(), c.says, c.words)
	}
}

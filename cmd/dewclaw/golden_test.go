package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// aCase is a patient of the library.
const aCase = "fergus"

var update = flag.Bool("update", false, "accept what the goldens print now")

// aGolden is one folder of testdata/grading: transcript.jsonl is what was done,
// args the further words of the call, point what a reader should see, want.txt
// the report that a person has checked by reading.
type aGolden struct{ name, dir string }

func goldens(t *testing.T) []aGolden {
	t.Helper()
	files, err := filepath.Glob("../../testdata/grading/*/transcript.jsonl")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var all []aGolden
	for _, file := range files {
		dir := filepath.Dir(file)
		all = append(all, aGolden{filepath.Base(dir), dir})
	}
	return all
}

// grade runs the command line over the golden.
func (g aGolden) grade(t *testing.T, more ...string) string {
	t.Helper()
	words, err := os.ReadFile(filepath.Join(g.dir, "args"))
	require.NoError(t, err)
	args := append([]string{"grade", "--transcript", filepath.Join(g.dir, "transcript.jsonl")}, strings.Fields(string(words))...)
	var out, errw bytes.Buffer
	status := run(t.Context(), append(args, more...), nil, &out, &errw)
	require.Empty(t, errw.String())
	require.Zero(t, status)
	return out.String()
}

// TestGoldenGrades holds every golden to the report that was checked by reading.
func TestGoldenGrades(t *testing.T) {
	for _, g := range goldens(t) {
		t.Run(g.name, func(t *testing.T) {
			point, err := os.ReadFile(filepath.Join(g.dir, "point"))
			require.NoError(t, err)
			require.NotEmpty(t, strings.TrimSpace(string(point)), "say what a reader should see")
			out, want := g.grade(t), filepath.Join(g.dir, "want.txt")
			if *update {
				require.NoError(t, os.WriteFile(want, []byte(out), 0o644))
			}
			expected, err := os.ReadFile(want)
			require.NoError(t, err)
			require.Equal(t, string(expected), out)
		})
	}
}

// TestGoldensAddUp: the total is the sum of the domains and of all lines, and
// what --format json says is what the text says, line by line.
func TestGoldensAddUp(t *testing.T) {
	for _, g := range goldens(t) {
		t.Run(g.name, func(t *testing.T) {
			var rep rubric.Report
			dec := json.NewDecoder(strings.NewReader(g.grade(t, "--format", "json")))
			dec.DisallowUnknownFields()
			require.NoError(t, dec.Decode(&rep))
			total := rubric.Points(0)
			for _, d := range rep.Domains {
				sum := rubric.Points(0)
				for _, l := range d.Lines {
					sum += l.Points
				}
				require.Equal(t, d.Points, sum, d.ID)
				require.GreaterOrEqual(t, d.Points, rubric.Points(0), d.ID)
				require.LessOrEqual(t, d.Points, d.Max, d.ID)
				total += sum
			}
			require.Equal(t, rep.Total, total)
			require.Equal(t, factsOf(rep), factsIn(t, g.grade(t)))
		})
	}
}

// printed is the form of a line of a report in text.
var printed = regexp.MustCompile(`^ +(-?[0-9.]+) +/ +([0-9.]+) +(\S.*?)((?: \[[0-9, ]+\])?)$`)

// factsIn lists what a report in text says, in order.
func factsIn(t *testing.T, text string) []string {
	t.Helper()
	var facts []string
	for _, line := range strings.Split(text, "\n") {
		if m := printed.FindStringSubmatch(line); m != nil {
			facts = append(facts, strings.Join(m[1:4], "|")+m[4])
		} else if line = strings.TrimSpace(line); line != "" {
			facts = append(facts, line)
		}
	}
	return facts
}

// factsOf lists the same of a report in JSON.
func factsOf(rep rubric.Report) []string {
	verdict := map[bool]string{true: "passed", false: "not passed"}[rep.Pass]
	facts := []string{fmt.Sprintf("Total %s of 100, %s (engine %s)", rep.Total, verdict, rep.Engine)}
	for _, e := range rep.Critical {
		facts = append(facts, "Critical, for a person to confirm: "+e.Why)
	}
	for _, code := range rep.Held {
		facts = append(facts, "Held: "+say.Held(code))
	}
	for _, d := range rep.Domains {
		facts = append(facts, fmt.Sprintf("%s%s %s of %s", strings.ToUpper(d.ID[:1]), d.ID[1:], d.Points, d.Max))
		for _, l := range d.Lines {
			acts := ""
			if len(l.Acts) > 0 {
				acts = " " + strings.ReplaceAll(fmt.Sprint(l.Acts), " ", ", ")
			}
			facts = append(facts, fmt.Sprintf("%s|%s|%s%s", l.Points, l.Max, l.Reason, acts))
		}
	}
	return facts
}

// unsaid is what no tutor would say: ids, marks of a template, raw units, a
// number that does not agree with its noun.
var unsaid = map[string]*regexp.Regexp{
	"an id":                    regexp.MustCompile(`\b[a-z_]+\.[a-z]|[a-z]_[a-z]|handle:`),
	"a template's marks":       regexp.MustCompile(`[{}|@]|%!|<nil>`),
	"spaces":                   regexp.MustCompile(`  | [.,;:]|\t`),
	"odd quotes":               regexp.MustCompile("[\"`´]|“”|““|””|''"),
	"a unit in a file's words": regexp.MustCompile(`degC|degF|\d /`),
	"a bare verdict":           regexp.MustCompile(`(?i)\bincorrect\b|\bfail(ed)? to\b`),
	"one of many":              regexp.MustCompile(`\b1 (pairs|stretches|sites|vitals|returns|problems|times)\b|\b1 of 1 problems\b`),
	"a sentence cut short":     regexp.MustCompile(`\.\.|[^.]$`),
	"brackets in brackets":     regexp.MustCompile(`\([^()]*[a-z] \([^()]*\)\)`),
}

// TestGoldensReadAsSentences lints every reason that the goldens print.
func TestGoldensReadAsSentences(t *testing.T) {
	for _, g := range goldens(t) {
		var rep rubric.Report
		require.NoError(t, json.Unmarshal([]byte(g.grade(t, "--format", "json")), &rep))
		for _, d := range rep.Domains {
			for _, l := range d.Lines {
				for what, bad := range unsaid {
					require.False(t, bad.MatchString(l.Reason), "%s: %s has %s: %s", g.name, l.ID, what, l.Reason)
				}
				require.Regexp(t, `^“?[\p{Lu}\d]`, l.Reason, g.name)
			}
		}
		for _, e := range rep.Critical {
			require.Regexp(t, `^“?\p{Lu}.*\.$`, e.Why, g.name)
		}
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

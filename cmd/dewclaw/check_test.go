package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
)

// called runs the program and returns its exit status and what it wrote.
func called(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

// written puts a case of the library, changed, into a file.
func written(t *testing.T, id string, changes ...string) string {
	t.Helper()
	text := string(cases.Builtin().Case(id).Source)
	for i := 0; i < len(changes); i += 2 {
		require.Contains(t, text, changes[i])
		text = strings.Replace(text, changes[i], changes[i+1], 1)
	}
	name := filepath.Join(t.TempDir(), id+".yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	return name
}

// A case that holds: nothing but the tables and the sum, which are the same for
// the same seeds and hold no time.
func TestCheckSeeds(t *testing.T) {
	name := written(t, "tansy")
	code, out, errs := called(t, "check", "--seeds", "2", name)
	require.Equal(t, 0, code, out+errs)
	require.True(t, strings.HasPrefix(out, "1 checked, no problem\n\nDoes a number give away"), out)
	require.Regexp(t, `\ndog +length of the words +\d+ +0 +- +- +too few that are abnormal to judge: 0 of the 20 places needed\n`, out)
	require.Regexp(t, `\nveterinary +dog +routine +2 +0\.\d+ *\n`, out)
	require.Regexp(t, `\n1 cases, 2 seeds each, 2 rubrics: 4 patients, \d+ visits, of them \d+ along accepted orders; 0 lines of what does not hold\n$`, out)
	_, again, _ := called(t, "check", "--seeds", "2", name)
	require.Equal(t, out, again)
}

// What does not hold is a line each and exit status 1.
func TestCheckSeedsSaysWhatDoesNotHold(t *testing.T) {
	name := written(t, "tansy", "situation: routine", "situation: focused")
	code, out, _ := called(t, "check", "--seeds", "1", name)
	require.Equal(t, 1, code)
	require.Regexp(t, `(?m)^tansy: seed 0: technician, ideal: conclusions/report/body\.condition: got 0 \(report\.missing\); should be \d`, out)
	require.NotContains(t, out, "; 0 lines of what does not hold")
}

// A file with problems is said to have them, and no patient of it is drawn; no
// more of one that is no case.
func TestCheckSeedsPassesOverWhatIsBroken(t *testing.T) {
	broken := written(t, "tansy", "species: dog", "species: rabit")
	code, out, _ := called(t, "check", "--seeds", "1", broken)
	require.Equal(t, 1, code)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Len(t, lines, 2)
	require.Regexp(t, `tansy\.yaml:\d+:1: there is no catalogue for the species "rabit"; did you mean "rabbit"\?$`, lines[0])
	require.Equal(t, broken+": no patient is drawn: it is no case, or has problems", lines[1])
}

func TestCheckRefusesWordsThatMakeNoSense(t *testing.T) {
	for _, x := range []struct{ args, want string }{
		{"check --seeds -1", "--seeds is -1; right would be 0 to 10000"},
		{"check --seeds 10001", "--seeds is 10001; right would be 0 to 10000"},
		{"check --seeds many", "invalid argument"},
		{"check --rules --seeds 3", "goes with no file and no --seeds"},
		{"check --rules x.yaml", "goes with no file and no --seeds"},
	} {
		code, out, errs := called(t, strings.Fields(x.args)...)
		require.Equal(t, 2, code, x.args)
		require.Empty(t, out, x.args)
		require.Contains(t, errs, x.want)
		require.Equal(t, 1, strings.Count(errs, "\n"), errs)
	}
	code, _, errs := called(t, "check", "--seeds", "1", "nowhere.yaml")
	require.Equal(t, 1, code)
	require.Contains(t, errs, "nowhere.yaml")
}

// The table of signs: every row with what, why and whence.
func TestCheckRules(t *testing.T) {
	code, out, _ := called(t, "check", "--rules")
	require.Equal(t, 0, code)
	rows := strings.Split(strings.TrimSpace(out), "\n\n")
	require.Len(t, rows, len(cases.Links()))
	row := regexp.MustCompile(`^[a-z-]+\n  .+\.\n  Why: .+\n  Source: .+$`)
	for _, r := range rows {
		require.Regexp(t, row, r)
	}
	require.Contains(t, out, "thrill-murmur\n  Where heart.thrill is present: heart.murmur is 5 or 6 on that side.\n")
	require.Contains(t, out, "murmur-spread\n  heart.murmur at neighbouring sites: at most 3 grades apart.\n")
	require.Contains(t, out, "brisk-weak\n  Where crt is low: never pulse.quality is weak or absent.\n")
}

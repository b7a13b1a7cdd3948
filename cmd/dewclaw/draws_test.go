package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/cases/trial"
)

// Two formats say the same, and who asks for a case is told why.
func TestDrawsOfACase(t *testing.T) {
	file := filepath.Join(t.TempDir(), "mine.yaml")
	require.NoError(t, os.WriteFile(file, cases.Builtin().Case("monty").Source, 0o600))
	code, text, errs := called(t, "draws", "--case", file, "--track", "veterinary", "--seeds", "3")
	require.Equal(t, 0, code, errs)
	require.Equal(t, "1 of 1: monty, veterinary: not judged\n", errs)
	require.Regexp(t, `(?m)^case +rubric +mean +SD +width +noise +excluded +verdict +explained most by`, text)
	require.Regexp(t, `(?m)^monty +veterinary +\d\d\.\d +\d\.\d\d +\d\.\d\d +\d\.\d\d +0\.0 % +not judged +-`, text)
	require.Contains(t, text, "3 seeds are too few to judge; right would be at least 100.")
	require.Contains(t, text, "for a pass mark of 70.")

	code, data, errs := called(t, "draws", "--case", file, "--track", "veterinary", "--seeds", "3", "--format", "json")
	require.Equal(t, 0, code, errs)
	var rows []trial.Draws
	require.NoError(t, json.Unmarshal([]byte(data), &rows))
	require.Len(t, rows, 1)
	require.Contains(t, text, decimals(rows[0].Mean, 1))
	require.Len(t, rows[0].Levels, 5)
}

// A spread at fault is printed with the field, its values and the reason.
func TestDrawsPrintsWhatIsAtFault(t *testing.T) {
	var b strings.Builder
	require.NoError(t, writeDraws(&b, []trial.Draws{
		{Case: "x", Rubric: "technician", Seeds: 500, Visits: 8, Mean: 70_040, SD: 2_345, SDLow: 2_101, SDHigh: 2_566, Width: 6_789, Noise: 123, Excluded: 251, Pass: 70_000, Skill: 640,
			Verdict: trial.SpreadAtFault, Reasons: []string{"Too wide."}, Levels: []trial.Level{{Skill: 100, Mean: 33_333}},
			Fields: []trial.FieldShare{{Place: "mm.colour", Share: 876, Values: []trial.ValueMean{{From: "grey", To: "grey", Patients: 249, Off: -2_300}, {From: "1", To: "4", Patients: 251, Off: 2_282}}}}},
		{Case: "y", Rubric: "technician", Seeds: 500, Verdict: trial.DrawsAccepted, Reasons: []string{"Not printed."}},
	}, false))
	require.Equal(t, `case  rubric      mean  SD    width  noise  excluded  verdict          explained most by
x     technician  70.0  2.35  6.79   0.12   50.2 %    spread at fault  mm.colour (88 %)
y     technician  0.0   0.00  0.00   0.00   0.0 %     accepted         -

x, technician: spread at fault
  Too wide.
  Mean totals by level of skill, in thousandths: 33.3 at 100. Borderline at 640, for a pass mark of 70.
  500 patients, 8 visits each of the borderline student; by the robots' own chance SD lies between 2.10 and 2.57.
  mm.colour explains 87.6 %; points from the mean (patients) at grey: -2.30 (249), 1..4: 2.28 (251)
`, b.String())
}

func TestDrawsRefusesWordsThatMakeNoSense(t *testing.T) {
	for _, x := range []struct {
		args, want string
		code       int
	}{
		{"draws --format xml", `--format is "xml"; right would be text or json`, 2},
		{"draws --seeds 1", "--seeds is 1; right would be 2 to 2000", 2},
		{"draws --seeds 2001", "--seeds is 2001; right would be 2 to 2000", 2},
		{"draws dogs", `draws takes no word "dogs"`, 2},
		{"draws --case nobody", "the library has no case of that id", 1},
		{"draws --track nursing", "no built-in rubric of that id", 1},
	} {
		code, out, errs := called(t, strings.Fields(x.args)...)
		require.Equal(t, x.code, code, x.args)
		require.Empty(t, out)
		require.Contains(t, errs, x.want)
	}
}

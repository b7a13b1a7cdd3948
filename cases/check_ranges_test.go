package cases

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric/file"
	"dewclaw/rubric/normal"
)

const rangeColumns = "id,species,class,age_from_days,age_to_days,grams_from,grams_to,vital,unit,low,high,grey_low,grey_high,source,confidence\n"

func TestRangesAreCheckedBesideTheCatalogues(t *testing.T) {
	l := Builtin()
	for _, row := range []struct{ text, want string }{
		{"our.dog,dog,adult,113,,0,,body_condition,/9,4,6,4,7,our clinic,derived\n", ""},
		{"our.dog,dog,adult,113,,0,,body_condition,/5,3,3,2.5,3.5,our clinic,derived\n", "r.csv:2:42: the dog is scored of 9 here, not of 5; right would be /9"},
		{"our.otter,otter,adult,113,,0,,body_condition,/5,3,3,2.5,3.5,our clinic,derived\n", ""},
		{"our.dog,dog,adult,113,,0,,heart_rate,/min,160,120,60,140,our clinic,derived\n", "r.csv:2:43: low 160 is above high 120; right would be low at most high"},
	} {
		var lines []string
		for _, p := range CheckFile(l, "r.csv", []byte(rangeColumns+row.text)) {
			lines = append(lines, p.String())
		}
		require.Equal(t, row.want, strings.Join(lines, "\n"), row.text)
	}
}

// A school's case is checked by the school's ranges, and its patient is drawn
// and marked by them; what comes with the program still stands, and is told
// where the school's ranges put it in between.
func TestASchoolsRangesHoldItsCases(t *testing.T) {
	k := Builtin().Case("tansy")
	require.NotNil(t, k)
	own, problems := normal.Overlay("ranges.csv", []byte(rangeColumns+
		"dog.small.heart_rate,dog,small,113,,0,9999,heart_rate,/min,70,80,60,300,our clinic,derived\n"+
		"dog.medium.heart_rate,dog,medium,113,,10000,24999,heart_rate,/min,70,80,60,300,our clinic,derived\n"+
		"dog.large.heart_rate,dog,large,113,,25000,45000,heart_rate,/min,70,80,60,300,our clinic,derived\n"))
	require.Empty(t, problems)
	l, err := LoadBy(own.Table, BuiltinFiles())
	require.NoError(t, err)
	require.Empty(t, l.Broken(), "ours stand by our ranges")
	require.Empty(t, AtOdds(Builtin(), normal.Rows()))
	odds := AtOdds(l, own.Table)
	require.NotEmpty(t, odds)
	require.Contains(t, odds[0].String(), "is neither plainly normal (70..80 for this patient)")

	// one that stands by the school's ranges only
	border := replaceRate(t, string(k.Source), "148..156") // in our grey zone
	border = strings.Replace(border, "case: tansy", "case: border", 1)
	files := fstest.MapFS{"cases/border.yaml": {Data: []byte(border)}}
	plain, err := Load(BuiltinFiles(), files)
	require.NoError(t, err)
	require.Contains(t, brokenNamed(plain, "border"), "is neither plainly normal")
	wide, problems := normal.Overlay("ranges.csv", []byte(rangeColumns+"our.dogs,dog,any,113,,0,,heart_rate,/min,60,160,50,170,our clinic,derived\n"))
	require.Empty(t, problems)
	l, err = LoadBy(wide.Table, BuiltinFiles(), files)
	require.NoError(t, err)
	require.NotContains(t, brokenNamed(l, "border"), "is neither plainly normal")

	p, err := NewPatient(l, l.Case("tansy"), SeedOf(1))
	require.NoError(t, err)
	scheme, err := file.Builtin("veterinary")
	require.NoError(t, err)
	key, err := p.Key(scheme)
	require.NoError(t, err)
	var row string
	for _, v := range key.Vitals {
		if v.Name == "heart_rate" {
			row = v.Row
		}
	}
	require.Equal(t, "our.dogs", row)
}

// replaceRate states a heart rate in place of what the case says.
func replaceRate(t *testing.T, text, rate string) string {
	var out []string
	done := false
	for line := range strings.Lines(text) {
		if strings.HasPrefix(strings.TrimSpace(line), "heart.rate:") {
			line, done = line[:strings.Index(line, "heart.rate:")]+"heart.rate: "+rate+"\n", true
		}
		out = append(out, line)
	}
	require.True(t, done)
	return strings.Join(out, "")
}

func brokenNamed(l *Library, name string) string {
	var out []string
	for _, b := range l.Broken() {
		if strings.Contains(b.Name, name) {
			for _, p := range b.Problems {
				out = append(out, p.String())
			}
		}
	}
	return strings.Join(out, "\n")
}

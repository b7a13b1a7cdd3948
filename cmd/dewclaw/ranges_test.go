package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric/normal"
)

const rangeColumns = "id,species,class,age_from_days,age_to_days,grams_from,grams_to,vital,unit,low,high,grey_low,grey_high,source,confidence\n"

// ownFolder is a data folder with a school's own ranges.
func ownFolder(t *testing.T, rows string) (dir, file string) {
	t.Helper()
	dir = t.TempDir()
	file = filepath.Join(dir, rangesFile)
	require.NoError(t, os.WriteFile(file, []byte(rangeColumns+rows), 0o600))
	return dir, file
}

// A puppy of ten weeks has the puppy's rows, however its age and weight are
// written, and below them what Small Animal Clinical Nutrition, 5th ed., Table
// 16-1, prints for weeks 8 to 12: 165 to 175 beats.
func TestRangesOfAnAnimal(t *testing.T) {
	code, out, errs := called(t, "ranges", "--species", "dog", "--age", "10w", "--weight", "5.2")
	require.Equal(t, 0, code, errs)
	for _, want := range []string{
		"Dog, 10w, 5.2 kg\n",
		"  1  heart rate          120 to 180    100 to 220    /min  puppy (8 to 16 weeks)  dog.puppy.heart_rate\n",
		"  3  rectal temperature  37.8 to 39.2  37.5 to 39.9  °C    puppy (8 to 16 weeks)  dog.puppy.temperature\n",
		"In °F 100.0 to 102.6, grey zone 99.5 to 103.8.",
		"Confidence: read in the source.",
	} {
		require.Contains(t, out, want)
	}
	require.Regexp(t, `(?m)^  heart rate +165 to 175 +/min +puppy, weeks 8 to 12 +read +S12$`, out)
	require.Contains(t, out, "  S12       Small Animal Clinical Nutrition, 5th ed., Table 16-1\n")
	require.True(t, strings.HasSuffix(out, "Ranges vary with laboratory, breed and circumstance. These are for teaching on simulated patients; a live\n"+
		"animal is examined under a licensed veterinarian's direction and local rules.\n"), "%s", out)
	require.NotRegexp(t, `(?m) $`, out)

	_, rows, _ := strings.Cut(out, "\n")
	for _, as := range [][2]string{{"10 wk", "5.2 kg"}, {"70 d", "11 lb"}, {"10 weeks", "5200 g"}} {
		_, same, _ := called(t, "ranges", "--species", "dog", "--age", as[0], "--weight", as[1])
		require.True(t, strings.HasSuffix(same, rows), "%v", as)
	}
	// 11 lb are 4.99 kg: a small adult; 3 mo are 91 days: a puppy
	_, out, _ = called(t, "ranges", "--species", "dog", "--age", "8 y", "--weight", "11 lb")
	require.Contains(t, out, "70 to 140     60 to 160     /min  small dog (over 16 weeks, under 10 kg)  dog.small.heart_rate\n")
	_, out, _ = called(t, "ranges", "--species", "dog", "--age", "3 mo")
	require.Contains(t, out, "dog.puppy.heart_rate")
	require.NotContains(t, out, "dog.small")
}

// Without age and weight all classes are printed; a newborn has no row and says so.
func TestRangesOfASpecies(t *testing.T) {
	_, out, _ := called(t, "ranges", "--species", "dog")
	for _, class := range []string{"small", "medium", "large", "giant", "puppy"} {
		require.Contains(t, out, "dog."+class+".heart_rate\n")
	}
	require.Contains(t, out, "Dog, all ages, all weights\n")
	_, out, _ = called(t, "ranges", "--species", "dog", "--age", "1 d")
	require.Contains(t, out, "No range grades this animal: a reading of it is not called low, normal or high.\n")
	code, out, _ := called(t, "ranges", "--species", "guinea pig")
	require.Equal(t, 0, code)
	require.Contains(t, out, "Guinea pig, all ages")
}

func TestRangesAsJSON(t *testing.T) {
	code, out, _ := called(t, "ranges", "--species", "horse", "--age", "8 y", "--format", "json")
	require.Equal(t, 0, code)
	var got rangeSheet
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.Equal(t, 2922, *got.AgeDays)
	require.Nil(t, got.Grams)
	require.Equal(t, "horse.adult.heart_rate 28 44 24 48 /min", strings.Join([]string{got.Ranges[0].ID, got.Ranges[0].Low, got.Ranges[0].High,
		got.Ranges[0].GreyLow, got.Ranges[0].GreyHigh, got.Ranges[0].Unit}, " "))
	require.NotEmpty(t, got.Published)
	require.Contains(t, got.Caution, "vary with laboratory, breed and circumstance")
	_, out, _ = called(t, "ranges", "--species", "dog", "--age", "1 d", "--format", "json")
	require.Contains(t, out, `"ranges": []`)
}

// The school's own rows lie over ours and are marked; --data alone checks them.
func TestRangesOfASchool(t *testing.T) {
	dir, file := ownFolder(t, "dog.small.heart_rate,dog,small,113,,0,9999,heart_rate,/min,80,84,60,300,our clinic,derived\nour.otter,otter,any,,,,,heart_rate,/min,80,150,70,170,our aquarium,derived\n")
	code, out, errs := called(t, "ranges", "--data", dir, "--species", "dog", "--age", "3 y", "--weight", "5")
	require.Equal(t, 0, code, errs)
	require.Contains(t, out, "  1  heart rate          80 to 84      60 to 300     /min  small dog")
	require.Contains(t, out, "The school's own. Source: our clinic. Confidence: derived.")
	require.Equal(t, 1, strings.Count(out, "The school's own."))
	_, out, _ = called(t, "ranges", "--data", dir, "--species", "otter")
	require.Contains(t, out, "No published figure stands behind this animal.")
	code, out, _ = called(t, "ranges", "--data", dir)
	require.Equal(t, 0, code)
	require.Contains(t, out, "no problem. Rows of ours replaced: 1; rows added: 1.\nBy these ranges built-in patients have a vital sign that is neither plainly normal nor plainly abnormal:\n")
	code, out, _ = called(t, "check", file)
	require.Equal(t, 0, code)
	require.Equal(t, "1 checked, no problem\n", out)
}

// Each mistake is one line that says what would be right; nothing is printed
// that might be taken for an answer.
func TestRangesRefuses(t *testing.T) {
	dir, file := ownFolder(t, "dog.small.heart_rate,dog,small,113,,0,9999,heart_rate,/min,180,140,60,160,,derived\n")
	for _, row := range []struct {
		code int
		args []string
		want string
	}{
		{2, []string{"--species", "otter"}, "dewclaw: --species is \"otter\"; right would be one of alpaca, cat, cattle, "},
		{2, nil, "dewclaw: --species is \"\"; right would be one of "},
		{2, []string{"--species", "dog", "--age", "soon"}, `dewclaw: --age: the age "soon" cannot be read; right would be 5 d, 10 wk, 3 mo or 8 y`},
		{2, []string{"--species", "dog", "--age", "8"}, `dewclaw: --age: the age "8" cannot be read`},
		{2, []string{"--species", "dog", "--weight", "5 st"}, `dewclaw: --weight: the weight "5 st" cannot be read; right would be 5.2 kg, 850 g or 11 lb`},
		{2, []string{"--species", "dog", "--weight", "0"}, `dewclaw: --weight: the weight "0" cannot be read`},
		{2, []string{"--species", "dog", "--weight", "99999999"}, "cannot be read"},
		{2, []string{"--species", "dog", "--format", "xml"}, `dewclaw: --format is "xml"; right would be text or json`},
		{2, []string{"dog"}, "dewclaw: "},
		{1, []string{"--data", t.TempDir(), "--species", "dog"}, "dewclaw: no file "},
	} {
		code, out, errs := called(t, append([]string{"ranges"}, row.args...)...)
		require.Equal(t, row.code, code, "%v", row.args)
		require.Empty(t, out, "%v", row.args)
		require.True(t, strings.Contains(errs, row.want) && strings.Count(errs, "\n") == 1, "%v: %s", row.args, errs)
	}
	for _, args := range [][]string{{"ranges", "--data", dir}, {"ranges", "--data", dir, "--species", "dog"}, {"check", file}} {
		code, out, errs := called(t, args...)
		require.Equal(t, 1, code)
		require.Empty(t, errs)
		require.Equal(t, file+":2:60: low 180 is above high 140; right would be low at most high\n"+
			file+":2:75: the source is left out; say who, where and when: which figure\n", out)
	}
}

// Every row and every source of a species is printed for it, and of no other.
func TestRangesOfEverySpecies(t *testing.T) {
	for _, species := range normal.Rows().Species() {
		code, out, errs := called(t, "ranges", "--species", species)
		require.Equal(t, 0, code, errs)
		for _, r := range normal.Rows() {
			require.Equal(t, r.Species == species, strings.Contains(out, " "+r.ID+"\n"), "%s of %s", r.ID, species)
		}
		flat := strings.Join(strings.Fields(out), " ")
		for _, f := range normal.Published(species, normal.Any, normal.Any) {
			require.Contains(t, flat, f.Source)
		}
		for line := range strings.Lines(out) {
			require.LessOrEqual(t, len([]rune(line)), 141, line)
		}
		_, out, _ = called(t, "ranges", "--species", species, "--format", "json")
		var got rangeSheet
		require.NoError(t, json.Unmarshal([]byte(out), &got))
		require.Len(t, got.Ranges, len(normal.Rows().For(species, normal.Any, normal.Any)))
		require.Len(t, got.Published, len(normal.Published(species, normal.Any, normal.Any)))
	}
}

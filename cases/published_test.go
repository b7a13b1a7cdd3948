package cases

import (
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// A thrill goes with a murmur of 5 or 6 of 6 and with no other: Vet360 issue 1
// volume 3 (grade IV "no thrill", V "with precordial thrill", read there); the
// UK heart screening cardiologists' version (V and VI thrill, read there).
func TestAThrillGoesWithFiveAndSixOnly(t *testing.T) {
	l := Builtin()
	data, err := fs.ReadFile(BuiltinFiles(), "cases/fergus.yaml")
	require.NoError(t, err)
	const murmur, thrill = "heart.murmur: {left apex: 5, left base: 4, right apex: [3, 4]}", "  heart.thrill: {left: present}\n"
	require.Contains(t, string(data), murmur)
	require.Contains(t, string(data), thrill)
	for grade := 1; grade <= 6; grade++ {
		for _, felt := range []bool{true, false} {
			text := strings.Replace(string(data), murmur, "heart.murmur: {left apex: "+strconv.Itoa(grade)+"}", 1)
			if !felt {
				text = strings.Replace(text, thrill, "", 1)
			}
			text = strings.Replace(text, ", heart.thrill@left]", "]", 1) // what the conclusions say of it is not the question here
			c, problems := l.ParseCase("fergus.yaml", []byte(text))
			if c != nil {
				problems = append(problems, CheckCase(l, c)...)
			}
			said := slices.ContainsFunc(problems, func(p Problem) bool {
				return strings.Contains(p.Message, "a thrill goes with") || strings.Contains(p.Message, "is one that can be felt")
			})
			require.Equal(t, felt != (grade >= 5), said, "grade %d, felt %v: %v", grade, felt, problems)
		}
	}
}

// Skin turgor is charted as a category and not in percent: normal, and what the
// AAHA 2024 fluid therapy guidelines, Table 5 (read there) call minimal loss
// (about 5 %), moderate (about 8 %) and marked (over 10 %). One category either
// way is the same finding: estimates of dehydration are that coarse.
func TestTurgorIsGradedByCategory(t *testing.T) {
	c := Builtin().Catalogue("dog")
	fields := c.RubricFields()
	i := slices.IndexFunc(fields, func(f rubric.Field) bool { return f.ID == "skin.turgor" })
	require.GreaterOrEqual(t, i, 0)
	f := fields[i]
	require.Equal(t, []string{"at once", "slight delay", "slow", "stays"}, f.Of, "normal, mild, moderate, severe")
	require.Equal(t, f.Of[:1], f.Normal)
	for truth := 1; truth < len(f.Of); truth++ {
		for charted := range f.Of {
			k := rubric.Key{
				Steps:    []rubric.Step{{ID: "skin.tent", Kind: rubric.Examine, Required: true, Weight: 2, Reveals: []string{f.ID}}},
				Fields:   []rubric.Field{f},
				Findings: []rubric.Finding{{Field: f.ID, Value: f.Of[truth], Steps: []string{"skin.tent"}}},
			}
			rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, rubric.Transcript{
				{Act: rubric.Act{N: 1, Kind: rubric.Examine, Step: "skin.tent"}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: f.ID, Value: f.Of[truth]}}}},
				{Act: rubric.Act{N: 2, Kind: rubric.Record, Field: f.ID, Value: f.Of[charted]}}})
			want := "caught"
			switch {
			case charted == 0:
				want = "normal"
			case charted > truth+1 || charted < truth-1:
				want = "partly"
			}
			require.Equal(t, want, rep.Findings[0].How, "%s charted as %s", f.Of[truth], f.Of[charted])
		}
	}
}

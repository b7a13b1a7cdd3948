package cases

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

func TestSameSeedSamePatient(t *testing.T) {
	for seed := range uint64(50) {
		a, b := smallPatient(t, seed), smallPatient(t, seed)
		require.Equal(t, a.truth, b.truth)
	}
	seen := map[string]bool{}
	for seed := range uint64(200) {
		seen[smallPatient(t, seed).truth.at(rubric.Place{Field: "heart.rate"})] = true
	}
	require.Len(t, seen, 21, "every rate from 88 to 108 is drawn")
}

func TestNewRowShiftsNobody(t *testing.T) {
	for seed := range uint64(50) {
		before := smallPatient(t, seed).truth
		l := smallLibrary()
		c := l.catalogues["dog"]
		c.Fields = append([]Field{{ID: "aaa", Region: "tail", Kind: "choice", Of: []Choice{{ID: "x"}, {ID: "y"}}, Normal: []string{"x", "y"}}}, c.Fields...)
		c.reindex()
		after, err := NewPatient(l, smallCase(), SeedOf(seed))
		require.NoError(t, err)
		for i := range before.form.Places() - 1 { // one place more stands before them
			require.Equal(t, before.values[i], after.truth.values[i+1], i)
		}
	}
}

func TestMurmurFadesWithDistance(t *testing.T) {
	for _, row := range []struct{ peak, apex, base, right string }{
		{"6", "6", "5", "4"}, {"4", "4", "3", "2"}, {"2", "2", "1", "none"}, {"1", "1", "none", "none"}, {"none", "none", "none", "none"},
	} {
		p := smallPatient(t, 1, func(c *Case) {
			c.Truth = []Truth{{Field: "heart.murmur", Site: "left apex", Values: []string{row.peak}}}
		})
		for site, want := range map[string]string{"left apex": row.apex, "left base": row.base, "right apex": row.right} {
			require.Equal(t, want, p.truth.at(rubric.Place{Field: "heart.murmur", Site: site}), "%s at %s", row.peak, site)
		}
	}
}

func TestMirrorSwapsSidesThroughout(t *testing.T) {
	mirrored := func(c *Case) {
		c.Mirror = true
		c.Pain = []Pain{{Region: "hip", Site: "right", Level: 2}}
		c.Hazards = []Hazard{{ID: "h", Step: "hip.move", Site: "right", Severity: "minor", Why: "w", Sign: "s"}}
	}
	sides := map[bool]int{}
	for seed := range uint64(60) {
		p := smallPatient(t, seed, mirrored)
		sides[p.flip]++
		bad, good := "right", "left"
		if p.flip {
			bad, good = good, bad
		}
		require.Equal(t, "short", p.truth.at(rubric.Place{Field: "hip.motion", Site: bad}))
		require.Equal(t, "free", p.truth.at(rubric.Place{Field: "hip.motion", Site: good}))
		require.Equal(t, bad, p.pain[0].Site)
		require.Equal(t, bad, p.hazards[0].Site)
		k, err := p.Key(smallRubric())
		require.NoError(t, err)
		require.Equal(t, []rubric.Place{{Field: "hip.motion", Site: bad}}, k.Expected.Report)
		require.Contains(t, k.Negatives, rubric.Place{Field: "hip.motion", Site: good})
		require.Equal(t, []string{"hip.move@" + bad}, k.Precautions[0].Steps)
		require.Equal(t, []string{"hip.move@" + good}, k.Precautions[0].Among)
	}
	require.Greater(t, sides[true], 15)
	require.Greater(t, sides[false], 15)
}

func TestStepsApplyBySex(t *testing.T) {
	require.False(t, smallPatient(t, 1).Applies("testes.palpate"))
	require.True(t, smallPatient(t, 1, func(c *Case) { c.Signalment.Sex = "male entire" }).Applies("testes.palpate"))
	require.False(t, smallPatient(t, 1).Applies("nothing"))
}

func TestPatientNeedsACatalogue(t *testing.T) {
	_, err := NewPatient(smallLibrary(), smallCase(func(c *Case) { c.Species = "gryphon" }), SeedOf(1))
	require.ErrorContains(t, err, "gryphon")
	_, err = NewPatient(nil, nil, SeedOf(1))
	require.Error(t, err)
	_, err = NewPatient(smallLibrary(), smallCase(func(c *Case) { c.Truth = []Truth{{Field: "wings", Values: []string{"2"}}} }), SeedOf(1))
	require.ErrorContains(t, err, "wings")
}

// Truth, state and seed never reach a log, a format verb or JSON.
func TestHiddenTypesStayHidden(t *testing.T) {
	p := smallPatient(t, 77)
	s := p.start()
	for name, v := range map[string]any{"seed": SeedOf(77), "patient": p, "state": s} {
		for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%d", "%x", "%q"} {
			require.Equal(t, hidden, fmt.Sprintf(verb, v), "%s with %s", name, verb)
		}
		_, err := json.Marshal(v)
		require.ErrorIs(t, err, rubric.ErrHidden, name)
		_, err = json.Marshal(map[string]any{"deep": []any{v}})
		require.ErrorIs(t, err, rubric.ErrHidden, name)
		var log strings.Builder
		slog.New(slog.NewTextHandler(&log, nil)).Info("x", "v", v)
		require.Contains(t, log.String(), hidden, name)
	}
}

func TestSeedsEncode(t *testing.T) {
	s := NewSeed()
	back, err := DecodeSeed(EncodeSeed(s))
	require.NoError(t, err)
	require.Equal(t, s == back, true)
	other := NewSeed()
	require.False(t, s == other)
	_, err = DecodeSeed([]byte{1, 2})
	require.ErrorContains(t, err, "16 bytes")
	require.Equal(t, byte(7), EncodeSeed(SeedOf(7))[15])
}

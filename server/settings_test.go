package server

import (
	"strings"
	"testing"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"github.com/stretchr/testify/require"
)

// A coordinator puts degF and lb first: instruments, sheet, typed line and
// debrief write them so, and what is stored and marked stays as it was.
// 38.6 degC is 101.5 degF; 31 lb are 14.06 kg (1 lb = .45359237 kg).
func TestSchoolSettings(t *testing.T) {
	sc := newSchool(t)
	page := sc.browser("coordinator").get("/settings").is(200)
	require.Contains(t, string(page.body), `name="weight" value="kg" checked`)
	sc.browser("coordinator").post("/settings", "temperature", "degF", "weight", "lb", "technician", "veterinary nurse", "normal", "NAD").is(303)
	require.Contains(t, string(sc.browser("coordinator").get("/settings").body), `name="weight" value="lb" checked`)
	require.Contains(t, string(sc.browser("student").get("/").body), "as veterinary nurse")

	v := sc.browser("student").begin(sc.s.opaque("tansy"))
	weighed := v.do(sentAct{Kind: "examine", Step: "weight.measure"})
	require.Regexp(t, `^\d+(\.\d)? lb \(\d+(\.\d)? kg\)$`, weighed.Act.Percepts[0].Words)
	sc.clock.Pass(time.Minute)
	placed := v.do(sentAct{Kind: "examine", Step: "temperature.measure", Site: "rectal"})
	require.Empty(t, placed.Act.Percepts[0].Words, "it is still rising")
	sc.clock.Pass(30 * time.Second)
	warm := v.do(sentAct{Kind: "lift", Of: placed.Act.N, Seconds: 30})
	require.Equal(t, placed.Act.N, warm.Act.Read.Of)
	require.Regexp(t, `^10\d(\.\d)? °F \(3\d(\.\d)? °C\)$`, warm.Act.Read.Words)
	var line lineAnswer
	v.client.get("/api/v1/catalogue/dog/line?text=wt+31").is(200).into(&line)
	require.Equal(t, "31 lb", line.Acts[0].Value)
	v.client.get("/api/v1/catalogue/dog/line?text=wt+14.1+kg").is(200).into(&line)
	require.Equal(t, "14.1 kg", line.Acts[0].Value)
	v.do(sentAct{Kind: "record", Field: "weight", Value: "31 lb"})
	rep := v.finish()
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if strings.HasPrefix(l.ID, "vitals/weight") {
				require.Contains(t, l.Reason, "lb (")
				require.NotContains(t, l.Reason, "kg (")
			}
		}
	}
	for _, vital := range rep.Vitals {
		if vital.Field == "temperature" {
			require.Regexp(t, `^10\d(\.\d)? °F \(`, vital.Actual)
		}
	}
}

// Only a coordinator may; what is no option is refused and nothing is changed;
// a setting of another version that is no option any more stands at the first.
func TestSettingsAreRefused(t *testing.T) {
	sc := newSchool(t)
	sc.browser("instructor").get("/settings").is(403)
	sc.browser("student").post("/settings", "weight", "lb").is(403)
	got := sc.browser("coordinator").post("/settings", "temperature", "degF", "weight", "stone").is(422)
	require.Contains(t, string(got.body), "Weight: choose one of the list")
	require.Equal(t, "degC", sc.s.school().of("temperature"))
	require.NoError(t, sc.s.store.SetSetting(t.Context(), "weight", "stone"))
	sc.clock.Pass(3 * time.Second)
	require.Equal(t, "kg", sc.s.school().of("weight"))
	require.Empty(t, sc.s.school().of("no setting"))
}

// A figure is written with the unit that it was charted in.
func TestWrittenUnit(t *testing.T) {
	sc := newSchool(t)
	cat, err := sc.s.catalogue("dog")
	require.NoError(t, err)
	for _, row := range []struct{ field, value, want string }{
		{"temperature", "38.6", "38.6 °C"}, {"temperature", "101.5", "101.5 °F"}, {"temperature", "101.5 f", "101.5 f"},
		{"weight", "14.2", "14.2 kg"}, {"weight", "31 lb", "31 lb"}, {"heart.rate", "96", "96 /min"}, {"body.condition", "5", "5 of 9"},
	} {
		require.Equal(t, row.want, shownValue(cat, face.Line{Place: face.Place{Field: row.field}, Value: row.value}), row.value)
	}
	acts := []rubric.Act{{Kind: rubric.Record, Field: "weight", Value: "14.2"}}
	settled{}.plainWeights(sc.s.library.Catalogue("dog"), acts)
	require.Equal(t, "14.2", acts[0].Value)
}

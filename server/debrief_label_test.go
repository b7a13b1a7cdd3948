package server

import (
	"testing"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"

	"github.com/stretchr/testify/require"
)

// No line of a debrief is called by its id: not for a student who does
// everything, nothing, anything or the wrong things, with any patient and scheme.
func TestLinesAreCalledInWords(t *testing.T) {
	t.Parallel()
	lib := cases.Builtin()
	for _, id := range file.IDs() {
		scheme, err := file.Builtin(id)
		require.NoError(t, err)
		for _, c := range lib.Cases() {
			p, err := cases.NewPatient(lib, c, cases.SeedOf(1))
			require.NoError(t, err)
			k, err := p.Key(scheme)
			require.NoError(t, err)
			students := [][]rubric.Act{nil, robot.Ideal(p, k), robot.RoutineNormal(p, k), robot.Reckless(p, k), robot.AllAbnormal(p, k), robot.RandomOrder(p, k, 3)}
			for _, acts := range students {
				played, err := p.Play(acts)
				require.NoError(t, err)
				linesInWords(t, rubric.Grade(scheme, k, played), lib.Catalogue(c.Species))
			}
		}
	}
}

func linesInWords(t *testing.T, rep rubric.Report, cat *cases.Catalogue) {
	t.Helper()
	for _, d := range rep.Domains {
		for _, line := range d.Lines {
			require.NotRegexp(t, `[a-z][./:_][a-z]`, lineLabel(line.ID, cat.Words()), line.ID)
		}
	}
}

func TestLineLabels(t *testing.T) {
	w := cases.Builtin().Catalogue("dog").Words()
	for id, want := range map[string]string{
		"order/route":                              "Route over the animal",
		"order/rule/look-first":                    "Rule: look first",
		"completeness/ask:appetite":                "Ask: " + w.Topic("appetite"),
		"completeness/heart.auscultate":            w.Step("heart.auscultate"),
		"findings/negative/heart.murmur@left apex": "Pertinent negative: " + w.Field("heart.murmur") + ", left apex",
		"vitals/heart.rate":                        w.Field("heart.rate"),
		"vitals/heart.rate/call":                   w.Field("heart.rate") + ": low, normal or high",
		"findings/unreadable/heart.rate":           "Not readable: " + w.Field("heart.rate"),
		"completeness/unknown/heart.auscultate@x":  "Not with this patient: " + w.Step("heart.auscultate") + ", x",
		"handling/hazard/withhold:weight.measure":  "Should have waited: " + w.Step("weight.measure"),
		"handling/hazard/sore hip stretched":       "Hazard: sore hip stretched",
	} {
		require.Equal(t, want, lineLabel(id, w))
	}
}

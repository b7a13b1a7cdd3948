package rubric_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// gasping is a dog that fights for breath: all handling but a look at the gums
// is withheld until it has oxygen.
func gasping(t testing.TB, id string) *world {
	t.Helper()
	w := newWorld(t, id, "triage")
	for i := range w.key.Steps {
		if slices.Contains([]string{"heart.auscultate", "pulse.palpate", "lungs.auscultate"}, w.key.Steps[i].ID) {
			w.key.Steps[i].Required = false
		}
	}
	for i := range w.key.Vitals {
		w.key.Vitals[i].Required = slices.Contains([]string{"resp.rate", "crt"}, w.key.Vitals[i].Field)
	}
	w.abnormal("distance.observe", "look", "", "bad", true)
	w.abnormal("mouth.inspect", "look", "", "bad", true)
	w.abnormal("lungs.auscultate", "look", "left dorsal", "bad", true)
	w.abnormal("lungs.auscultate", "look", "right dorsal", "bad", true)
	w.abnormal("heart.auscultate", "look", "left apex", "bad", true)
	w.vital("resp.rate", "72")
	w.vital("crt", "2.5")
	w.key.Topics = nil
	w.key.Negatives = []rubric.Place{{Field: "mouth.inspect.pain"}}
	w.key.Precautions = []rubric.Precaution{
		{ID: "oxygen before hands-on", Kind: "before", Done: []string{"handle:oxygen"}, Steps: []string{"touch"}},
		{ID: "stop in time", Kind: "done", Done: []string{"handle:stop"}},
	}
	w.key.Expected = rubric.Expected{Urgency: "emergency", Problems: []rubric.Problem{{ID: "respiratory distress", Signs: []rubric.Place{{Field: "distance.observe.look"}, {Field: "resp.rate"}}}},
		Report: []rubric.Place{{Field: "resp.rate"}, {Field: "mouth.inspect.look"}}}
	return w
}

func TestTriageRewardsWhoStopsInTime(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := gasping(t, id)
		var right []rubric.Act
		for _, step := range []string{"distance.observe", "breathing.count", "handle:oxygen", "mouth.inspect", "mouth.refill", "handle:stop", "handle:call"} {
			right = append(right, w.do(step)...)
			if w.step(step).Kind == rubric.Examine {
				right = append(right, w.chart(step)...)
			}
		}
		good := w.grade(append(right, w.conclusion()))
		require.GreaterOrEqual(t, good.Total, rubric.Points(90_000), dump(good))
		require.True(t, good.Pass)
		require.Empty(t, good.Critical)

		var acts []rubric.Act
		for _, step := range []string{"heart.auscultate", "lungs.auscultate", "mouth.inspect", "mouth.refill", "abdomen.palpate", "temperature.measure"} {
			acts = append(append(acts, w.do(step)...), w.chart(step)...)
		}
		list := w.play(append(acts, rubric.Act{Kind: rubric.Conclude, Urgency: "emergency", Problems: []string{"respiratory distress"}}))
		list[4].Outcome.Events = []rubric.Event{{ID: "struggle", Severity: "major", Why: "It fought the stethoscope.", Sign: 1}}
		list[20].Outcome.Events = []rubric.Event{{ID: "arrest", Severity: "critical", Why: "It stopped breathing.", Sign: 4}}
		bad := rubric.Grade(w.r, w.key, list)
		t.Logf("%s: right %s, reckless %s", id, good.Total, bad.Total)
		require.LessOrEqual(t, bad.Total, good.Total-40_000, dump(bad))
		require.False(t, bad.Pass)
		require.Contains(t, bad.Held, rubric.HeldCritical)
		ids := []string{}
		for _, e := range bad.Critical {
			ids = append(ids, e.ID)
		}
		require.Equal(t, []string{"omission/handle:oxygen", "omission/handle:call", "arrest"}, ids)
	}
}

func TestOmissionsAreCriticalInTriageOnly(t *testing.T) {
	w := gasping(t, "veterinary")
	require.Len(t, w.grade(nil).Critical, 2)
	w.key.Situation = "routine"
	require.Empty(t, w.grade(nil).Critical)
}

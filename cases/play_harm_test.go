package cases

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

func hazardous(severity, unless string) func(*Case) {
	return func(c *Case) {
		c.Hazards = []Hazard{{ID: "burst", Step: "abdomen.palpate", Unless: unless, Severity: severity, Why: "It may burst.", Sign: "Draws up the belly as your hand comes."}}
	}
}

func TestCriticalEventOnlyAfterItsSign(t *testing.T) {
	p := smallPatient(t, 1, hazardous("critical", "gentle"))
	tr := play(t, p, examine("abdomen.palpate", "", 5), examine("mouth.refill", "", 5), examine("abdomen.palpate", "", 5), examine("abdomen.palpate", "", 5))
	require.Empty(t, tr[0].Outcome.Events, "the first time it shows the sign")
	require.Contains(t, tr[0].Outcome.Signs, "Draws up the belly as your hand comes.")
	require.Equal(t, []rubric.Event{{ID: "burst", Severity: "critical", Why: "It may burst.", Sign: 1}}, tr[2].Outcome.Events)
	require.Empty(t, tr[3].Outcome.Events, "once a visit")
}

func TestCareMakesAHazardHarmless(t *testing.T) {
	gentle := rubric.Act{Kind: rubric.Examine, Step: "abdomen.palpate", Manner: "gentle"}
	p := smallPatient(t, 1, hazardous("critical", "gentle"))
	require.Empty(t, events(play(t, p, gentle, gentle, gentle)))
	tr := play(t, p, gentle, examine("abdomen.palpate", "", 5))
	require.Equal(t, []string{"burst"}, events(tr), "the gentle hand felt the sign; the other went on")
	p = smallPatient(t, 1, hazardous("major", "oxygen"))
	require.Empty(t, events(play(t, p, handling("oxygen"), gentle)))
	require.Equal(t, []string{"burst"}, events(play(t, p, gentle)), "a major hazard needs no sign")
}

func TestHoldHazardAndWithheldStep(t *testing.T) {
	p := smallPatient(t, 1, func(c *Case) { c.Withhold = []string{"temperature.measure"} })
	tr := play(t, p, handling("hold lateral"), examine("temperature.measure", "rectal", 30), examine("temperature.measure", "ear", 30))
	require.Equal(t, []string{"on its side", "withhold:temperature.measure"}, events(tr))
	require.Equal(t, "major", tr[1].Outcome.Events[0].Severity)
}

func fragile(c *Case) { c.Fragile, c.Situation = "severe", "triage" }

// wear handles the heart until the visit ends, at most 60 times.
func wear(t *testing.T, p *Patient, first ...rubric.Act) (rubric.Transcript, string) {
	t.Helper()
	tr := play(t, p, first...)
	var state []byte
	if len(tr) > 0 {
		state = tr[len(tr)-1].Outcome.State
	}
	for range 60 {
		a := rubric.Act{N: len(tr) + 1, Kind: rubric.Examine, Step: "heart.auscultate", Site: "left apex", Seconds: 30}
		out, err := p.Apply(state, a)
		require.NoError(t, err)
		tr = append(tr, rubric.Entry{Act: a, Outcome: out})
		state = out.State
		if out.Ended != "" {
			return tr, out.Ended
		}
	}
	return tr, ""
}

func TestFragilePatientArrestsOnlyAfterSigns(t *testing.T) {
	p := smallPatient(t, 1, fragile)
	tr, ended := wear(t, p)
	require.Equal(t, "arrest", ended)
	last := tr[len(tr)-1]
	require.Equal(t, "arrest", last.Outcome.Events[0].ID)
	sign := last.Outcome.Events[0].Sign
	require.Positive(t, sign)
	require.Less(t, sign, last.Act.N)
	require.NotEmpty(t, tr[sign-1].Outcome.Signs)
	require.Empty(t, last.Outcome.Percepts)
	_, err := p.Apply(last.Outcome.State, rubric.Act{Kind: rubric.Wait, Seconds: 5})
	require.ErrorIs(t, err, ErrAct)
}

func TestOneLongContactDoesNotKillWithoutASign(t *testing.T) {
	p := smallPatient(t, 1, fragile)
	tr := play(t, p, examine("heart.auscultate", "left apex", 3600))
	require.Empty(t, tr[0].Outcome.Ended)
	require.NotEmpty(t, tr[0].Outcome.Signs)
}

func TestOxygenStoppingAndCallingSave(t *testing.T) {
	p := smallPatient(t, 1, fragile)
	without, _ := wear(t, p)
	with, _ := wear(t, p, handling("oxygen"))
	require.Greater(t, len(with), 2*len(without))
	_, ended := wear(t, p, handling("call"))
	require.Empty(t, ended, "once the veterinarian is there the student is not alone")
	down := play(t, p, examine("heart.auscultate", "left apex", 100), handling("oxygen"), handling("stop"), rubric.Act{Kind: rubric.Wait, Seconds: 300})
	before, err := p.opens(down[0].Outcome.State)
	require.NoError(t, err)
	after, err := p.opens(down[3].Outcome.State)
	require.NoError(t, err)
	require.Greater(t, after.reserve, before.reserve)
}

package cases

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// smallRubric requires most of the small catalogue.
func smallRubric() rubric.Rubric {
	r := rubric.Rubric{
		ID: "small", Track: "veterinary",
		Windows: rubric.Windows{Heart: 15, Breathing: 30, FastBreathing: 15, Irregular: 60, FastAbove: 40},
		Rules: []rubric.RuleRow{
			{Rule: rubric.Rule{ID: "look first", Kind: "before-first", Before: []string{"distance.observe"}, After: []string{"touch"}, Weight: 1, Tag: "safety"}},
			{Where: rubric.Where{Species: []string{"cat"}}, Rule: rubric.Rule{ID: "cats only"}},
		},
		Routes: []rubric.RouteRow{{Route: rubric.Route{ID: "nose to tail", Order: [][]string{{"distance"}, {"head"}, {"chest"}, {"abdomen"}, {"hindlimbs"}, {"rear"}}}}},
	}
	for _, id := range []string{"distance.observe", "breathing.count", "mouth.refill", "heart.auscultate", "abdomen.palpate", "hip.move", "temperature.measure", "testes.palpate", "hoof.palpate"} {
		r.Steps = append(r.Steps, rubric.StepRow{Step: id, Weight: 2})
	}
	triage := rubric.Where{When: []string{"triage"}}
	r.Steps = append(r.Steps, rubric.StepRow{Where: triage, Step: "handle:oxygen", Weight: 3, Critical: true},
		rubric.StepRow{Step: "heart.auscultate", Weight: 3})
	return r
}

func keyOf(t *testing.T, change ...func(*Case)) rubric.Key {
	t.Helper()
	k, err := smallPatient(t, 5, change...).Key(smallRubric())
	require.NoError(t, err)
	return k
}

func stepsOf(k rubric.Key) map[string]rubric.Step {
	out := map[string]rubric.Step{}
	for _, s := range k.Steps {
		out[s.ID] = s
	}
	return out
}

func TestKeyRequiresWhatTheRubricAsks(t *testing.T) {
	k := keyOf(t, func(c *Case) { c.Withhold = []string{"temperature.measure"} })
	s := stepsOf(k)
	require.True(t, s["heart.auscultate"].Required)
	require.Equal(t, rubric.Weight(3), s["heart.auscultate"].Weight, "the heaviest row counts")
	require.Equal(t, "chest", s["heart.auscultate"].Stage)
	require.False(t, s["temperature.measure"].Required, "withheld")
	require.Empty(t, s["temperature.measure"].Sites, "one site of several is enough")
	require.NotContains(t, s, "testes.palpate", "not in a bitch")
	require.NotContains(t, s, "hoof.palpate", "not in a dog")
	require.NotContains(t, s, "handle:oxygen", "no triage")
	require.Len(t, k.Rules, 1)
	triage := stepsOf(keyOf(t, func(c *Case) { c.Situation = "triage" }))
	require.Equal(t, rubric.Step{ID: "handle:oxygen", Kind: rubric.Handle, Required: true, Weight: 3, Critical: true}, triage["handle:oxygen"])
}

func TestKeyFindings(t *testing.T) {
	k := keyOf(t)
	require.Equal(t, []rubric.Finding{
		{Field: "heart.murmur", Site: "left apex", Also: []string{"left base", "right apex"}, Value: "4", Major: true, Steps: []string{"heart.auscultate"}},
		{Field: "hip.motion", Site: "right", Value: "short", Steps: []string{"hip.move"}},
	}, k.Findings)
	require.Equal(t, []rubric.Place{{Field: "bladder.size"}, {Field: "hip.motion", Site: "left"}}, k.Negatives)
	for i := 1; i < len(k.Fields); i++ {
		require.Less(t, k.Fields[i-1].ID, k.Fields[i].ID)
	}
	healthy := keyOf(t, func(c *Case) { c.Truth = nil })
	require.Empty(t, healthy.Findings)
}

func TestNegativeThatTheDrawMadeAbnormalIsNone(t *testing.T) {
	k := keyOf(t, func(c *Case) { c.Negatives = []string{"hip.motion", "heart.murmur", "bladder.size"} })
	require.Equal(t, []rubric.Place{{Field: "hip.motion", Site: "left"}, {Field: "bladder.size"}}, k.Negatives)
}

func TestKeyVitals(t *testing.T) {
	vitals := func(k rubric.Key) map[string]rubric.Vital {
		out := map[string]rubric.Vital{}
		for _, v := range k.Vitals {
			out[v.Name] = v
		}
		return out
	}
	v := vitals(keyOf(t))
	require.Equal(t, 15, v["heart_rate"].Window)
	require.Equal(t, 30, v["resp_rate"].Window)
	require.Zero(t, v["temperature"].Window)
	require.True(t, v["crt"].Required)
	require.True(t, v["crt"].HasRange)
	require.EqualValues(t, 38_500, v["temperature"].Rest)
	require.GreaterOrEqual(t, v["heart_rate"].Rest, rubric.Milli(88_000))
	require.LessOrEqual(t, v["heart_rate"].Rest, rubric.Milli(108_000))
	odd := vitals(keyOf(t, func(c *Case) {
		c.Truth = []Truth{{Field: "heart.rhythm", Values: []string{"irregular"}}, {Field: "resp.rate", Values: []string{"64"}}}
	}))
	require.True(t, odd["heart_rate"].Irregular)
	require.Equal(t, 60, odd["heart_rate"].Window)
	require.Equal(t, 15, odd["resp_rate"].Window)
	sinus := vitals(keyOf(t, func(c *Case) { c.Truth = []Truth{{Field: "heart.rhythm", Values: []string{"sinus arrhythmia"}}} }))
	require.False(t, sinus["heart_rate"].Irregular, "a normal variant")
}

func TestPrecautionsExpand(t *testing.T) {
	k := keyOf(t, func(c *Case) {
		c.Pain = []Pain{{Region: "hip", Site: "right", Level: 2}}
		c.Precautions = []string{"settle first", "painful last"}
	})
	require.Equal(t, []rubric.Precaution{
		{ID: "settle first", Kind: "before", Done: []string{"handle:settle", "wait"}, Steps: []string{"touch"}},
		{ID: "painful last", Kind: "last", Steps: []string{"hip.move@right"}, Among: []string{"hip.move@left"}},
	}, k.Precautions)
	_, err := smallPatient(t, 1, func(c *Case) { c.Precautions = []string{"gloves"} }).Key(smallRubric())
	require.ErrorContains(t, err, "gloves")
	_, err = smallPatient(t, 1).Key(rubric.Rubric{})
	require.Error(t, err)
}

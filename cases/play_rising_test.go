package cases

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// A thermometer that is pulled early reads low, the earlier the lower, and shows
// the patient's own once it has settled (common practice, no source).
func TestThermometerTakesItsTime(t *testing.T) {
	l := Builtin()
	p, err := NewPatient(l, l.Case("biscuit"), SeedOf(4))
	require.NoError(t, err)
	takes := p.cat.Step("temperature.measure").Takes
	require.Positive(t, takes)
	before := 0.0
	for seconds := 0; seconds <= takes+5; seconds += 5 {
		at, err := p.Apply(nil, examine("temperature.measure", "rectal", 0))
		require.NoError(t, err)
		require.Equal(t, []rubric.Percept{{Field: "temperature", Sense: "rising"}}, at.Percepts)
		truth, err := strconv.ParseFloat(at.Shown[0].Value, 64)
		require.NoError(t, err)
		for _, end := range []rubric.Act{{Kind: rubric.Lift, Of: 1, Seconds: seconds}, {Kind: rubric.Ask, Topic: "appetite", Held: seconds}} {
			out, err := p.Apply(at.State, end)
			require.NoError(t, err)
			value, unit, _ := strings.Cut(out.Closed.Reading, " ")
			require.Equal(t, "degC", unit)
			shown, err := strconv.ParseFloat(value, 64)
			require.NoError(t, err)
			switch {
			case seconds >= takes:
				require.Equal(t, truth, shown)
			case seconds <= takes/2:
				require.Less(t, shown, truth-.5)
			}
			require.LessOrEqual(t, shown, truth)
			if end.Kind == rubric.Lift {
				require.GreaterOrEqual(t, shown, before)
				before = shown
			}
		}
	}
	at, err := p.Apply(nil, examine("temperature.measure", "rectal", takes))
	require.NoError(t, err)
	require.Equal(t, rubric.Percept{Field: "temperature", Sense: "reading", Words: at.Shown[0].Value + " degC"}, at.Percepts[0])
	out, err := p.Apply(at.State, rubric.Act{Kind: rubric.Lift, Of: 1})
	require.NoError(t, err)
	require.Empty(t, out.Closed.Reading, "it was read already")
}

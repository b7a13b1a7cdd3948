package rubric_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// Every line that a whole visit's report has with points of its own, but for
// those that sum up, can be struck: it is gone, its domain keeps its maximum, and
// the rest of the report still adds up.
func TestEveryLineCanBeStruck(t *testing.T) {
	sums := []string{"order/route", "order/returns", "conclusions/problems", "conclusions/urgency", "conclusions/frame", "handling/care"}
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		acts := append(w.visit(w.required()), w.conclusion())
		before := w.grade(acts)
		tried := 0
		for _, d := range before.Domains {
			for _, l := range d.Lines {
				if l.Max == 0 {
					continue
				}
				key, err := w.key.Amend(rubric.Amendment{Strike: []string{l.ID}})
				if slices.Contains(sums, l.ID) {
					require.ErrorIs(t, err, rubric.ErrStrike, l.ID)
					continue
				}
				require.NoError(t, err, l.ID)
				tried++
				after := rubric.Grade(w.r, key, w.play(acts))
				require.Equal(t, d.Max, domain(t, after, d.ID).Max, l.ID)
				for _, other := range domain(t, after, d.ID).Lines {
					require.False(t, other.ID == l.ID && other.Max > 0, "%s is still there", l.ID)
				}
				require.Equal(t, sum(after), after.Total, l.ID)
			}
		}
		require.Greater(t, tried, 60)
	}
}

func sum(rep rubric.Report) (total rubric.Points) {
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			total += l.Points
		}
	}
	return total
}

// A line that was missed no longer costs, and one that was right no longer
// earns: the others share the weight.
func TestAStruckLineIsNobodysLoss(t *testing.T) {
	w := sick(t, "veterinary")
	all := w.required()
	visit := append(w.visit(slices.DeleteFunc(slices.Clone(all), func(id string) bool { return id == all[len(all)-1] })), w.conclusion())
	missed := "completeness/" + all[len(all)-1]
	require.Zero(t, line(t, w.grade(visit), missed).Points)
	key, err := w.key.Amend(rubric.Amendment{Strike: []string{missed}})
	require.NoError(t, err)
	after := rubric.Grade(w.r, key, w.play(visit))
	require.Equal(t, domain(t, after, "completeness").Max, domain(t, after, "completeness").Points)
}

func TestAmendLeavesTheKeyAsItWas(t *testing.T) {
	w := sick(t, "technician")
	before, err := rubric.EncodeKey(w.key)
	require.NoError(t, err)
	var lines []string
	for _, d := range w.grade(append(w.visit(w.required()), w.conclusion())).Domains {
		for _, l := range d.Lines {
			if _, err := w.key.Amend(rubric.Amendment{Strike: []string{l.ID}}); err == nil && !strings.HasSuffix(l.ID, "/call") {
				lines = append(lines, l.ID)
			}
		}
	}
	_, err = w.key.Amend(rubric.Amendment{Strike: lines, Urgency: "emergency", Accept: []string{"wound"}})
	require.NoError(t, err)
	after, err := rubric.EncodeKey(w.key)
	require.NoError(t, err)
	require.Equal(t, string(before), string(after))
}

func TestAnotherUrgencyAndAnAcceptedProblem(t *testing.T) {
	w := sick(t, "veterinary")
	acts := append(w.visit(w.required()), w.conclusion())
	acts[len(acts)-1].Urgency = "emergency"
	acts[len(acts)-1].Problems = append(acts[len(acts)-1].Problems, "wound")
	before := w.grade(acts)
	key, err := w.key.Amend(rubric.Amendment{Urgency: "emergency", Accept: []string{"wound"}})
	require.NoError(t, err)
	after := rubric.Grade(w.r, key, w.play(acts))
	for _, id := range []string{"conclusions/urgency", "conclusions/problems"} {
		require.Less(t, line(t, before, id).Points, line(t, after, id).Points, id)
		require.Equal(t, line(t, after, id).Max, line(t, after, id).Points, id)
	}
}

func TestWhatCannotBeStruck(t *testing.T) {
	w := sick(t, "veterinary")
	for _, id := range []string{"", "findings", "findings/no.such", "order/rule/none", "handling/hazard/grip", "weather/rain", "completeness/heart.whistle"} {
		_, err := w.key.Amend(rubric.Amendment{Strike: []string{id}})
		require.ErrorIs(t, err, rubric.ErrStrike, id)
	}
}

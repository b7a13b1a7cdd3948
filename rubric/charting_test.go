package rubric_test

import (
	"slices"
	"testing"

	"dewclaw/rubric"

	"github.com/stretchr/testify/require"
)

// A sheet that is kept act by act is at every act the one that is drawn up of all
// acts so far, whether it took them one by one or several at once.
func TestASheetKeptIsTheSheetDrawnUp(t *testing.T) {
	t.Parallel()
	w := sick(t, "veterinary")
	visit := w.visit(w.required())
	acts := slices.Concat(visit[:len(visit)-1], []rubric.Act{
		{Kind: rubric.Record, Region: "hip", Value: "normal"}, {Kind: rubric.Record, Region: "nowhere", Value: "normal"},
		{Kind: rubric.Record, Field: "hip.move.pain", Site: "right", Value: "2"}, {Kind: rubric.Record, Field: "hip.move.pain", Site: "right"},
		{Kind: rubric.Record, Field: "hip.move.pain", Site: "elsewhere", Value: "1"}, {Kind: rubric.Record, Field: "none", Value: "1"}})
	list := w.play(acts)
	form := rubric.NewForm(w.key.Fields)
	one, three := rubric.NewCharting(form), rubric.NewCharting(form)
	require.Empty(t, one.Lines())
	for n := range len(list) + 1 {
		one.Follow(list[:n])
		same(t, w.key.Fields, list[:n], one)
		if n%3 == 0 {
			three.Follow(list[:n])
			same(t, w.key.Fields, list[:n], three)
		}
	}
	place, ok := one.At(rubric.Place{Field: "hip.move.pain", Site: "left"})
	require.True(t, ok)
	require.True(t, one.Stands(place))
	_, ok = one.At(rubric.Place{Field: "hip.move.pain", Site: "elsewhere"})
	require.False(t, ok, "a line of another site is charted without one")
	_, ok = one.At(rubric.Place{Field: "none"})
	require.False(t, ok)
}

func same(t *testing.T, fields []rubric.Field, list rubric.Transcript, c *rubric.Charting) {
	t.Helper()
	require.Equal(t, rubric.Chart(fields, list), c.Lines())
	for _, region := range []string{"hip", "nowhere"} {
		states, unexamined, each := rubric.Sweep(fields, list, region)
		s, u, e := c.Sweep(region)
		require.Equal(t, [][]rubric.Place{states, unexamined, each}, [][]rubric.Place{s, u, e})
	}
	stands := 0
	for _, f := range fields {
		for _, site := range append([]string{""}, f.Sites...) {
			if place, ok := c.At(rubric.Place{Field: f.ID, Site: site}); ok && c.Stands(place) {
				stands++
			}
		}
	}
	require.Equal(t, len(c.Lines()), stands)
}

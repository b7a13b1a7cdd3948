package normal

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// called is the code of the line for how a value was called. The reading itself
// is right: what is charted is what was there.
func called(t *testing.T, row *Row, kind string, value rubric.Milli, call string) string {
	t.Helper()
	k := rubric.Key{
		Steps:  []rubric.Step{{ID: "step", Kind: rubric.Examine, Required: true, Weight: 1, Measure: true, Reveals: []string{"field"}}},
		Fields: []rubric.Field{{ID: "field", Kind: kind, Vital: row.Vital}},
		Vitals: []rubric.Vital{{Field: "field", Name: row.Vital, Rest: value, HasRange: true, Low: row.Low, High: row.High, GreyLow: row.GreyLow, GreyHigh: row.GreyHigh,
			Steps: []string{"step"}, Required: true, Row: row.ID}},
	}
	r := rubric.Rubric{Weights: rubric.Weights{Vitals: 100}, MarkShare: 500, Windows: rubric.Windows{Heart: 15, Breathing: 30, FastBreathing: 15, FastAbove: 40, Irregular: 60}}
	rep := rubric.Grade(r, k, rubric.Transcript{
		{Act: rubric.Act{N: 1, Kind: rubric.Examine, Step: "step", Seconds: 60}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "field", Value: value.String()}}}},
		{Act: rubric.Act{N: 2, Kind: rubric.Record, Field: "field", Value: value.String(), Interpretation: call}},
	})
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if l.ID == "vitals/field/call" {
				require.Equal(t, l.Points == l.Max, l.Code == "call.right", "%s %s %s", row.ID, value, call)
				return l.Code
			}
		}
	}
	require.Fail(t, "no line for the call", "%s %s", row.ID, value)
	return ""
}

var kinds = map[string]string{"heart_rate": "count", "resp_rate": "count", "temperature": "number", "crt": "time", "body_condition": "score"}

// point is a value of a row and the only call that is right for it.
type point struct {
	where string
	value rubric.Milli
	right string
}

// Every row through Grade: at its edges and just inside only normal is right; just
// outside, where the row has a grey zone, both calls are; at the end of the grey
// zone both still are; beyond it only low, or high. The rows and their sources
// stand in ranges.csv and in TestRows.
func TestEveryRowIsGradedAtItsEdges(t *testing.T) {
	const one = rubric.Milli(1) // the smallest difference that the engine knows
	for _, row := range Rows() {
		kind, ok := kinds[row.Vital]
		require.True(t, ok, row.Vital)
		points := []point{
			{"at the lower edge", row.Low, "normal"}, {"at the upper edge", row.High, "normal"},
			{"beyond the grey zone, low", row.GreyLow - one, "low"}, {"beyond the grey zone, high", row.GreyHigh + one, "high"},
		}
		if row.High > row.Low {
			points = append(points, point{"just inside, low", row.Low + one, "normal"}, point{"just inside, high", row.High - one, "normal"})
		}
		for _, p := range points {
			for _, call := range []string{"low", "normal", "high"} {
				got := called(t, &row, kind, p.value, call)
				require.Equal(t, call == p.right, got == "call.right", "%s %s (%s) called %s: %s", row.ID, p.where, p.value, call, got)
			}
		}
		if row.GreyLow < row.Low {
			requireGrey(t, &row, kind, "low", "high", row.Low-one, (row.Low+row.GreyLow)/2, row.GreyLow)
		}
		if row.GreyHigh > row.High {
			requireGrey(t, &row, kind, "high", "low", row.High+one, (row.High+row.GreyHigh)/2, row.GreyHigh)
		}
		if testing.Verbose() {
			fmt.Printf("%-26s normal %s to %s, either call %s to %s %s, graded at every edge | %s\n", row.ID, row.Low, row.High, row.GreyLow, row.GreyHigh, row.Unit, row.Source)
		}
	}
}

// requireGrey holds that normal and the near side are right, and the far side is not.
func requireGrey(t *testing.T, row *Row, kind, near, far string, values ...rubric.Milli) {
	t.Helper()
	for _, v := range values {
		require.Equal(t, "call.right", called(t, row, kind, v, "normal"), "%s %s", row.ID, v)
		require.Equal(t, "call.right", called(t, row, kind, v, near), "%s %s", row.ID, v)
		require.NotEqual(t, "call.right", called(t, row, kind, v, far), "%s %s", row.ID, v)
	}
}

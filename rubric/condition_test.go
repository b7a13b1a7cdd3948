package rubric

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A body condition score on five points is read with its own scale and earns
// its mark within half a point, one on nine points within one
// (common practice, no source; the formula is that of every vital).
func TestBodyConditionOnTwoScales(t *testing.T) {
	nine := Field{ID: "body.condition", Kind: "score", Vital: "body_condition"}
	five := nine
	five.Scale = 5
	for _, c := range []struct {
		field Field
		text  string
		want  Milli
		ok    bool
	}{
		{nine, "4/9", 4000, true}, {nine, "4 of 9", 4000, true}, {nine, "4", 4000, true}, {nine, "3/5", 0, false},
		{five, "2.5/5", 2500, true}, {five, "2.5 of 5", 2500, true}, {five, "4/9", 0, false},
	} {
		got, err := c.field.Read(c.text)
		require.Equal(t, c.ok, err == nil, c.text)
		if c.ok {
			require.Equal(t, c.want, got.Number, c.text)
		}
	}
	for _, c := range []struct {
		fields []Field
		want   Milli
	}{{[]Field{nine}, 1000}, {[]Field{five}, 500}} {
		s := sign{v: &Vital{Name: "body_condition"}, truth: 3000, known: true}
		require.Equal(t, c.want, s.tolerance(c.fields))
	}
}

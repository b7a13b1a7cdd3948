package rubric_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"dewclaw/rubric"
)

// FuzzAnyKey grades any transcript by any key and any rubric, sense or nonsense:
// the bytes are the choices of the generators.
func FuzzAnyKey(f *testing.F) {
	w := sick(f, "veterinary")
	for _, seed := range []string{"", "\x00", "\xff\xff\xff\xff\xff\xff\xff\xff", "heart.rate at the left apex, 104 over 15 s"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) {
		r, k, list := anyRubric(t, w.r), anyKey(t), anyTranscript(t, 12)
		rep := rubric.Grade(r, k, list)
		requireSound(t, rep)
		once, err := rubric.EncodeReport(rep)
		require.NoError(t, err)
		again, err := rubric.EncodeReport(rubric.Grade(r, k, list))
		require.NoError(t, err)
		require.Equal(t, once, again)
	}))
}

// FuzzReadValue reads any text for a field of every kind: it is read or refused,
// a figure is never below zero, and what is read reads the same when written out.
func FuzzReadValue(f *testing.F) {
	for _, s := range []string{"104", "38,5", "38.5 °C", "101.3 F", "<2", "> 2 s", "1-2", "24x4", "24 x 4", "52.9 lb", "3/6", "III/VI", "normal", "not examined", "NORMAL", " ", "-1", "1e309", "١٢", "0x10", "9223372036854775807", "99999999999999999999", "1,000.5", "5/9", "12 mm", "\x00", "<0", ">9999999999"} {
		f.Add(s)
	}
	fields := []rubric.Field{
		{ID: "a", Kind: "count", Vital: "heart_rate"}, {ID: "b", Kind: "number", Vital: "temperature"}, {ID: "c", Kind: "number", Vital: "weight"}, {ID: "d", Kind: "time", Vital: "crt"},
		{ID: "e", Kind: "score", Vital: "body_condition"}, {ID: "f", Kind: "number", Ranged: true, NormalHigh: 2000}, {ID: "g", Kind: "choice", Of: []string{"usual", "odd"}, Normal: []string{"usual"}},
		{ID: "h", Kind: "grade", Of: []string{"none", "1", "2", "6"}, Normal: []string{"none"}, Tolerance: 1}, {ID: "i", Kind: "dance"},
	}
	f.Fuzz(func(t *testing.T, text string) {
		for i := range fields {
			field := &fields[i]
			rd, err := field.Read(text)
			if err != nil {
				require.ErrorIs(t, err, rubric.ErrValue)
				require.Equal(t, rubric.Unreadable, rd.Class)
				continue
			}
			require.GreaterOrEqual(t, rd.Number, rubric.Milli(0), "%s %q", field.ID, text)
			require.GreaterOrEqual(t, rd.Choice, int32(-1))
			require.Less(t, int(rd.Choice), max(1, len(field.Of)))
			// A bare temperature above 60 is taken as Fahrenheit, so that a higher
			// one in Celsius does not read back.
			if rd.Class == rubric.Figure && (field.Vital != "temperature" || rd.Number <= 60_000) {
				back, err := field.Read(rd.Number.String())
				require.NoError(t, err, "%s %q", field.ID, text)
				require.Equal(t, rd.Number, back.Number, "%s %q", field.ID, text)
			}
		}
	})
}

package rubric_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"dewclaw/rubric"
)

func TestParseMilli(t *testing.T) {
	for text, want := range map[string]rubric.Milli{"38.5": 38500, "38,5": 38500, "0": 0, "-1.25": -1250, "007": 7000, "1.0005": 1001, "1.0004": 1000,
		"999999999": 999999999000, "0.999999999": 1000} {
		got, err := rubric.ParseMilli(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", ".", "1.", ".5", "1e3", "1e309", "NaN", "Inf", "+1", "--1", " 1", "1 ", "1.2.3", "1,2,3", "1_000", "0x10", "１２", "٣", "9999999999", "1.0000000001", "½"} {
		_, err := rubric.ParseMilli(text)
		require.ErrorIs(t, err, rubric.ErrNumber, text)
	}
}

func TestMilliReadsBackAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rubric.Milli(rapid.Int64Range(-999_999_999_999, 999_999_999_999).Draw(t, "m"))
		back, err := rubric.ParseMilli(m.String())
		require.NoError(t, err)
		require.Equal(t, m, back)
	})
}

func TestPointsAreDecimalNumbersInJSON(t *testing.T) {
	for p, want := range map[rubric.Points]string{87250: "87.25", 9100: "9.1", 500: "0.5", 0: "0", -1250: "-1.25", 100000: "100", -5: "-0.005"} {
		b, err := p.MarshalJSON()
		require.NoError(t, err)
		require.Equal(t, want, string(b))
		var back rubric.Points
		require.NoError(t, back.UnmarshalJSON(b))
		require.Equal(t, p, back)
	}
}

// Conversions: 38.5 degC = 101.3 degF; 1 lb = 0.45359237 kg (international
// pound, exact by definition).
func TestReadValue(t *testing.T) {
	temp := rubric.Field{ID: "temperature", Kind: "number", Vital: "temperature"}
	weight := rubric.Field{ID: "weight", Kind: "number", Vital: "weight"}
	heart := rubric.Field{ID: "heart.rate", Kind: "count", Vital: "heart_rate"}
	crt := rubric.Field{ID: "crt", Kind: "time", Vital: "crt"}
	bcs := rubric.Field{ID: "body.condition", Kind: "score", Vital: "body_condition"}
	node := rubric.Field{ID: "node", Kind: "number", Ranged: true, NormalLow: 0, NormalHigh: 10000}
	for _, row := range []struct {
		f    rubric.Field
		text string
		want rubric.Milli
	}{
		{temp, "38.5", 38500}, {temp, "38,5 °C", 38500}, {temp, " 38.5C ", 38500}, {temp, "38.5 degC", 38500}, {temp, "101.3 F", 38500}, {temp, "101.3 degF", 38500}, {temp, "101.3", 38500}, {temp, "104 °F", 40000},
		{weight, "24 kg", 24000}, {weight, "24", 24000}, {weight, "24,5 kg", 24500}, {weight, "350 g", 350}, {weight, "10 lb", 4536}, {weight, "100 lbs", 45359},
		{heart, "96", 96000}, {heart, "96/min", 96000}, {heart, "96 bpm", 96000}, {heart, "24x4", 96000}, {heart, "24 x 4", 96000},
		{crt, "1.5", 1500}, {crt, "1,5 s", 1500}, {crt, "<2", 1500}, {crt, "< 2 s", 1500}, {crt, "<=2", 1500}, {crt, "1-2", 1500}, {crt, "1-2 s", 1500}, {crt, ">2", 3000}, {crt, ">3 sec", 3000}, {crt, "<1", 500},
		{bcs, "5", 5000}, {bcs, "5/9", 5000}, {bcs, "6 of 9", 6000}, {bcs, "4.5", 4500},
		{node, "8 mm", 800}, {node, "2 cm", 2000},
	} {
		rd, err := row.f.Read(row.text)
		require.NoError(t, err, row.text)
		require.Equal(t, row.want, rd.Number, row.text)
	}
	for _, row := range []struct {
		f    rubric.Field
		text string
	}{
		{temp, "hot"}, {temp, "NaN"}, {temp, "1e309"}, {temp, "３８"}, {temp, "38.5 K"}, {temp, "-2"}, {temp, "38.5 38.6"}, {weight, "24 stone"}, {heart, "fast"}, {heart, "24x"}, {heart, "x4"}, {heart, "24x4x2"},
		{heart, "99999999999999999999"}, {crt, "<"}, {crt, "<0"}, {crt, ">1"}, {crt, "1-3"}, {crt, "2-1"}, {crt, "-1"}, {bcs, "5/8"}, {bcs, "fat"},
	} {
		rd, err := row.f.Read(row.text)
		require.ErrorIs(t, err, rubric.ErrValue, row.text)
		require.Equal(t, rubric.Unreadable, rd.Class)
	}
	for text, class := range map[string]rubric.Class{"": rubric.Blank, "  ": rubric.Blank, "not examined": rubric.Unexamined, "Not Examined": rubric.Unexamined, "5": rubric.Normal, "12": rubric.Abnormal, "normal": rubric.Normal} {
		rd, err := node.Read(text)
		require.NoError(t, err)
		require.Equal(t, class, rd.Class, text)
	}
}

func TestReadChoice(t *testing.T) {
	colour := rubric.Field{ID: "mm.colour", Kind: "choice", Of: []string{"pink", "pale pink", "white"}, Normal: []string{"pink"}, Variants: []string{"pale pink"}}
	murmur := rubric.Field{ID: "heart.murmur", Kind: "grade", Of: []string{"none", "1", "2", "3", "4", "5", "6"}, Normal: []string{"none"}}
	for _, row := range []struct {
		f     rubric.Field
		text  string
		class rubric.Class
		index int32
	}{
		{colour, "pink", rubric.Normal, 0}, {colour, "Pink", rubric.Normal, 0}, {colour, "normal", rubric.Normal, -1}, {colour, "pale pink", rubric.Variant, 1}, {colour, "white", rubric.Abnormal, 2},
		{murmur, "3", rubric.Abnormal, 3}, {murmur, "3/6", rubric.Abnormal, 3}, {murmur, "none", rubric.Normal, 0},
	} {
		rd, err := row.f.Read(row.text)
		require.NoError(t, err, row.text)
		require.Equal(t, row.class, rd.Class, row.text)
		require.Equal(t, row.index, rd.Choice, row.text)
	}
	_, err := colour.Read("blue")
	require.ErrorContains(t, err, "write one of pink, pale pink, white")
}

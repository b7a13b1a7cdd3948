package rubric_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// The window for the heart is 15 s, so a count may be off by 60/15 = 4 or by
// 5 % of the truth, whichever is more: 5 at 100, half the mark at 7.5, none at 10.
func TestVitals(t *testing.T) {
	rows := []struct {
		name, field, truth, charted, call string
		mark, callPart                    int64 // thousandths
		code, callCode                    string
	}{
		{"right", "heart.rate", "100", "100", "normal", 1000, 1000, "reading.right", "call.right"},
		{"at the tolerance", "heart.rate", "100", "105", "normal", 1000, 1000, "reading.right", "call.right"},
		{"half way to twice the tolerance", "heart.rate", "100", "107.5", "normal", 500, 1000, "reading.near", "call.right"},
		{"twice the tolerance", "heart.rate", "100", "110", "normal", 0, 1000, "reading.wrong", "call.right"},
		{"the size of one beat counts at a slow heart", "heart.rate", "60", "64", "normal", 1000, 1000, "reading.right", "call.right"},
		{"error carried forward", "heart.rate", "116", "125", "high", 448, 500, "reading.near", "call.carried"},
		{"far over, called high", "heart.rate", "168", "168", "high", 1000, 1000, "reading.right", "call.right"},
		{"far over, called normal", "heart.rate", "168", "168", "normal", 1000, 0, "reading.right", "call.contrary"},
		{"right call against the own figure", "heart.rate", "168", "100", "high", 0, 250, "reading.wrong", "call.against"},
		{"no call", "heart.rate", "168", "168", "", 1000, 0, "reading.right", "call.missing"},
		{"breath counts use 30 s", "resp.rate", "24", "26", "normal", 1000, 1000, "reading.right", "call.right"},
		{"15 s above 40 a minute", "resp.rate", "60", "64", "high", 1000, 1000, "reading.right", "call.right"},
		{"temperature within .2", "temperature", "38.5", "38.7", "normal", 1000, 1000, "reading.right", "call.right"},
		{"temperature at .3", "temperature", "38.5", "38,8", "normal", 500, 1000, "reading.near", "call.right"},
		{"in Fahrenheit", "temperature", "38.5", "101.3 F", "normal", 1000, 1000, "reading.right", "call.right"},
		{"refill by class", "crt", "1.1", "1.9", "normal", 1000, 1000, "reading.right", "call.right"},
		{"refill in the short form", "crt", "1.1", "<2", "normal", 1000, 1000, "reading.right", "call.right"},
		{"refill of another class", "crt", "1.9", "2.1", "high", 0, 0, "reading.wrong", "call.wrong"},
		{"brisk refill", "crt", "0.7", "<1", "low", 1000, 1000, "reading.right", "call.right"},
		{"body condition one point off", "body.condition", "5", "6/9", "normal", 1000, 250, "reading.right", "call.against"},
		{"body condition carried forward", "body.condition", "5", "6", "high", 1000, 500, "reading.right", "call.carried"},
		{"weight within 2 %", "weight", "24", "24.48", "", 1000, -1, "reading.right", ""},
		{"weight in pounds", "weight", "24", "52.9 lb", "", 1000, -1, "reading.right", ""},
		{"weight 3 % off", "weight", "24", "24.72", "", 500, -1, "reading.near", ""},
		{"unreadable", "temperature", "38.5", "hot", "normal", 0, -1, "reading.unreadable", ""},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			w := newWorld(t, "veterinary", "routine")
			w.vital(row.field, row.truth)
			rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
				if a.Field == row.field {
					a.Value, a.Interpretation = row.charted, row.call
				}
				return []rubric.Act{a}
			}))
			l := line(t, rep, "vitals/"+row.field)
			require.Equal(t, row.code, l.Code)
			require.InDelta(t, int64(l.Max)*row.mark/1000, int64(l.Points), 2, dump(rep))
			if row.callPart >= 0 {
				c := line(t, rep, "vitals/"+row.field+"/call")
				require.Equal(t, row.callCode, c.Code)
				require.InDelta(t, int64(c.Max)*row.callPart/1000, int64(c.Points), 2)
			}
		})
	}
}

// 116 is normal (70 to 120, grey to 150). A reading of 155 is far off and high
// by itself: no mark is carried forward from a reading that earned none.
func TestNothingIsCarriedForwardFromAWorthlessReading(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	w.vital("heart.rate", "116")
	rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
		if a.Field == "heart.rate" {
			a.Value, a.Interpretation = "155", "high"
		}
		return []rubric.Act{a}
	}))
	require.Equal(t, "call.wrong", line(t, rep, "vitals/heart.rate/call").Code)
}

func TestHandlingThatMovesAVitalOverTheLimitIsNoError(t *testing.T) {
	for _, call := range []string{"normal", "high"} {
		w := newWorld(t, "veterinary", "routine")
		w.truth[rubric.Place{Field: "heart.rate"}] = "160" // at rest it is 96
		rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
			if a.Field == "heart.rate" {
				a.Interpretation = call
			}
			return []rubric.Act{a}
		}))
		require.Equal(t, "call.right", line(t, rep, "vitals/heart.rate/call").Code, call)
	}
	w := newWorld(t, "veterinary", "routine")
	w.vital("heart.rate", "160") // at rest too: only high is right
	rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
		if a.Field == "heart.rate" {
			a.Interpretation = "normal"
		}
		return []rubric.Act{a}
	}))
	require.Equal(t, "call.contrary", line(t, rep, "vitals/heart.rate/call").Code)
}

// In the grey zone either call is right.
func TestGreyZone(t *testing.T) {
	for call, want := range map[string]string{"normal": "call.right", "high": "call.right", "low": "call.contrary"} {
		w := newWorld(t, "veterinary", "routine")
		w.vital("heart.rate", "140")
		rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
			if a.Field == "heart.rate" {
				a.Interpretation = call
			}
			return []rubric.Act{a}
		}))
		require.Equal(t, want, line(t, rep, "vitals/heart.rate/call").Code, call)
	}
}

func TestAShortContactCapsTheReading(t *testing.T) {
	for _, row := range []struct {
		seconds   []int // at the left apex
		irregular bool
		code      string
	}{
		{[]int{15}, false, "reading.right"}, {[]int{14}, false, "reading.short"}, {[]int{8, 7}, false, "reading.right"},
		{[]int{15}, true, "reading.short"}, {[]int{30, 30}, true, "reading.right"},
	} {
		w := newWorld(t, "veterinary", "routine")
		for i := range w.key.Vitals {
			w.key.Vitals[i].Irregular = row.irregular && w.key.Vitals[i].Field == "heart.rate"
		}
		var acts []rubric.Act
		for _, s := range row.seconds {
			acts = append(acts, rubric.Act{Kind: rubric.Examine, Step: "heart.auscultate", Site: "left apex", Seconds: s})
		}
		// Other sites do not add up with it.
		acts = append(acts, rubric.Act{Kind: rubric.Examine, Step: "heart.auscultate", Site: "left base", Seconds: 5})
		acts = append(acts, rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "96", Over: 60, Interpretation: "normal"})
		l := line(t, w.grade(acts), "vitals/heart.rate")
		require.Equal(t, row.code, l.Code, row)
		if row.code == "reading.short" {
			require.Equal(t, l.Max/2, l.Points)
		}
	}
}

// The seconds of a contact that the server closed count like those of the act,
// also when the record itself closes it.
func TestClosedContactsCount(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	list := w.play([]rubric.Act{{Kind: rubric.Examine, Step: "heart.auscultate", Site: "left apex"}, {Kind: rubric.Record, Field: "heart.rate", Value: "96", Interpretation: "normal"}})
	require.Equal(t, "reading.short", line(t, rubric.Grade(w.r, w.key, list), "vitals/heart.rate").Code)
	list[1].Outcome.Closed = &rubric.Contact{Of: 1, Seconds: 15}
	rep := rubric.Grade(w.r, w.key, list)
	require.Equal(t, "reading.right", line(t, rep, "vitals/heart.rate").Code)
	require.Equal(t, "step.oneside", line(t, rep, "completeness/heart.auscultate").Code)
}

// Counting over 15 s gives multiples of 4, over 30 s multiples of 2 (arithmetic).
func TestArithmeticOfACountIsChecked(t *testing.T) {
	for _, row := range []struct {
		value string
		over  int
		flag  bool
	}{{"96", 15, false}, {"98", 15, true}, {"98", 30, false}, {"97", 30, true}, {"97", 60, false}, {"96", 0, false}} {
		w := newWorld(t, "veterinary", "routine")
		rep := w.grade(append(w.do("heart.auscultate"), rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: row.value, Over: row.over}))
		require.Equal(t, row.flag, len(codesOf(rep, "reading.arithmetic")) == 1, row)
	}
}

func TestShareMeasuredScalesVitals(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	// Three of six vitals measured, all right: 1 x (3/6) / (2/3) = three quarters of 20.
	var acts []rubric.Act
	for _, id := range []string{"heart.auscultate", "breathing.count", "temperature.measure"} {
		acts = append(append(acts, w.do(id)...), w.chart(id)...)
	}
	require.Equal(t, rubric.Points(15_000), domain(t, w.grade(acts), "vitals").Points)
}

func TestAnAbnormalVitalWeighsTwice(t *testing.T) {
	w := sick(t, "veterinary") // heart 168 at rest; five others normal: 2 of 7 parts of 20
	rep := w.grade(w.visit(w.required()))
	l, c := line(t, rep, "vitals/heart.rate"), line(t, rep, "vitals/heart.rate/call")
	require.InDelta(t, 20_000*2/7, int64(l.Max+c.Max), 1)
}

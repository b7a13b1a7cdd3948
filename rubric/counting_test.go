package rubric_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// counted grades a heart rate written down as counted over so many seconds.
func counted(w *world, value string, over int) rubric.Report {
	return w.grade(append(w.do("heart.auscultate"), rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: value, Over: over, Interpretation: "normal"}))
}

// Calling the first beat one adds 60/T (clinical.md 3.1, exact arithmetic): 4
// over 15 s, 6 over 10 s. The note stands from three quarters of that to one and
// a half, and never moves a mark.
func TestTheFirstBeatCountedAsOneIsTheLikelyCause(t *testing.T) {
	for _, row := range []struct {
		truth, value string
		over         int
		noted        bool
	}{
		{"96", "100", 15, true}, {"97", "100", 15, true}, {"97.1", "100", 15, false}, {"94", "100", 15, true}, {"93.9", "100", 15, false},
		{"96", "96", 15, false}, {"96", "92", 15, false}, {"96", "104", 15, false},
		{"96", "102", 10, true}, {"96", "98", 30, true}, {"96", "97", 60, false}, // 1/min: no more than the heart's own change
		{"96", "99", 15, false}, // 15 s give multiples of 4: first of all the multiplication is wrong
		{"96", "100", 0, false},
	} {
		w := newWorld(t, "veterinary", "routine")
		w.vital("heart.rate", row.truth)
		rep := counted(w, row.value, row.over)
		require.Equal(t, row.noted, len(codesOf(rep, "reading.first")) == 1, row)
		require.Equal(t, domain(t, counted(w, row.value, 0), "vitals").Points, domain(t, rep, "vitals").Points, "a note moves no mark")
		if row.noted {
			require.Equal(t, []int{3, 4}, line(t, rep, "vitals/heart.rate/first").Acts)
			require.Zero(t, line(t, rep, "vitals/heart.rate/first").Max)
		}
	}
	w := newWorld(t, "veterinary", "routine")
	for i := range w.key.Vitals {
		w.key.Vitals[i].Irregular = true
	}
	require.Empty(t, codesOf(counted(w, "100", 15), "reading.first"), "an irregular heart beats once more or less by itself")
}

// A window that does not divide a minute leaves a product to round: 10 beats in
// 7 s are 85.7 a minute.
func TestArithmeticAllowsRoundingOnlyWhereThereIsSomethingToRound(t *testing.T) {
	for _, row := range []struct {
		value string
		over  int
		fault bool
	}{
		{"86", 7, false}, {"85", 7, false}, {"88", 7, true}, {"94", 7, false}, {"80", 45, false}, {"81", 45, false}, {"97", 90, false},
		{"96", 15, false}, {"97", 15, true}, {"96.5", 15, true}, {"99", 20, false}, {"100", 20, true}, {"96", 6, true}, {"100", 6, false}, {"24x4", 15, false},
	} {
		w := newWorld(t, "veterinary", "routine")
		require.Equal(t, row.fault, len(codesOf(counted(w, row.value, row.over), "reading.arithmetic")) == 1, row)
	}
}

// panting makes the breathing step show a pattern beside the rate.
func panting(t *testing.T, truth string) *world {
	w := newWorld(t, "veterinary", "routine")
	for i := range w.key.Vitals {
		if w.key.Vitals[i].Field == "resp.rate" {
			w.key.Vitals[i].Rhythm, w.key.Vitals[i].Uncounted = "breathing.count.look", []string{"other"}
		}
	}
	w.truth[rubric.Place{Field: "breathing.count.look"}] = truth
	w.vital("resp.rate", "220")
	return w
}

// Panting is recorded, not counted (clinical.md 2.7): whatever stands for the
// rate, the term drops out and the other vitals share its weight.
func TestAPantingAnimalHasNoRateToCount(t *testing.T) {
	for value, code := range map[string]string{"220": "reading.panting", "24": "reading.panting", "": "reading.uncounted",
		rubric.Panting: "reading.uncounted", "Panting": "reading.uncounted", rubric.NotExamined: "reading.uncounted"} {
		w := panting(t, "other")
		rep := w.grade(mended(w, rewrite("resp.rate", "", value)))
		require.Equal(t, code, line(t, rep, "vitals/resp.rate").Code, value)
		require.Zero(t, line(t, rep, "vitals/resp.rate").Max)
		require.Equal(t, rubric.Points(20_000), domain(t, rep, "vitals").Points, dump(rep))
		require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points, "panting is no abnormality that was missed")
	}
	w := panting(t, "usual")
	rep := w.grade(mended(w, rewrite("resp.rate", "", "220")))
	require.Equal(t, "reading.right", line(t, rep, "vitals/resp.rate").Code, "without panting the rate is judged")
	rep = w.grade(mended(w, rewrite("resp.rate", "", rubric.Panting)))
	require.Equal(t, "reading.blank", line(t, rep, "vitals/resp.rate").Code)

	early := w.grade([]rubric.Act{{Kind: rubric.Record, Field: "resp.rate", Value: "24"}, {Kind: rubric.Examine, Step: "breathing.count", Seconds: 30}})
	require.Equal(t, "reading.early", line(t, early, "vitals/resp.rate").Code)
}

// The pattern behind the figure counts: what was written while it panted stays
// without a rate, what was counted after it stopped is judged.
func TestPantingIsThatOfTheExamineBehindTheFigure(t *testing.T) {
	w := panting(t, "other")
	look := rubric.Act{Kind: rubric.Examine, Step: "breathing.count", Seconds: 30}
	write := rubric.Act{Kind: rubric.Record, Field: "resp.rate", Value: "24", Interpretation: "normal"}
	calm := func(list rubric.Transcript, from int) rubric.Report {
		for i := from; i < len(list); i++ {
			for j := range list[i].Outcome.Shown {
				switch s := &list[i].Outcome.Shown[j]; s.Field {
				case "resp.rate":
					s.Value = "24"
				case "breathing.count.look":
					s.Value = "usual"
				}
			}
		}
		return rubric.Grade(w.r, w.key, list)
	}
	require.Equal(t, "reading.panting", line(t, calm(w.play([]rubric.Act{look, write, look}), 1), "vitals/resp.rate").Code)
	require.Equal(t, "reading.right", line(t, calm(w.play([]rubric.Act{look, look, write}), 1), "vitals/resp.rate").Code)
}

// A call that fits neither patient nor own figure is told apart from one that
// fits a worthless figure; neither earns anything.
func TestACallAgainstTheOwnFigureHasItsOwnReason(t *testing.T) {
	for _, row := range []struct{ truth, value, call, code string }{
		{"168", "168", "normal", "call.contrary"}, {"168", "168", "low", "call.contrary"}, {"96", "200", "low", "call.contrary"},
		{"96", "200", "high", "call.wrong"}, {"168", "96", "high", "call.against"}, {"116", "125", "high", "call.carried"},
	} {
		w := newWorld(t, "veterinary", "routine")
		w.vital("heart.rate", row.truth)
		if row.truth == "116" { // without a grey zone 125 is plainly high
			for i := range w.key.Vitals {
				w.key.Vitals[i].GreyHigh = w.key.Vitals[i].High
			}
		}
		l := line(t, w.grade(append(w.do("heart.auscultate"), rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: row.value, Interpretation: row.call})), "vitals/heart.rate/call")
		require.Equal(t, row.code, l.Code, row)
		if row.code == "call.contrary" || row.code == "call.wrong" {
			require.Zero(t, l.Points, row)
		}
	}
}

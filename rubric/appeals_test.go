package rubric_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// The tests of this file stand for appeals that were upheld: a mark or a reason
// that a reader of real reports could show to be wrong.

// reasonOf is the sentence of a line.
func reasonOf(t *testing.T, rep rubric.Report, id string) string {
	t.Helper()
	say.Fill(&rep, spoken{})
	return line(t, rep, id).Reason
}

// arg is an argument of a line; empty where it has none.
func arg(l rubric.Line, name string) string {
	for _, a := range l.Args {
		if a.Name == name {
			return a.Value
		}
	}
	return ""
}

// Who called a vital normal, but in a line that counts for nothing, is not told
// that the call is missing: one line says why, and holds both halves.
func TestALineThatCountsForNothingHasNoSecondReason(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	record := func(value string) rubric.Act {
		return rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: value, Interpretation: "normal"}
	}
	for code, acts := range map[string][]rubric.Act{
		"reading.early":      append([]rubric.Act{record("96")}, w.do("heart.auscultate")...),
		"reading.unreadable": append(w.do("heart.auscultate"), record("quick")),
		"reading.blank":      w.do("heart.auscultate"),
	} {
		rep := w.grade(acts)
		l := line(t, rep, "vitals/heart.rate")
		require.Equal(t, code, l.Code)
		require.Equal(t, domain(t, rep, "vitals").Max, l.Max, "the only vital that was measured")
		for _, other := range domain(t, rep, "vitals").Lines {
			require.NotEqual(t, "vitals/heart.rate/call", other.ID, code)
		}
	}
}

// A class of capillary refill is quoted as it was written, not as a number that
// nobody wrote.
func TestAClassOfRefillIsQuotedAsWritten(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	for _, written := range []string{">2", "<2", "1-2"} {
		rep := w.grade(append(w.do("mouth.refill"), rubric.Act{Kind: rubric.Record, Field: "crt", Value: written, Interpretation: "normal"}))
		require.Contains(t, reasonOf(t, rep, "vitals/crt"), "“"+written+"”")
	}
}

// A vital that handling moved past its limit may be called either way, and the
// reason says so: without it "46, called normal, normal is 15 to 34" reads as an error.
func TestAVitalMovedByHandlingSaysSo(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	w.truth[rubric.Place{Field: "resp.rate"}] = "46" // at rest it is 24
	for _, call := range []string{"normal", "high"} {
		rep := w.grade(append(w.do("breathing.count"), rubric.Act{Kind: rubric.Record, Field: "resp.rate", Value: "46", Interpretation: call}))
		l := line(t, rep, "vitals/resp.rate/call")
		require.Equal(t, "call.right", l.Code)
		require.Equal(t, "24", arg(l, "rest"))
		require.Contains(t, reasonOf(t, rep, "vitals/resp.rate/call"), "At rest it was 24/min")
	}
	rep := w.grade(append(w.do("mouth.refill"), w.chart("mouth.refill")...))
	require.Empty(t, arg(line(t, rep, "vitals/crt/call"), "rest"), "nothing moved it")
}

// In triage most vitals are not asked for, and the report does not reproach the
// student with them.
func TestAVitalThatIsNotAskedForIsNoReproach(t *testing.T) {
	w := gasping(t, "veterinary")
	rep := w.grade(w.do("distance.observe"))
	require.Contains(t, reasonOf(t, rep, "vitals/temperature"), "need not be with this patient")
	require.NotContains(t, reasonOf(t, rep, "vitals/resp.rate"), "need not be")
}

// A gap that the sheet owns to is said to be honest.
func TestAnHonestGapIsCalledHonest(t *testing.T) {
	w := sick(t, "veterinary")
	own := func(field, site string) rubric.Act {
		return rubric.Act{Kind: rubric.Record, Field: field, Site: site, Value: rubric.NotExamined, Reason: "too sore today"}
	}
	rep := w.grade(append(w.do("distance.observe"), own("stifle.palpate.pain", "right"), own("temperature", "")))
	require.Contains(t, reasonOf(t, rep, "findings/stifle.palpate.pain@right"), "honest")
	require.Contains(t, reasonOf(t, rep, "vitals/temperature"), "honest")
	require.NotContains(t, reasonOf(t, rep, "findings/skin.inspect.look"), "honest")
}

// A sheet contradicts itself only where both lines say something: in triage the
// hand may rightly not have come to the chest.
func TestABlankLineContradictsNothing(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	w.key.Fields = append(w.key.Fields,
		rubric.Field{ID: "heart.murmur", Kind: "grade", Region: "heart", Of: []string{"none", "1", "2", "3", "4", "5", "6"}, Normal: []string{"none"}},
		rubric.Field{ID: "heart.thrill", Kind: "choice", Region: "chest", Of: []string{"none", "present"}, Normal: []string{"none"}})
	record := func(field, value string) rubric.Act {
		return rubric.Act{Kind: rubric.Record, Field: field, Value: value}
	}
	for _, row := range []struct {
		acts []rubric.Act
		want int
	}{
		{[]rubric.Act{record("heart.murmur", "5")}, 0},
		{[]rubric.Act{record("heart.thrill", "present")}, 0},
		{[]rubric.Act{record("heart.murmur", "5"), record("heart.thrill", "present")}, 0},
		{[]rubric.Act{record("heart.murmur", "5"), record("heart.thrill", "none")}, 1},
		{[]rubric.Act{record("heart.murmur", "3"), record("heart.thrill", "present")}, 1},
	} {
		rep := w.grade(row.acts)
		require.Len(t, append(codesOf(rep, "sheet.thrill"), codesOf(rep, "sheet.murmur")...), row.want, dump(rep))
	}
}

// Who examines only the sore side has not begun with the better one.
func TestTheBetterSideFirstNeedsTheBetterSide(t *testing.T) {
	w := sick(t, "veterinary")
	at := func(site string) rubric.Act {
		return rubric.Act{Kind: rubric.Examine, Step: "stifle.palpate", Site: site, Seconds: 5}
	}
	for _, row := range []struct {
		acts []rubric.Act
		code string
	}{
		{[]rubric.Act{at("right")}, "precaution.idle"},
		{[]rubric.Act{at("left")}, "precaution.idle"},
		{[]rubric.Act{at("left"), at("right")}, "precaution.taken"},
		{[]rubric.Act{at("right"), at("left")}, "precaution.missed"},
	} {
		require.Equal(t, row.code, line(t, w.grade(row.acts), "handling/precaution/better side first").Code)
	}
}

// Oxygen, stop and call are no way over the animal: with one step of the
// examination there is no order to judge.
func TestHandlingIsNoWayOverTheAnimal(t *testing.T) {
	w := gasping(t, "veterinary")
	var acts []rubric.Act
	for _, id := range []string{"handle:oxygen", "distance.observe", "handle:stop", "handle:call"} {
		acts = append(acts, w.do(id)...)
	}
	rep := w.grade(acts)
	require.Equal(t, "order.short", line(t, rep, "order/steps").Code)
	require.Zero(t, domain(t, rep, "order").Points)
	rep = w.grade(append(acts, w.do("breathing.count")...))
	require.Positive(t, domain(t, rep, "order").Points)
}

// Evidence: what was looked at stands behind a gap of the sheet, and the gentle
// acts behind a precaution kept.
func TestLinesNameTheirActs(t *testing.T) {
	w := sick(t, "veterinary")
	w.key.Precautions = []rubric.Precaution{{ID: "gently", Kind: "gentle", Steps: []string{"stifle.palpate@right"}}}
	rep := w.grade([]rubric.Act{{Kind: rubric.Examine, Step: "mouth.inspect"}, {Kind: rubric.Examine, Step: "stifle.palpate", Site: "right", Manner: "gentle"}})
	require.Equal(t, []int{1}, line(t, rep, "findings/negative/mouth.inspect.look").Acts)
	require.Equal(t, []int{2}, line(t, rep, "handling/precaution/gently").Acts)
}

// All sites that were left out are named, and those that were too brief.
func TestAPartlyDoneStepNamesEverySite(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	rep := w.grade([]rubric.Act{{Kind: rubric.Examine, Step: "abdomen.palpate", Site: "cranial", Seconds: 2}})
	text := reasonOf(t, rep, "completeness/abdomen.palpate")
	require.Contains(t, text, "“middle” and “caudal” were left out, and “cranial” was shorter than the 5 s")
	require.NotContains(t, strings.ToLower(text), "0 s ")
}

// What was charted without being examined is named with its site.
func TestChartedUnexaminedNamesTheSite(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	rep := w.grade([]rubric.Act{{Kind: rubric.Record, Field: "stifle.palpate.look", Site: "left", Value: "usual"}, {Kind: rubric.Record, Field: "heart.rate", Value: "88"}})
	require.Contains(t, reasonOf(t, rep, "findings/unexamined/stifle.palpate.look"), "(left)")
	require.Contains(t, reasonOf(t, rep, "findings/unexamined/heart.rate"), "88/min for")
}

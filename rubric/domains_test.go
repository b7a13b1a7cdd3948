package rubric_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// mended is the sick patient's perfect visit with some acts changed.
func mended(w *world, change func(a rubric.Act) []rubric.Act) []rubric.Act {
	var acts []rubric.Act
	for _, a := range w.visit(w.required()) {
		acts = append(acts, change(a)...)
	}
	return acts
}

func rewrite(field, site, value string) func(rubric.Act) []rubric.Act {
	return func(a rubric.Act) []rubric.Act {
		if a.Kind == rubric.Record && a.Field == field && a.Site == site {
			a.Value = value
		}
		return []rubric.Act{a}
	}
}

func TestAPerfectVisitEarnsEverything(t *testing.T) {
	w := sick(t, "veterinary")
	rep := w.grade(w.visit(w.required()))
	require.Equal(t, rubric.Points(100_000), rep.Total, dump(rep))
	require.True(t, rep.Pass)
	require.Empty(t, rep.Held)
	require.Empty(t, rep.Critical)
	for _, f := range rep.Findings {
		require.Equal(t, "caught", f.How)
	}
	for _, s := range rep.Walk.Steps {
		require.False(t, s.Move, s.Step)
	}
}

// The three findings weigh 3, 3 and 1.5 of the .75; Findings is worth 25 points,
// so a major one is 25 * .75 * 3 / 7.5 = 7.5 points.
func TestFindings(t *testing.T) {
	const stifle = "findings/stifle.palpate.pain@right"
	rows := []struct {
		name   string
		change func(rubric.Act) []rubric.Act
		line   string
		points rubric.Points
		code   string
		domain rubric.Points
	}{
		{"within the tolerance of one grade", rewrite("stifle.palpate.pain", "right", "2"), stifle, 7_500, "finding.caught", 25_000},
		{"two grades off loses the grade", rewrite("stifle.palpate.pain", "right", "1"), stifle, 6_000, "finding.partly", 23_500},
		{"called normal", rewrite("stifle.palpate.pain", "right", "none"), stifle, -1_500, "finding.normal", 16_000},
		{"left blank", drop("stifle.palpate.pain", "right"), stifle, 0, "finding.blank", 17_500},
		{"an honest gap", rewrite("stifle.palpate.pain", "right", rubric.NotExamined), stifle, 0, "finding.blank", 17_500},
		{"wrong side", swapSide, stifle, 6_000, "finding.partly", 23_500},
		{"no side", noSide, stifle, 6_000, "finding.partly", 23_500},
		{"another abnormality of a choice is half the call", rewrite("skin.inspect.look", "", "bad"), "findings/skin.inspect.look", 1_875, "finding.partly", 23_125},
		{"a choice at its site, of the other kind", rewrite("heart.auscultate.look", "left apex", "odd"), "findings/heart.auscultate.look@left apex", 4_500, "finding.partly", 22_000},
		{"a variant called where something is wrong", rewrite("skin.inspect.look", "", "other"), "findings/skin.inspect.look", -750, "finding.normal", 20_500},
		{"unreadable is nothing", rewrite("skin.inspect.look", "", "zzz"), "findings/skin.inspect.look", 0, "finding.blank", 21_250},
		{"withdrawn", rewrite("skin.inspect.look", "", ""), "findings/skin.inspect.look", 0, "finding.blank", 21_250},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			w := sick(t, "veterinary")
			rep := w.grade(mended(w, row.change))
			l := line(t, rep, row.line)
			require.Equal(t, row.code, l.Code)
			require.Equal(t, row.points, l.Points, dump(rep))
			require.Equal(t, row.domain, domain(t, rep, "findings").Points, dump(rep))
		})
	}
}

func drop(field, site string) func(rubric.Act) []rubric.Act {
	return func(a rubric.Act) []rubric.Act {
		if a.Kind == rubric.Record && a.Field == field && a.Site == site {
			return nil
		}
		return []rubric.Act{a}
	}
}

// swapSide charts the painful stifle on the left and leaves the right blank.
func swapSide(a rubric.Act) []rubric.Act {
	if a.Kind == rubric.Record && a.Field == "stifle.palpate.pain" {
		if a.Site == "left" {
			return nil
		}
		a.Site = "left"
	}
	return []rubric.Act{a}
}

func noSide(a rubric.Act) []rubric.Act {
	if a.Kind == rubric.Record && a.Field == "stifle.palpate.pain" {
		if a.Site == "left" {
			return nil
		}
		a.Site = ""
	}
	return []rubric.Act{a}
}

func TestFalseAlarmsVariantsAndWhatRadiates(t *testing.T) {
	w := sick(t, "veterinary")
	rep := w.grade(mended(w, rewrite("nose.inspect.look", "left", "bad")))
	require.Equal(t, rubric.Points(-1_250), line(t, rep, "findings/alarm/nose.inspect.look@left").Points)
	require.Equal(t, rubric.Points(23_750), domain(t, rep, "findings").Points)

	rep = w.grade(mended(w, rewrite("nose.inspect.look", "left", "other")))
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points, "a normal variant is never a false alarm")

	// A murmur charted where it radiates to as well is one finding and no alarm.
	w.key.Findings[0].Also = []string{"left base"}
	w.truth[rubric.Place{Field: "heart.auscultate.look", Site: "left base"}] = "bad"
	require.Equal(t, rubric.Points(25_000), domain(t, w.grade(w.visit(w.required())), "findings").Points)
	// Charted only where it radiates to it is found all the same.
	rep = w.grade(mended(w, rewrite("heart.auscultate.look", "left apex", "")))
	require.Equal(t, "finding.caught", line(t, rep, "findings/heart.auscultate.look@left apex").Code)
	// At a site where nothing is heard: the site is lost, and it is no alarm.
	w.truth[rubric.Place{Field: "heart.auscultate.look", Site: "left base"}] = "usual"
	w.key.Findings[0].Also = nil
	rep = w.grade(mended(w, func(a rubric.Act) []rubric.Act {
		if a.Field == "heart.auscultate.look" {
			a.Value = map[string]string{"right apex": "bad"}[a.Site]
		}
		return []rubric.Act{a}
	}))
	require.Equal(t, rubric.Points(6_000), line(t, rep, "findings/heart.auscultate.look@left apex").Points)
	require.Empty(t, codesOf(rep, "false.alarm"))
}

func codesOf(rep rubric.Report, code string) []string {
	var ids []string
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if l.Code == code {
				ids = append(ids, l.ID)
			}
		}
	}
	return ids
}

func TestAcceptedFieldsCountAsTheSameFinding(t *testing.T) {
	w := sick(t, "veterinary")
	w.field("skin.inspect.look").AcceptAs = []string{"coat.inspect.look"}
	rep := w.grade(mended(w, func(a rubric.Act) []rubric.Act {
		switch a.Field {
		case "skin.inspect.look":
			return nil
		case "coat.inspect.look":
			a.Value = "bad"
		}
		return []rubric.Act{a}
	}))
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points, dump(rep))
	// Charted in both fields it is still no false alarm.
	rep = w.grade(mended(w, rewrite("coat.inspect.look", "", "odd")))
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points, dump(rep))
}

func TestChartedWithoutExamining(t *testing.T) {
	w := sick(t, "veterinary")
	ids := slices.DeleteFunc(w.required(), func(s string) bool {
		return slices.Contains([]string{"ears.inspect", "nose.inspect", "tail.palpate", "temperature.measure"}, s)
	})
	visit := w.visit(ids)
	one := w.grade(beforeEnd(visit, w.chart("tail.palpate")[:1]))
	require.Equal(t, rubric.Points(-2_500), line(t, one, "findings/unexamined/tail.palpate.look").Points)
	require.Empty(t, one.Held)
	three := w.grade(beforeEnd(visit, slices.Concat(w.chart("tail.palpate")[:1], w.chart("ears.inspect")[:2], w.chart("nose.inspect")[:1])))
	require.Len(t, codesOf(three, "charted.unexamined"), 3, "two sides of a field are one")
	require.Equal(t, []string{rubric.HeldCharted}, three.Held)
	vital := w.grade(beforeEnd(visit, []rubric.Act{{Kind: rubric.Record, Field: "temperature", Value: "38.5", Interpretation: "normal"}}))
	require.Equal(t, []string{rubric.HeldCharted}, vital.Held)
	require.Equal(t, "reading.unmeasured", line(t, vital, "vitals/temperature").Code)
	gap := w.grade(beforeEnd(visit, []rubric.Act{{Kind: rubric.Record, Field: "temperature", Value: rubric.NotExamined, Reason: "it would not have it"}}))
	require.Empty(t, gap.Held)
	require.Empty(t, codesOf(gap, "charted.unexamined"))
}

func TestSeenScalesFindings(t *testing.T) {
	w := sick(t, "veterinary")
	ids := slices.DeleteFunc(w.required(), func(s string) bool { return s == "heart.auscultate" || s == "stifle.palpate" })
	rep := w.grade(w.visit(ids))
	// Only the minor finding of 1.5 of 7.5 was shown: .2 seen of the .5 needed.
	require.Equal(t, rubric.Points(10_000), domain(t, rep, "findings").Points, dump(rep))
	require.Equal(t, "unseen", rep.Findings[0].How)
}

func TestAHealthyPatientIsMarkedOnItsNegatives(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	w.key.Negatives = []rubric.Place{{Field: "hip.move.pain"}, {Field: "mouth.inspect.look"}}
	rep := w.grade(w.visit(w.required()))
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points)
	rep = w.grade(mended(w, rewrite("hip.move.pain", "left", "")))
	require.Equal(t, rubric.Points(18_750), domain(t, rep, "findings").Points, "half of one of two")
	w.key.Negatives = nil
	rep = w.grade(w.visit(w.required()))
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points)
}

func TestRestOfThisRegionNormal(t *testing.T) {
	w := sick(t, "veterinary")
	w.field("hip.move.look").Each = true
	acts := w.do("hip.move")[:1]
	list := w.play(acts)
	states, unexamined, each := rubric.Sweep(w.key.Fields, list, "hip")
	require.Equal(t, []rubric.Place{{Field: "hip.move.pain", Site: "left"}}, states)
	require.Equal(t, []rubric.Place{{Field: "hip.move.pain", Site: "right"}}, unexamined)
	require.Equal(t, []rubric.Place{{Field: "hip.move.look", Site: "left"}, {Field: "hip.move.look", Site: "right"}}, each)

	list = w.play(append(acts, rubric.Act{Kind: rubric.Record, Region: "hip", Value: "normal"}, rubric.Act{Kind: rubric.Record, Field: "hip.move.look", Site: "left", Value: "odd"}))
	require.Equal(t, []rubric.ChartLine{
		{Place: rubric.Place{Field: "hip.move.look", Site: "left"}, Value: "odd", Act: 3},
		{Place: rubric.Place{Field: "hip.move.pain", Site: "left"}, Value: "none", Act: 2, Swept: true},
	}, rubric.Chart(w.key.Fields, list))
	// What was written before stays; what is written after goes over it; nothing is invented.
	list = w.play(slices.Concat(w.do("hip.move"), []rubric.Act{{Kind: rubric.Record, Field: "hip.move.pain", Site: "right", Value: "2"},
		{Kind: rubric.Record, Region: "hip", Value: "normal"}, {Kind: rubric.Record, Field: "hip.move.pain", Site: "left", Value: ""}}))
	require.Equal(t, []rubric.ChartLine{{Place: rubric.Place{Field: "hip.move.pain", Site: "right"}, Value: "2", Act: 3}}, rubric.Chart(w.key.Fields, list))
}

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
		{"far over, called normal", "heart.rate", "168", "168", "normal", 1000, 0, "reading.right", "call.wrong"},
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
		{"unreadable", "temperature", "38.5", "hot", "normal", 0, 0, "reading.unreadable", "call.missing"},
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
	require.Equal(t, "call.wrong", line(t, rep, "vitals/heart.rate/call").Code)
}

// In the grey zone either call is right.
func TestGreyZone(t *testing.T) {
	for call, want := range map[string]string{"normal": "call.right", "high": "call.right", "low": "call.wrong"} {
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
	require.Equal(t, "step.partly", line(t, rep, "completeness/heart.auscultate").Code)
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
	// Three of six vitals measured, all right: 1 x (3/6) / .75 = two thirds of 20.
	var acts []rubric.Act
	for _, id := range []string{"heart.auscultate", "breathing.count", "temperature.measure"} {
		acts = append(append(acts, w.do(id)...), w.chart(id)...)
	}
	require.Equal(t, rubric.Points(13_333), domain(t, w.grade(acts), "vitals").Points)
}

func TestAnAbnormalVitalWeighsTwice(t *testing.T) {
	w := sick(t, "veterinary") // heart 168 at rest; five others normal: 2 of 7 parts of 20
	rep := w.grade(w.visit(w.required()))
	l, c := line(t, rep, "vitals/heart.rate"), line(t, rep, "vitals/heart.rate/call")
	require.InDelta(t, 20_000*2/7, int64(l.Max+c.Max), 1)
}

func TestCompleteness(t *testing.T) {
	w := sick(t, "veterinary")
	full := w.visit(w.required())
	left := slices.DeleteFunc(slices.Clone(full), func(a rubric.Act) bool { return a.Step == "hip.move" && a.Site == "right" })
	l := line(t, w.grade(left), "completeness/hip.move")
	require.Equal(t, "step.partly", l.Code)
	require.InDelta(t, int64(l.Max)/2, int64(l.Points), 1)

	brief := slices.Clone(full)
	for i := range brief {
		if brief[i].Step == "lungs.auscultate" && brief[i].Site == "left dorsal" {
			brief[i].Seconds = 3
		}
	}
	l = line(t, w.grade(brief), "completeness/lungs.auscultate")
	require.Equal(t, "step.brief", l.Code)
	require.InDelta(t, int64(l.Max)*3/4, int64(l.Points), 1)

	list := w.play(full)
	for i := range list {
		list[i].Outcome.Refused = list[i].Act.Step == "temperature.measure"
	}
	require.Equal(t, "step.refused", line(t, rubric.Grade(w.r, w.key, list), "completeness/temperature.measure").Code)
	quiet := slices.DeleteFunc(slices.Clone(full), func(a rubric.Act) bool { return a.Topic == "appetite" })
	require.Equal(t, "topic.missing", line(t, w.grade(quiet), "completeness/ask:appetite").Code)
}

func TestHandling(t *testing.T) {
	w := sick(t, "veterinary")
	full := w.visit(w.required())
	events := func(list ...rubric.Event) rubric.Report {
		tr := w.play(full)
		for i, e := range list {
			tr[50+i].Outcome.Events = []rubric.Event{e}
		}
		return rubric.Grade(w.r, w.key, tr)
	}
	minor, major := rubric.Event{ID: "a", Severity: "minor"}, rubric.Event{ID: "b", Severity: "major"}
	require.Equal(t, rubric.Points(9_000), domain(t, events(minor), "handling").Points)
	require.Equal(t, rubric.Points(9_000), domain(t, events(minor, minor), "handling").Points, "the same hazard is counted once")
	require.Equal(t, rubric.Points(6_500), domain(t, events(minor, major), "handling").Points)
	worst := events(major, rubric.Event{ID: "c", Severity: "major"}, rubric.Event{ID: "d", Severity: "major"}, rubric.Event{ID: "e", Severity: "major"}, rubric.Event{ID: "f", Severity: "major"})
	require.Equal(t, rubric.Points(0), domain(t, worst, "handling").Points)
	require.False(t, worst.Pass, "the hurdle of handling")

	critical := events(rubric.Event{ID: "bite", Severity: "critical", Why: "It bit.", Sign: 12})
	require.Equal(t, rubric.Points(10_000), domain(t, critical, "handling").Points, "a critical event fails the case and is not deducted as well")
	require.False(t, critical.Pass)
	require.Equal(t, []string{rubric.HeldCritical}, critical.Held)
	require.Equal(t, "bite", critical.Critical[0].ID)
	require.Equal(t, []int{12, 51}, line(t, critical, "handling/hazard/bite").Acts)
}

func TestPrecautions(t *testing.T) {
	left, right := rubric.Act{Kind: rubric.Examine, Step: "stifle.palpate", Site: "left"}, rubric.Act{Kind: rubric.Examine, Step: "stifle.palpate", Site: "right", Manner: "gentle"}
	look := rubric.Act{Kind: rubric.Examine, Step: "distance.observe"}
	skin := rubric.Act{Kind: rubric.Examine, Step: "skin.inspect"}
	firm := right
	firm.Manner = ""
	rows := []struct {
		name string
		p    rubric.Precaution
		acts []rubric.Act
		code string
	}{
		{"before kept", rubric.Precaution{Kind: "before", Done: []string{"distance.observe"}, Steps: []string{"touch"}}, []rubric.Act{look, left}, "precaution.taken"},
		{"before broken", rubric.Precaution{Kind: "before", Done: []string{"distance.observe"}, Steps: []string{"touch"}}, []rubric.Act{left, look}, "precaution.missed"},
		{"before never met", rubric.Precaution{Kind: "before", Done: []string{"distance.observe"}, Steps: []string{"touch"}}, []rubric.Act{look}, "precaution.idle"},
		{"better side first", rubric.Precaution{Kind: "last", Steps: []string{"stifle.palpate@right"}, Among: []string{"stifle.palpate@left"}}, []rubric.Act{left, right}, "precaution.taken"},
		{"better side last", rubric.Precaution{Kind: "last", Steps: []string{"stifle.palpate@right"}, Among: []string{"stifle.palpate@left"}}, []rubric.Act{right, left}, "precaution.missed"},
		{"sore place last of all touching", rubric.Precaution{Kind: "last", Steps: []string{"stifle.palpate@right"}, Among: []string{"touch"}}, []rubric.Act{left, skin, right}, "precaution.taken"},
		{"gentle", rubric.Precaution{Kind: "gentle", Steps: []string{"stifle.palpate@right"}}, []rubric.Act{left, right}, "precaution.taken"},
		{"once rough", rubric.Precaution{Kind: "gentle", Steps: []string{"stifle.palpate@right"}}, []rubric.Act{right, firm}, "precaution.missed"},
		{"done", rubric.Precaution{Kind: "done", Done: []string{"handle:muzzle", "wait"}}, []rubric.Act{{Kind: rubric.Wait, Seconds: 30}}, "precaution.taken"},
		{"not done", rubric.Precaution{Kind: "done", Done: []string{"handle:muzzle"}}, []rubric.Act{look}, "precaution.missed"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			w := sick(t, "veterinary")
			row.p.ID = "p"
			w.key.Precautions = []rubric.Precaution{row.p}
			require.Equal(t, row.code, line(t, w.grade(row.acts), "handling/precaution/p").Code)
		})
	}
}

func TestConclusionsVeterinary(t *testing.T) {
	rows := []struct {
		name     string
		problems []string
		urgency  string
		points   rubric.Points
	}{
		{"all right", []string{"cruciate disease", "heart murmur"}, "same day", 10_000},
		{"one of two: F1 2/3", []string{"heart murmur"}, "same day", 8_000},
		{"one of two and a wrong one: F1 1/2", []string{"heart murmur", "gout"}, "same day", 7_000},
		{"an accepted one is neutral", []string{"cruciate disease", "heart murmur", "obesity"}, "same day", 10_000},
		{"one step over", []string{"cruciate disease", "heart murmur"}, "emergency", 8_000},
		{"under", []string{"cruciate disease", "heart murmur"}, "routine", 6_000},
		{"urgency without a true problem", []string{"gout"}, "same day", 0},
		{"nothing", nil, "", 0},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			w := sick(t, "veterinary")
			w.key.Expected.Accept = []string{"obesity"}
			acts := w.visit(w.required())
			acts[len(acts)-1].Problems, acts[len(acts)-1].Urgency = row.problems, row.urgency
			rep := w.grade(acts)
			require.Equal(t, row.points, domain(t, rep, "conclusions").Points, dump(rep))
		})
	}
	w := sick(t, "veterinary")
	none := w.grade(append(w.do("distance.observe"), w.conclusion()))
	require.Equal(t, rubric.Points(0), domain(t, none, "conclusions").Points, "problems named without a sign on the sheet")
	require.Equal(t, []string{"conclusions/problem/cruciate disease", "conclusions/problem/heart murmur"}, codesOf(none, "problem.unsupported"))

	well := newWorld(t, "veterinary", "routine")
	require.Equal(t, rubric.Points(10_000), domain(t, well.grade(well.visit(well.required())), "conclusions").Points)
	require.Equal(t, rubric.Points(0), domain(t, well.grade(nil), "conclusions").Points, "only with a conclude act")
}

func TestAnEmergencyCalledRoutineIsCritical(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		w.key.Expected.Urgency = "emergency"
		acts := w.visit(w.required())
		acts[len(acts)-1].Urgency = "routine"
		rep := w.grade(acts)
		require.Len(t, rep.Critical, 1)
		require.False(t, rep.Pass)
		require.Equal(t, "urgency.critical", line(t, rep, "conclusions/urgency").Code)
	}
}

func TestConclusionsTechnician(t *testing.T) {
	base := rubric.Handover{Situation: "s", Background: "b", Assessment: "a", Request: "r"}
	stifle, heart := rubric.Given{Field: "stifle.palpate.pain", Site: "right", Value: "3"}, rubric.Given{Field: "heart.rate", Value: "168 /min"}
	with := func(h rubric.Handover, fields ...rubric.Given) *rubric.Handover { h.Fields = fields; return &h }
	wrongSide, wrongValue := stifle, heart
	wrongSide.Site, wrongValue.Value = "left", "120"
	half := base
	half.Request = " "
	rows := []struct {
		name   string
		report *rubric.Handover
		points rubric.Points
	}{
		{"all there", with(base, stifle, heart), 10_000},
		{"wrong side", with(base, wrongSide, heart), 7_500},
		{"wrong value", with(base, stifle, wrongValue), 7_500},
		{"one field", with(base, stifle), 7_500},
		{"no request", with(half, stifle, heart), 8_000},
		{"no field, so no urgency either", with(base), 2_000},
		{"no report", nil, 0},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			w := sick(t, "technician")
			acts := w.visit(w.required())
			acts[len(acts)-1].Report = row.report
			rep := w.grade(acts)
			require.Equal(t, row.points, domain(t, rep, "conclusions").Points, dump(rep))
		})
	}
	w := sick(t, "technician")
	acts := w.visit(w.required())
	acts[len(acts)-1].Problems = []string{"heart murmur"}
	rep := w.grade(acts)
	require.Equal(t, rubric.Points(10_000), domain(t, rep, "conclusions").Points, "a diagnosis is commented, not deducted")
	require.Len(t, codesOf(rep, "report.diagnosis"), 1)
}

func TestOrder(t *testing.T) {
	w := sick(t, "veterinary")
	d := domain(t, w.grade(w.do("distance.observe")), "order")
	require.Equal(t, rubric.Points(0), d.Points)
	require.Equal(t, "order.short", d.Lines[0].Code)

	// Touching first breaks the two rules of 4 of the 13 parts of P (5 points) each.
	ids := w.required()
	moved := append([]string{"head.palpate"}, slices.DeleteFunc(slices.Clone(ids), func(s string) bool { return s == "head.palpate" })...)
	rep := w.grade(w.visit(moved))
	require.Equal(t, "rule.broken", line(t, rep, "order/rule/look-first").Code)
	require.Equal(t, "rule.broken", line(t, rep, "order/rule/count-breaths-first").Code)
	require.Equal(t, "head.palpate", rep.Walk.Steps[0].Step)
	require.True(t, rep.Walk.Steps[0].Move)
	for _, s := range rep.Walk.Steps[1:] {
		require.False(t, s.Move, s.Step)
	}
	// Going back to the head after the chest is a return; so is coming back from there.
	back := slices.Insert(slices.Clone(ids), slices.Index(ids, "lungs.auscultate"), "mouth.smell")
	l := line(t, w.grade(w.visit(back)), "order/returns")
	require.Equal(t, "returns.some", l.Code)
	require.Len(t, l.Acts, 2)
	// A measurement done again is no return.
	again := append(slices.Clone(ids), "temperature.measure", "weight.measure")
	require.Equal(t, "returns.none", line(t, w.grade(w.visit(again)), "order/returns").Code)
}

func TestUpToThreeLateStepsAreForgiven(t *testing.T) {
	w := sick(t, "veterinary")
	late := []string{"eyes.inspect", "neck.palpate", "chest.palpate"}
	ids := slices.DeleteFunc(w.required(), func(s string) bool { return slices.Contains(late, s) })
	rep := w.grade(w.visit(append(ids, late...)))
	require.Equal(t, rubric.Points(10_000), domain(t, rep, "order").Points, dump(rep))
	require.Len(t, line(t, rep, "order/late").Acts, 3+0)
	four := append(late, "spine.palpate")
	ids = slices.DeleteFunc(w.required(), func(s string) bool { return slices.Contains(four, s) })
	require.Less(t, domain(t, w.grade(w.visit(append(ids, four...))), "order").Points, rubric.Points(10_000))
}

func TestOrderCountsInProportionBelowFourFifthsDone(t *testing.T) {
	w := sick(t, "veterinary")
	ids := w.required()
	n := len(ids)
	rep := w.grade(w.visit(ids[:n/2]))
	want := 10_000 * int64(n/2) * 1000 / (int64(n) * 800)
	require.InDelta(t, want, int64(domain(t, rep, "order").Points), 1)
}

func TestWhatCannotBeJudgedDropsOut(t *testing.T) {
	w := sick(t, "veterinary")
	w.key.Vitals = nil
	rep := w.grade(w.visit(w.required()))
	require.Equal(t, rubric.Points(100_000), rep.Total)
	require.Equal(t, rubric.Points(0), domain(t, rep, "vitals").Max)
	require.Equal(t, "domain.dropped", domain(t, rep, "vitals").Lines[0].Code)
	w.key.Rules, w.key.Routes = nil, nil
	rep = w.grade(w.visit(w.required()))
	require.Equal(t, rubric.Points(100_000), rep.Total)
	require.Len(t, codesOf(rep, "term.dropped"), 2)
	require.Empty(t, rep.Walk.Nearest)
}

func TestAStaticKeyGradesAStationWithoutASimulatedPatient(t *testing.T) {
	w := sick(t, "veterinary")
	for p, v := range w.truth {
		w.key.Static = append(w.key.Static, rubric.Shown{Field: p.Field, Site: p.Site, Value: v})
	}
	list := w.play(w.visit(w.required()))
	for i := range list {
		list[i].Outcome = rubric.Outcome{}
	}
	require.Equal(t, rubric.Points(100_000), rubric.Grade(w.r, w.key, list).Total)
	for i := range w.key.Static {
		if w.key.Static[i].Field == "stifle.palpate.pain" {
			w.key.Static[i].Value = "unknown"
		}
	}
	rep := rubric.Grade(w.r, w.key, list)
	require.Equal(t, "finding.unknown", line(t, rep, "findings/stifle.palpate.pain@right").Code)
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points, dump(rep))
}

func TestAnEmptyKeyGradesToNothing(t *testing.T) {
	w := sick(t, "veterinary")
	rep := rubric.Grade(w.r, rubric.Key{}, w.play(w.visit(w.required())))
	requireSound(t, rep)
	require.Zero(t, rep.Total)
	require.False(t, rep.Pass)
}

package rubric_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

func rewrite(field, site, value string) func(rubric.Act) []rubric.Act {
	return func(a rubric.Act) []rubric.Act {
		if a.Kind == rubric.Record && a.Field == field && a.Site == site {
			a.Value = value
		}
		return []rubric.Act{a}
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
		{"wrong side", swapSide, stifle, 6_000, "finding.swapped", 23_500},
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

// Where only a vital is abnormal, how it was called is the finding: a robot
// that charts all normal earns .25 N - .75 x .2 = .10 of Findings.
func TestAPatientWhoseOnlyAbnormalityIsAVital(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	w.key.Negatives = []rubric.Place{{Field: "hip.move.pain"}, {Field: "mouth.inspect.look"}}
	w.vital("temperature", "40.5")
	rep := w.grade(w.visit(w.required()))
	require.Equal(t, rubric.Points(25_000), domain(t, rep, "findings").Points, dump(rep))
	require.Equal(t, "caught", rep.Findings[0].How)
	rep = w.grade(mended(w, func(a rubric.Act) []rubric.Act {
		if a.Field == "temperature" {
			a.Value, a.Interpretation = "38.5", "normal"
		}
		return []rubric.Act{a}
	}))
	require.Equal(t, rubric.Points(2_500), domain(t, rep, "findings").Points, dump(rep))
	rep = w.grade(mended(w, rewrite("temperature", "", "")))
	require.Equal(t, rubric.Points(6_250), domain(t, rep, "findings").Points, dump(rep))
}

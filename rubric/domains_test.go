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

func TestCompleteness(t *testing.T) {
	w := sick(t, "veterinary")
	full := w.visit(w.required())
	left := slices.DeleteFunc(slices.Clone(full), func(a rubric.Act) bool { return a.Step == "hip.move" && a.Site == "right" })
	l := line(t, w.grade(left), "completeness/hip.move")
	require.Equal(t, "step.oneside", l.Code)
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
		{"a step without sites named with one", rubric.Precaution{Kind: "last", Steps: []string{"skin.inspect@back"}, Among: []string{"touch"}}, []rubric.Act{left, skin}, "precaution.taken"},
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

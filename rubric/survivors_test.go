package rubric_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// Two required steps that belong to no stage, done against their rule: with the
// last left out there is nothing to judge, and then nothing more to leave out.
func TestTwoStepsOnNoWayAgainstTheirRule(t *testing.T) {
	k := stageKey("a.one", "b.one")
	for i := range k.Steps {
		k.Steps[i].Stage, k.Steps[i].Required = "", true
	}
	k.Rules = []rubric.Rule{{ID: "r", Kind: "before-first", Before: []string{"a.one"}, After: []string{"b.one"}, Weight: 1, Tag: "safety"}}
	rep := rubric.Grade(onlyOrder, k, trail("b.one a.one"))
	require.Equal(t, "rule.broken", line(t, rep, "order/rule/r").Code)
	require.Zero(t, rep.Total)
}

// Two sides charted the wrong way round: behind either finding stand where it was
// shown, what was charted there, and its own value on the other side.
func TestSwappedSidesNameTheirActs(t *testing.T) {
	sides := []string{"left", "right"}
	k := rubric.Key{
		Steps:  []rubric.Step{{ID: "feel", Kind: rubric.Examine, Required: true, Weight: 1, Sites: sides, Reveals: []string{"pain"}}},
		Fields: []rubric.Field{{ID: "pain", Kind: "grade", PerSite: true, Sites: sides, Of: []string{"none", "1", "2", "3"}, Normal: []string{"none"}, Tolerance: 1}},
	}
	var list rubric.Transcript
	truth := map[string]string{"left": "1", "right": "3"}
	for i, site := range sides { // acts 1 and 2
		k.Findings = append(k.Findings, rubric.Finding{Field: "pain", Site: site, Value: truth[site], Steps: []string{"feel"}})
		list = append(list, rubric.Entry{Act: rubric.Act{N: i + 1, Kind: rubric.Examine, Step: "feel", Site: site},
			Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "pain", Site: site, Value: truth[site]}}}})
	}
	for i, value := range []string{"3", "1"} { // acts 3 and 4
		list = append(list, rubric.Entry{Act: rubric.Act{N: i + 3, Kind: rubric.Record, Field: "pain", Site: sides[i], Value: value}})
	}
	rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, list)
	for i, acts := range [][]int{{1, 3, 4}, {2, 3, 4}} {
		l := line(t, rep, "findings/pain@"+sides[i])
		require.Equal(t, "finding.swapped", l.Code)
		require.Equal(t, acts, l.Acts, l.ID)
		require.Equal(t, acts, rep.Findings[i].Acts, l.ID)
	}
}

// looking is a key of one required step that shows all of the fields, and one
// that is not required and shows the field "spare".
func looking(fields ...rubric.Field) rubric.Key {
	k := rubric.Key{Steps: []rubric.Step{{ID: "look", Kind: rubric.Examine, Required: true, Weight: 1},
		{ID: "also", Kind: rubric.Examine, Reveals: []string{"spare"}}}, Fields: fields}
	for _, f := range fields {
		if f.ID != "spare" {
			k.Steps[0].Reveals = append(k.Steps[0].Reveals, f.ID)
		}
	}
	return k
}

// looked shows values and charts others, each written field=value.
func looked(shown, charted string) rubric.Transcript {
	list := rubric.Transcript{{Act: rubric.Act{N: 1, Kind: rubric.Examine, Step: "look"}}}
	for _, word := range strings.Fields(shown) {
		field, value, _ := strings.Cut(word, "=")
		list[0].Outcome.Shown = append(list[0].Outcome.Shown, rubric.Shown{Field: field, Value: value})
	}
	for _, word := range strings.Fields(charted) {
		field, value, _ := strings.Cut(word, "=")
		list = append(list, rubric.Entry{Act: rubric.Act{N: len(list) + 1, Kind: rubric.Record, Field: field, Value: value}})
	}
	return list
}

func choice(id, vital string, of ...string) rubric.Field {
	return rubric.Field{ID: id, Kind: "choice", Of: of, Normal: of[:1], Vital: vital}
}

var onlyFindings = rubric.Rubric{Weights: rubric.Weights{Findings: 100}}

// A truth that nobody established is unknown also for a field that has a normal
// choice of that name: what is charted there is neither a false alarm nor a true normal.
func TestUnknownIsNoTruthThoughAChoiceIsCalledSo(t *testing.T) {
	note := choice("note", "", "unknown", "quiet", "noise")
	note.Normal = []string{"unknown", "quiet"}
	for _, row := range []struct {
		shown, charted string
		want           rubric.Detection
	}{
		{"unknown", "noise", rubric.Detection{Misses: 1}},
		{"unknown", "quiet", rubric.Detection{Misses: 1}},
		{"quiet", "noise", rubric.Detection{Misses: 1, FalseAlarms: 1}},
		{"quiet", "quiet", rubric.Detection{Misses: 1, TrueNormals: 1}},
	} {
		k := looking(note, choice("sign", "", "usual", "odd"))
		k.Findings = []rubric.Finding{{Field: "sign", Value: "odd", Steps: []string{"look"}}}
		rep := rubric.Grade(onlyFindings, k, looked("sign=odd note="+row.shown, "note="+row.charted))
		require.Equal(t, row.want, rep.Detection, row)
		require.Len(t, codesOf(rep, "false.alarm"), row.want.FalseAlarms, row)
	}
}

// Where a case lists no pertinent negatives, a healthy patient's are what a
// required step shows, has a normal choice and is no vital: one of these four.
func TestWithoutAListTheNegativesAreWhatRequiredStepsShow(t *testing.T) {
	k := looking(rubric.Field{ID: "length", Kind: "number"}, choice("needed", "", "usual", "odd"), choice("refill", "crt", "brisk", "slow"), choice("spare", "", "usual", "odd"))
	rep := rubric.Grade(onlyFindings, k, looked("length=5 needed=usual refill=brisk", "needed=usual"))
	var marked []string
	for _, l := range domain(t, rep, "findings").Lines {
		if strings.HasPrefix(l.ID, "findings/negative/") {
			marked = append(marked, l.ID)
		}
	}
	require.Equal(t, []string{"findings/negative/needed"}, marked)
	require.Equal(t, rubric.Points(100_000), rep.Total)
}

// A vital that is chosen from a list is a vital all the same, and is not counted
// among the normals.
func TestDetectionLeavesOutAVitalThatIsAChoice(t *testing.T) {
	k := looking(choice("refill", "crt", "brisk", "slow"))
	for _, charted := range []string{"brisk", "slow"} {
		require.Zero(t, rubric.Grade(onlyFindings, k, looked("refill=brisk", "refill="+charted)).Detection, charted)
	}
}

// The seconds of a refill are quoted as a number in the field's unit, as other
// figures are; only its classes stay as written.
func TestSecondsOfRefillAreQuotedAsANumber(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	for written, want := range map[string]string{"1,5 s": "1.5", "2 sec": "2", "1-2 s": "1-2 s", "> 2": "> 2"} {
		rep := w.grade(append(w.do("mouth.refill"), rubric.Act{Kind: rubric.Record, Field: "crt", Value: written, Interpretation: "normal"}))
		require.Equal(t, want, argOf(line(t, rep, "vitals/crt"), "charted"))
		require.Equal(t, want, argOf(line(t, rep, "vitals/crt/call"), "charted"))
	}
}

// The first of several ways to prepare counts. Three required steps of other
// stages may follow the sore place, not four; a sore place that was never reached
// does not make its stage a sore one.
func TestPrecautionsAgainstTheWalk(t *testing.T) {
	ready := rubric.Precaution{ID: "p", Kind: "before", Done: []string{"look.one", "wait"}, Steps: []string{"sore.one"}}
	last := rubric.Precaution{ID: "p", Kind: "last", Steps: []string{"sore.one@right"}, Among: []string{"touch"}}
	both := last
	both.Steps = []string{"sore.one@right", "near.two"}
	for _, row := range []struct {
		p          rubric.Precaution
		walk, code string
	}{
		{ready, "look.one sore.one@left wait", "precaution.taken"},
		{ready, "sore.one@left look.one wait", "precaution.missed"},
		{last, "look.one sore.one@left sore.one@right a.one b.one c.one", "precaution.taken"},
		{last, "look.one sore.one@left sore.one@right a.one b.one c.one d.one", "precaution.missed"},
		{both, "look.one sore.one@left sore.one@right near.one", "precaution.taken"},
		{both, "look.one sore.one@left near.two sore.one@right near.one", "precaution.missed"},
	} {
		k := stageKey("look.one", "~sore.one!", "~near.one", "~near.two", "~a.one", "~b.one", "~c.one", "~d.one")
		for i := range k.Steps {
			k.Steps[i].Required, k.Steps[i].Weight = true, 1
		}
		k.Precautions = []rubric.Precaution{row.p}
		rep := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Handling: 100}}, k, trail(row.walk))
		require.Equal(t, row.code, line(t, rep, "handling/precaution/p").Code, row.walk)
	}
}

// A rate is the sign of a problem where the student called it abnormal, or called
// it nothing and it lies outside its own range (70 to 120 here).
func TestARateIsASignByItsCallOrItsRange(t *testing.T) {
	for _, row := range []struct{ value, call, code string }{
		{"168", "high", "problem.right"}, {"168", "", "problem.right"}, {"168", "normal", "problem.unsupported"},
		{"96", "high", "problem.right"}, {"96", "", "problem.unsupported"}, {"96", "normal", "problem.unsupported"},
	} {
		w := newWorld(t, "veterinary", "routine")
		w.vital("heart.rate", "168")
		w.key.Expected.Problems = []rubric.Problem{{ID: "fast heart", Signs: []rubric.Place{{Field: "heart.rate"}}}}
		rep := w.grade(append(w.do("heart.auscultate"),
			rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: row.value, Interpretation: row.call}, w.conclusion()))
		require.Equal(t, row.code, line(t, rep, "conclusions/problem/fast heart").Code, row)
	}
}

// A report may hold what was there, here 3, or what the own sheet says, and
// nothing else; of a field that is given twice the right line counts.
func TestWhatAReportMaySayOfAFinding(t *testing.T) {
	for _, row := range []struct{ charted, given, code string }{
		{"3", "3", "report.given"}, {"2", "2", "report.given"}, {"none", "3", "report.given"}, {"none", "normal", "report.given"},
		{"2", "1", "report.wrong"}, {"normal", "2", "report.wrong"}, {"2", "normal", "report.wrong"},
		{rubric.NotExamined, "none", "report.wrong"}, {"sore", "none", "report.wrong"},
		{"3", "1 3", "report.given"}, {"3", "3 1", "report.given"}, {"3", "1 2", "report.wrong"},
	} {
		w := sick(t, "technician")
		a := w.conclusion()
		a.Report.Fields = nil
		for _, value := range strings.Fields(row.given) {
			a.Report.Fields = append(a.Report.Fields, rubric.Given{Field: "stifle.palpate.pain", Site: "right", Value: value})
		}
		acts := slices.Concat(w.do("stifle.palpate"), []rubric.Act{
			{Kind: rubric.Record, Field: "stifle.palpate.pain", Site: "right", Value: row.charted, Reason: "a reason"}, a})
		require.Equal(t, row.code, line(t, w.grade(acts), "conclusions/report/stifle.palpate.pain@right").Code, row)
	}
}

// For a healthy patient without a list of negatives, what nobody established is
// no negative: it is neither marked wrong nor missed.
func TestAnUnknownIsNoNegativeOfAHealthyPatient(t *testing.T) {
	w := newWorld(t, "veterinary", "routine")
	w.key.Negatives = nil
	before := domain(t, w.grade(w.visit(w.required())), "findings")
	at := -1
	acts := w.visit(w.required())
	transcript := w.play(acts)
	for i := range transcript {
		for j := range transcript[i].Outcome.Shown {
			if transcript[i].Outcome.Shown[j].Field == "mouth.inspect.look" {
				transcript[i].Outcome.Shown[j].Value, at = "unknown", i
			}
		}
	}
	require.GreaterOrEqual(t, at, 0, "the visit looks at the gum")
	after := domain(t, rubric.Grade(w.r, w.key, transcript), "findings")
	for _, l := range after.Lines {
		require.NotContains(t, l.ID, "negative/mouth.inspect.look", l.Code)
	}
	require.Equal(t, len(before.Lines)-1, len(after.Lines), "the one line drops out")
}

package study

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// testKey has what plans look at.
func testKey() rubric.Key {
	sides := []string{"left", "right"}
	return rubric.Key{Situation: "routine",
		Steps: []rubric.Step{{ID: "distance.observe", Kind: rubric.Examine, Stage: "distance"}, {ID: "breathing.count", Kind: rubric.Examine, Stage: "distance"},
			{ID: "heart.auscultate", Kind: rubric.Examine, Stage: "chest", Touch: true, Sites: []string{"left apex", "right apex"}},
			{ID: "lungs.auscultate", Kind: rubric.Examine, Stage: "chest", Touch: true, Sites: []string{"left dorsal", "right dorsal"}},
			{ID: "ears.inspect", Kind: rubric.Examine, Stage: "head", Touch: true, Sites: sides}},
		Fields: []rubric.Field{{ID: "heart.rate", Kind: "count", Vital: "heart_rate"}, {ID: "mm.colour", Kind: "choice", Of: []string{"pink", "pale"}, Normal: []string{"pink"}}},
		Vitals: []rubric.Vital{{Field: "heart.rate", Name: "heart_rate", HasRange: true, Required: true, Steps: []string{"heart.auscultate"}},
			{Field: "resp.rate", Name: "resp_rate", HasRange: true, Steps: []string{"breathing.count"}}}}
}

// played numbers entries.
func played(entries ...rubric.Entry) rubric.Transcript {
	for i := range entries {
		entries[i].Act.N, entries[i].Outcome.Clock = i+1, 10*(i+1)
	}
	return entries
}

func did(step string, change ...func(*rubric.Entry)) rubric.Entry {
	id, site, _ := strings.Cut(step, "@")
	e := rubric.Entry{Act: rubric.Act{Kind: rubric.Examine, Step: id, Site: site}}
	for _, f := range change {
		f(&e)
	}
	return e
}

func held(seconds int) func(*rubric.Entry) { return func(e *rubric.Entry) { e.Act.Seconds = seconds } }

func shows(field string) func(*rubric.Entry) {
	return func(e *rubric.Entry) {
		e.Outcome.Percepts = append(e.Outcome.Percepts, rubric.Percept{Field: field})
		e.Outcome.Shown = append(e.Outcome.Shown, rubric.Shown{Field: field, Value: "pale"})
	}
}

func wrote(field, value string) rubric.Entry {
	return rubric.Entry{Act: rubric.Act{Kind: rubric.Record, Field: field, Value: value}}
}

func asked() rubric.Entry {
	return rubric.Entry{Act: rubric.Act{Kind: rubric.Ask, Topic: "appetite"}}
}

func handled() rubric.Entry { return rubric.Entry{Act: rubric.Act{Kind: rubric.Handle, How: "settle"}} }

func lifted(of, seconds int) rubric.Entry {
	return rubric.Entry{Act: rubric.Act{Kind: rubric.Lift, Of: of}, Outcome: rubric.Outcome{Closed: &rubric.Contact{Of: of, Seconds: seconds}}}
}

func concludes(h *rubric.Handover) rubric.Entry {
	return rubric.Entry{Act: rubric.Act{Kind: rubric.Conclude, Urgency: "routine", Report: h}}
}

func called(e rubric.Entry, call string) rubric.Entry { e.Act.Interpretation = call; return e }

var (
	touch      = did("ears.inspect@left")
	fullReport = &rubric.Handover{Situation: "s", Background: "b", Assessment: "a", Request: "r"}
	sign       = did("ears.inspect@left", func(e *rubric.Entry) { e.Outcome.Signs = []string{"It growls."} })
	bites      = did("ears.inspect@left", func(e *rubric.Entry) { e.Outcome.Events = []rubric.Event{{ID: "bite", Sign: 1}} })
)

// TestWhatAVisitShowsOfAPlan holds every plan against visits that keep it, that
// break it and that show nothing of it.
func TestWhatAVisitShowsOfAPlan(t *testing.T) {
	t.Parallel()
	walk := func(moved ...bool) func(*Visit) {
		return func(v *Visit) {
			v.Report.Walk.Nearest = "head-to-tail"
			for _, m := range moved {
				v.Report.Walk.Steps = append(v.Report.Walk.Steps, rubric.Walked{Step: "x", Move: m})
			}
		}
	}
	line := func(id string, points rubric.Points) func(*Visit) {
		return func(v *Visit) {
			v.Report.Domains = append(v.Report.Domains, rubric.Domain{Lines: []rubric.Line{{ID: id, Points: points, Max: 1000}}})
		}
	}
	triage := func(v *Visit) { v.Key.Situation = "triage" }
	seen := map[string]map[string]bool{}
	for _, row := range []struct {
		plan, want, why string
		acts            rubric.Transcript
		change          func(*Visit)
	}{
		{"breaths-first", Kept, "counted for 30 s", played(did("breathing.count", held(30)), touch), nil},
		{"breaths-first", Kept, "the eye stayed on it", played(did("breathing.count", held(10)), lifted(1, 20), touch), nil},
		{"breaths-first", Broken, "too short", played(did("breathing.count", held(29)), touch), nil},
		{"breaths-first", Broken, "too late", played(touch, did("breathing.count", held(60))), nil},
		{"breaths-first", CannotTell, "nothing was done", nil, nil},
		{"watch-first", Kept, "watched", played(did("distance.observe"), touch), nil},
		{"watch-first", Broken, "touched before", played(touch, did("distance.observe")), nil},
		{"watch-first", CannotTell, "not even touched", played(asked()), nil},
		{"hold-first", Kept, "settled", played(handled(), touch), nil},
		{"hold-first", Broken, "held too late", played(touch, handled()), nil},
		{"hold-first", CannotTell, "never touched", played(handled()), nil},
		{"stop-when-warned", Kept, "it growled, and nothing came of it", played(sign, touch), nil},
		{"stop-when-warned", Broken, "it growled, then it bit", played(sign, bites), nil},
		{"stop-when-warned", CannotTell, "a quiet animal", played(touch), nil},
		{"heart-30", Kept, "30 s", played(did("heart.auscultate@left apex", held(30)), wrote("heart.rate", "96")), nil},
		{"heart-30", Broken, "15 s", played(did("heart.auscultate@left apex", held(15)), wrote("heart.rate", "24x4")), nil},
		{"heart-30", CannotTell, "no rate was written", played(did("heart.auscultate@left apex", held(15))), nil},
		{"every-site", Kept, "all four", played(did("heart.auscultate@left apex"), did("heart.auscultate@right apex"), did("lungs.auscultate@left dorsal"), did("lungs.auscultate@right dorsal")), nil},
		{"every-site", Broken, "one is left out", played(did("heart.auscultate@left apex"), did("heart.auscultate@right apex"), did("lungs.auscultate@left dorsal")), nil},
		{"every-site", CannotTell, "an animal without such steps", played(touch), func(v *Visit) { v.Key.Steps = v.Key.Steps[4:] }},
		{"both-sides", Kept, "both", played(touch, did("ears.inspect@right")), nil},
		{"both-sides", Broken, "left only", played(touch), nil},
		{"both-sides", CannotTell, "nothing with sides", played(did("distance.observe")), nil},
		{"write-at-once", Kept, "at once", played(did("ears.inspect@left", shows("mm.colour")), wrote("mm.colour", "pale"), did("heart.auscultate@left apex")), nil},
		{"write-at-once", Broken, "from the chest", played(did("ears.inspect@left", shows("mm.colour")), did("heart.auscultate@left apex"), wrote("mm.colour", "pale")), nil},
		{"write-at-once", CannotTell, "nothing was written", played(did("ears.inspect@left", shows("mm.colour"))), nil},
		{"no-blanks", Kept, "written", played(did("ears.inspect@left", shows("mm.colour")), wrote("mm.colour", "pale")), nil},
		{"no-blanks", Broken, "withdrawn", played(did("ears.inspect@left", shows("mm.colour")), wrote("mm.colour", "pale"), wrote("mm.colour", "")), nil},
		{"no-blanks", CannotTell, "nothing was sensed", played(asked()), nil},
		{"figure-and-call", Kept, "called", played(called(wrote("heart.rate", "96"), "normal")), nil},
		{"figure-and-call", Broken, "not called", played(wrote("heart.rate", "96")), nil},
		{"figure-and-call", CannotTell, "no figure", played(wrote("mm.colour", "pale")), nil},
		{"ask-first", Kept, "three", played(asked(), asked(), asked(), touch), nil},
		{"ask-first", Broken, "two", played(asked(), asked(), touch, asked()), nil},
		{"ask-first", CannotTell, "a patient in danger", played(touch), triage},
		{"one-way", Kept, "one step", nil, walk(false, true, false)},
		{"one-way", Broken, "two steps", nil, walk(true, true)},
		{"one-way", CannotTell, "too little to say", nil, nil},
		{"quiet-first", Kept, "whole", nil, line("order/rule/listen-while-quiet", 1000)},
		{"quiet-first", Broken, "in part", nil, line("order/rule/listen-while-quiet", 999)},
		{"quiet-first", CannotTell, "no joint was bent", nil, nil},
		{"four-parts", Kept, "all", played(concludes(fullReport)), nil},
		{"four-parts", Broken, "no report", played(concludes(nil)), nil},
		{"four-parts", Broken, "a blank one", played(concludes(&rubric.Handover{Situation: "s", Background: " ", Assessment: "a", Request: "r"})), nil},
		{"four-parts", CannotTell, "left without an assessment", played(touch), nil},
	} {
		v := &Visit{Key: testKey(), Acts: row.acts}
		if row.change != nil {
			row.change(v)
		}
		p := PlanOf(row.plan)
		require.NotNil(t, p, row.plan)
		require.Equal(t, row.want, p.Kept(v), "%s: %s", row.plan, row.why)
		if seen[row.plan] == nil {
			seen[row.plan] = map[string]bool{}
		}
		seen[row.plan][row.want] = true
	}
	for _, p := range Plans() {
		require.Len(t, seen[p.ID], 3, "%s: kept, broken and not to be told", p.ID)
		require.True(t, strings.HasSuffix(p.Sentence, ".") && strings.Contains(p.Sentence, " I ") || strings.HasPrefix(p.Sentence, "I ") || strings.HasPrefix(p.Sentence, "My "), p.Sentence)
		require.NotEmpty(t, p.Short)
	}
	require.GreaterOrEqual(t, len(Plans()), 12)
}

func TestPlansAreOfferedWhereTheyFit(t *testing.T) {
	t.Parallel()
	offered := func(v Visit, last string) (ids []string) {
		for _, p := range Fitting(v, last) {
			ids = append(ids, p.ID)
		}
		return ids
	}
	fine := Visit{Key: testKey(), Acts: played(did("breathing.count", held(30)), concludes(fullReport))}
	require.Empty(t, offered(fine, ""), "nothing was lost")
	lost := func(ids ...string) rubric.Report {
		var d rubric.Domain
		for _, id := range ids {
			d.Lines = append(d.Lines, rubric.Line{ID: id, Points: 1, Max: 2})
		}
		return rubric.Report{Domains: []rubric.Domain{d}}
	}
	v := Visit{Key: testKey(), Acts: played(touch), Report: lost("order/rule/count-breaths-first", "completeness/ask:appetite")}
	require.Equal(t, []string{"breaths-first", "both-sides", "ask-first"}, offered(v, ""))
	require.Equal(t, []string{"watch-first", "breaths-first", "both-sides", "ask-first"}, offered(v, "watch-first"), "the last one again, where it was not kept")
	require.Equal(t, []string{"breaths-first", "both-sides", "ask-first"}, offered(v, "gone"), "a row that is no more")
	v.Acts = played(did("breathing.count", held(30)), touch)
	require.Equal(t, []string{"both-sides", "ask-first"}, offered(v, "breaths-first"), "it was kept, whatever else its line lost")
	v.Report = lost("order/rule/count-breaths-first", "order/rule/look-first", "order/rule/settle-first", "vitals/heart.rate", "vitals/heart.rate/call", "order/route", "completeness/ask:x")
	v.Acts = played(touch)
	require.Len(t, offered(v, ""), PlansOffered)
	require.Len(t, offered(v, "one-way"), PlansOffered)
	v = Visit{Key: testKey(), Report: lost("order/rule/count-breaths-first")}
	v.Report.Domains[0].Lines[0].Max = 0
	require.Empty(t, offered(v, ""), "what cannot earn anything loses nothing")
	require.Nil(t, PlanOf(""))
}

func TestHintsFadeAfterTwoSuccesses(t *testing.T) {
	t.Parallel()
	at := time.Unix(0, 0)
	j := func(skill, visit string, marks ...int) (out []Judgement) {
		for _, m := range marks {
			out = append(out, Judgement{Skill: skill, Visit: visit, Mark: m, At: at})
		}
		return out
	}
	join := func(all ...[]Judgement) (out []Judgement) {
		for _, list := range all {
			out = append(out, list...)
		}
		return out
	}
	drill := []Judgement{{Skill: "heart", Drill: "d", Mark: 1000}}
	for _, row := range []struct {
		why  string
		all  []Judgement
		want []string
	}{
		{"nothing yet", nil, nil},
		{"one patient, many lines", j("heart", "a", 1000, 1000, 1000), nil},
		{"two patients", join(j("heart", "a", 800), j("heart", "b", 1000)), []string{"heart"}},
		{"a patient and a drill", join(j("heart", "a", 900), drill), []string{"heart"}},
		{"on the whole right", join(j("heart", "a", 1000, 600), j("heart", "b", 800)), []string{"heart"}},
		{"on the whole wrong", join(j("heart", "a", 1000, 590), j("heart", "b", 800)), nil},
		{"the last one failed, so they come back", join(j("heart", "a", 1000), j("heart", "b", 1000), j("heart", "c", 0)), nil},
		{"two again after it", join(j("heart", "c", 0), j("heart", "d", 900), j("heart", "e", 900)), []string{"heart"}},
		{"each skill for itself", join(j("lungs", "a", 1000), j("heart", "a", 1000), j("lungs", "b", 1000), j("heart", "b", 100)), []string{"lungs"}},
	} {
		require.Equal(t, row.want, Faded(row.all), row.why)
	}
}

package server

import (
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
)

// unreached is the fate of a finding in a part to which one did not come in time.
const unreached = "unreached"

// notReached is said in place of what was left out. It changes no mark.
const notReached = "The time ended before you came to this: it was not reached, rather than left out. The marks are the same."

// concluding are the codes of marks that only an assessment earns.
var concluding = []string{"conclude.missing", "urgency.missing", "report.missing"}

// tellUnreached tells apart, in the debrief of a visit that the time ended, what
// was not reached from what was left out: whatever belongs to a stage that comes
// after the last one that was entered, in the order of the nearest accepted route,
// and the assessment. Marks stay as they are. The caller holds l.mu.
func tellUnreached(out *face.Report, l *live) {
	if out.Ended != endedByTime {
		return
	}
	beyond := beyondReach(out.Walk, l.cat)
	concluded := slices.ContainsFunc(l.entries, func(e rubric.Entry) bool { return e.Act.Kind == rubric.Conclude })
	for d := range out.Domains {
		for i := range out.Domains[d].Lines {
			m := &out.Domains[d].Lines[i]
			_, step, _ := strings.Cut(m.ID, "/")
			if m.Code == "step.missing" && beyond(stageOfStep(l.cat, step)) || !concluded && slices.Contains(concluding, m.Code) {
				m.Beyond, m.Reason = true, notReached
			}
		}
	}
	for i := range out.Findings {
		if f := &out.Findings[i]; f.How == "unseen" && beyond(stageOfField(l.cat, f.Field)) {
			f.How = unreached
		}
	}
	for i := range out.Vitals {
		v := &out.Vitals[i]
		v.Beyond = !v.Measured && beyond(stageOfField(l.cat, v.Field))
	}
}

// beyondReach tells of a stage whether it was not entered and comes after every
// stage that was.
func beyondReach(walk face.Walk, cat *cases.Catalogue) func(stage string) bool {
	order := slices.Clone(walk.Order)
	for _, s := range cat.Stages {
		if !slices.Contains(order, s.ID) {
			order = append(order, s.ID)
		}
	}
	last := -1
	entered := map[string]bool{}
	for _, w := range walk.Steps {
		entered[w.Stage] = true
		last = max(last, slices.Index(order, w.Stage))
	}
	return func(stage string) bool { return stage != "" && !entered[stage] && slices.Index(order, stage) > last }
}

func stageOfStep(cat *cases.Catalogue, id string) string {
	if s := cat.Step(id); s != nil {
		return stageOfRegion(cat, s.Region)
	}
	return ""
}

func stageOfField(cat *cases.Catalogue, id string) string {
	if f := cat.Field(id); f != nil {
		return stageOfRegion(cat, f.Region)
	}
	return ""
}

func stageOfRegion(cat *cases.Catalogue, id string) string {
	if r := cat.Region(id); r != nil {
		return r.Stage
	}
	return ""
}

// notMeasured says why a vital sign has no value.
func notMeasured(v face.Vital) string {
	if v.Beyond {
		return "Not reached: the time ended before you came to it."
	}
	return "You did not measure it."
}

package study

import (
	"slices"
	"strings"

	"dewclaw/rubric"
)

// breathsFirst: breaths were counted for 30 s before anything was touched.
func breathsFirst(v *Visit) string {
	sign := v.vital("resp_rate")
	if sign == nil || len(v.Acts) == 0 {
		return CannotTell
	}
	return verdict(v.longest(v.early(), sign.Steps...) >= 30)
}

// before goes by whether a step stands before the first touch.
func before(step string) func(*Visit) string {
	return func(v *Visit) string {
		switch {
		case v.step(step) == nil:
			return CannotTell
		case v.longest(v.early(), step) >= 0:
			return Kept
		case v.firstTouch() < 0:
			return CannotTell // nothing was touched and nothing watched
		}
		return Broken
	}
}

// handledFirst: something was done for the animal's ease, or a hold chosen, before
// the first touch.
func handledFirst(v *Visit) string {
	if v.firstTouch() < 0 {
		return CannotTell
	}
	return verdict(slices.ContainsFunc(v.early(), func(e rubric.Entry) bool { return e.Act.Kind == rubric.Handle }))
}

// hurtAfterSign fits where something happened that the animal had foreshadowed.
func hurtAfterSign(v *Visit) bool {
	return slices.ContainsFunc(v.Acts, func(e rubric.Entry) bool {
		return slices.ContainsFunc(e.Outcome.Events, func(h rubric.Event) bool { return h.Sign > 0 })
	})
}

// stoppedWhenWarned: nothing happened that the animal had foreshadowed. Where it
// showed nothing, and refused nothing, there was no warning to heed.
func stoppedWhenWarned(v *Visit) string {
	if hurtAfterSign(v) {
		return Broken
	}
	warned := slices.ContainsFunc(v.Acts, func(e rubric.Entry) bool { return e.Outcome.Refused || len(e.Outcome.Signs) > 0 })
	if !warned {
		return CannotTell
	}
	return Kept
}

// countedFor: the step that measures a vital was held that long at least once.
func countedFor(vital string, seconds int) func(*Visit) string {
	return func(v *Visit) string {
		sign := v.vital(vital)
		if sign == nil || !slices.ContainsFunc(v.standing(), func(a rubric.Act) bool { return a.Field == sign.Field }) {
			return CannotTell // no rate was written
		}
		return verdict(v.longest(v.Acts, sign.Steps...) >= seconds)
	}
}

// everySite: each of the steps was done at all of its sites.
func everySite(steps ...string) func(*Visit) string {
	return func(v *Visit) string {
		known := false
		for _, id := range steps {
			done, all := v.sites(id)
			known = known || len(all) > 0
			if len(done) < len(all) {
				return Broken
			}
		}
		if !known {
			return CannotTell
		}
		return Kept
	}
}

// halves counts the steps with a left and a right that were done, and those of
// them that were done on one side only.
func (v *Visit) halves() (done, half int) {
	for _, s := range v.Key.Steps {
		if !slices.Contains(s.Sites, "left") || !slices.Contains(s.Sites, "right") {
			continue
		}
		at, _ := v.sites(s.ID)
		left, right := slices.Contains(at, "left"), slices.Contains(at, "right")
		if left || right {
			done++
		}
		if left != right {
			half++
		}
	}
	return done, half
}

func oneSided(v *Visit) bool { _, half := v.halves(); return half > 0 }

func bothSides(v *Visit) string {
	done, half := v.halves()
	if done == 0 {
		return CannotTell
	}
	return verdict(half == 0)
}

// stageOf is the stretch of the animal to which an examination belongs.
func (v *Visit) stageOf(step string) string {
	if s := v.step(step); s != nil {
		return s.Stage
	}
	return ""
}

// late counts the lines that were written once another stretch of the animal was
// being examined than the one that had shown them last, and all that were shown.
func (v *Visit) late() (late, all int) {
	shown, here := map[rubric.Place]string{}, ""
	for _, e := range v.Acts {
		if examined(e) {
			here = v.stageOf(e.Act.Step)
			for _, p := range e.Outcome.Percepts {
				shown[rubric.Place{Field: p.Field, Site: p.Site}] = here
			}
		}
		if e.Act.Kind != rubric.Record || e.Act.Field == "" || e.Act.Value == "" || e.Act.States() {
			continue
		}
		if at, ok := shown[rubric.Place{Field: e.Act.Field, Site: e.Act.Site}]; ok {
			all++
			if at != here {
				late++
			}
		}
	}
	return late, all
}

// lateMost is the part of the lines, in percent, that may be written late by who
// writes at once.
const lateMost = 20

func wroteLate(v *Visit) bool { return wroteAtOnce(v) == Broken }

func wroteAtOnce(v *Visit) string {
	late, all := v.late()
	if all == 0 {
		return CannotTell
	}
	return verdict(late*100 <= all*lateMost)
}

// noBlanks: whatever was sensed has a line.
func noBlanks(v *Visit) string {
	written := map[rubric.Place]bool{}
	for _, l := range rubric.Chart(v.Key.Fields, v.Acts) {
		written[l.Place] = l.Value != ""
	}
	sensed := false
	for _, e := range v.Acts {
		for _, p := range e.Outcome.Percepts {
			sensed = true
			if !written[rubric.Place{Field: p.Field, Site: p.Site}] {
				return Broken
			}
		}
	}
	if !sensed {
		return CannotTell
	}
	return Kept
}

// isCall says whether a line is about what a figure was called.
func isCall(l rubric.Line) bool { return strings.HasSuffix(l.ID, "/call") }

func calledShort(v *Visit) bool {
	return slices.ContainsFunc(v.lines("vitals/"), func(l rubric.Line) bool { return isCall(l) && l.Points < l.Max })
}

// calledAll: every vital sign on the sheet says low, normal or high.
func calledAll(v *Visit) string {
	some := false
	for _, a := range v.standing() {
		isVital := slices.ContainsFunc(v.Key.Vitals, func(s rubric.Vital) bool { return s.Field == a.Field && s.HasRange })
		if isVital && a.Interpretation == "" {
			return Broken
		}
		some = some || isVital
	}
	if !some {
		return CannotTell
	}
	return Kept
}

// askedFirst: three questions before the first touch. A patient in danger is not
// kept waiting for them.
func askedFirst(v *Visit) string {
	if v.Key.Situation == "triage" || len(v.Acts) == 0 {
		return CannotTell
	}
	asked := 0
	for _, e := range v.early() {
		if e.Act.Kind == rubric.Ask {
			asked++
		}
	}
	return verdict(asked >= 3)
}

// oneWay: no stretch of the animal was gone back to, beyond once.
func oneWay(v *Visit) string {
	if v.Report.Walk.Nearest == "" {
		return CannotTell
	}
	moved := 0
	for _, s := range v.Report.Walk.Steps {
		if s.Move {
			moved++
		}
	}
	return verdict(moved <= 1)
}

func partsMissing(v *Visit) bool { return fourParts(v) == Broken }

// fourParts: the report to the veterinarian says something in each of its parts.
func fourParts(v *Visit) string {
	last := v.concluded()
	if last == nil {
		return CannotTell
	}
	if last.Report == nil {
		return Broken
	}
	for _, part := range []string{last.Report.Situation, last.Report.Background, last.Report.Assessment, last.Report.Request} {
		if strings.TrimSpace(part) == "" {
			return Broken
		}
	}
	return Kept
}

package study

import (
	"slices"
	"strings"

	"dewclaw/rubric"
)

// either fits where one of them does.
func either(all ...func(*Visit) bool) func(*Visit) bool {
	return func(v *Visit) bool {
		return slices.ContainsFunc(all, func(f func(*Visit) bool) bool { return f(v) })
	}
}

// lines are the lines of the report that can earn something and begin like this.
func (v *Visit) lines(prefix string) (out []rubric.Line) {
	for _, d := range v.Report.Domains {
		for _, l := range d.Lines {
			if l.Max > 0 && strings.HasPrefix(l.ID, prefix) {
				out = append(out, l)
			}
		}
	}
	return out
}

// short fits where a line that begins like this lost something.
func short(prefix string) func(*Visit) bool {
	return func(v *Visit) bool {
		return slices.ContainsFunc(v.lines(prefix), func(l rubric.Line) bool { return l.Points < l.Max })
	}
}

// byLine goes by whether a line has its whole mark; one that was not judged tells nothing.
func byLine(id string) func(*Visit) string {
	return func(v *Visit) string {
		lines := v.lines(id)
		if len(lines) == 0 {
			return CannotTell
		}
		return verdict(!short(id)(v))
	}
}

func verdict(kept bool) string {
	if kept {
		return Kept
	}
	return Broken
}

// how fits where a finding had this fate.
func how(fate string) func(*Visit) bool {
	return func(v *Visit) bool {
		return slices.ContainsFunc(v.Report.Findings, func(f rubric.FindingRead) bool { return f.How == fate })
	}
}

// missedVital fits where a vital of the key was to be measured and was not.
func missedVital(name string) func(*Visit) bool {
	return func(v *Visit) bool {
		sign := v.vital(name)
		return sign != nil && sign.Required && slices.ContainsFunc(v.Report.Vitals, func(r rubric.VitalRead) bool { return r.Field == sign.Field && !r.Measured })
	}
}

func (v *Visit) vital(name string) *rubric.Vital {
	i := slices.IndexFunc(v.Key.Vitals, func(s rubric.Vital) bool { return s.Name == name })
	if i < 0 {
		return nil
	}
	return &v.Key.Vitals[i]
}

func (v *Visit) step(id string) *rubric.Step {
	i := slices.IndexFunc(v.Key.Steps, func(s rubric.Step) bool { return s.ID == id })
	if i < 0 {
		return nil
	}
	return &v.Key.Steps[i]
}

// examined says whether an entry is a step that was done.
func examined(e rubric.Entry) bool { return e.Act.Kind == rubric.Examine && !e.Outcome.Refused }

// firstTouch is the index of the first act with hands on the animal, also one that
// it did not allow; -1: there was none.
func (v *Visit) firstTouch() int {
	return slices.IndexFunc(v.Acts, func(e rubric.Entry) bool {
		s := v.step(e.Act.Step)
		return e.Act.Kind == rubric.Examine && s != nil && s.Touch
	})
}

// early are the acts before the first touch; all where nothing was touched.
func (v *Visit) early() rubric.Transcript {
	if i := v.firstTouch(); i >= 0 {
		return v.Acts[:i]
	}
	return v.Acts
}

// contact is how long the hand, the eye or the stethoscope stayed with an act.
func (v *Visit) contact(of rubric.Entry) int {
	seconds := of.Act.Seconds
	for _, e := range v.Acts {
		if c := e.Outcome.Closed; c != nil && c.Of == of.Act.N {
			seconds += c.Seconds
		}
	}
	return seconds
}

// longest is the longest contact of the steps in some acts; -1: none was done.
func (v *Visit) longest(acts rubric.Transcript, steps ...string) int {
	most := -1
	for _, e := range acts {
		if examined(e) && slices.Contains(steps, e.Act.Step) {
			most = max(most, v.contact(e))
		}
	}
	return most
}

// sites are those of a step at which it was done, of all that it has.
func (v *Visit) sites(step string) (done, all []string) {
	s := v.step(step)
	if s == nil {
		return nil, nil
	}
	for _, e := range v.Acts {
		if examined(e) && e.Act.Step == step && !slices.Contains(done, e.Act.Site) {
			done = append(done, e.Act.Site)
		}
	}
	return done, s.Sites
}

// standing are the acts that wrote the lines of the sheet as it was at the end.
func (v *Visit) standing() (out []rubric.Act) {
	for _, l := range rubric.Chart(v.Key.Fields, v.Acts) {
		if l.Value != "" && !strings.EqualFold(l.Value, rubric.NotExamined) && l.Act > 0 && l.Act <= len(v.Acts) {
			out = append(out, v.Acts[l.Act-1].Act)
		}
	}
	return out
}

// concluded is the last assessment; nil: the visit ended without one.
func (v *Visit) concluded() *rubric.Act {
	for i := len(v.Acts) - 1; i >= 0; i-- {
		if v.Acts[i].Act.Kind == rubric.Conclude {
			return &v.Acts[i].Act
		}
	}
	return nil
}

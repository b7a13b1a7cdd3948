package rubric

import "slices"

// What is said of how a rate was counted. None of it changes a mark, except
// that a panting animal has no rate to count.

// window is the seconds over which a count must run: the rubric's, never the
// student's.
func (g *run) window(s *sign) int {
	w := &g.r.Windows
	need := clampTo(s.v.Window, 0, 3600)
	switch {
	case s.v.Name != "heart_rate" && s.v.Name != "resp_rate":
		return 0
	case need > 0 && s.v.Irregular:
		return need
	case s.v.Irregular:
		need = w.Irregular
	case s.v.Name == "resp_rate" && w.FastAbove > 0 && w.FastBreathing > 0 && s.truth > Milli(clampTo(w.FastAbove, 0, 1000))*1000:
		need = w.FastBreathing
	case need > 0:
		return need
	case s.v.Name == "resp_rate":
		need = w.Breathing
	default:
		need = w.Heart
	}
	return clampTo(need, 1, 3600)
}

// panting says that what was last seen of how the animal breathes, or of how
// its heart beats, leaves no rate to count: that of the examine behind the line
// on the sheet, else the last.
func (g *run) panting(v *Vital, e *entry) bool {
	if len(v.Uncounted) == 0 {
		return false
	}
	told := ""
	if e != nil && e.examined {
		for i := range g.t[e.seen].Outcome.Shown {
			if shown := &g.t[e.seen].Outcome.Shown[i]; shown.Field == v.Rhythm {
				told = shown.Value
			}
		}
	}
	if f, ok := g.sheet.ids[v.Rhythm]; ok && told == "" {
		if last := g.sheet.last[f]; last >= 0 {
			told = g.sheet.told(g.sheet.truths[last])
		}
	}
	return slices.Contains(v.Uncounted, told)
}

// countedOver is the seconds over which the student says a rate was counted,
// and the figure; ok is false where the line is no such figure.
func (g *run) countedOver(s *sign) (over int, x Milli, ok bool) {
	if s.needed == 0 || s.entry == nil || s.entry.reading.Class != Figure {
		return 0, 0, false
	}
	over = g.t[s.entry.act].Act.Over
	return over, s.entry.reading.Number, over > 0 && over <= 3600
}

// multiple says whether a count over so many seconds can give the rate. Where
// the seconds divide a minute it must do so exactly; else the product has to be
// rounded to a whole rate, up or down.
func multiple(x Milli, over int) bool {
	beats := min(x, largest) * Milli(over) // times 60 000
	if 60%over == 0 {
		return beats%60_000 == 0
	}
	part := beats % 60_000
	return min(part, 60_000-part) < 1000*Milli(over)
}

// arithmetic notes, without marks, a rate that cannot come from the seconds
// that the student says were counted: a count over 15 s times 4 is a multiple
// of 4.
func (g *run) arithmetic(d *tally, s *sign) {
	over, x, ok := g.countedOver(s)
	if !ok || multiple(x, over) {
		return
	}
	d.note(s.v.Field+"/arithmetic", codeArithmetic, []int{g.n(s.entry.act + 1)},
		Arg{"field", s.v.Field}, Arg{"vital", s.v.Name}, Arg{"charted", x.String()}, Arg{"over", itoa(over)})
}

// least a step must be, so that one event too many shows: below it, the animal's
// own change within the count is as large.
const leastStep Milli = 2000

// firstBeat notes, without marks, a reading that is about one step of its
// window above the truth: that comes of calling the first event one and not
// zero, which adds 60/T. An honest count over T seconds of R*T/60 = k + f events
// gives k with probability 1-f and k+1 with f, so that it lies e steps above the
// truth with probability 1-e, for e below 1 and never more; one begun at one
// lies e above with probability e for e up to 1, and 2-e from there to 2. From
// three quarters of a step upward the fault is at least three times as likely.
func (g *run) firstBeat(d *tally, s *sign) {
	over, x, ok := g.countedOver(s)
	if !ok || !s.known || !s.entry.examined || s.markCode == codePanting || s.v.Irregular || !multiple(x, over) {
		return
	}
	step, above := Milli(60_000/over), x-s.truth
	if step < leastStep || 4*above < 3*step || 2*above > 3*step {
		return
	}
	d.note(s.v.Field+"/first", codeFirstBeat, sorted([]int{g.n(s.entry.seen + 1), g.n(s.entry.act + 1)}),
		Arg{"field", s.v.Field}, Arg{"vital", s.v.Name}, Arg{"charted", x.String()}, Arg{"truth", s.truth.String()},
		Arg{"over", itoa(over)}, Arg{"above", above.String()})
}

package rubric

import (
	"slices"
	"strings"
)

const (
	partProblems = 600 // thousandths, veterinary
	partUrgency  = 400
	partFields   = 500 // technician
	partUrgent   = 300
	partFrame    = 200

	urgencyEvent = "urgency"
)

func (g *run) canConclude() bool {
	e := &g.k.Expected
	return e.Urgency != "" || len(e.Problems) > 0 || len(e.Report) > 0
}

// conclusions marks the last conclude act: problems and urgency on the
// veterinary track, the report to the veterinarian on the technician's.
func (g *run) conclusions(d *tally) {
	if g.ends == 0 {
		d.add("conclude", 0, d.max, codeNotConcluded, nil)
		return
	}
	a := &g.t[g.ends-1].Act
	if g.k.Track == "technician" {
		g.report(d, a)
		return
	}
	parts := portions{total: d.max}
	urgent := g.k.Expected.Urgency != ""
	parts.sum = partProblems
	if urgent {
		parts.sum += partUrgency
	}
	named := g.problems(d, a, parts.next(partProblems))
	if urgent {
		g.urgency(d, a, parts.next(partUrgency), named || len(g.k.Expected.Problems) == 0)
	} else {
		d.drop("urgency", "none-expected")
	}
}

// problems marks F1 over the expected problems. A problem counts when the
// student named it and charted one of its signs; named without its signs it
// neither helps nor counts as wrong. It returns whether one counted.
func (g *run) problems(d *tally, a *Act, limit Points) bool {
	e := &g.k.Expected
	right, extra := 0, 0
	acts := []int{a.N}
	d.lines = append(d.lines, Line{}) // the mark stands first, its reasons below
	at := len(d.lines) - 1
	for i := range e.Problems {
		p := &e.Problems[i]
		code := codeProblemMissed
		if slices.Contains(a.Problems, p.ID) {
			code = codeProblemBare
			if g.charted(p.Signs) {
				code = codeProblemRight
				right++
			}
		}
		d.note("problem/"+p.ID, code, acts, Arg{"problem", p.ID}, Arg{"signs", placesText(p.Signs)})
	}
	for i, id := range a.Problems {
		if slices.Contains(a.Problems[:i], id) || slices.ContainsFunc(e.Problems, func(p Problem) bool { return p.ID == id }) {
			continue
		}
		code := codeProblemAccepted
		if !slices.Contains(e.Accept, id) {
			code = codeProblemExtra
			extra++
		}
		d.note("problem/"+clip(id), code, acts, Arg{"problem", clip(id)})
	}
	points, code := share(limit, int64(2*right), int64(len(e.Problems)+right+extra)), codeProblems
	if len(e.Problems) == 0 {
		code = codeProblemsNone
		if extra == 0 {
			points = limit
		}
	}
	line := tally{store: d.store, id: d.id}
	line.add("problems", points, limit, code, acts, Arg{"right", itoa(right)}, Arg{"expected", itoa(len(e.Problems))}, Arg{"extra", itoa(extra)})
	d.lines[at] = line.lines[0]
	d.sum += points
	return right > 0
}

// charted says whether one of the signs stands on the sheet, examined and
// called abnormal. A problem without signs needs none.
func (g *run) charted(signs []Place) bool {
	if len(signs) == 0 {
		return true
	}
	for _, s := range signs {
		f, ok := g.sheet.ids[s.Field]
		if !ok {
			continue
		}
		if g.abnormalOn(f) {
			return true
		}
		for _, id := range g.sheet.fields[f].AcceptAs {
			if other, ok := g.sheet.ids[id]; ok && g.abnormalOn(other) {
				return true
			}
		}
	}
	return false
}

// abnormalOn says whether an examined abnormal entry stands in a field; a vital
// is abnormal by what the student called it, or by the reference range.
func (g *run) abnormalOn(f int32) bool {
	from, to := g.sheet.places(f)
	for p := from; p < to; p++ {
		e := g.sheet.on(p)
		if e == nil || !e.examined {
			continue
		}
		if e.reading.Class == Abnormal || (e.reading.Class == Figure && g.figureAbnormal(e)) {
			return true
		}
	}
	return false
}

func (g *run) figureAbnormal(e *entry) bool {
	if call := g.t[e.act].Act.Interpretation; call != "" {
		return call != "normal"
	}
	for i := range g.k.Vitals {
		v := &g.k.Vitals[i]
		if v.Field == g.sheet.fields[e.field].ID && v.HasRange {
			return v.sides(e.reading.Number)&sideNormal == 0
		}
	}
	return false
}

// urgencies are the degrees, in order.
var urgencies = []string{"routine", "same day", "emergency"}

// urgency marks how soon the patient must be seen: exact 1, one step over .5.
// It earns only with a true problem named (technician: a finding reported)
// where there is one.
func (g *run) urgency(d *tally, a *Act, limit Points, grounded bool) {
	want, said := slices.Index(urgencies, g.k.Expected.Urgency), slices.Index(urgencies, a.Urgency)
	points, code := Points(0), codeUrgencyWrong
	switch {
	case said < 0:
		code = codeUrgencyMissing
	case want == 2 && said == 0:
		code = codeUrgencyCritical
		g.rep.Critical = append(g.rep.Critical, Event{ID: urgencyEvent, Severity: "critical"})
	case !grounded:
		code = codeUrgencyBare
	case said == want:
		points, code = limit, codeUrgencyRight
	case said == want+1:
		points, code = share(limit, 1, 2), codeUrgencyOver
	}
	d.add("urgency", points, limit, code, []int{a.N}, Arg{"urgency", clip(a.Urgency)}, Arg{"right", g.k.Expected.Urgency})
}

// report marks a technician's report to the veterinarian.
func (g *run) report(d *tally, a *Act) {
	e := &g.k.Expected
	h := a.Report
	if h == nil {
		h = &Handover{}
	}
	parts := portions{total: d.max, sum: partFrame}
	if len(e.Report) > 0 {
		parts.sum += partFields
	}
	if e.Urgency != "" {
		parts.sum += partUrgent
	}
	given := 0
	if len(e.Report) > 0 {
		pool := portions{total: parts.next(partFields), sum: int64(len(e.Report))}
		for i := range e.Report {
			if g.reported(d, a, h, &e.Report[i], pool.next(1)) {
				given++
			}
		}
	} else {
		d.drop("fields", "none-expected")
	}
	if e.Urgency != "" {
		g.urgency(d, a, parts.next(partUrgent), given > 0 || len(e.Report) == 0)
	} else {
		d.drop("urgency", "none-expected")
	}
	g.framed(d, a, h, parts.next(partFrame))
	if len(a.Problems) > 0 {
		d.note("diagnosis", codeDiagnosis, []int{a.N}, Arg{"problem", clip(a.Problems[0])}, Arg{"problems", clipped(a.Problems)})
	}
}

// framed marks whether situation, background, assessment and request are all there.
func (g *run) framed(d *tally, a *Act, h *Handover, limit Points) {
	var gaps []string
	for _, part := range [4]struct{ name, text string }{{"situation", h.Situation}, {"background", h.Background}, {"assessment", h.Assessment}, {"request", h.Request}} {
		if strings.TrimSpace(part.text) == "" {
			gaps = append(gaps, part.name)
		}
	}
	if len(gaps) == 0 {
		d.add("frame", limit, limit, codeFramed, []int{a.N})
		return
	}
	d.add("frame", 0, limit, codeUnframed, []int{a.N}, Arg{"gaps", strings.Join(gaps, ", ")})
}

// reported marks one field of a report: given with its value, and its side
// where it has one, after it was examined. The value may be the one charted or
// the one that was there.
func (g *run) reported(d *tally, a *Act, h *Handover, want *Place, limit Points) bool {
	code, said, at := codeReportMissing, "", ""
	f, ok := g.sheet.ids[want.Field]
	if ok {
		for i := range h.Fields {
			if h.Fields[i].Field != want.Field {
				continue
			}
			said, at = h.Fields[i].Value, h.Fields[i].Site
			if code = g.givenCode(f, want, &h.Fields[i]); code == codeReported {
				break
			}
		}
	}
	points := Points(0)
	if code == codeReported {
		points = limit
	}
	d.add("report/"+placeName(want.Field, want.Site), points, limit, code, []int{a.N},
		Arg{"field", want.Field}, Arg{"site", want.Site}, Arg{"given", clip(said)}, Arg{"at", clip(at)}, Arg{"vital", g.vitalName(f, ok)})
	return code == codeReported
}

// vitalName is the vital of a field; empty where it is none or there is no such field.
func (g *run) vitalName(f int32, ok bool) string {
	if !ok {
		return ""
	}
	return g.sheet.fields[f].Vital
}

func (g *run) givenCode(f int32, want *Place, given *Given) string {
	place, sited := g.sheet.at(f, want.Site)
	t := g.sheet.shown(f, place)
	rd, err := g.sheet.fields[f].Read(given.Value)
	switch {
	case err != nil || rd.Class == Blank || rd.Class == Unexamined:
		return codeReportMissing
	case t.act == 0:
		return codeReportUnseen
	case sited && given.Site != want.Site:
		return codeReportSide
	}
	e := g.sheet.on(place)
	if e != nil && sameReading(e.reading, rd) {
		return codeReported
	}
	if truth, err := g.sheet.fields[f].Read(g.sheet.told(t)); err == nil && sameReading(truth, rd) {
		return codeReported
	}
	return codeReportWrong
}

// sameReading says that two values say the same.
func sameReading(a, b Reading) bool {
	if a.Class == Figure || b.Class == Figure {
		return a.Class == b.Class && a.Number == b.Number
	}
	if a.Class != b.Class || a.Class == Unreadable {
		return false
	}
	return a.Choice == b.Choice && a.Number == b.Number || a.Choice < 0 || b.Choice < 0
}

// namedMost is how many of a list a sentence names.
const namedMost = 8

// clipped joins the first of a student's problems into one argument.
func clipped(ids []string) string {
	names := make([]string, 0, namedMost)
	for _, id := range ids[:min(len(ids), namedMost)] {
		names = append(names, strings.ReplaceAll(clip(id), "|", " "))
	}
	return strings.Join(names, "|")
}

// join makes one argument of several ids; ids hold no bar.
func join(ids []string) string { return strings.Join(ids, "|") }

func placesText(places []Place) string {
	names := make([]string, len(places))
	for i, p := range places {
		names[i] = placeName(p.Field, p.Site)
	}
	return strings.Join(names, "|")
}

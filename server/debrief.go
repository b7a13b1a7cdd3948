package server

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
	"dewclaw/rubric/say"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// caution stands on whatever shows a range or advice.
const caution = "Simulated patients, for teaching. Ranges vary with laboratory, breed and circumstance; a live animal is examined " +
	"under a licensed veterinarian's direction and local rules."

// domainLabels are the domains on screen.
var domainLabels = map[string]string{"order": "Order", "completeness": "Completeness", "findings": "Findings",
	"vitals": "Vital signs", "handling": "Handling", "conclusions": "Conclusions"}

// report is the debrief of a graded visit: one's own, or anybody's for who may
// see all. Until it is graded it is as absent as one that never was.
func (s *Server) report(ctx context.Context, who face.Person, id string) (face.Report, error) {
	row, err := s.mayRead(ctx, who, id)
	if err != nil {
		return face.Report{}, err
	}
	if shown, err := s.shown(ctx, who, row); err != nil || !shown {
		return face.Report{}, cmp.Or(err, ErrMissing)
	}
	return s.debrief(ctx, who, row)
}

// debrief is what was there in a graded visit, with what people decided.
func (s *Server) debrief(ctx context.Context, who face.Person, row store.Attempt) (face.Report, error) {
	m, err := s.marked(ctx, row)
	if err != nil {
		return face.Report{}, err
	}
	key, err := rubric.DecodeKey(row.Key)
	if err != nil {
		return face.Report{}, fmt.Errorf("report: %w", err)
	}
	l, err := s.liveOf(ctx, row)
	if err != nil {
		return face.Report{}, err
	}
	_, k, err := s.asStored(ctx, row)
	if err != nil {
		return face.Report{}, err
	}
	words := quietly(s.words(l.cat), l.cat, row.Alternatives)
	ranges, err := s.rangesOf(ctx, row)
	if err != nil {
		return face.Report{}, err
	}
	out := reveal(m.report, l.cat, words, ranges)
	if err := s.layMarks(ctx, &out, row, m, words); err != nil {
		return face.Report{}, err
	}
	out.MayAsk = row.Person == who.ID && row.Purpose == forSitting
	out.Attempt, out.Patient, out.Track, out.Started, out.Ended = row.ID, l.face, row.Track, row.Started, row.Ended
	out.Traced, out.Described, out.Sounds = row.Alternatives.Traced, row.Alternatives.Described, soundsText(row.Alternatives)
	out.Teaching, out.Caution, out.Review = k.Teaching, caution, s.reviewed("case/"+k.ID)
	if auth.May(auth.Role(who.Role), auth.SeeTruth) {
		out.Title = k.Title
	}
	if row.Person == who.ID {
		if err := s.tellSure(ctx, &out, row, m.report, l.cat, words); err != nil {
			return face.Report{}, err
		}
	}
	out.Walk.Order = stagesOf(m.scheme, out.Walk.Nearest)
	out.Rubric, out.PassMark = m.scheme.Title, face.Points(m.scheme.Pass)
	out.Person, err = s.ownerOf(ctx, row)
	l.mu.Lock()
	defer l.mu.Unlock()
	out.Clock, out.Hazards = l.clock(), hazards(l.entries)
	tellUnreached(&out, l)
	out.Closing = closing(key.Expected, l.entries, words)
	return out, err
}

// stagesOf are the stages in the order of one of a scheme's routes.
func stagesOf(r rubric.Rubric, route string) []string {
	for _, row := range r.Routes {
		if row.ID == route {
			return slices.Concat(row.Order...)
		}
	}
	return nil
}

// ownerOf is whose visit it is; nil once that person is erased.
func (s *Server) ownerOf(ctx context.Context, row store.Attempt) (*face.Person, error) {
	p, err := s.store.Person(ctx, row.Person)
	if err != nil {
		return nil, fmt.Errorf("whose visit: %w", err)
	}
	if !p.Erased.IsZero() {
		return nil, nil
	}
	out := facePerson(p)
	return &out, nil
}

// reveal is the one place where what was there is opened, for a released report.
func reveal(rep rubric.Report, cat *cases.Catalogue, w say.Words, ranges normal.Overlaid) face.Report {
	say.Fill(&rep, w)
	out := face.Report{Engine: rep.Engine, Total: face.Points(rep.Total), Pass: rep.Pass, Critical: []face.Event{}, Held: []face.Reason{}}
	for _, e := range rep.Critical {
		out.Critical = append(out.Critical, face.Event{ID: e.ID, Severity: e.Severity, Why: e.Why, Sign: e.Sign})
	}
	for _, code := range rep.Held {
		out.Held = append(out.Held, face.Reason{Code: code, Text: say.Held(code)})
	}
	for _, d := range rep.Domains {
		out.Max += face.Points(d.Max)
		out.Domains = append(out.Domains, faceDomain(d, w))
	}
	out.Walk = face.Walk{Nearest: rep.Walk.Nearest, Steps: []face.Walked{}}
	for _, step := range rep.Walk.Steps {
		out.Walk.Steps = append(out.Walk.Steps, face.Walked{Step: step.Step, Label: w.Step(step.Step), Stage: step.Stage, Act: step.Act, Move: step.Move})
	}
	out.Vitals, out.Findings = []face.Vital{}, []face.Finding{}
	for _, v := range rep.Vitals {
		out.Vitals = append(out.Vitals, faceVital(v, cat, w, ranges))
	}
	for _, f := range rep.Findings {
		out.Findings = append(out.Findings, faceFinding(f, w))
	}
	out.Detection = face.Detection(rep.Detection)
	return out
}

func faceDomain(d rubric.Domain, w say.Words) face.Domain {
	out := face.Domain{ID: d.ID, Label: domainLabels[d.ID], Points: face.Points(d.Points), Max: face.Points(d.Max), Lines: []face.Mark{}}
	for _, line := range d.Lines {
		out.Lines = append(out.Lines, face.Mark{ID: line.ID, Label: lineLabel(line.ID, w), Points: face.Points(line.Points),
			Max: face.Points(line.Max), Code: line.Code, Reason: line.Reason, Acts: some(line.Acts)})
	}
	return out
}

func faceVital(v rubric.VitalRead, cat *cases.Catalogue, w say.Words, ranges normal.Overlaid) face.Vital {
	out := face.Vital{Field: v.Field, Label: w.Field(v.Field), Measured: v.Measured, Charted: v.Charted, Interpretation: v.Interpretation}
	name, units := v.Field, w.Units(v.Field)
	if f := cat.Field(v.Field); f != nil {
		name = f.Vital
	}
	quantity := func(m rubric.Milli) string { return say.Quantity(name, m, units...) }
	out.Actual, out.Tolerance = quantity(v.Truth), say.Difference(name, v.Tolerance, units...)
	if v.HasRange {
		out.Low, out.High, out.GreyLow, out.GreyHigh = quantity(v.Low), quantity(v.High), quantity(v.GreyLow), quantity(v.GreyHigh)
		out.Reading = reading(v)
	}
	if row, ok := ranges.Table.Find(v.Row); ok {
		out.Row, out.Of, out.Own = row.ID, ofAnimals(row, units), ranges.Own(row.ID)
		out.Source, out.Confidence = row.Source, row.Confidence
	}
	return out
}

// reading says what the actual value is against its range. In a grey zone
// either call is right.
func reading(v rubric.VitalRead) string {
	switch {
	case v.Truth >= v.Low && v.Truth <= v.High:
		return "normal"
	case v.Truth >= v.GreyLow && v.Truth <= v.GreyHigh:
		return "borderline"
	case v.Truth < v.Low:
		return "low"
	}
	return "high"
}

func faceFinding(f rubric.FindingRead, w say.Words) face.Finding {
	out := face.Finding{Place: face.Place{Field: f.Field, Site: f.Site}, Label: w.Field(f.Field), Actual: w.Value(f.Field, f.Truth),
		Charted: w.Value(f.Field, f.Charted), How: f.How, Steps: []string{}, Acts: some(f.Acts)}
	for _, step := range f.Steps {
		out.Steps = append(out.Steps, w.Step(step))
	}
	return out
}

// hazards are all that were met, with the acts that met them.
func hazards(t rubric.Transcript) []face.Event {
	out := []face.Event{}
	for _, e := range t {
		for _, h := range e.Outcome.Events {
			out = append(out, face.Event{ID: h.ID, Severity: h.Severity, Why: h.Why, Act: e.Act.N, Sign: h.Sign})
		}
	}
	return out
}

// closing puts the last conclusion beside the expected one.
func closing(want rubric.Expected, t rubric.Transcript, w say.Words) face.Closing {
	out := face.Closing{Named: []string{}, Expected: []string{}, Accepted: []string{}, ExpectedUrgency: want.Urgency}
	for _, p := range want.Problems {
		out.Expected = append(out.Expected, w.Problem(p.ID))
	}
	for _, id := range want.Accept {
		out.Accepted = append(out.Accepted, w.Problem(id))
	}
	for _, e := range t {
		if e.Act.Kind != rubric.Conclude {
			continue
		}
		out.Named, out.Urgency = []string{}, e.Act.Urgency
		for _, id := range e.Act.Problems {
			out.Named = append(out.Named, w.Problem(id))
		}
	}
	return out
}

// some is the list itself, or an empty one in place of none: JSON readers
// should not have to tell the two apart.
func some(list []int) []int {
	if list == nil {
		return []int{}
	}
	return list
}

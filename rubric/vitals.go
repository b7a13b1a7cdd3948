package rubric

import (
	"slices"
	"strings"
)

const (
	measuredPart  = 2 // so many of
	measuredOf    = 3 // the required vitals must be measured
	weightOffside = 2 // a vital that is abnormal at rest
	weightInside  = 1

	// The tolerances of a reading. Counts: the size of one event in the window,
	// or 5 %, whichever is larger.
	tolTemperature Milli = 200
	tolCondition   Milli = 1000 // on the nine-point scale
	tolConditionOf Milli = 500  // on a shorter one, such as the five points of cattle: half a point (common practice, no source)
	tolCountPart         = 20   // a twentieth
	tolWeightPart        = 50   // a fiftieth

	// shortContact caps the mark of a count that ran over too short a contact.
	shortContact = full / 2

	// largest bounds what a key may say of a vital, so that no product overflows.
	largest Milli = 1_000_000_000_000
)

// sign is one vital on its way through the marking.
type sign struct {
	v           *Vital
	field       int32
	measured    int32 // first doing of a measuring step, plus 1
	entry       *entry
	truth       Milli
	known       bool // the truth when measured was found
	tol         Milli
	needed      int   // seconds
	mark, call  int64 // parts per million
	markCode    string
	callCode    string
	offside     bool
	interpreted string
}

func (g *run) canMeasure() bool {
	return slices.ContainsFunc(g.k.Vitals, func(v Vital) bool { return v.Required })
}

// vitals marks the weighted mean over measured required vitals, times
// min(1, share measured / (2/3)). Three quarters, as the design had it, made
// Vitals and Completeness say the same too often: .32 among 2,500 robots of
// independent skills over the whole library, .26 with two thirds.
func (g *run) vitals(d *tally) {
	signs := make([]sign, len(g.k.Vitals))
	parts := portions{total: d.max}
	measured, required := 0, 0
	for i := range signs {
		s := &signs[i]
		g.readSign(s, &g.k.Vitals[i])
		if !s.v.Required {
			continue
		}
		required++
		if s.measured > 0 {
			measured++
			parts.sum += s.weight()
		}
	}
	for i := range signs {
		s := &signs[i]
		g.rep.Vitals = append(g.rep.Vitals, g.vitalRead(s))
		var limit Points
		if s.v.Required && s.measured > 0 {
			limit = parts.next(s.weight())
		}
		g.writeSign(d, s, limit)
	}
	d.scale("measured", codeGuardMeasured, int64(measured)*measuredOf, int64(required)*measuredPart,
		Arg{"measured", itoa(measured)}, Arg{"required", itoa(required)})
}

// weight is 0 where the truth is not known or there was no rate to count, so
// that the term drops out.
func (s *sign) weight() int64 {
	switch {
	case s.markCode == codeReadUnknown || s.markCode == codePanting || s.markCode == codeUncounted:
		return 0
	case s.offside:
		return weightOffside
	}
	return weightInside
}

// readSign marks the reading and the interpretation of one vital.
func (g *run) readSign(s *sign, v *Vital) {
	s.v, s.field = v, -1
	s.truth = clampTo(v.Rest, -largest, largest)
	s.offside = v.offside()
	for _, id := range v.Steps {
		if step, ok := g.steps[id]; ok && g.dids[step].first > 0 && (s.measured == 0 || g.dids[step].first < s.measured) {
			s.measured = g.dids[step].first
		}
	}
	f, ok := g.sheet.ids[v.Field]
	if ok {
		s.field = f
		s.entry = g.standing(f)
	}
	g.truthOf(s)
	s.needed = g.window(s)
	s.tol = s.tolerance(g.sheet.fields)
	s.judge(g)
}

// offside says that the vital is abnormal at rest, beyond the grey zone.
func (v *Vital) offside() bool {
	return v.HasRange && (v.Rest < min(v.Low, v.GreyLow) || v.Rest > max(v.High, v.GreyHigh))
}

// standing is the last line written for a field, at any site.
func (g *run) standing(f int32) *entry {
	var last *entry
	from, to := g.sheet.places(f)
	for p := from; p < to; p++ {
		if e := g.sheet.on(p); e != nil && (last == nil || e.act > last.act) {
			last = e
		}
	}
	return last
}

// truthOf finds the truth when the vital was measured: that behind the line on
// the sheet, else that shown last.
func (g *run) truthOf(s *sign) {
	if s.field < 0 {
		return
	}
	value := ""
	if s.entry != nil && s.entry.examined {
		value = s.entry.truth
	} else if last := g.sheet.last[s.field]; last >= 0 {
		value = g.sheet.told(g.sheet.truths[last])
	}
	if rd, err := g.sheet.fields[s.field].Read(value); err == nil && rd.Class == Figure {
		s.truth, s.known = clampTo(rd.Number, -largest, largest), true
	}
}

func (s *sign) tolerance(fields []Field) Milli {
	truth := max(s.truth, 0)
	switch s.v.Name {
	case "heart_rate", "resp_rate":
		return max(Milli(60_000/s.needed), truth/tolCountPart)
	case "temperature":
		return tolTemperature
	case "body_condition":
		if s.field >= 0 && fields[s.field].scale() < nineOf {
			return tolConditionOf
		}
		return tolCondition
	case "crt":
		return 0
	}
	return max(1, truth/tolWeightPart)
}

// refillClass is 0 under 1 s, 1 from 1 to 2 s, 2 over 2 s.
func refillClass(m Milli) int {
	switch {
	case m < 1000:
		return 0
	case m <= 2000:
		return 1
	}
	return 2
}

// judge settles both halves and their reasons.
func (s *sign) judge(g *run) {
	e := s.entry
	switch {
	case s.measured == 0:
		s.markCode = codeReadUnseen
	case g.panting(s.v, e) && (e == nil || e.examined || e.reading.Class != Figure):
		s.markCode = codeUncounted
		if e != nil && e.reading.Class == Figure {
			s.markCode = codePanting
		}
	case e == nil || e.reading.Class == Unexamined:
		s.markCode = codeReadBlank
	case e.reading.Class == Unreadable:
		s.markCode = codeReadBad
	case !e.examined:
		s.markCode = codeReadEarly
	case !s.known:
		s.markCode = codeReadUnknown
	default:
		s.read()
		s.interpret(g.t[e.act].Act.Interpretation)
	}
}

// read marks the reading: clamp((2 tol - |x - truth|) / tol, 0, 1).
func (s *sign) read() {
	x := s.entry.reading.Number
	off := max(x-s.truth, s.truth-x)
	if s.v.Name == "crt" {
		if refillClass(x) == refillClass(s.truth) {
			s.mark = full
		}
	} else {
		s.mark = clampTo(int64(2*s.tol-off)*full/int64(max(1, s.tol)), 0, full)
		if off > 2*s.tol {
			s.mark = 0
		}
	}
	s.markCode = codeReadNear
	switch {
	case s.mark == 0:
		s.markCode = codeReadWrong
	case s.mark == full:
		s.markCode = codeReadRight
	}
	if s.needed > 0 && int(s.entry.contact) < s.needed && s.mark > shortContact {
		s.mark, s.markCode = shortContact, codeReadShort
	}
}

// side is a bit for each interpretation.
type side uint8

const (
	sideLow side = 1 << iota
	sideNormal
	sideHigh
)

var sideOf = map[string]side{"low": sideLow, "normal": sideNormal, "high": sideHigh}

// sides are the interpretations that are right for a value: in the grey zone two.
func (v *Vital) sides(m Milli) side {
	switch {
	case m >= v.Low && m <= v.High:
		return sideNormal
	case m < v.Low && m >= v.GreyLow:
		return sideNormal | sideLow
	case m > v.High && m <= v.GreyHigh:
		return sideNormal | sideHigh
	case m < v.Low:
		return sideLow
	}
	return sideHigh
}

// interpret marks the call: right on the truth and fitting the own reading 1,
// fitting only the own wrong reading .5, right but against the own reading .25.
// A vital that handling alone moved over the limit may be called either way.
func (s *sign) interpret(call string) {
	s.interpreted = call
	if !s.v.HasRange {
		return
	}
	c, ok := sideOf[call]
	if !ok {
		s.callCode = codeCallMissing
		return
	}
	allowed := s.v.sides(s.truth)
	if rest := s.v.sides(s.rest()); rest&sideNormal != 0 {
		allowed |= rest
	}
	right, fits := c&allowed != 0, c&s.v.sides(s.entry.reading.Number) != 0
	if right && !fits && s.markCode != codeReadWrong && c&sideNormal != 0 && s.v.sides(s.truth)&sideNormal == 0 {
		fits = true // moved by handling: a good reading over the limit, called normal
	}
	switch {
	case right && fits:
		s.call, s.callCode = full, codeCallRight
	case fits && s.mark > 0:
		s.call, s.callCode = full/2, codeCallCarried
	case right:
		s.call, s.callCode = full/4, codeCallAgainst
	case fits:
		s.callCode = codeCallWrong
	default:
		s.callCode = codeCallContrary
	}
}

func (g *run) vitalRead(s *sign) VitalRead {
	v := s.v
	r := VitalRead{Field: v.Field, Truth: s.truth, Tolerance: s.tol, HasRange: v.HasRange, Low: v.Low, High: v.High,
		GreyLow: v.GreyLow, GreyHigh: v.GreyHigh, Row: v.Row, Measured: s.measured > 0}
	if s.entry != nil {
		r.Charted, r.Interpretation = g.sheet.value(s.entry), g.t[s.entry.act].Act.Interpretation
	}
	return r
}

func (g *run) writeSign(d *tally, s *sign, limit Points) {
	var acts []int
	if s.measured > 0 {
		acts = append(acts, g.n(s.measured))
	}
	charted := ""
	if s.entry != nil {
		charted = g.sheet.value(s.entry)
		if s.entry.seen >= 0 {
			acts = append(acts, g.n(s.entry.seen+1))
		}
		acts = append(acts, g.n(s.entry.act+1))
	}
	acts = sorted(acts)
	var markMax Points
	if limit > 0 {
		markMax = share(limit, int64(clampTo(g.r.MarkShare, 0, 1000)), 1000)
		if !s.v.HasRange || s.callCode == "" { // no figure to call: one line holds both halves
			markMax = limit
		}
	}
	args := [...]Arg{{"field", s.v.Field}, {"vital", s.v.Name}, {"charted", s.chartedNumber(charted)}, {"truth", s.truth.String()}, {"tolerance", s.tol.String()},
		{"seconds", itoa(s.contact())}, {"window", itoa(s.needed)}, {"steps", join(s.v.Steps)}, {"asked", yesNo[s.v.Required]}, {"gap", g.gap(s.entry)}}
	d.add(s.v.Field, share(markMax, s.mark, full), markMax, s.markCode, acts, args[:]...)
	if s.callCode != "" && s.v.HasRange {
		g.writeCall(d, s, limit-markMax, s.chartedNumber(charted), acts)
	}
	g.arithmetic(d, s)
	g.firstBeat(d, s)
}

// writeCall puts down how the vital was interpreted. One that is wrong although
// it fits the own figure says so.
func (g *run) writeCall(d *tally, s *sign, limit Points, charted string, acts []int) {
	args := [...]Arg{{"field", s.v.Field}, {"vital", s.v.Name}, {"call", s.interpreted}, {"charted", charted}, {"truth", s.truth.String()},
		{"low", s.v.Low.String()}, {"high", s.v.High.String()}, {"row", s.v.Row}, {"right", s.rightCall()}, {"fits", "own"}}
	n := len(args) - 1
	switch {
	case s.callCode == codeCallWrong:
		n++
	case s.callCode == codeCallRight && s.moved():
		args[n] = Arg{"rest", s.rest().String()}
		n++
	}
	d.add(s.v.Field+"/call", share(limit, s.call, full), limit, s.callCode, acts, args[:n]...)
}

// rest is the truth at rest.
func (s *sign) rest() Milli { return clampTo(s.v.Rest, -largest, largest) }

// moved says that handling alone moved the vital past its limit: it was normal
// at rest and was not when it was measured.
func (s *sign) moved() bool {
	return s.v.sides(s.rest())&sideNormal != 0 && s.v.sides(s.truth)&sideNormal == 0
}

var yesNo = map[bool]string{true: "yes", false: "no"}

// gap is the reason that stands beside a line owned to be not examined.
func (g *run) gap(e *entry) string {
	if e == nil || e.reading.Class != Unexamined {
		return ""
	}
	return clip(g.t[e.act].Act.Reason)
}

// chartedNumber is the charted figure in the field's unit, else the text. A
// class of capillary refill stays as it was written.
func (s *sign) chartedNumber(text string) string {
	if s.entry != nil && s.entry.reading.Class == Figure && (s.v.Name != "crt" || !strings.ContainsAny(text, "<>-")) {
		return s.entry.reading.Number.String()
	}
	return clip(text)
}

func (s *sign) contact() int {
	if s.entry == nil {
		return 0
	}
	return int(s.entry.contact)
}

// rightCall names the interpretation of the truth; in the grey zone normal.
func (s *sign) rightCall() string {
	switch sides := s.v.sides(s.truth); {
	case sides&sideNormal != 0:
		return "normal"
	case sides&sideLow != 0:
		return "low"
	}
	return "high"
}

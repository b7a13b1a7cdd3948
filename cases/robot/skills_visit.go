package robot

import (
	"cmp"
	"slices"
	"strconv"

	"dewclaw/rubric"
)

// What a student without a skill does wrong with what is sensed, per mille.
const (
	callNormal   = 450 // an abnormality
	wrongSide    = 200
	wrongGrade   = 300 // or names another abnormality
	callAbnormal = 45  // something normal: there are some hundred such places
	skipRest     = 350 // leaves the rest of a region unstated
	miscount     = 700
	misreading   = 500 // of what is not counted
	misinterpret = 600
	ignoreSigns  = 800
	missProblem  = 600
	wrongProblem = 450 // each of three
	wrongUrgency = 700
	skipReported = 600
	skipPart     = 300 // of the report's frame
)

// examinee is a player whose mistakes are those of six skills.
type examinee struct {
	player
	l      *lapses
	seen   map[rubric.Place]bool
	clean  map[rubric.Place]bool // what was sensed there so far is normal, whatever was charted
	mirror []rubric.Act          // entries meant for another site
}

// carryOut does an item until the animal lets it be done, and charts it. A
// refusal always brings a pause: what is then left out is no matter of handling.
func (v *examinee) carryOut(it item) {
	const tries = 6
	for range tries {
		e, ok := v.do(it.act)
		if !ok {
			return
		}
		if e.Outcome.Refused {
			v.do(rubric.Act{Kind: rubric.Wait, Seconds: 120})
			continue
		}
		if it.act.Kind == rubric.Examine {
			v.write(e, it)
		}
		if len(e.Outcome.Signs) > 0 && it.step != nil && !v.l.handling.one(ignoreSigns) {
			v.calm()
		}
		return
	}
}

// write charts what an examination let the student sense: vitals by one skill,
// everything else by another.
func (v *examinee) write(e rubric.Entry, it item) {
	for _, pc := range e.Outcome.Percepts {
		f := v.field(pc.Field)
		if f == nil {
			continue
		}
		at := rubric.Place{Field: pc.Field, Site: pc.Site}
		v.regions[f.Region], v.seen[at] = true, true
		_, had := v.charted[at]
		switch value := v.recognise(pc); {
		case f.Vital != "":
			if !had {
				v.writeVital(e, it, pc, f)
			}
		case value == "" || had && (f.PerSite || !v.clean[at] || slices.Contains(f.Normal, value)):
		default: // also where one thing is met at several places, and only now it is not normal
			v.clean[at] = slices.Contains(f.Normal, value)
			v.writeFinding(f, at, value)
		}
	}
}

// writeFinding charts something described, rightly or not.
func (v *examinee) writeFinding(f *rubric.Field, at rubric.Place, value string) {
	value, aside := v.judge(f, at, value)
	v.charted[at] = value
	switch a := (rubric.Act{Kind: rubric.Record, Field: at.Field, Site: at.Site, Value: value}); {
	case aside:
		v.mirror = append(v.mirror, a)
	case v.line(f, at, value):
		v.do(a)
	}
}

// judge is what becomes of something sensed; aside says that the student takes
// it for another site's.
func (v *examinee) judge(f *rubric.Field, at rubric.Place, value string) (string, bool) {
	l := v.l.findings
	if len(f.Of) == 0 {
		return value, false
	}
	abnormal := slices.DeleteFunc(slices.Clone(f.Of), func(c string) bool {
		return slices.Contains(f.Normal, c) || slices.Contains(f.Variants, c)
	})
	i := slices.Index(abnormal, value)
	switch {
	case len(abnormal) == 0 || len(f.Normal) == 0:
		return value, false
	case i < 0 && l.one(callAbnormal):
		return abnormal[l.c.below(len(abnormal))], false
	case i < 0:
		return value, false
	case l.one(callNormal):
		return f.Normal[0], false
	}
	if len(abnormal) > 1 && l.one(wrongGrade) {
		value = abnormal[(i+1+l.c.below(len(abnormal)-1))%len(abnormal)]
	}
	return value, at.Site != "" && len(f.Sites) > 1 && l.one(wrongSide)
}

// writeVital charts a vital sign with its interpretation.
func (v *examinee) writeVital(e rubric.Entry, it item, pc rubric.Percept, f *rubric.Field) {
	value, over := v.measure(e, it, pc, f)
	if value == "" {
		return
	}
	v.charted[rubric.Place{Field: pc.Field, Site: pc.Site}] = value
	call := v.interpret(f, value)
	if call != "" && v.l.vitals.one(misinterpret) {
		calls := []string{"low", "normal", "high"}
		call = calls[(slices.Index(calls, call)+1+v.l.vitals.c.below(2))%3]
	}
	v.do(rubric.Act{Kind: rubric.Record, Field: pc.Field, Site: pc.Site, Value: value, Over: over, Interpretation: call})
}

// measure counts or reads a vital.
func (v *examinee) measure(e rubric.Entry, it item, pc rubric.Percept, f *rubric.Field) (string, int) {
	if f.Kind == "count" {
		return v.tally(e, it, f)
	}
	value, _ := v.read(e, pc, f)
	m, err := rubric.ParseMilli(value)
	if err != nil || !v.l.vitals.one(misreading) {
		return value, 0
	}
	off := offs[f.Vital]
	step := cmp.Or(off.step, max(m*off.perMille/1000, 100))
	m += step * rubric.Milli(1+v.l.vitals.c.below(3)) * rubric.Milli(1-2*v.l.vitals.c.below(2))
	return max(m, step).String(), 0
}

// offs is how far a misreading goes: one to three of these.
var offs = map[string]struct{ step, perMille rubric.Milli }{
	"temperature":    {step: 200},
	"crt":            {step: 500},
	"body_condition": {step: 1000},
	"weight":         {perMille: 20},
}

// tally counts a rate over the seconds of the contact, over half of them where
// the student is in a hurry.
func (v *examinee) tally(e rubric.Entry, it item, f *rubric.Field) (string, int) {
	over := min(max(e.Act.Seconds, 1), 60)
	if it.hasty {
		over = max(over/2, 4)
	}
	n, err := v.p.Count(e, f.ID, v.c.Uint64(), over)
	if err != nil {
		return "", 0
	}
	if v.l.vitals.one(miscount) {
		n = max(0, n+(1+v.l.vitals.c.below(3))*(1-2*v.l.vitals.c.below(2)))
	}
	return strconv.Itoa((n*60 + over/2) / over), over
}

// finish writes what was taken for another site's, states the rest of the
// regions and concludes.
func (v *examinee) finish() {
	for _, a := range v.mirror {
		a.Site = v.otherSite(a)
		v.do(a)
	}
	stated := map[string]bool{}
	for i := range v.k.Fields {
		region := v.k.Fields[i].Region
		if !v.regions[region] || stated[region] {
			continue
		}
		stated[region] = true
		if !v.l.findings.one(skipRest) {
			v.do(rubric.Act{Kind: rubric.Record, Region: region, Value: "normal"})
		}
	}
	v.do(v.conclude())
}

// otherSite is a site of the same field that was examined too and looked
// normal, else the entry's own.
func (v *examinee) otherSite(a rubric.Act) string {
	f := v.field(a.Field)
	for _, s := range f.Sites {
		at := rubric.Place{Field: a.Field, Site: s}
		if s != a.Site && v.seen[at] && slices.Contains(f.Normal, v.charted[at]) {
			return s
		}
	}
	return a.Site
}

// conclude is the right conclusion with the mistakes of its skill.
func (v *examinee) conclude() rubric.Act {
	l := v.l.conclusions
	a := rubric.Act{Kind: rubric.Conclude, Urgency: v.k.Expected.Urgency}
	for _, x := range v.k.Expected.Problems {
		if !l.one(missProblem) {
			a.Problems = append(a.Problems, x.ID)
		}
	}
	terms := v.p.Catalogue().Problems
	for range 3 {
		if id := terms[l.c.below(len(terms))].ID; l.one(wrongProblem) && !slices.Contains(a.Problems, id) {
			a.Problems = append(a.Problems, id)
		}
	}
	if l.one(wrongUrgency) {
		words := []string{"routine", "same day", "emergency"}
		a.Urgency = words[(slices.Index(words, a.Urgency)+1+l.c.below(2))%3]
	}
	a.Report = v.handover()
	return a
}

// handover is the report with gaps.
func (v *examinee) handover() *rubric.Handover {
	l := v.l.conclusions
	r := v.report()
	r.Fields = slices.DeleteFunc(r.Fields, func(rubric.Given) bool { return l.one(skipReported) })
	for _, part := range []*string{&r.Situation, &r.Background, &r.Assessment, &r.Request} {
		if l.one(skipPart) {
			*part = ""
		}
	}
	return r
}

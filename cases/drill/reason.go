package drill

import (
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// quantity is a number of the asked field with its unit.
func (it Item) quantity(m rubric.Milli) string {
	f := it.patients[0].Catalogue().Field(it.ask.Field)
	return say.Quantity(f.Vital, m, f.Unit)
}

// cue is how a value is sensed.
func (it Item) cue(value string) string {
	f := it.patients[0].Catalogue().Field(it.ask.Field)
	ch := f.Choice(value)
	if ch == nil || len(ch.Cue) == 0 {
		return ""
	}
	return " " + ch.Cue[0]
}

// named is a value by its label, with how it is sensed.
func (it Item) named(lead, value string) string {
	return lead + quote(it.label(it.ask.Field, value)) + "." + it.cue(value)
}

func quote(s string) string { return "“" + s + "”" }

// because says what was there, and how what was named would have been.
func (it Item) because(value string) string {
	right := it.named("It was ", it.r.Values[0])
	if value == it.r.Values[0] {
		return right
	}
	return right + " " + it.named("You said ", value)
}

func (it Item) becausePair(value string) string {
	a, b, _ := strings.Cut(value, pairMark)
	var out []string
	for i, said := range []string{a, b} {
		which := string(rune('A' + i))
		s := it.named(which+" was ", it.r.Values[i])
		if said != it.r.Values[i] {
			s += " You said " + quote(it.label(it.ask.Field, said)) + "."
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

func (it Item) becausePlace(value string) string {
	right := "It was nowhere: each was as it should be."
	if it.r.Site != "" {
		right = it.named("It was at the "+it.r.Site+": ", it.r.Values[0])
	}
	switch {
	case value == orNone(it.r.Site):
		return right
	case value == noneID:
		return right + " You said that it was nowhere."
	}
	return right + " You said " + quote(upper(value)) + "."
}

func (it Item) becauseFigure(a Answer, r Result) string {
	if len(r.Report.Vitals) != 1 {
		return "It was " + r.Actual + "."
	}
	if it.ask.Form == "class" {
		return it.becauseClass(a, r)
	}
	v := r.Report.Vitals[0]
	read, _ := it.number("value", a.Value) // was read before
	out := "It was " + r.Actual + "; you said " + it.quantity(read) + "."
	switch off := max(read-v.Truth, v.Truth-read); {
	case off == 0:
	case off <= v.Tolerance:
		out += " Up to " + it.away(v.Tolerance) + " either way is right."
	case off < 2*v.Tolerance:
		out += " That is " + it.away(off) + " away: up to " + it.away(v.Tolerance) + " is right, twice that is not."
	default:
		out += " That is " + it.away(off) + " away; up to " + it.away(v.Tolerance) + " is right."
	}
	return out + it.asides(r)
}

// away is a difference of the asked field's numbers.
func (it Item) away(m rubric.Milli) string {
	switch f := it.patients[0].Catalogue().Field(it.ask.Field); f.Vital {
	case "temperature":
		return ((m + 50) / 100 * 100).String() + " °C"
	case "heart_rate", "resp_rate":
		return ((m + 500) / 1000 * 1000).String() + "/min"
	}
	return m.String()
}

// asides are what the engine notes of a count without marks: that it cannot come
// of those seconds, or that the first beat was called one.
func (it Item) asides(r Result) string {
	out := ""
	for _, d := range r.Report.Domains {
		for i := range d.Lines {
			if l := &d.Lines[i]; d.ID == rubric.DomainVitals && l.Max == 0 && (strings.HasSuffix(l.ID, "/first") || strings.HasSuffix(l.ID, "/arithmetic")) {
				out += " " + say.Sentence(l, it.patients[0].Catalogue().Words())
			}
		}
	}
	return out
}

func (it Item) becauseClass(a Answer, r Result) string {
	f := it.patients[0].Catalogue().Field(it.ask.Field)
	out := "It was " + r.Actual + "." + bandCue(f, it.r.Values[0])
	if a.Value == it.r.Class {
		return out
	}
	for _, c := range it.classChoices() {
		if c.ID == a.Value {
			out += " You said " + quote(c.Label) + "."
		}
	}
	if r.Mark >= full {
		out += " That is near enough to be right."
	}
	return out
}

func bandCue(f *cases.Field, value string) string {
	if ch := f.Band(value); ch != nil && len(ch.Cue) > 0 {
		return " " + ch.Cue[0]
	}
	return ""
}

func (it Item) becauseRange(a Answer, r Result, v rubric.Vital, ends rubric.Milli) string {
	out := "The reference range of this animal is " + it.quantity(v.Low) + " to " + it.quantity(v.High) + "."
	if ends < full {
		out += " You said " + clip40(a.Low) + " to " + clip40(a.High) + "."
	}
	return out + " " + it.becauseFigure(a, r)
}

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

func quote(s string) string { return "'" + s + "'" }

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
	v := r.Report.Vitals[0]
	if it.ask.Form == "class" {
		return it.becauseClass(a, r)
	}
	read, _ := it.number("value", a.Value)
	out := "It was " + r.Actual + "; you said " + it.quantity(read) + "."
	if off := max(read-v.Truth, v.Truth-read); off > v.Tolerance {
		return out + " Up to " + v.Tolerance.String() + " either way is right."
	}
	return out + " That is within " + v.Tolerance.String() + ", as near as it can be told."
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

func (it Item) becauseRange(a Answer, r Result, range_ rubric.Milli) string {
	v, row, _ := it.rangeRow()
	out := "The reference range of this animal is " + it.quantity(v.Low) + " to " + it.quantity(v.High) + " (" + row.ID + ")."
	if range_ < full {
		out += " You said " + a.Low + " to " + a.High + "."
	}
	return out + " " + it.becauseFigure(a, r)
}

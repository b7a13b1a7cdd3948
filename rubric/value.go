package rubric

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// ErrValue is returned for a charted value that cannot be read for its field.
var ErrValue = errors.New("unreadable value")

// Class says what a charted value claims.
type Class uint8

// The classes. Figure is a number for which no normal range is known.
const (
	Unreadable Class = iota
	Blank            // withdrawn
	Unexamined       // an honest gap
	Normal
	Variant // unusual, and no abnormality
	Abnormal
	Figure
)

// Reading is a charted value as the engine reads it.
type Reading struct {
	Class  Class
	Choice int32 // choice and grade: index in Field.Of; -1: 'normal' without naming one
	Number Milli // count, number, score, time: thousandths of the field's unit
}

// The representatives of the three classes of capillary refill: under 1 s,
// 1 to 2 s, over 2 s.
const (
	refillFast   Milli = 500
	refillNormal Milli = 1500
	refillSlow   Milli = 3000
)

// Panting may be written for a breathing rate: a panting animal has no rate to
// count, so it is an honest gap and no figure.
const Panting = "panting"

// Read reads what a student wrote for the field. It takes a decimal point or
// comma and the units of the table below; a bare temperature above 60 is taken
// as degrees Fahrenheit. This is the only place that reads charted values.
func (f *Field) Read(text string) (Reading, error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return Reading{Class: Blank}, nil
	case strings.EqualFold(text, NotExamined):
		return Reading{Class: Unexamined}, nil
	case f.Kind == "choice" || f.Kind == "grade":
		return f.readChoice(text)
	}
	return f.readNumber(text)
}

func (f *Field) readChoice(text string) (Reading, error) {
	if i := slices.Index(f.Of, text); i >= 0 {
		return Reading{Class: f.classOf(text), Choice: int32(i)}, nil
	}
	if strings.EqualFold(text, "normal") {
		return Reading{Class: Normal, Choice: -1}, nil
	}
	if i := slices.IndexFunc(f.Of, func(v string) bool { return strings.EqualFold(v, text) }); i >= 0 {
		return Reading{Class: f.classOf(f.Of[i]), Choice: int32(i)}, nil
	}
	if f.Kind == "grade" && len(f.Of) > 0 {
		if grade, ok := strings.CutSuffix(text, "/"+f.Of[len(f.Of)-1]); ok {
			return f.readChoice(grade)
		}
	}
	return Reading{}, fmt.Errorf("%w: %q for %s; write one of %s", ErrValue, clip(text), f.ID, strings.Join(f.Of, ", "))
}

func (f *Field) classOf(choice string) Class {
	switch {
	case slices.Contains(f.Normal, choice):
		return Normal
	case slices.Contains(f.Variants, choice):
		return Variant
	}
	return Abnormal
}

func (f *Field) readNumber(text string) (Reading, error) {
	if f.Vital == "resp_rate" && strings.EqualFold(text, Panting) {
		return Reading{Class: Unexamined}, nil
	}
	if strings.EqualFold(text, "normal") && f.Ranged && f.Vital == "" {
		return Reading{Class: Normal, Choice: -1, Number: f.NormalLow}, nil
	}
	n, err := f.number(strings.ToLower(text))
	if err != nil {
		return Reading{}, fmt.Errorf("%w: %q for %s: %w", ErrValue, clip(text), f.ID, err)
	}
	if n < 0 || text[0] == '-' { // -0 too: nobody who writes it has counted nothing
		return Reading{}, fmt.Errorf("%w: %q for %s; it cannot be below zero", ErrValue, clip(text), f.ID)
	}
	rd := Reading{Class: Figure, Number: n}
	if f.Ranged && f.Vital == "" {
		rd.Class = Abnormal
		if n >= f.NormalLow && n <= f.NormalHigh {
			rd.Class = Normal
		}
	}
	return rd, nil
}

func (f *Field) number(text string) (Milli, error) {
	switch {
	case f.Vital == "crt" && strings.ContainsAny(text, "<>-"):
		return readRefill(text)
	case f.Kind == "count" && strings.Contains(text, "x"):
		return readProduct(text)
	}
	end := strings.IndexFunc(text, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != ',' && r != '-' })
	if end < 0 {
		end = len(text)
	}
	n, err := ParseMilli(text[:end])
	if err != nil {
		return 0, err
	}
	return f.inUnit(n, strings.TrimSpace(text[end:]))
}

// unit is a way to write a quantity: value = (n - less) * times / over.
type unit struct {
	less        Milli
	times, over int64
}

// Exact by definition: the international pound is 0.45359237 kg, and degF is
// degC * 9/5 + 32.
var (
	same       = unit{times: 1, over: 1}
	fahrenheit = unit{less: 32000, times: 5, over: 9}
	gram       = unit{times: 1, over: 1000}
	pound      = unit{times: 45359237, over: 100000000}
	rateUnits  = map[string]unit{"/min": same, "min": same, "bpm": same, "per min": same, "/minute": same, "a minute": same, "per minute": same}
	unitsOf    = map[string]map[string]unit{
		"heart_rate":     rateUnits,
		"resp_rate":      rateUnits,
		"temperature":    {"c": same, "°c": same, "degc": same, "f": fahrenheit, "°f": fahrenheit, "degf": fahrenheit},
		"weight":         {"kg": same, "g": gram, "lb": pound, "lbs": pound},
		"crt":            {"s": same, "sec": same, "second": same, "seconds": same},
		"body_condition": {}, // of its own scale: see inUnit
		"":               {"cm": same, "mm": {times: 1, over: 10}, "s": same, "%": same},
	}
)

func (f *Field) inUnit(n Milli, name string) (Milli, error) {
	if name == "" {
		if f.Vital == "temperature" && n > 60000 {
			return fahrenheit.to(n), nil
		}
		return n, nil
	}
	u, ok := unitsOf[f.Vital][name]
	if f.Vital == "body_condition" {
		top := strconv.Itoa(f.scale())
		u, ok = same, name == "/"+top || name == "of "+top
	}
	if !ok {
		return 0, fmt.Errorf("%w: unit %q is not known here", ErrNumber, clip(name))
	}
	return u.to(n), nil
}

// nineOf is the highest body condition score where the field does not say.
const nineOf = 9

// scale is the highest score of a body condition field.
func (f *Field) scale() int {
	if f.Scale > 0 {
		return f.Scale
	}
	return nineOf
}

func (u unit) to(n Milli) Milli {
	return Milli(divRound(int64(n-u.less)*u.times, u.over))
}

// readRefill reads the classes of capillary refill. "<2" is the trade's short
// form for a normal refill, so it is the class of 1 to 2 s.
func readRefill(text string) (Milli, error) {
	body := strings.NewReplacer(" ", "", "=", "", "seconds", "", "sec", "", "s", "").Replace(text)
	if lo, hi, ok := strings.Cut(body, "-"); ok {
		if lo == "1" && hi == "2" {
			return refillNormal, nil
		}
		return 0, fmt.Errorf("%w: write the seconds, or <1, 1-2 or >2", ErrNumber)
	}
	if len(body) < 2 || (body[0] != '<' && body[0] != '>') {
		return 0, fmt.Errorf("%w: write the seconds, or <1, 1-2 or >2", ErrNumber)
	}
	n, err := ParseMilli(body[1:])
	if err != nil {
		return 0, err
	}
	switch {
	case body[0] == '>' && n >= 2000:
		return refillSlow, nil
	case body[0] == '<' && n > 0 && n <= 1000:
		return refillFast, nil
	case body[0] == '<' && n > 1000 && n <= 2000:
		return refillNormal, nil
	}
	return 0, fmt.Errorf("%w: write the seconds, or <1, 1-2 or >2", ErrNumber)
}

// readProduct reads a count with its multiplier, such as 24x4.
func readProduct(text string) (Milli, error) {
	count, times, _ := strings.Cut(strings.ReplaceAll(text, " ", ""), "x")
	// A nought in front is another way to write numbers: 0x10 is no count of nothing.
	if !digits(count) || !digits(times) || len(count) > 4 || len(times) > 2 || count[0] == '0' || times[0] == '0' {
		return 0, fmt.Errorf("%w: write the count and its multiplier, such as 24x4", ErrNumber)
	}
	a, errA := ParseMilli(count)
	b, errB := ParseMilli(times)
	return a * b / 1000, errors.Join(errA, errB)
}

// divRound divides and rounds half away from zero. d is positive.
func divRound(n, d int64) int64 {
	if n < 0 {
		return -((-n + d/2) / d)
	}
	return (n + d/2) / d
}

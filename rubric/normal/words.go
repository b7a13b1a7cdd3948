package normal

import (
	"fmt"
	"strconv"
	"strings"

	"dewclaw/rubric"
)

// Animal says which animals a row is for: "small dog", "puppy", "rabbit".
func (r Row) Animal() string { return animal(r.Species, r.Class) }

// Animal says which animals a figure is of.
func (f Figure) Animal() string {
	if f.Class == "any" {
		return f.Species
	}
	return f.Class
}

// young are the classes that name the animal themselves.
var young = map[string]bool{"puppy": true, "kitten": true, "foal": true, "calf": true, "lamb": true, "kid": true, "piglet": true, "cria": true}

func animal(species, class string) string {
	switch {
	case class == "any":
		return species
	case young[class]:
		return class
	}
	return class + " " + species
}

// Reach says of which ages and weights a row is: "8 to 16 weeks", "over 16
// weeks, under 10 kg"; empty: of all.
func Reach(days, grams Span) string { return ReachIn(days, grams, weightText) }

// ReachIn is Reach with the weights, which are grams, in words of one's own.
func ReachIn(days, grams Span, weight func(grams int) string) string {
	var parts []string
	for _, s := range []string{ageSpan(days), weightSpan(grams, weight)} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ", ")
}

// spanWords joins the ends of a span. Where the number just outside an end is
// rounder than the end, that one is named.
func spanWords(s Span, word func(int) string, rounder func(a, b int) bool) string {
	from, to := "", ""
	if s.From > 0 {
		from = "from " + word(s.From)
		if rounder(s.From-1, s.From) {
			from = "over " + word(s.From-1)
		}
	}
	if s.To < Open {
		to = "up to " + word(s.To)
		if rounder(s.To+1, s.To) {
			to = "under " + word(s.To+1)
		}
	}
	if s.From > 0 && s.To == s.From {
		return word(s.From)
	}
	if before, ok := strings.CutPrefix(from, "from "); ok && to != "" {
		if after, ok := strings.CutPrefix(to, "up to "); ok {
			return withoutUnit(before, after) + " to " + after
		}
		return withoutUnit(before, strings.TrimPrefix(to, "under ")) + " to " + to
	}
	return strings.TrimSpace(from + " " + to)
}

// withoutUnit drops the unit of the lower end where the upper has the same.
func withoutUnit(from, to string) string {
	n, unit, _ := strings.Cut(from, " ")
	if _, same, _ := strings.Cut(to, " "); strings.TrimSuffix(unit, "s") == strings.TrimSuffix(same, "s") {
		return n
	}
	return from
}

func ageSpan(s Span) string {
	if s == (Span{0, 0}) {
		return "day of birth"
	}
	return spanWords(s, ageText, func(a, b int) bool { return days(a) != "days" && days(b) == "days" })
}

// days is the unit in which an age is a whole number.
func days(n int) string {
	switch {
	case n > 0 && n%365 == 0:
		return "years"
	case n > 14 && n%7 == 0:
		return "weeks"
	}
	return "days"
}

func ageText(n int) string {
	unit := days(n)
	switch unit {
	case "years":
		n /= 365
	case "weeks":
		n /= 7
	}
	if n == 1 {
		unit = strings.TrimSuffix(unit, "s")
	}
	return strconv.Itoa(n) + " " + unit
}

func weightSpan(s Span, weight func(int) string) string {
	return spanWords(s, weight, func(a, b int) bool { return a%1000 == 0 && b%1000 != 0 })
}

func weightText(n int) string {
	if n >= 1000 {
		return rubric.Milli(n).String() + " kg"
	}
	return strconv.Itoa(n) + " g"
}

// Between writes a range in a row's unit: "70 to 140", "37.8 to 39.2", "3".
func Between(low, high rubric.Milli, unit string) string {
	if low == high {
		return amountText(low, unit)
	}
	return amountText(low, unit) + " to " + amountText(high, unit)
}

// amountText writes a temperature to a tenth, so that columns agree.
func amountText(m rubric.Milli, unit string) string {
	if unit == "degC" && m%100 == 0 {
		return fmt.Sprintf("%d.%d", m/1000, m%1000/100)
	}
	return m.String()
}

// Text is the figure in words: "70 to 120", "up to 220; some toys", "mean 19".
func (f Figure) Text() string {
	var parts []string
	switch {
	case f.HasLow && f.HasHigh:
		parts = append(parts, Between(f.Low, f.High, f.Unit))
	case f.HasLow:
		parts = append(parts, "over "+amountText(f.Low, f.Unit))
	case f.HasHigh:
		parts = append(parts, "up to "+amountText(f.High, f.Unit))
	}
	if f.Says != "" {
		parts = append(parts, f.Says)
	}
	return strings.Join(parts, "; ")
}

// Fahrenheit is a temperature range in degF: "99.9 to 102.6".
func Fahrenheit(low, high rubric.Milli) string {
	f := func(m rubric.Milli) string {
		tenths := (int64(m)*18 + 320_000 + 500) / 1000 // of a degree, rounded
		return fmt.Sprintf("%d.%d", tenths/10, tenths%10)
	}
	if low == high {
		return f(low)
	}
	return f(low) + " to " + f(high)
}

// UnitText is a unit as it is printed: "/min", "°C", "s", "of 9".
func UnitText(unit string) string {
	switch {
	case unit == "degC":
		return "°C"
	case strings.HasPrefix(unit, "/") && unit != "/min":
		return "of " + unit[1:]
	}
	return unit
}

// Words names a row in a sentence: "small dog, 70 to 140 /min, borderline from
// 60 to 160; source: ...".
func (r Row) Words() string {
	text := r.Animal() + ", " + Between(r.Low, r.High, r.Unit)
	if r.GreyLow < r.Low || r.GreyHigh > r.High {
		text += ", borderline from " + Between(r.GreyLow, r.GreyHigh, r.Unit)
	}
	return text + " " + UnitText(r.Unit) + ". Source: " + r.Source + ". Confidence: " + r.Confidence
}

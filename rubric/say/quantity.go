package say

import (
	"slices"
	"strings"

	"dewclaw/rubric"
)

// Quantity formats a vital with its unit: the one place where numbers and
// units meet. A temperature is given in degrees Celsius with Fahrenheit beside
// it, a weight in kilograms with pounds beside it; the units "degF" and "lb"
// put those first. A body condition score is of 9 unless the units hold "of 5".
func Quantity(vital string, m rubric.Milli, unit ...string) string {
	switch vital {
	case "heart_rate", "resp_rate":
		return round(m, 0) + "/min"
	case "temperature":
		return pair(round(m, 1)+" °C", round(m*9/5+32000, 1)+" °F", slices.Contains(unit, Fahrenheit))
	case "weight":
		return pair(light(m)+" kg", light(pounds(m))+" lb", slices.Contains(unit, Pounds))
	case "crt":
		return round(m, 1) + " s"
	case "body_condition":
		return m.String() + outOf(unit)
	}
	return m.String()
}

// The units that a school may put first.
const (
	Fahrenheit = "degF"
	Pounds     = "lb"
)

// pounds are those of a weight in kg: the international pound of 1959 is .45359237 kg.
func pounds(m rubric.Milli) rubric.Milli { return rubric.Milli(int64(m) * 100_000_000 / 45_359_237) }

// light writes a weight to a tenth, below ten to a hundredth and below one to a
// thousandth, for 2 % of a rabbit are 40 g.
func light(m rubric.Milli) string {
	switch {
	case m < 1000:
		return round(m, 3)
	case m < 10_000:
		return round(m, 2)
	}
	return round(m, 1)
}

// outOf is the scale of a body condition score: the unit that the field has.
func outOf(unit []string) string {
	for _, u := range unit {
		if strings.HasPrefix(u, "of ") {
			return " " + u
		}
	}
	return " of 9"
}

// Range formats the two ends of a range of a vital, with the unit once.
func Range(vital string, low, high rubric.Milli, unit ...string) string {
	if low == high {
		return Quantity(vital, low, unit...)
	}
	from := Quantity(vital, low, unit...)
	switch vital {
	case "heart_rate", "resp_rate":
		from = strings.TrimSuffix(from, "/min")
	case "crt":
		from = strings.TrimSuffix(from, " s")
	case "body_condition":
		from = strings.TrimSuffix(from, outOf(unit))
	}
	return from + " to " + Quantity(vital, high, unit...)
}

// Difference formats how far two values of a vital lie apart, such as a
// tolerance. A difference of temperatures has no offset: 0.2 °C are 0.36 °F.
func Difference(vital string, m rubric.Milli, unit ...string) string {
	switch vital {
	case "temperature":
	case "weight":
		return pair(round(m, 2)+" kg", round(pounds(m), 2)+" lb", slices.Contains(unit, Pounds))
	default:
		return Quantity(vital, m, unit...)
	}
	return pair(round(m, 2)+" °C", round(m*9/5, 2)+" °F", slices.Contains(unit, Fahrenheit))
}

func pair(a, b string, swap bool) string {
	if swap {
		a, b = b, a
	}
	return a + " (" + b + ")"
}

// round writes a number with at most so many decimals, half away from zero.
func round(m rubric.Milli, decimals int) string {
	step := rubric.Milli(1000)
	for range decimals {
		step /= 10
	}
	half := step / 2
	if m < 0 {
		half = -half
	}
	return ((m + half) / step * step).String()
}

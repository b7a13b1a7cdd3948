package say

import (
	"strings"

	"dewclaw/rubric"
)

// Quantity formats a vital with its unit: the one place where numbers and
// units meet. A temperature is given in degrees Celsius with Fahrenheit beside
// it, a weight in kilograms with pounds beside it; the units "F" and "lb" put
// those first.
func Quantity(vital string, m rubric.Milli, unit ...string) string {
	first := strings.Join(unit, " ")
	switch vital {
	case "heart_rate", "resp_rate":
		return round(m, 0) + "/min"
	case "temperature":
		return pair(round(m, 1)+" °C", round(m*9/5+32000, 1)+" °F", strings.Contains(first, "F"))
	case "weight":
		// 1 lb is 0.45359237 kg by definition (international pound, 1959).
		return pair(round(m, 1)+" kg", round(rubric.Milli(int64(m)*100_000_000/45_359_237), 1)+" lb", strings.Contains(first, "lb"))
	case "crt":
		return round(m, 1) + " s"
	case "body_condition":
		return m.String() + " of 9"
	}
	return m.String()
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
		from = strings.TrimSuffix(from, " of 9")
	}
	return from + " to " + Quantity(vital, high, unit...)
}

// Difference formats how far two values of a vital lie apart, such as a
// tolerance. A difference of temperatures has no offset: 0.2 °C are 0.36 °F.
func Difference(vital string, m rubric.Milli, unit ...string) string {
	if vital != "temperature" {
		return Quantity(vital, m, unit...)
	}
	return pair(round(m, 2)+" °C", round(m*9/5, 2)+" °F", strings.Contains(strings.Join(unit, " "), "F"))
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

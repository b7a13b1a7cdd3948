package normal

import (
	"fmt"
	"regexp"
	"strings"

	"dewclaw/rubric"
)

// What a unit is worth, in thousandths of a day and of a gram: a year is 365.25
// days, a month a twelfth of it; a pound is 453.59237 g by definition.
var (
	ageUnits = map[string]int64{"d": 1000, "day": 1000, "w": 7000, "wk": 7000, "week": 7000, "mo": 30437, "month": 30437,
		"y": 365250, "yr": 365250, "year": 365250}
	weightUnits = map[string]int64{"": 1_000_000, "g": 1000, "kg": 1_000_000, "lb": 453_592}
)

var measured = regexp.MustCompile(`^([0-9]{1,5}(?:[.,][0-9]{1,3})?) ?([a-z]*?)(s?)$`)

// ParseAge reads an age such as 10w, 10 wk, 8 y, 3 mo or 5 d into whole days.
func ParseAge(text string) (int, error) {
	n, ok := quantity(text, ageUnits)
	if !ok || n >= Open {
		return 0, fmt.Errorf("the age %q cannot be read; right would be 5 d, 10 wk, 3 mo or 8 y", clip(text))
	}
	return n, nil
}

// ParseWeight reads a weight such as 5.2 (kg), 850 g or 11 lb into whole grams.
func ParseWeight(text string) (int, error) {
	n, ok := quantity(text, weightUnits)
	if !ok || n == 0 || n >= Open {
		return 0, fmt.Errorf("the weight %q cannot be read; right would be 5.2 kg, 850 g or 11 lb", clip(text))
	}
	return n, nil
}

func quantity(text string, units map[string]int64) (int, bool) {
	m := measured.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return 0, false
	}
	worth, ok := units[m[2]]
	if m[3] == "s" && len(m[2]) < 2 { // no "10 ds"
		ok = false
	}
	x, err := rubric.ParseMilli(m[1])
	if !ok || err != nil {
		return 0, false
	}
	n := (int64(x)*worth + 500_000) / 1_000_000
	if n >= Open {
		return 0, false
	}
	return int(n), true
}

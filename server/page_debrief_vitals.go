package server

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dewclaw/server/face"
)

// vitalRow is a vital sign: a strip for the eye, a text for everybody.
type vitalRow struct {
	Label, Text, Source string
	Strip               strip
}

// strip is the drawing of a vital on its range. All lengths are thousandths of
// its width.
type strip struct {
	Drawn, HasRange, OwnSet     bool
	LowX, RangeW, GreyX, GreyW  int
	ActualX, TolX, TolEnd, TolW int
	OwnX                        int
	From, To, Said              string
}

func vitalRowOf(v face.Vital) vitalRow {
	row := vitalRow{Label: v.Label, Text: vitalText(v), Source: sourceText(v)}
	row.Strip = stripOf(v)
	row.Strip.Said = v.Label + ". " + row.Text
	return row
}

// vitalText says the strip in words.
func vitalText(v face.Vital) string {
	var parts []string
	if v.Actual != "" {
		actual := "Actual finding " + v.Actual
		if v.Reading != "" {
			actual += ", which is " + v.Reading
		}
		parts = append(parts, actual+".")
	}
	if v.Low != "" && v.High != "" {
		parts = append(parts, rangeText(v))
	}
	switch {
	case v.Charted != "" && v.Interpretation != "":
		parts = append(parts, fmt.Sprintf("You charted %s and called it %s.", v.Charted, v.Interpretation))
	case v.Charted != "" && v.Low == "":
		parts = append(parts, fmt.Sprintf("You charted %s.", v.Charted))
	case v.Charted != "":
		parts = append(parts, fmt.Sprintf("You charted %s and did not say whether it is low, normal or high.", v.Charted))
	case v.Measured:
		parts = append(parts, "You measured it and charted nothing.")
	default:
		parts = append(parts, notMeasured(v))
	}
	if tol, ok := quantity(v.Tolerance); ok && tol > 0 {
		parts = append(parts, fmt.Sprintf("Within %s earns the whole mark.", v.Tolerance))
	}
	return strings.Join(parts, " ")
}

// rangeText is the range with the animals that it is for.
func rangeText(v face.Vital) string {
	of := ""
	if v.Of != "" {
		of = " (" + v.Of + ")"
	}
	return fmt.Sprintf("Reference range%s: %s to %s%s.", of, v.Low, v.High, greyText(v))
}

// sourceText says whose the range is that judged a vital, and where it comes from.
func sourceText(v face.Vital) string {
	if v.Source == "" {
		return ""
	}
	text := "Source of the range: " + v.Source + "."
	if v.Own {
		text = "The range is the school’s own. Source: " + v.Source + "."
	}
	if v.Confidence != "" {
		text += " Confidence: " + v.Confidence + "."
	}
	return text
}

func greyText(v face.Vital) string {
	if (v.GreyLow == "" && v.GreyHigh == "") || (v.GreyLow == v.Low && v.GreyHigh == v.High) {
		return ""
	}
	return fmt.Sprintf(", borderline from %s to %s", first(v.GreyLow, v.Low), first(v.GreyHigh, v.High))
}

// first is the first text that is not empty.
func first(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}

// stripOf lays a vital out on a line that holds all its values with some air.
func stripOf(v face.Vital) strip {
	actual, ok := quantity(v.Actual)
	if !ok {
		return strip{}
	}
	own, ownSet := quantity(v.Charted)
	tol, _ := quantity(v.Tolerance)
	low, okLow := quantity(v.Low)
	high, okHigh := quantity(v.High)
	values := []float64{actual - tol, actual + tol}
	if ownSet {
		values = append(values, own)
	}
	greyLow, greyHigh := low, high
	hasRange := okLow && okHigh
	if hasRange {
		if q, ok := quantity(v.GreyLow); ok {
			greyLow = q
		}
		if q, ok := quantity(v.GreyHigh); ok {
			greyHigh = q
		}
		values = append(values, low, high, greyLow, greyHigh)
	}
	axis := newAxis(values)
	s := strip{Drawn: true, HasRange: hasRange, OwnSet: ownSet, From: axis.end(axis.from), To: axis.end(axis.to), ActualX: axis.x(actual), OwnX: axis.x(own)}
	s.TolX, s.TolEnd = axis.x(actual-tol), axis.x(actual+tol)
	s.TolW = s.TolEnd - s.TolX
	if hasRange {
		s.LowX, s.RangeW = axis.x(low), axis.x(high)-axis.x(low)
		s.GreyX, s.GreyW = axis.x(greyLow), axis.x(greyHigh)-axis.x(greyLow)
	}
	return s
}

// axis maps values to thousandths of the strip.
type axis struct{ from, to float64 }

func newAxis(values []float64) axis {
	a := axis{math.Inf(1), math.Inf(-1)}
	for _, v := range values {
		a.from, a.to = min(a.from, v), max(a.to, v)
	}
	air := (a.to - a.from) * .12
	if air == 0 {
		air = max(math.Abs(a.to)*.1, 1)
	}
	return axis{max(a.from-air, min(a.from, 0)), a.to + air}
}

func (a axis) x(v float64) int {
	return int(math.Round(1000 * min(max((v-a.from)/(a.to-a.from), 0), 1)))
}

// end writes an end of the axis to about three figures.
func (a axis) end(v float64) string {
	if a.to-a.from >= 20 {
		return strconv.FormatFloat(math.Round(v), 'f', -1, 64)
	}
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

// quantity reads the number that a text begins with: "104 /min", "1.5 s".
func quantity(text string) (float64, bool) {
	text = strings.TrimLeft(text, "±≥≤<> ")
	end := strings.IndexFunc(text, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != '-' })
	if end >= 0 {
		text = text[:end]
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil
}

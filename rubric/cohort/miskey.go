package cohort

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Where a line is flagged as perhaps having a wrong key.
const (
	// FlagForecast: so many standard errors below what was forecast.
	FlagForecast = -2.5
	// FlagCorrected: a corrected correlation this many times 1/sqrt(n) or lower.
	FlagCorrected = -1.645
	// FlagStudents is how few students a line is flagged from (derived).
	FlagStudents = 10
)

// sharedDifficulty is the variance by which a line is harder or easier for all than
// forecast (.4 logits), as it shows in shares that scatter with that and with .34
// for the day.
const sharedDifficulty = .16 / (1 + math.Pi*(.16+.34)/8)

// Suspect is how much speaks against the key of a line.
type Suspect struct {
	Line     int // its place in the sheet, from 0
	Students int
	// Z is how far the marks are from the forecast, in standard errors, negative
	// where less was earned. All students may have found the line harder than was
	// forecast, and that counts in the standard error.
	Z Told
	// R is the corrected correlation.
	R Told
	// Score is max(0, -Z) + max(0, -R sqrt(n)), by which suspects are ranked.
	Score Told
	Flag  bool
}

// Suspects are the lines of an exam, the most suspect first, with how many flags
// there would be by chance.
type Suspects struct {
	Lines []Suspect
	Flags int
	// Chance is how many flags are to be expected if no key is wrong: if the lines
	// go with the rest as these lines do, and the forecasts are right. AtMost is how
	// many if no line had anything to do with the rest.
	Chance Told
	AtMost float64
}

// MisKeys ranks the lines of an exam by how much speaks against their key. Forecast
// has a row a student and the share, 0 to 1, that the student was forecast to earn of
// each line, or Missing; it may be nil if nothing was forecast.
func MisKeys(s Sheet, forecast [][]float64) (Suspects, error) {
	items, err := Items(s)
	if err != nil {
		return Suspects{}, err
	}
	if err := checkForecast(s, forecast); err != nil {
		return Suspects{}, err
	}
	var out Suspects
	for j, it := range items {
		l := suspect(it, against(s, forecast, j))
		l.Line = j
		if l.Flag {
			out.Flags++
		}
		out.Lines = append(out.Lines, l)
	}
	out.Chance, out.AtMost = chance(items, out.Lines)
	slices.SortStableFunc(out.Lines, func(a, b Suspect) int { return cmp.Compare(b.Score.Value, a.Score.Value) })
	return out, nil
}

// checkForecast finds what cannot be forecast for a sheet.
func checkForecast(s Sheet, forecast [][]float64) error {
	if forecast == nil {
		return nil
	}
	if len(forecast) != len(s.Marks) {
		return fmt.Errorf("cohort: %d forecasts for %d students", len(forecast), len(s.Marks))
	}
	for i, row := range forecast {
		if len(row) != len(s.Most) {
			return fmt.Errorf("cohort: student %d has %d forecasts for %d lines", i+1, len(row), len(s.Most))
		}
		for j, p := range row {
			if p < 0 || p > 1 {
				return fmt.Errorf("cohort: student %d is forecast %v of line %d, it must be 0 to 1", i+1, p, j+1)
			}
		}
	}
	return nil
}

// against is z: the marks of a line against what was forecast. The variance is that
// of right and wrong, which is the most that marks between can have, and that of a
// difficulty that all students share.
func against(s Sheet, forecast [][]float64, line int) Told {
	off, own, shared, n := 0.0, 0.0, 0.0, 0
	for i, row := range forecast {
		y, p := s.Marks[i][line]/s.Most[line], row[line]
		if math.IsNaN(y) || math.IsNaN(p) {
			continue
		}
		pq := p * (1 - p)
		off, own, shared, n = off+y-p, own+pq-sharedDifficulty*pq*pq, shared+pq, n+1
	}
	if n == 0 {
		return Told{Lack: Lack{Why: NoForecast}}
	}
	if l := short(TooFewStudents, n, FlagStudents); l.Why != "" {
		return Told{Lack: l}
	}
	variance := own + sharedDifficulty*shared*shared
	if variance <= 0 {
		return Told{Lack: Lack{Why: NoForecast}} // each was forecast all or nothing: that is no forecast
	}
	return Told{Value: off / math.Sqrt(variance)}
}

// suspect puts together what speaks against a line.
func suspect(it Item, z Told) Suspect {
	s := Suspect{Students: it.Students, Z: z, R: it.Corrected.Told}
	if l := short(TooFewStudents, it.Students, FlagStudents); l.Why != "" {
		s.R = Told{Lack: l}
	}
	if !s.Z.Known() && !s.R.Known() {
		s.Score.Lack = s.R.Lack
		return s
	}
	root := math.Sqrt(float64(it.Students))
	s.Score.Value = max(0, -s.Z.Value) + max(0, -s.R.Value*root)
	s.Flag = s.Z.Value < FlagForecast || s.R.Value < FlagCorrected/root
	return s
}

// chance is how many lines would be flagged if no key were wrong.
func chance(items []Item, lines []Suspect) (expected Told, atMost float64) {
	s, _ := shrinkFisher(items)
	expected.Lack = s.Lack
	for _, l := range lines {
		byForecast := 0.0
		if l.Z.Known() {
			byForecast = distuv.UnitNormal.CDF(FlagForecast)
		}
		if !l.R.Known() {
			atMost += byForecast
			if s.Lack.Why == "" {
				expected.Value += byForecast
			}
			continue
		}
		atMost += either(byForecast, unrelated(l.Students))
		if s.Lack.Why == "" {
			expected.Value += either(byForecast, related(s, l.Students))
		}
	}
	return expected, atMost
}

// either is how probable one of two things is that do not depend on each other.
func either(a, b float64) float64 { return 1 - (1-a)*(1-b) }

// unrelated is how often a line that has nothing to do with the rest is flagged by
// its correlation: Student's t of the correlation at which it is.
func unrelated(students int) float64 {
	n := float64(students)
	r := FlagCorrected / math.Sqrt(n)
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 2}.CDF(r * math.Sqrt((n-2)/(1-r*r)))
}

// related is how often a line is flagged that goes with the rest as the lines of
// this exam do.
func related(s Shrunken, students int) float64 {
	at := math.Atanh(FlagCorrected / math.Sqrt(float64(students)))
	return distuv.UnitNormal.CDF((at - s.Mean) / math.Sqrt(s.Between+fisherVariance(students)))
}

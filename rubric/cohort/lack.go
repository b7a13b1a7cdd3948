package cohort

import "fmt"

// Why says why a figure is not told. It is empty where the figure is told.
type Why string

// The reasons for which a figure is not told.
const (
	TooFewStudents Why = "too few students"
	TooFewPatients Why = "too few patients"
	TooFewLines    Why = "too few lines"
	TooFewCases    Why = "too few cases"
	// AllAlike: the marks do not differ, so that nothing can be said about how
	// they would.
	AllAlike Why = "all marks are alike"
	// NoDifference: what lies between the students is not more than what lies
	// within them; a share of it that is reliable would be negative.
	NoDifference Why = "the students do not differ by more than chance"
	// NoForecast: nothing was forecast for a line, so its marks can be held
	// against nothing.
	NoForecast Why = "nothing was forecast"
)

// Lack is the reason for a figure that is not told, with what there is and what
// it takes where it is a matter of number. The zero Lack lacks nothing.
type Lack struct {
	Why        Why
	Have, Need int
}

// String says it in words: "too few students: 12, and it takes 30".
func (l Lack) String() string {
	if l.Need == 0 {
		return string(l.Why)
	}
	return fmt.Sprintf("%s: %d, and it takes %d", l.Why, l.Have, l.Need)
}

// short is a lack of number, if have is less than need.
func short(why Why, have, need int) Lack {
	if have >= need {
		return Lack{}
	}
	return Lack{Why: why, Have: have, Need: need}
}

// Told is a figure, or the reason why there is none. Value is 0 then and means
// nothing. It is never NaN or infinite.
type Told struct {
	Value float64
	Lack  Lack
}

// Known says whether there is a figure.
func (t Told) Known() bool { return t.Lack.Why == "" }

// Estimate is a figure with its interval, in the units of the figure, or the
// reason why there is none.
type Estimate struct {
	Told
	Low, High float64
}

// estimate is an estimate that is told.
func estimate(value, low, high float64) Estimate {
	return Estimate{Told: Told{Value: value}, Low: low, High: high}
}

// lacking is an estimate that is not told.
func lacking(l Lack) Estimate { return Estimate{Told: Told{Lack: l}} }

package drill

import (
	"fmt"

	"dewclaw/rubric"
)

// A range that is said is right where each of its ends lies no further from the
// table's than the grey zone is wide, or than a tenth of the range where there is
// none (derived: textbooks differ by about as much), and wrong from twice as far.

// reference is the reference range of the patient, by the tables that it was
// drawn by.
func (it Item) reference() (rubric.Vital, error) {
	p, err := it.paper(0, rubric.DomainVitals)
	if err != nil {
		return rubric.Vital{}, err
	}
	if len(p.key.Vitals) != 1 || !p.key.Vitals[0].HasRange {
		return rubric.Vital{}, fmt.Errorf("%w: there is no reference range for this patient", ErrItem)
	}
	return p.key.Vitals[0], nil
}

// endMark is the mark of one end of a range.
func endMark(said, is, grey, least rubric.Milli) rubric.Milli {
	tolerance := max(is-grey, grey-is, least, 1)
	off := max(said-is, is-said)
	return min(max((2*tolerance-off)*full/tolerance, 0), full)
}

// markRange marks the range that was said, as its worse end, and the reading as
// any reading; both have to be right.
func (it Item) markRange(a Answer) (Result, error) {
	v, err := it.reference()
	if err != nil {
		return Result{}, err
	}
	low, high, err := it.said(a)
	if err != nil {
		return Result{}, err
	}
	read, err := it.number("value", a.Value)
	if err != nil {
		return Result{}, err
	}
	switch a.Interpretation {
	case "":
		a.Interpretation = called(read, low, high)
	case "low", "normal", "high":
	default:
		return Result{}, &rubric.MemberError{Member: "interpretation", Problem: fmt.Sprintf("%q is no interpretation", clip40(a.Interpretation)), Right: "low, normal or high"}
	}
	r, err := it.vital(a, true)
	if err != nil {
		return Result{}, err
	}
	tenth := (v.High - v.Low) / 10
	ends := min(endMark(low, v.Low, v.GreyLow, tenth), endMark(high, v.High, v.GreyHigh, tenth))
	r.Reason = it.becauseRange(a, r, v, ends)
	r.Mark = r.Mark * ends / full
	return r, nil
}

// said reads both ends of a range.
func (it Item) said(a Answer) (low, high rubric.Milli, err error) {
	if low, err = it.number("low", a.Low); err != nil {
		return 0, 0, err
	}
	if high, err = it.number("high", a.High); err != nil {
		return 0, 0, err
	}
	if high <= low {
		return 0, 0, &rubric.MemberError{Member: "high", Problem: "it is not above the lower end", Right: "the upper end of the range"}
	}
	return low, high, nil
}

// called is what a reading is by a range.
func called(read, low, high rubric.Milli) string {
	switch {
	case read < low:
		return "low"
	case read > high:
		return "high"
	}
	return "normal"
}

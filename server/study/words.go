package study

import (
	"fmt"
	"math"
	"time"
)

// Noun is what one and several marks of a skill are called.
type Noun struct{ One, Many string }

// Sentence says what somebody can do, with what it rests on.
func (s Skill) Sentence(n Noun, now time.Time) string {
	switch {
	case s.Lines == 0:
		return "Not met yet."
	case s.Little:
		return fmt.Sprintf("Too little seen to say: %s; last met %s.", s.rests(), Ago(s.Last, now))
	}
	low, high, middle := tenths(s.Low), tenths(s.High), tenths(s.Middle)
	span := fmt.Sprintf("%d to %d", low, high)
	if low == high {
		span = fmt.Sprintf("hardly more or less than %d", middle)
	}
	return fmt.Sprintf("You would get about %d of 10 %s right (%s); from %s; last met %s.", middle, n.Many, span, s.rests(), Ago(s.Last, now))
}

// rests is what the figure rests on: 23 lines in 4 patients and 2 drills.
func (s Skill) rests() string {
	lines := count(s.Lines, "line", "lines")
	switch {
	case s.Drills == 0:
		return lines + " in " + count(s.Patients, "patient", "patients")
	case s.Patients == 0:
		return lines + " in " + count(s.Drills, "drill", "drills")
	}
	return lines + " in " + count(s.Patients, "patient", "patients") + " and " + count(s.Drills, "drill", "drills")
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// tenths is a share as so many of 10.
func tenths(share float64) int { return int(math.Round(share * 10)) }

// Ago says how long ago a moment was, in whole days of the calendar where now is.
func Ago(then, now time.Time) string {
	switch days := daysBetween(then, now); {
	case days <= 0:
		return "today"
	case days == 1:
		return "yesterday"
	default:
		return fmt.Sprintf("%d days ago", days)
	}
}

func daysBetween(then, now time.Time) int {
	return int(dayOf(now).Sub(dayOf(then.In(now.Location()))) / (24 * time.Hour))
}

// dayOf is the day on which a moment was where it was, as midnight in UTC: a day
// there may be an hour longer or shorter.
func dayOf(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Reason says why something is offered. Label is what the skill is called.
func (o Offer) Reason(label string, n Noun, now time.Time) string {
	var why string
	switch {
	case o.Why == Due && o.Skill.Lines == 0:
		why = fmt.Sprintf("Not met yet: %s.", label)
	case o.Why == Due:
		why = fmt.Sprintf("Due again: %s, last met %s.", label, Ago(o.Skill.Last, now))
	case o.Why == Weak && o.Skill.Little:
		why = fmt.Sprintf("Weak so far: %s, though too little was seen to say how weak.", label)
	case o.Why == Weak:
		why = fmt.Sprintf("Weak: you would get about %d of 10 %s right.", tenths(o.Skill.Middle), n.Many)
	case o.Forecast == 0:
		return "To begin with: nothing is known of you yet, so an easier patient."
	default:
		return "Mixed: another system than your last two. It may be healthy."
	}
	if o.Patient != "" {
		return why + " This patient may have nothing of the kind."
	}
	return why
}

// Sentence says how often a step was left out, of the last visits that asked for it.
func (f Forgotten) Sentence() string {
	return fmt.Sprintf("left out in %d of %d", f.Left, f.Visits)
}

package exam

import (
	"errors"
	"fmt"
	"time"
)

// localLayout is how a time of day is typed (RFC 3339 without zone and seconds,
// as an HTML datetime-local control sends it).
const localLayout = "2006-01-02T15:04"

// Why a time of day is not one moment.
var (
	ErrNoSuchTime = errors.New("exam: the clocks are put forward over this time; it does not come")
	ErrTwice      = errors.New("exam: the clocks are put back over this time; it comes twice")
	ErrTimeFormat = errors.New("exam: a date and a time are needed, such as 2027-03-01T09:30")
)

// Local is the moment of a time of day in a zone. A time that the clocks jump
// over is ErrNoSuchTime, with the moment of the same clock an hour on in the
// text. One that comes twice is ErrTwice, unless later says which is meant.
func Local(text string, zone *time.Location, later *bool) (time.Time, error) {
	at, err := time.ParseInLocation(localLayout, text, zone)
	if err != nil {
		return time.Time{}, ErrTimeFormat
	}
	if at.Format(localLayout) != text {
		return time.Time{}, fmt.Errorf("%w: %s in %s; the clock shows %s instead", ErrNoSuchTime, text, zone, at.Format("15:04"))
	}
	first, second := at, at
	for _, shift := range shifts {
		if other := at.Add(shift); other.Format(localLayout) == text {
			first, second = earlier(first, other), latest(second, other)
		}
	}
	switch {
	case first.Equal(second):
		return first.UTC(), nil
	case later == nil:
		return time.Time{}, fmt.Errorf("%w: %s in %s; say whether the first (%s) or the second (%s) is meant", ErrTwice, text, zone, first.Format("MST"), second.Format("MST"))
	case *later:
		return second.UTC(), nil
	}
	return first.UTC(), nil
}

// shifts are how far clocks are put back: an hour almost everywhere, half an
// hour on Lord Howe Island, two at Troll (IANA time zone database).
var shifts = []time.Duration{-2 * time.Hour, -time.Hour, -30 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

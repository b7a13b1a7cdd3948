package bench

import (
	"slices"
	"time"
)

// Series are times that were measured.
type Series []time.Duration

// Spread sorts the series and says what lies below so many of a thousand of it,
// and the longest. An empty series has zeros.
func (s Series) Spread() Spread {
	slices.Sort(s)
	at := func(milli int) time.Duration {
		if len(s) == 0 {
			return 0
		}
		return s[min(len(s)-1, len(s)*milli/1000)]
	}
	return Spread{Count: len(s), P50: Millis(at(500)), P95: Millis(at(950)), P99: Millis(at(990)), Most: Millis(at(1000))}
}

// Spread is how a series lies, in milliseconds.
type Spread struct {
	Count int     `json:"count"`
	P50   float64 `json:"p50_ms"`
	P95   float64 `json:"p95_ms"`
	P99   float64 `json:"p99_ms"`
	Most  float64 `json:"most_ms"`
}

// Millis is a time in milliseconds, to the microsecond.
func Millis(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

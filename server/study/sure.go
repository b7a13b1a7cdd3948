package study

import (
	"fmt"
	"math"

	"dewclaw/rubric/cohort"
)

// BandsFrom is how many judgements with a confidence there must be before bands
// say anything.
const BandsFrom = 20

// Band is how often somebody was right who was that sure: Right of N, with the 95 %
// interval from Low to High as shares. Both are 0 where N is 0.
type Band struct {
	Sure      int // 50, 75 or 95 of 100
	Right, N  int
	Low, High float64
}

// bandOf are the three bands with their words.
var bandOf = []struct {
	sure int
	when string
}{{50, "When you guess"}, {75, "When you are fairly sure"}, {95, "When you are sure"}}

// Bands are the three bands of guess, fairly sure and sure, in that order,
// whatever the number of judgements. A judgement without a confidence is left out.
func Bands(all []Judgement) []Band {
	bands := make([]Band, len(bandOf))
	for i, b := range bandOf {
		bands[i].Sure = b.sure
		for _, j := range all {
			if j.Sure != b.sure {
				continue
			}
			bands[i].N++
			if j.Right() {
				bands[i].Right++
			}
		}
		bands[i].Low, bands[i].High, _ = cohort.Wilson(float64(bands[i].Right), float64(bands[i].N), cohort.Z95)
	}
	return bands
}

// Said is how many judgements the bands rest on.
func Said(bands []Band) (n int) {
	for _, b := range bands {
		n += b.N
	}
	return n
}

// Words say a band: "When you are sure: right 14 of 20, 48 to 85 %."
func (b Band) Words() string {
	when := ""
	for _, row := range bandOf {
		if row.sure == b.Sure {
			when = row.when
		}
	}
	if b.N == 0 {
		return when + ": not yet."
	}
	return fmt.Sprintf("%s: right %d of %d, %d to %d %%.", when, b.Right, b.N, int(math.Floor(b.Low*100+.5)), int(math.Floor(b.High*100+.5)))
}

// Against says how a band stands to what was claimed: "" as long as the interval
// holds the claim or there is nothing.
func (b Band) Against() string {
	claim := float64(b.Sure) / 100
	switch {
	case b.N == 0:
		return ""
	case b.High < claim:
		return "You are right less often than that claims."
	case b.Low > claim:
		return "You know more than you say."
	}
	return ""
}

// TooFew is the sentence in place of the bands; empty: there are enough.
func TooFew(bands []Band) string {
	n := Said(bands)
	switch {
	case n >= BandsFrom:
		return ""
	case n == 0:
		return "You have not said yet how sure you are of a line. From 20 on, it is shown here how often you were right."
	case n == 1:
		return "You have said of one line how sure you are. From 20 on, it is shown here how often you were right."
	}
	return fmt.Sprintf("You have said of %d lines how sure you are. From 20 on, it is shown here how often you were right.", n)
}

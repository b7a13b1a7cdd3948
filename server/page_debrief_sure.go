package server

import (
	"fmt"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/face"
)

// sureTold is how sure somebody was, and whether rightly: what was sure and wrong
// first, for that is what one learns most from.
type sureTold struct {
	Wrong []sureRow
	Words []string // of all the lines together
}

// sureRow is a line of which one was sure and that was wrong.
type sureRow struct {
	Label, Site, Charted, Actual string
	Acts                         []actRef
}

func sureToldOf(r face.Report, clocks map[int]string) *sureTold {
	if len(r.Sure) == 0 {
		return nil
	}
	t := &sureTold{}
	for _, l := range r.Sure {
		if l.Sure == rubric.Sure && !l.Right {
			t.Wrong = append(t.Wrong, sureRow{l.Label, l.Site, quoted(l.Charted), quoted(l.Actual), actRefs([]int{l.Act}, clocks)})
		}
	}
	t.Words = sureWords(r.Sure)
	return t
}

// sureSaid are the three words as they begin a sentence.
var sureSaid = []struct{ sure, one, many string }{
	{rubric.Sure, "You were sure of one line", "You were sure of %d lines"},
	{rubric.Fairly, "you were fairly sure of one", "you were fairly sure of %d"},
	{rubric.Guess, "you guessed one", "you guessed %d"},
}

// sureWords say how many lines of each were right.
func sureWords(lines []face.Sure) []string {
	var out []string
	for _, row := range sureSaid {
		n, right := 0, 0
		for _, l := range lines {
			if l.Sure != row.sure {
				continue
			}
			n++
			if l.Right {
				right++
			}
		}
		if n == 0 {
			continue
		}
		text := row.one
		if n > 1 {
			text = fmt.Sprintf(row.many, n)
		}
		out = append(out, sentence(text+", "+rightOf(right, n)))
	}
	return out
}

// rightOf says how many of some were right.
func rightOf(right, n int) string {
	switch {
	case n == 1 && right == 1:
		return "and it was right"
	case n == 1:
		return "and it was wrong"
	case right == n:
		return "and all were right"
	case right == 0:
		return "and none was right"
	}
	return fmt.Sprintf("and %d %s right", right, wasWere(right))
}

func wasWere(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// quoted marks the words of a choice within a sentence; a figure needs none.
func quoted(value string) string {
	if value == "" || strings.ContainsAny(value[:1], "0123456789<>") {
		return value
	}
	return "“" + value + "”"
}

// forecastTold is what was expected beside what came.
type forecastTold struct {
	Rows  []forecastTo
	Words string
	Least string // what became of the line least sure of; empty: none was named
}

// forecastTo is one domain: percents of its points, and where they stand on a strip.
type forecastTo struct {
	Label          string
	Expected, Came string // with the sign, or a dash
	ExpX, CameX    int    // thousandths of the strip
	Drawn          bool
}

func forecastToldOf(r face.Report) *forecastTold {
	if r.Forecast == nil {
		return nil
	}
	t := &forecastTold{}
	most, far := "", 0
	for _, d := range r.Domains {
		row := forecastTo{Label: d.Label, Expected: "–", Came: "–"}
		expected, said := r.Forecast.Percent[d.ID]
		if said {
			row.Expected, row.ExpX = fmt.Sprintf("%d %%", expected), expected*10
		}
		if d.Max > 0 {
			came := int((max(d.Points, 0)*100 + d.Max/2) / d.Max)
			row.Came, row.CameX = fmt.Sprintf("%d %%", came), came*10
			row.Drawn = said
			if gap := expected - came; said && max(gap, -gap) > max(far, -far) {
				most, far = d.Label, gap
			}
		}
		t.Rows = append(t.Rows, row)
	}
	t.Words = gapWords(most, far)
	t.Least = leastWords(r)
	return t
}

// gapWords name the domain that came furthest from what was expected. Within ten
// percent a forecast is as near as one can ask for (derived).
func gapWords(domain string, gap int) string {
	const near = 10
	switch {
	case max(gap, -gap) <= near:
		return "Nothing came more than 10 % from what you expected."
	case gap > 0:
		return fmt.Sprintf("Furthest off: in %s you expected %d %% more than came.", domain, gap)
	}
	return fmt.Sprintf("Furthest off: in %s came %d %% more than you expected.", domain, -gap)
}

// leastWords say what became of the line that one was least sure of.
func leastWords(r face.Report) string {
	if r.Forecast.Least == nil {
		return ""
	}
	place := *r.Forecast.Least
	begin := func(label string) string {
		return "You were least sure of " + joinSet([]string{strings.ToLower(label[:1]) + label[1:], place.Site}, ", ")
	}
	for _, l := range r.Sure {
		if l.Place == place && l.Right {
			return begin(l.Label) + ". It was right: " + quoted(l.Charted) + "."
		} else if l.Place == place {
			return begin(l.Label) + ". You charted " + quoted(l.Charted) + "; it was " + quoted(l.Actual) + "."
		}
	}
	for _, f := range r.Findings {
		if f.Place == place {
			return begin(f.Label) + ". It was " + quoted(f.Actual) + "."
		}
	}
	for _, v := range r.Vitals {
		if v.Field == place.Field && v.Measured {
			return begin(v.Label) + ". It was " + v.Actual + "."
		}
	}
	return ""
}

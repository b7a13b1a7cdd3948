package server

import "dewclaw/server/study"

// sureStrip is how often somebody was right who was so sure, drawn as three bands
// one below the other. The template part surestrip shows it.
type sureStrip struct {
	TooFew string // in place of the bands
	Bands  []bandRow
}

// bandRow is one band: words, and what is drawn in thousandths of the strip.
type bandRow struct {
	Label          string // sure, fairly sure, guess
	Words          string
	Against        string // how it stands to what is claimed; empty: it agrees
	Drawn          bool
	LowX, Width    int
	RightX, ClaimX int
}

// bandLabels are the bands by what is claimed.
var bandLabels = map[int]string{50: "guess", 75: "fairly sure", 95: "sure"}

// sureStripOf draws somebody's judgements, the surest first.
func sureStripOf(all []study.Judgement) sureStrip {
	bands := study.Bands(all)
	strip := sureStrip{TooFew: study.TooFew(bands)}
	if strip.TooFew != "" {
		return strip
	}
	for i := range bands {
		b := bands[len(bands)-1-i]
		row := bandRow{Label: bandLabels[b.Sure], Words: b.Words(), Against: b.Against(), Drawn: b.N > 0, ClaimX: b.Sure * 10}
		if b.N > 0 {
			row.LowX, row.RightX = int(b.Low*1000), b.Right*1000/b.N
			row.Width = int(b.High*1000) - row.LowX
		}
		strip.Bands = append(strip.Bands, row)
	}
	return strip
}

// exampleStrip is a filled strip, for pages that show one.
func exampleStrip() sureStrip {
	var all []study.Judgement
	for _, x := range []struct{ sure, right, n int }{{95, 14, 20}, {75, 6, 8}, {50, 5, 6}} {
		for i := range x.n {
			j := study.Judgement{Sure: x.sure}
			if i < x.right {
				j.Mark = study.Right
			}
			all = append(all, j)
		}
	}
	return sureStripOf(all)
}

package server

import "dewclaw/server/face"

// sureStrip is how often somebody was right who was so sure, drawn as three bands
// one below the other, the surest first. The template part surestrip shows it.
type sureStrip struct {
	TooFew string // in place of the bands
	Bands  []bandRow
}

// bandRow is one band: words, and what is drawn in thousandths of the strip.
type bandRow struct {
	Label   string // sure, fairly sure, guess
	Words   string
	Against string // how it stands to what is claimed; empty: it agrees
	Drawn   bool
	LowX    int
	Width   int
	RightX  int
	ClaimX  int
}

// bandLabels are the bands by what is claimed.
var bandLabels = map[int]string{50: "Guess", 75: "Fairly sure", 95: "Sure"}

func sureStripOf(bands []face.SureBand, tooFew string) sureStrip {
	strip := sureStrip{TooFew: tooFew}
	for i := range bands {
		b := bands[len(bands)-1-i]
		row := bandRow{Label: bandLabels[b.Sure], Words: b.Text, Against: b.Claim, Drawn: b.N > 0, ClaimX: b.Sure * 10}
		if b.N > 0 {
			row.LowX, row.RightX = int(b.Low*1000), b.Right*1000/b.N
			row.Width = int(b.High*1000) - row.LowX
		}
		strip.Bands = append(strip.Bands, row)
	}
	return strip
}

package senses

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The colour is back in its time, within a frame, in every colour and species.
func TestRefillIsBackInItsTime(t *testing.T) {
	colours := []string{"pink", "pale pink", "pale", "grey", "blue", "brick red", "yellow", "brown", "faint yellow", "purple rim"}
	for tenths := 3; tenths <= 50; tenths++ {
		r := Refill{Millis: tenths * 100, Species: kinds[tenths%5], Colour: colours[tenths%10]}
		frames, centis := watch(t, r.Picture().Bytes)
		require.Equal(t, 10, centis)
		release, back := 0, 0
		for f := 1; f < len(frames); f++ {
			if release == 0 && string(frames[f].pix) != string(frames[f-1].pix) {
				release = f
			}
			if release > 0 && back == 0 && frames[f].at(120, 70) == frames[f].at(120, 100) {
				back = f
			}
		}
		require.Equal(t, 20, release, "pressed for two seconds")
		require.InDelta(t, tenths, back-release, 1)
		at, told := r.Back()
		require.Equal(t, back, at)
		require.Equal(t, back-release, told)
		require.True(t, isColour(tissue[r.Colour])(frames[89].at(120, 70)), r.Colour)
	}
}

// Where the gum was pressed it is lighter, and told from the gum by its edge.
func TestPrintIsSeen(t *testing.T) {
	for name := range tissue {
		own := Refill{Colour: name}.colours()
		require.Greater(t, contrast(own[1], own[0]), 1.04, name)
		require.Greater(t, contrast(own[3], own[1]), 1.6, name)
	}
}

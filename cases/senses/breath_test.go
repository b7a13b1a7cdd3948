package senses

import (
	"fmt"
	"image"
	"testing"

	"github.com/stretchr/testify/require"
)

// patterns are the shapes of a breath that a page shows.
var patterns = map[string]Breath{
	"even":          {},
	"panting":       {In: 480, Out: 480, Depth: Quick, Open: true},
	"rapid shallow": {In: 440, Out: 440, Depth: Shallow},
	"deep both":     {In: 480, Out: 480, Depth: Deep, Effort: 2},
	"long in":       {In: 650, Out: 270, Effort: 2},
	"long out":      {In: 270, Out: 650, Push: true, Effort: 3},
	"opposed":       {Opposed: true, Effort: 3},
	"gasps":         {Effort: 4},
}

// flank is how much of the hind half of the picture the animal takes.
func flank(f shot) float64 {
	return float64(area(f, image.Rect(breathWide/2, 0, breathWide, breathHigh), notPlate))
}

// The rate is recovered from the frames by gonum's Fourier transform of the area
// of the hind half, within 2 % from 8 to 300 a minute, in every pattern.
func TestBreathingRateIsInThePicture(t *testing.T) {
	i := 0
	for name, b := range patterns {
		for _, rate := range []int{8, 27, 71, 163, 258, 300} {
			b.Rate, b.Phase, b.Species = rate, uint64(rate)*7919, kinds[i%5]
			i++
			frames, centis := watch(t, b.Picture().Bytes)
			x := make([]float64, len(frames))
			for f := range frames {
				x[f] = flank(frames[f])
			}
			require.InEpsilon(t, rate, strongestPerMinute(x, 100/float64(centis)), .02, "%s of a %s at %d", name, b.Species, rate)
		}
	}
}

// Between two beginnings the flank rises once: who counts what is seen counts
// what Within says, over the whole clip and where it runs round.
func TestEveryInspirationIsSeenOnce(t *testing.T) {
	for i, rate := range []int{1, 7, 20, 33, 59, 90, 120, 177} {
		b := Breath{Species: kinds[i%5], Rate: rate, Phase: uint64(i) * 9973}
		frames, _ := watch(t, b.Picture().Bytes)
		low, high := flank(frames[0]), flank(frames[0])
		for _, f := range frames {
			low, high = min(low, flank(f)), max(high, flank(f))
		}
		n, before := 0, flank(frames[len(frames)-1]) > (low+high)/2
		for _, f := range frames {
			now := flank(f) > (low+high)/2
			if now && !before {
				n++
			}
			before = now
		}
		require.Equal(t, rate, n)
		require.Equal(t, rate, b.Within(Seconds))
		require.Len(t, b.Onsets(), rate)
	}
}

// A whole number of breaths in the time watched is counted so from any phase.
func TestWithinFromAnyPhase(t *testing.T) {
	for phase := range uint64(64) {
		require.Equal(t, 12, Breath{Rate: 24, Phase: phase << 10}.Within(30))
		require.Equal(t, 180, Breath{Rate: 360, Phase: phase << 10}.Within(30))
	}
	require.Empty(t, Breath{}.Onsets())
}

// The dead lie still: nothing changes in the whole clip.
func TestArrestIsStill(t *testing.T) {
	frames, _ := watch(t, Breath{Effort: 4, Phase: 40000}.Picture().Bytes)
	for _, f := range frames {
		require.Equal(t, frames[0].pix, f.pix)
	}
}

// Chest and belly go opposite ways where they are opposed, and together elsewhere.
func TestOpposedGoesOppositeWays(t *testing.T) {
	for _, kind := range kinds {
		for _, opposed := range []bool{false, true} {
			b := Breath{Species: kind, Rate: 20, Effort: 2, Opposed: opposed}
			frames, _ := watch(t, b.Picture().Bytes)
			p := b.patient()
			from, to := p.fore[1], p.hind[0]
			if p.crouched {
				from, to = p.fore[1]+30, p.hind[1]-130
			}
			mid := p.at(8*(from+to), 0).x / 16
			fore := image.Rect(p.at(16*from, 0).x/16, 0, mid-8, breathHigh)
			hind := image.Rect(mid+8, 0, p.at(16*to, 0).x/16, breathHigh)
			together := 0
			for f := 1; f < len(frames); f++ {
				a := area(frames[f], fore, notPlate) - area(frames[f-1], fore, notPlate)
				c := area(frames[f], hind, notPlate) - area(frames[f-1], hind, notPlate)
				together += a * c
			}
			require.Equal(t, opposed, together < 0, "%s: %d", kind, together)
		}
	}
}

// The harder the effort the further the flank goes, and the deeper the breath.
func TestEffortAndDepthAreSeen(t *testing.T) {
	swings := func(b Breath) float64 {
		b.Rate = 15
		frames, _ := watch(t, b.Picture().Bytes)
		low, high := flank(frames[0]), flank(frames[0])
		for _, f := range frames {
			low, high = min(low, flank(f)), max(high, flank(f))
		}
		return high - low
	}
	before := 0.0
	for _, effort := range []int{0, 1, 2, 3} {
		now := swings(Breath{Effort: effort})
		require.Greater(t, now, before*1.1, fmt.Sprint(effort))
		before = now
	}
	require.Less(t, swings(Breath{Depth: Shallow}), swings(Breath{})*.8)
	require.Greater(t, swings(Breath{Depth: Deep}), swings(Breath{})*1.2)
}

// No clip needs more than its bytes, however quick or laboured. The most that a
// clip needs is at 30 a minute, deep in and out, without a pause.
func TestBreathFitsItsBytes(t *testing.T) {
	for _, kind := range kinds {
		for _, name := range []string{"deep both", "long out", "even"} {
			for _, rate := range []int{15, 24, 30, 36, 75, 150, 300, 360} {
				for _, effort := range []int{1, 3, 4} {
					b := patterns[name]
					b.Species, b.Rate, b.Effort, b.Open = kind, rate, effort, true
					require.Len(t, b.Picture().Bytes, breathSize, "%+v", b)
				}
			}
		}
	}
}

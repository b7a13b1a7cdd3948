package senses

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// feeling is a heart with a finger on an artery.
func feeling(rate int, feel Feel, change ...func(*Scene)) Scene {
	return beating(rate, append(change, func(s *Scene) { s.Pulse.Feel = feel })...)
}

// hills counts the hills of a lifted finger that stand out of a level half as
// high as the usual one, by samples alone.
func hills(finger []float64, over float64) (peaks []int) {
	for _, h := range sounding(finger, over, 1) {
		at := h[0]
		for i := h[0]; i <= h[1]; i++ {
			if finger[i] > finger[at] {
				at = i
			}
		}
		peaks = append(peaks, at)
	}
	return peaks
}

// A deficit is what it is taught to be: beats that the ear counts less pulses
// that the finger counts. Both are counted from the two channels alone, thuds in
// the one and hills in the other; where every beat arrives there is none, and
// where beats are missed it is those that came too early to fill the heart.
func TestOutsideDeficitIsInTheTwoChannels(t *testing.T) {
	var off, missed span
	defer off.tell(t, "deficit counted by deficit made, beats off", "1")
	defer missed.tell(t, "pulses missing, per cent of beats", "8 to 40")
	for _, rhythm := range []Rhythm{Irregular, Early} {
		for _, rate := range []int{32, 60, 96, 140, 180, 220} {
			for _, misses := range []bool{false, true} {
				s := feeling(rate, Strong, func(s *Scene) { s.Heart.Rhythm, s.Pulse.Misses = rhythm, misses })
				heart, finger := two(t, s)
				smooth := 8
				if rate > 200 {
					smooth = 3
				}
				counted := thuds(envelope(heart, smooth))/2 - len(hills(finger, 2000))
				made := 0
				for _, carried := range s.Carried() {
					if !carried {
						made++
					}
				}
				off.take(math.Abs(float64(counted - made)))
				require.InDelta(t, made, counted, 1, "rhythm %d rate %d misses %v", rhythm, rate, misses)
				if !misses {
					require.Zero(t, made)
					continue
				}
				missed.take(100 * float64(made) / float64(rate))
				require.InDelta(t, 24, 100*float64(made)/float64(rate), 16, "rhythm %d rate %d", rhythm, rate)
			}
		}
	}
}

// A pulse that is missed is that of a beat after a short gap.
func TestMissedPulsesFollowShortGaps(t *testing.T) {
	for _, rhythm := range []Rhythm{Irregular, Early} {
		s := feeling(100, Strong, func(s *Scene) { s.Heart.Rhythm, s.Pulse.Misses = rhythm, true })
		all, carried := gaps(s), s.Carried()
		var shortest, longest = 1e9, 0.0
		for k := range carried {
			before := all[(k+len(all)-1)%len(all)]
			if carried[k] {
				shortest = min(shortest, before)
			} else {
				longest = max(longest, before)
			}
		}
		require.Less(t, longest, shortest, "rhythm %d", rhythm)
	}
	for _, rhythm := range []Rhythm{Regular, Sinus, Blocked} {
		s := feeling(100, Strong, func(s *Scene) { s.Heart.Rhythm, s.Pulse.Misses = rhythm, true })
		require.NotContains(t, s.Carried(), false, "an even heart sends every beat, rhythm %d", rhythm)
	}
}

// Every beat arrives between the first sound and the next beat, begun before the
// second sound has closed the valve (the words' meaning), whatever the rate.
func TestPulseFollowsTheFirstSound(t *testing.T) {
	for _, rate := range []int{20, 36, 70, 120, 180, 250, 400} {
		s := feeling(rate, Strong)
		_, finger := two(t, s)
		beats, contracts := s.Beats(), systole(samples/rate)
		for _, at := range beats[1 : len(beats)-1] {
			begins := at + slices.Index(finger[at:at+contracts], slices.Min(finger[at:at+contracts]))
			for low := finger[begins]; finger[begins] < low+300; {
				begins++
			}
			require.Less(t, begins-at, contracts*3/4, "rate %d", rate)
			require.Greater(t, begins-at, contracts/4, "rate %d", rate)
		}
	}
}

// What the words of a pulse say is in its hills: bounding ones are tall and soon
// over, weak ones low, slow ones late, changing ones tall and small by turns.
func TestPulsesFeelAsTheirWordsSay(t *testing.T) {
	type hill struct{ high, late, long float64 }
	of := func(feel Feel) (out []hill) {
		s := feeling(80, feel)
		_, finger := two(t, s)
		beats := s.Beats()
		for _, at := range hills(finger, 1500) {
			k, _ := slices.BinarySearch(beats, at)
			from, to := at, at
			for from > 0 && finger[from] > finger[at]/2 {
				from--
			}
			for to < len(finger)-1 && finger[to] > finger[at]/2 {
				to++
			}
			if k > 0 {
				out = append(out, hill{finger[at], float64(at - beats[k-1]), float64(to - from)})
			}
		}
		require.InDelta(t, 80, len(out), 1)
		return out[2:77]
	}
	strong, bounding, weak, slow, changing, slight := of(Strong), of(Bounding), of(Weak), of(SlowRising), of(Changing), of(Slight)
	for i := range strong {
		require.Greater(t, bounding[i].high, 1.4*strong[i].high)
		require.Less(t, bounding[i].long, .7*strong[i].long)
		require.Less(t, weak[i].high, .35*strong[i].high)
		require.Greater(t, slow[i].late, strong[i].late+800, "100 ms later at its height")
		require.Less(t, slight[i].high, .5*strong[i].high)
		require.InDelta(t, strong[i].long, slight[i].long, 2)
		if i > 0 {
			low, high := min(changing[i].high, changing[i-1].high), max(changing[i].high, changing[i-1].high)
			require.Greater(t, high, 1.8*low)
		}
	}
	_, none := two(t, feeling(80, Absent))
	require.Zero(t, loudest(none))
}

// The channel that is heard is the clip that would be heard without a finger, the
// other moves smoothly: nothing in it could be heard as a click.
func TestFingerChangesNothingThatIsHeard(t *testing.T) {
	for i := range 14 {
		s := medley(i)
		alone := hear(t, s)
		s.Pulse = Pulse{Feel: Strong + Feel(i%7), Misses: i%2 == 0}
		heard, finger := two(t, s)
		require.True(t, slices.Equal(alone, heard))
		steepest := 0.0
		for j := range finger {
			steepest = max(steepest, math.Abs(finger[j]-finger[(j+1)%len(finger)]))
		}
		require.Less(t, steepest, 700.0)
		require.GreaterOrEqual(t, slices.Min(finger), 0.0)
		require.Less(t, slices.Max(finger), 32000.0)
		require.Equal(t, len(s.Beats()), len(s.Carried()))
	}
}

func TestPulsesHaveOneLengthAndOneHeader(t *testing.T) {
	head := feeling(60, Strong).WAV()[:44]
	for feel := Strong; feel <= Slight; feel++ {
		for _, rate := range []int{0, 40, 200, 600} {
			wav := feeling(rate, feel).WAV()
			require.Len(t, wav, 44+4*480000)
			require.Equal(t, head, wav[:44])
		}
	}
	for _, n := range []int{math.MinInt, -1, math.MaxInt} {
		require.NotPanics(t, func() { feeling(60, Feel(n)).WAV() }, fmt.Sprint(n))
	}
}

// The same numbers give the same bytes on every processor (.ci/long).
func TestTheSamePulsesEverywhere(t *testing.T) {
	sum := sha256.New()
	for i := range 14 {
		s := medley(i)
		s.Pulse = Pulse{Feel: Strong + Feel(i%7), Misses: i%2 == 0}
		sum.Write(s.WAV())
	}
	require.Equal(t, "94bbf775149b7b0d", hex.EncodeToString(sum.Sum(nil)[:8]))
}

package senses

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// chest is a lung field with one sound added and nothing else that is loud.
func chest(rate int, change ...func(*Air)) Scene {
	s := Scene{Phase: uint64(rate) * 15485863, Air: Air{Rate: rate, Loud: 1000}}
	for _, f := range change {
		f(&s.Air)
	}
	return s
}

func extraOf(x Extra) func(*Air) { return func(a *Air) { a.Extra[x] = 1000 } }

// added is what the extra alone gives, and where the breaths begin.
func added(t *testing.T, rate int, x Extra) []float64 {
	return only(t, chest(rate, extraOf(x)), chest(rate))
}

// part of a breath, 0 to 1, from the beginning of the drawing in.
func turnOf(s Scene, at int) float64 {
	period := samples / s.Air.Rate
	return float64((at-breathStart(s.Phase)+samples)%samples%period) / float64(period)
}

// A wheeze is longer than 100 ms with a narrow steady peak above 100 Hz (European
// guideline on lung sounds as quoted in bio-protocol 10925897), mostly while
// the breath is let out.
func TestOutsideWheeze(t *testing.T) {
	var long, high, broad span
	defer long.tell(t, "wheeze, ms", "over 100")
	defer high.tell(t, "wheeze, peak in Hz", "over 100")
	defer broad.tell(t, "wheeze, breadth of the peak in Hz", "a tenth of it")
	for _, rate := range []int{12, 30, 60} {
		s := chest(rate, extraOf(Wheezes))
		x := added(t, rate, Wheezes)
		notes := sounding(x, loudest(x)/10, 80)
		require.InDelta(t, rate, len(notes), 1)
		for _, n := range notes[1 : len(notes)-1] {
			require.Greater(t, n[1]-n[0], 800, "100 ms")
			at, wide := peak(x[n[0]:n[1]])
			long.take(float64(n[1]-n[0]) / 8)
			high.take(at)
			broad.take(wide)
			require.Greater(t, at, 100.0)
			require.Less(t, wide, at/10, "narrow")
			require.Greater(t, turnOf(s, (n[0]+n[1])/2), .42, "on the way out")
		}
	}
}

// A rhonchus or snore is below 200 Hz and longer than 80 ms (Pramono and others,
// PLoS ONE 2017;12:e0177926, from memory).
func TestOutsideStertor(t *testing.T) {
	var high, long span
	defer high.tell(t, "stertor, peak in Hz", "under 200")
	defer long.tell(t, "stertor, ms", "over 80")
	for _, rate := range []int{12, 30, 60} {
		x := added(t, rate, Stertor)
		for _, n := range sounding(x, loudest(x)/3, 120)[1:] {
			at, _ := peak(x[n[0]:n[1]])
			high.take(at)
			require.Less(t, at, 200.0)
		}
		n := sounding(x, loudest(x)/10, 400)[1]
		long.take(float64(n[1]-n[0]) / 8)
		require.Greater(t, n[1]-n[0], 640, "80 ms")
	}
}

// Stridor is above 500 Hz, longer than 250 ms, as the breath is drawn (Pramono
// 2017, from memory).
func TestOutsideStridor(t *testing.T) {
	var high, long span
	defer high.tell(t, "stridor, peak in Hz", "over 500")
	defer long.tell(t, "stridor, ms", "over 250")
	for _, rate := range []int{12, 30, 60} {
		s := chest(rate, extraOf(Stridor))
		x := added(t, rate, Stridor)
		notes := sounding(x, loudest(x)/10, 200)
		for _, n := range notes[1 : len(notes)-1] {
			require.Greater(t, n[1]-n[0], 2000, "250 ms")
			at, _ := peak(x[n[0]:n[1]])
			high.take(at)
			long.take(float64(n[1]-n[0]) / 8)
			require.Greater(t, at, 500.0)
			require.Less(t, turnOf(s, (n[0]+n[1])/2), .45, "on the way in")
		}
	}
}

// Fine crackles are about 5 ms long near 650 Hz, their two first cycles under
// 10 ms; coarse ones about 15 ms near 350 Hz (Pramono 2017 and the European
// guideline, from memory). Fine ones come late as the breath is drawn.
func TestOutsideCrackles(t *testing.T) {
	for _, row := range []struct {
		kind                    Extra
		millis, off, hertz, far float64
	}{{FineCrackles, 5, 1.5, 650, 80}, {CoarseCrackles, 15, 4, 350, 50}} {
		s := chest(20, extraOf(row.kind))
		x := added(t, 20, row.kind)
		pops := sounding(x, loudest(x)/200, 12)
		require.Greater(t, len(pops), 60)
		alone := 0
		var long, high span
		for i, n := range pops[1 : len(pops)-1] {
			if pops[i][1]+160 > n[0] || pops[i+2][0]-160 < n[1] {
				continue // touches a neighbour
			}
			alone++
			require.InDelta(t, row.millis, float64(n[1]-n[0])/8, row.off)
			at, _ := peak(x[n[0] : n[1]+1])
			long.take(float64(n[1]-n[0]) / 8)
			high.take(at)
			require.InDelta(t, row.hertz, at, row.far)
			if row.kind == FineCrackles {
				turn := turnOf(s, n[0])
				require.True(t, turn > .2 && turn < .45, "late on the way in: %v", turn)
				require.Less(t, 2/at, .010, "two cycles")
			}
		}
		require.Greater(t, alone, 10)
		long.tell(t, "crackle, ms", fmt.Sprintf("%v give or take %v", row.millis, row.off))
		high.tell(t, "crackle, peak in Hz", fmt.Sprintf("%v give or take %v", row.hertz, row.far))
	}
	fine, coarse := added(t, 20, FineCrackles), added(t, 20, CoarseCrackles)
	require.Greater(t, len(sounding(fine, 300, 12)), 2*len(sounding(coarse, 300, 12)), "coarse are fewer")
}

// A pleural rub is below 350 Hz, longer than 15 ms and in both phases (Pramono
// 2017, from memory).
func TestOutsideRub(t *testing.T) {
	s := chest(20, extraOf(Rub))
	x := added(t, 20, Rub)
	var low, long span
	defer low.tell(t, "rub, part below 350 Hz", "over .9")
	defer long.tell(t, "rub, ms", "over 15")
	low.take(part(x, 0, 350))
	require.Greater(t, part(x, 0, 350), .9)
	in, out := 0, 0
	for _, n := range sounding(x, loudest(x)/10, 40) {
		long.take(float64(n[1]-n[0]) / 8)
		require.Greater(t, n[1]-n[0], 120, "15 ms")
		if turnOf(s, n[0]) < .42 {
			in++
		} else {
			out++
		}
	}
	require.Greater(t, in, 20)
	require.Greater(t, out, 20)
}

// A purr is some 26 pulses a second, in and out alike (from memory), and drowns
// the heart.
func TestPurr(t *testing.T) {
	x := added(t, 30, Purr)
	env := envelope(x, 1)
	ac := autocorrelate(env)
	best := 4
	for lag := 5; lag < 20; lag++ {
		if ac[lag] > ac[best] {
			best = lag
		}
	}
	require.InDelta(t, 26, 200/float64(best), 4)
	heart := only(t, beating(180), beating(180, func(s *Scene) { s.Heart.Loud = 0 }))
	require.Greater(t, rms(x), 1.3*rms(heart))
}

// Healthy lung is heard longer and louder in than out; harsh breath alike in
// both and louder; over the windpipe louder still; absent next to nothing.
func TestBreathSounds(t *testing.T) {
	var loud [6]float64
	for kind := Rustle; kind <= Pant; kind++ {
		s := chest(20, func(a *Air) { a.Sound = kind })
		x := only(t, s, Scene{Phase: s.Phase})
		in, out := 0.0, 0.0
		for i, v := range x {
			if turn := turnOf(s, i); turn < .42 {
				in += v * v
			} else {
				out += v * v
			}
		}
		loud[kind] = rms(x)
		switch kind {
		case Rustle, Whisper, Faint:
			require.Greater(t, in, 3*out)
		default:
			require.InDelta(t, 0, 10*math.Log10(in/out), 4, "kind %d", kind)
		}
	}
	require.Greater(t, loud[Harsh], 1.7*loud[Rustle])
	require.Greater(t, loud[Hollow], loud[Harsh])
	require.InDelta(t, 6.5, decibels(loud[Rustle], loud[Whisper]), 1.5, "healthy large animals are quieter")
	require.Less(t, loud[Faint], loud[Rustle]/5)
}

// The breathing rate is in the sound too.
func TestBreathingRateIsInTheSound(t *testing.T) {
	for rate := 12; rate <= 300; rate += 16 {
		s := chest(rate, func(a *Air) { a.Sound = Rustle })
		require.Greater(t, standsOut(envelope(hear(t, s), 4), rate), 5.0, "rate %d", rate)
	}
}

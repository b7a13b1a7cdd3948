package senses

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// medley is a scene with a bit of everything, another for every number.
func medley(i int) Scene {
	s := Scene{
		Phase: uint64(i) * 0x9e3779b97f4a7c15,
		Heart: Heart{
			Rate: []int{0, 1, 40, 95, 131, 244, 600}[i%7], Rhythm: Rhythm(i % 5), Breaths: i * 3, Loud: 1000 - 100*(i%4), Base: i%2 == 1,
			Third: i%3 == 0, Fourth: i%4 == 1, Split: i%5 == 2, Muffled: i%6 == 5,
			Murmurs: []Murmur{{Timing(i % 3), Shape(i % 3), i % 7}},
		},
		Air:   Air{Rate: i * 11, In: 300 + 50*(i%6), Out: 500 - 40*(i%5), Effort: i % 5, Loud: 400 + 60*(i%10), Sound: Sound(i % 6)},
		Belly: Belly{Gurgles: i % 12, Rushes: i % 3, Rolls: i % 4, Weak: i%2 == 0, Drips: i % 3, Loud: 100 * (i % 11)},
	}
	s.Air.Extra[i%int(extras)] = 800
	return s
}

// The same numbers give the same bytes on every processor: taken on a 64-bit
// machine, they hold on a 32-bit one and on arm64 (.ci/long).
func TestTheSameSoundsEverywhere(t *testing.T) {
	sum := sha256.New()
	for i := range 35 {
		sum.Write(medley(i).WAV())
	}
	require.Equal(t, "ded8c5742c83389b", hex.EncodeToString(sum.Sum(nil)[:8]))
}

func TestSoundsHaveOneLengthAndOneHeader(t *testing.T) {
	head := medley(0).WAV()[:44]
	for i := range 35 {
		wav := medley(i).WAV()
		require.Len(t, wav, 44+2*480000)
		require.Equal(t, head, wav[:44])
	}
}

func TestSameSoundTwiceAndAnotherPhase(t *testing.T) {
	for i := range 7 {
		a, b := medley(i), medley(i)
		require.True(t, bytes.Equal(a.WAV(), b.WAV()))
		b.Phase++
		require.False(t, bytes.Equal(a.WAV(), b.WAV()))
	}
}

// A clip runs round: across the seam nothing jumps further than it does within.
func TestNoSeam(t *testing.T) {
	for i := range 35 {
		x := hear(t, medley(i))
		most := 0.0
		for j := 1; j < len(x); j++ {
			most = max(most, math.Abs(x[j]-x[j-1]))
		}
		require.LessOrEqual(t, math.Abs(x[0]-x[len(x)-1]), most)
	}
	// And a turned clip is the same clip turned: beats in the last second belong
	// to the first, however far they reach.
	s := beating(77)
	quiet := s
	quiet.Heart.Loud = 0
	x := only(t, s, quiet)
	s.Phase += 1234
	quiet.Phase += 1234
	y := only(t, s, quiet)
	for j := range x {
		require.InDelta(t, x[j], y[(j+1234)%samples], 1)
	}
}

func TestStrangeScenesRender(t *testing.T) {
	for _, n := range []int{math.MinInt, -1, 0, 1, math.MaxInt} {
		require.NotPanics(t, func() {
			s := Scene{Phase: uint64(n)}
			s.Heart = Heart{Rate: n, Rhythm: Rhythm(n), Breaths: n, Loud: n, Murmurs: []Murmur{{Timing(n), Shape(n), n}}}
			s.Air = Air{Rate: n, In: n, Out: n, Effort: n, Loud: n, Sound: Sound(n)}
			for x := range s.Air.Extra {
				s.Air.Extra[x] = n
			}
			s.Belly = Belly{Gurgles: n, Rushes: n, Rolls: n, Drips: n, Loud: n}
			require.Len(t, s.WAV(), 44+2*samples)
			s.Heart.Loud, s.Air.Loud, s.Air.Rate, s.Heart.Rate = 1000, 1000, 30, 100
			s.WAV()
		}, fmt.Sprint(n))
	}
}

// A patient that neither beats nor breathes leaves the room's own quiet.
func TestAStillPatientIsNearSilent(t *testing.T) {
	s := Scene{Heart: Heart{Loud: 1000}, Air: Air{Loud: 1000}}
	require.Less(t, rms(hear(t, s)), 60.0)
	require.Greater(t, rms(hear(t, s)), 10.0)
}

// What is laid across the seam is what would have been laid anywhere else, and a
// shorter clip is the beginning of the long one.
func TestASoundAcrossTheSeamIsWhole(t *testing.T) {
	lay := func(at int) mix {
		m := make(mix, samples)
		m.pour(at, 3000, noises().blow, 77, diamond, 900)
		m.sing(at, 2500, whistle, 4100, level, 700)
		m.add(at, fineGrain, 800)
		return m
	}
	whole, across := lay(100_000), lay(samples-1111)
	for i := range 3000 {
		require.Equal(t, whole[100_000+i], across[(samples-1111+i)%samples], "sample %d", i)
	}
	for i := range 35 {
		long, short := make(mix, samples), make(mix, samples/3)
		medley(i).render(long)
		medley(i).render(short)
		require.Equal(t, long[:len(short)], short)
	}
}

package senses

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func belly(b Belly) Scene {
	b.Loud = 1000
	return Scene{Phase: 99991, Belly: b}
}

// Gurgles are counted by ear: with quiet spells where there are few, hardly one
// where there are many, and none where there are none.
func TestGurgles(t *testing.T) {
	share := func(b Belly) float64 {
		env := envelope(hear(t, belly(b)), 20)
		n := 0
		for _, v := range env {
			if v > 60 {
				n++
			}
		}
		return float64(n) / float64(len(env))
	}
	require.Zero(t, share(Belly{}))
	few, many := share(Belly{Gurgles: 7}), share(Belly{Gurgles: 34})
	require.Greater(t, few, .05)
	require.Less(t, few, .3)
	require.Greater(t, many, .65)
}

// Whoever listens for a quarter of a minute hears a gurgle where they come now and then.
func TestAGurgleComesInTime(t *testing.T) {
	for phase := range uint64(40) {
		s := belly(Belly{Gurgles: 7})
		s.Phase = phase * 15485863
		require.NotEmpty(t, sounding(hear(t, s)[:15*SampleRate], 300, 4000), "phase %d", phase)
	}
}

// The rumen rolls one to three times a minute, each some seconds long, low.
func TestRolls(t *testing.T) {
	for rolls := 1; rolls <= 3; rolls++ {
		x := hear(t, belly(Belly{Rolls: rolls}))
		env := envelope(append(append([]float64{}, x...), x[:0]...), 100)
		n, long := 0, 0
		for i, v := range env {
			up := v > 150
			before := env[(i+len(env)-1)%len(env)] > 150
			if up {
				long++
			}
			if up && !before {
				n++
			}
		}
		require.Equal(t, rolls, n)
		require.Greater(t, long, rolls*3*200, "three seconds each at least")
		require.Greater(t, part(x, 60, 350), .8)
	}
	weak, full := hear(t, belly(Belly{Rolls: 1, Weak: true})), hear(t, belly(Belly{Rolls: 1}))
	require.Less(t, rms(weak), rms(full)/2)
	require.Less(t, loudest(hear(t, belly(Belly{Drips: 2}))), 700.0)
}

func TestBellyNeverClips(t *testing.T) {
	for i := range uint64(10) {
		s := belly(Belly{Gurgles: 60, Rushes: 6, Rolls: 6, Drips: 60})
		s.Phase = i * 7919
		require.Less(t, loudest(hear(t, s)), 32000.0)
	}
}

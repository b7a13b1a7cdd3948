package senses

import (
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// busy is what a listener has at a heart with a murmur: heart and breath together.
var busy = Scene{
	Heart: Heart{Rate: 120, Loud: 1000, Murmurs: []Murmur{{Systolic, Plateau, 4}}},
	Air:   Air{Rate: 30, Loud: 300},
}

func BenchmarkSound60s(b *testing.B) {
	busy.WAV()
	for b.Loop() {
		busy.WAV()
	}
}

func BenchmarkSound20s(b *testing.B) {
	m := make(mix, samples/3)
	for b.Loop() {
		busy.render(m)
		wav(m)
	}
}

// felt is the same with a finger on the artery: two channels.
var felt = func() Scene {
	s := busy
	s.Pulse.Feel = Strong
	return s
}()

func BenchmarkTwoChannels60s(b *testing.B) {
	felt.WAV()
	for b.Loop() {
		felt.WAV()
	}
}

func BenchmarkCrackles60s(b *testing.B) {
	s := busy
	s.Air = Air{Rate: 60, Loud: 1000, Sound: Harsh}
	s.Air.Extra[FineCrackles] = 1000
	for b.Loop() {
		s.WAV()
	}
}

// BenchmarkBesideSox quotes a minute of ours as a part of what sox takes to make
// a minute of one tone and noise, without dither, its start-up taken off (that
// of a clip of one sample); of two channels, where ours has two. The metric
// sox/ours is how many of ours go into one of sox's.
func BenchmarkBesideSox(b *testing.B) {
	b.Run("mono", func(b *testing.B) { besideSox(b, "1", busy) })
	b.Run("stereo", func(b *testing.B) { besideSox(b, "2", felt) })
}

func besideSox(b *testing.B, channels string, scene Scene) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		b.Skip("sox is not installed")
	}
	run := func(seconds string) time.Duration {
		best := time.Hour
		for range 15 {
			args := strings.Fields("-D -n -r 8000 -b 16 -c " + channels + " -t wav - synth " + seconds + " sine 80 synth " + seconds + " pinknoise mix")
			start := time.Now()
			require.NoError(b, exec.Command(sox, args...).Run())
			best = min(best, time.Since(start))
		}
		return best
	}
	theirs := run("60") - run("0.000125")
	scene.WAV()
	n, start := 0, time.Now()
	for b.Loop() {
		scene.WAV()
		n++
	}
	ours := time.Since(start) / time.Duration(n)
	b.ReportMetric(float64(theirs)/float64(ours), "sox/ours")
	b.ReportMetric(float64(theirs.Microseconds()), "sox-us")
}

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
// of a clip of one sample). The metric sox/ours is how many of ours go into one of sox's.
func BenchmarkBesideSox(b *testing.B) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		b.Skip("sox is not installed")
	}
	run := func(seconds string) time.Duration {
		best := time.Hour
		for range 15 {
			args := strings.Fields("-D -n -r 8000 -b 16 -c 1 -t wav - synth " + seconds + " sine 80 synth " + seconds + " pinknoise mix")
			start := time.Now()
			require.NoError(b, exec.Command(sox, args...).Run())
			best = min(best, time.Since(start))
		}
		return best
	}
	theirs := run("60") - run("0.000125")
	busy.WAV()
	n, start := 0, time.Now()
	for b.Loop() {
		busy.WAV()
		n++
	}
	ours := time.Since(start) / time.Duration(n)
	b.ReportMetric(float64(theirs)/float64(ours), "sox/ours")
	b.ReportMetric(float64(theirs.Microseconds()), "sox-us")
}

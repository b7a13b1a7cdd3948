package senses

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// gonum's Fourier transform finds 80 Hz in the deep hum and not in the other;
// above that both are alike, so that who does not hear 80 Hz cannot tell them
// apart.
func TestOnlyOneHumIsDeep(t *testing.T) {
	for phase := range uint64(20) {
		wavs := [2][]float64{decode(t, CheckHum(true, phase*7919)), decode(t, CheckHum(false, phase*7919))}
		at, _ := peak(wavs[0])
		require.InDelta(t, 80, at, .5)
		var power [2][]float64
		hertz := 0.0
		for i, x := range wavs {
			power[i], hertz = spectrum(x)
			require.Less(t, loudest(x), 32000.0, "nothing is clipped")
		}
		band := func(i int, low, high float64) (sum float64) {
			for k := int(math.Ceil(low / hertz)); float64(k)*hertz < high; k++ {
				sum += power[i][k]
			}
			return sum
		}
		require.Greater(t, 10*math.Log10(band(0, 75, 85)/band(1, 75, 85)), 40.0, "decibels")
		rest := band(1, 120, 3990)
		for from := 120.0; from < 3900; from += 60 {
			more := band(0, from, from+60) - band(1, from, from+60)
			require.Less(t, math.Abs(more)/rest, .002, "%v Hz: a share of all that is not 80 Hz", from)
		}
	}
}

// As many thuds stand in the envelope as were meant, and quiet comes after them.
func TestBeatsOfTheCheckCanBeCounted(t *testing.T) {
	for n := LeastBeats; n <= MostBeats; n++ {
		x := decode(t, CheckBeats(n, uint64(n)*7919))
		require.Equal(t, n, thuds(envelope(x, 8)), "beats")
		require.Less(t, loudest(x[len(x)-SampleRate:])*10, loudest(x), "it ends before the clip does")
		require.Less(t, loudest(x), 32000.0)
	}
	require.Equal(t, CheckBeats(LeastBeats, 1), CheckBeats(0, 1))
	require.Equal(t, CheckBeats(MostBeats, 1), CheckBeats(99, 1))
}

// Neither size nor header tells which clip it is.
func TestClipsOfTheCheckAreOneSize(t *testing.T) {
	head := func(wav []byte) string { return string(wav[:44]) }
	want := CheckHum(true, 0)
	for _, clip := range [][]byte{CheckHum(false, 9), CheckBeats(9, 3), CheckBeats(15, 3)} {
		require.Len(t, clip, len(want))
		require.Equal(t, head(want), head(clip))
	}
	require.Len(t, want, 44+2*CheckSeconds*SampleRate)
}

package senses

import (
	"bytes"
	"fmt"
	"image/gif"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

// strongestPerMinute is the frequency at which a signal has most power.
func strongestPerMinute(x []float64, hertz float64) float64 {
	const n = 1 << 15
	var mean float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	padded := make([]float64, n)
	for i, v := range x {
		padded[i] = v - mean
	}
	at, most := 0, 0.0
	for i, c := range fourier.NewFFT(n).Coefficients(nil, padded) {
		if p := real(c)*real(c) + imag(c)*imag(c); p > most {
			at, most = i, p
		}
	}
	return float64(at) * hertz * 60 / n
}

func TestClipsHaveOneLength(t *testing.T) {
	gifs, refills := map[int]bool{}, map[int]bool{}
	for rate := 0; rate <= 380; rate += 19 {
		gifs[len(Breath{Rate: rate, Effort: rate % 5, Phase: uint64(rate) << 9}.gif())] = true
		refills[len(Refill{Millis: rate * 15}.gif())] = true
	}
	require.Equal(t, map[int]bool{breathSize: true}, gifs)
	require.Equal(t, map[int]bool{refillSize: true}, refills)
}

func TestBreathingRateIsInThePicture(t *testing.T) {
	for rate := 8; rate <= 200; rate += 8 {
		b := Breath{Rate: rate, Phase: uint64(rate) * 7919, Effort: rate % 5}
		pic, err := gif.DecodeAll(bytes.NewReader(b.gif()))
		require.NoError(t, err)
		require.Len(t, pic.Image, 750)
		rise := make([]float64, len(pic.Image))
		for i, frame := range pic.Image {
			require.Equal(t, 8, pic.Delay[i])
			rise[i] = float64(lowest(frame.Pix, frame.Stride))
		}
		got := strongestPerMinute(rise, 12.5)
		require.InEpsilon(t, rate, got, .02, "rate %d", rate)
	}
}

// lowest is the lowest inked row in the middle of the picture.
func lowest(pix []uint8, stride int) int {
	for y := high - 1; y >= 0; y-- {
		if pix[y*stride+wide/2] != ground {
			return y
		}
	}
	return 0
}

func TestRefillIsBackInItsTime(t *testing.T) {
	for tenths := 3; tenths <= 50; tenths++ {
		r := Refill{Millis: tenths * 100}
		pic, err := gif.DecodeAll(bytes.NewReader(r.gif()))
		require.NoError(t, err)
		require.Len(t, pic.Image, refillFrames)
		back := 0
		for f := refillRelease; f < len(pic.Image); f++ {
			require.Equal(t, 10, pic.Delay[f])
			if back == 0 && pic.Image[f].ColorIndexAt(wide/2, high/2) == shade {
				back = f - refillRelease
			}
		}
		require.InDelta(t, tenths, back, 1)
		_, told := r.Back()
		require.Equal(t, back, told)
	}
}

func TestPicturesCarryNoComments(t *testing.T) {
	for _, clip := range [][]byte{Breath{Rate: 30}.gif(), Refill{Millis: 1500}.gif()} {
		require.NotContains(t, string(clip[:2000]), "\x21\xfe", "a comment block")
		_, err := gif.DecodeAll(bytes.NewReader(clip))
		require.NoError(t, err)
	}
}

// Contrast of the line against white and black, by the WCAG 2.2 formula
// (relative luminance of an sRGB grey).
func TestLineStandsOutOnLightAndDark(t *testing.T) {
	v := float64(palette[line][0]) / 255
	lum := pow24((v + .055) / 1.055)
	require.Greater(t, 1.05/(lum+.05), 3.0)
	require.Greater(t, (lum+.05)/.05, 3.0)
}

func pow24(x float64) float64 {
	y := 1.0
	for range 12 {
		y *= x
	}
	// x^2.4 = (x^12)^(1/5) by Newton.
	z := x * x
	for range 60 {
		z -= (z*z*z*z*z - y) / (5 * z * z * z * z)
	}
	return z
}

func TestSameClipTwice(t *testing.T) {
	b := Breath{Rate: 33, Phase: 99}
	require.True(t, bytes.Equal(b.gif(), b.gif()))
}

func TestStrangeRatesRender(t *testing.T) {
	for _, rate := range []int{math.MinInt, -1, 0, 1, math.MaxInt} {
		require.NotPanics(t, func() {
			Breath{Rate: rate, Effort: rate}.gif()
			Refill{Millis: rate}.gif()
		}, fmt.Sprint(rate))
	}
	require.Empty(t, Breath{}.Onsets())
}

func BenchmarkBreath(b *testing.B) {
	for b.Loop() {
		Breath{Rate: 30}.gif()
	}
}

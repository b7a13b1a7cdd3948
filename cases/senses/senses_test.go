package senses

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/gif"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

// decode reads a WAV the plain way: fmt and data, nothing else.
func decode(t *testing.T, wav []byte) []float64 {
	t.Helper()
	require.Equal(t, "RIFF", string(wav[:4]))
	require.Equal(t, "WAVEfmt ", string(wav[8:16]))
	require.Equal(t, "data", string(wav[36:40]))
	require.EqualValues(t, len(wav)-44, binary.LittleEndian.Uint32(wav[40:44]))
	require.EqualValues(t, len(wav)-8, binary.LittleEndian.Uint32(wav[4:8]))
	require.EqualValues(t, 8000, binary.LittleEndian.Uint32(wav[24:28]))
	out := make([]float64, (len(wav)-44)/2)
	for i := range out {
		out[i] = float64(int16(binary.LittleEndian.Uint16(wav[44+2*i:])))
	}
	return out
}

// autocorrelate returns the autocorrelation of a signal by way of its power spectrum.
func autocorrelate(x []float64) []float64 {
	n := 1
	for n < 2*len(x) {
		n *= 2
	}
	var mean float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	padded := make([]float64, n)
	for i, v := range x {
		padded[i] = v - mean
	}
	fft := fourier.NewFFT(n)
	c := fft.Coefficients(nil, padded)
	for i, v := range c {
		c[i] = complex(real(v)*real(v)+imag(v)*imag(v), 0)
	}
	return fft.Sequence(nil, c)[:len(x)]
}

// ratePerMinute finds the period of a signal: the first lag whose peak is as
// good as any.
func ratePerMinute(x []float64, hertz float64, fastest, slowest float64) float64 {
	ac := autocorrelate(x)
	low, high := int(hertz*60/fastest), int(hertz*60/slowest)
	for i := range ac {
		ac[i] /= float64(len(ac) - i) // fewer products at longer lags
	}
	best := 0.0
	for lag := low; lag <= high; lag++ {
		best = max(best, ac[lag])
	}
	for lag := low; lag <= high; lag++ {
		if ac[lag] >= .85*best && ac[lag] >= ac[lag-1] && ac[lag] >= ac[lag+1] {
			a, b, c := ac[lag-1], ac[lag], ac[lag+1]
			shift := 0.0
			if a-2*b+c != 0 {
				shift = (a - c) / (2 * (a - 2*b + c))
			}
			return 60 * hertz / (float64(lag) + shift)
		}
	}
	return 0
}

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

// envelope is the mean loudness around every 40th sample: 200 a second,
// smoothed over a twenty-fifth of a second.
func envelope(x []float64) []float64 {
	const block, smooth = 40, 8
	out := make([]float64, len(x)/block)
	for i, v := range x {
		for k := range smooth {
			if j := i/block + k; j < len(out) {
				out[j] += max(v, -v) / (block * smooth)
			}
		}
	}
	return out
}

func TestHeartRateIsInTheSound(t *testing.T) {
	for rate := 20; rate <= 300; rate += 14 {
		for _, murmur := range []int{0, 6} {
			h := Heart{Rate: rate, Phase: uint64(rate) * 7919, Murmur: murmur}
			got := ratePerMinute(envelope(decode(t, h.WAV())), 200, 330, 18)
			require.InEpsilon(t, rate, got, .02, "rate %d murmur %d", rate, murmur)
		}
	}
}

func TestHeartNeverClipsAndIsSoft(t *testing.T) {
	for _, rate := range []int{20, 90, 300, 600} {
		for _, h := range []Heart{{Rate: rate, Murmur: 6, Gallop: true}, {Rate: rate, Rhythm: Irregular, Murmur: 6, Gallop: true, Phase: 1 << 40}} {
			peak := 0.0
			for _, v := range decode(t, h.WAV()) {
				peak = max(peak, v, -v)
			}
			require.Less(t, peak, 32000.0, "rate %d", rate)
			require.Greater(t, peak, 2000.0, "rate %d", rate)
		}
	}
}

func TestHeartKeepsItsRateInEveryRhythm(t *testing.T) {
	for _, rhythm := range []Rhythm{Regular, Sinus, Irregular, Early} {
		for rate := 20; rate <= 300; rate += 7 {
			h := Heart{Rate: rate, Rhythm: rhythm, Phase: uint64(rate) * 104729}
			require.InDelta(t, rate, len(h.Beats()), 1, "rhythm %d rate %d", rhythm, rate)
		}
	}
}

func TestClipsHaveOneLength(t *testing.T) {
	wavs, gifs, refills := map[int]bool{}, map[int]bool{}, map[int]bool{}
	for rate := 0; rate <= 380; rate += 19 {
		wavs[len(Heart{Rate: rate, Murmur: rate % 7, Phase: uint64(rate)}.WAV())] = true
		gifs[len(Breath{Rate: rate, Effort: rate % 5, Phase: uint64(rate) << 9}.GIF())] = true
		refills[len(Refill{Millis: rate * 15}.GIF())] = true
	}
	require.Equal(t, map[int]bool{44 + 2*480000: true}, wavs)
	require.Equal(t, map[int]bool{breathSize: true}, gifs)
	require.Equal(t, map[int]bool{refillSize: true}, refills)
}

func TestBreathingRateIsInThePicture(t *testing.T) {
	for rate := 8; rate <= 200; rate += 8 {
		b := Breath{Rate: rate, Phase: uint64(rate) * 7919, Effort: rate % 5}
		pic, err := gif.DecodeAll(bytes.NewReader(b.GIF()))
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
		pic, err := gif.DecodeAll(bytes.NewReader(r.GIF()))
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
	for _, clip := range [][]byte{Breath{Rate: 30}.GIF(), Refill{Millis: 1500}.GIF()} {
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
	h := Heart{Rate: 97, Phase: 12345, Rhythm: Irregular, Murmur: 3}
	require.True(t, bytes.Equal(h.WAV(), h.WAV()))
	h2 := h
	h2.Phase++
	require.False(t, bytes.Equal(h.WAV(), h2.WAV()))
	b := Breath{Rate: 33, Phase: 99}
	require.True(t, bytes.Equal(b.GIF(), b.GIF()))
}

func TestStrangeRatesRender(t *testing.T) {
	for _, rate := range []int{math.MinInt, -1, 0, 1, math.MaxInt} {
		require.NotPanics(t, func() {
			Heart{Rate: rate, Murmur: rate}.WAV()
			Breath{Rate: rate, Effort: rate}.GIF()
			Refill{Millis: rate}.GIF()
		}, fmt.Sprint(rate))
	}
	require.Empty(t, Heart{}.Beats())
	require.Empty(t, Breath{}.Onsets())
}

func BenchmarkHeart(b *testing.B) {
	for b.Loop() {
		Heart{Rate: 120, Murmur: 4}.WAV()
	}
}

func BenchmarkBreath(b *testing.B) {
	for b.Loop() {
		Breath{Rate: 30}.GIF()
	}
}

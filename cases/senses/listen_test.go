package senses

import (
	"encoding/binary"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

// The ears of the tests: they know samples only, and use gonum's Fourier
// transform, no part of what they judge.

// decode reads a WAV the plain way: fmt and data, nothing else.
func decode(t testing.TB, wav []byte) []float64 {
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

func hear(t testing.TB, s Scene) []float64 { return decode(t, s.WAV()) }

// two is a clip of two channels, each as it would be alone; the header says two.
func two(t testing.TB, s Scene) (heart, finger []float64) {
	t.Helper()
	wav := s.WAV()
	both := decode(t, wav)
	le := binary.LittleEndian
	require.EqualValues(t, 2, le.Uint16(wav[22:]), "channels")
	require.EqualValues(t, 4*8000, le.Uint32(wav[28:]), "bytes a second")
	require.EqualValues(t, 4, le.Uint16(wav[32:]), "bytes of a moment")
	for i := 0; i < len(both); i += 2 {
		heart, finger = append(heart, both[i]), append(finger, both[i+1])
	}
	return heart, finger
}

// highPassed is a signal through a small loudspeaker: a Butterworth filter of the
// second order by the bilinear transform (textbook), 12 dB an octave.
func highPassed(x []float64, hertz float64) []float64 {
	k := math.Tan(math.Pi * hertz / 8000)
	norm := 1 / (1 + math.Sqrt2*k + k*k)
	a, b := 2*(k*k-1)*norm, (1-math.Sqrt2*k+k*k)*norm
	var x1, x2, y1, y2 float64
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = norm*(v-2*x1+x2) - a*y1 - b*y2
		x2, x1, y2, y1 = x1, v, y1, out[i]
	}
	return out
}

// only is what one scene has over another: the clip of the one less that of the other.
func only(t testing.TB, s, without Scene) []float64 {
	a, b := hear(t, s), hear(t, without)
	for i := range a {
		a[i] -= b[i]
	}
	return a
}

// spectrum is the power of a signal by frequency, hertz apart from each other.
func spectrum(x []float64) (power []float64, hertz float64) {
	n := 1 << 12
	for n < len(x) {
		n *= 2
	}
	padded := make([]float64, n)
	for i, v := range x { // a Hann window
		padded[i] = v * (.5 - .5*math.Cos(2*math.Pi*float64(i)/float64(len(x))))
	}
	for _, c := range fourier.NewFFT(n).Coefficients(nil, padded) {
		power = append(power, real(c)*real(c)+imag(c)*imag(c))
	}
	return power, 8000 / float64(n)
}

// part is the share of a signal's energy between two frequencies.
func part(x []float64, low, high float64) float64 {
	power, hertz := spectrum(x)
	in, all := 0.0, 0.0
	for i, p := range power {
		if f := float64(i) * hertz; f >= low && f < high {
			in += p
		}
		all += p
	}
	return in / all
}

// peak is the strongest frequency, and how wide it is at a tenth of its power.
func peak(x []float64) (at, wide float64) {
	power, hertz := spectrum(x)
	best := 0
	for i := range power {
		if power[i] > power[best] {
			best = i
		}
	}
	low, high := best, best
	for low > 0 && power[low] > power[best]/10 {
		low--
	}
	for high < len(power)-1 && power[high] > power[best]/10 {
		high++
	}
	return float64(best) * hertz, float64(high-low) * hertz
}

// centre is the mean frequency, weighted by power.
func centre(x []float64) float64 {
	power, hertz := spectrum(x)
	sum, all := 0.0, 0.0
	for i, p := range power {
		sum += p * float64(i) * hertz
		all += p
	}
	return sum / all
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

func decibels(a, b float64) float64 { return 20 * math.Log10(a/b) }

func loudest(x []float64) float64 {
	most := 0.0
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}

// sounding lists the stretches in which a signal is over a level, those less
// than gap samples apart taken for one.
func sounding(x []float64, over float64, gap int) [][2]int {
	var out [][2]int
	for i, v := range x {
		if math.Abs(v) < over {
			continue
		}
		if n := len(out); n > 0 && i-out[n-1][1] <= gap {
			out[n-1][1] = i
		} else {
			out = append(out, [2]int{i, i})
		}
	}
	return out
}

// envelope is the mean loudness around every 40th sample: 200 a second, over
// so many twohundredths of a second, round the seam.
func envelope(x []float64, smooth int) []float64 {
	const block = 40
	raw := make([]float64, len(x)/block)
	for i, v := range x {
		raw[i/block] += math.Abs(v) / block
	}
	out := make([]float64, len(raw))
	for i := range out {
		for k := range smooth {
			out[i] += raw[(i+k-smooth/2+len(raw))%len(raw)] / float64(smooth)
		}
	}
	return out
}

func centred(x []float64) []float64 {
	mean := 0.0
	for _, v := range x {
		mean += v / float64(len(x))
	}
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v - mean
	}
	return out
}

// autocorrelate is the autocorrelation round the seam, by way of the power
// spectrum.
func autocorrelate(x []float64) []float64 {
	fft := fourier.NewFFT(len(x))
	c := fft.Coefficients(nil, centred(x))
	for i, v := range c {
		c[i] = complex(real(v)*real(v)+imag(v)*imag(v), 0)
	}
	return fft.Sequence(nil, c)
}

// byAutocorrelation finds the rate of an even signal: the first lag whose peak
// is as good as any.
func byAutocorrelation(x []float64, hertz float64) float64 {
	const fastest, slowest = 430, 18
	ac := autocorrelate(x)
	low, high := int(hertz*60/fastest), int(hertz*60/slowest)
	best := 0.0
	for lag := low; lag <= high; lag++ {
		best = max(best, ac[lag])
	}
	for lag := low; lag <= high; lag++ {
		if ac[lag] < .85*best || ac[lag] < ac[lag-1] || ac[lag] < ac[lag+1] {
			continue
		}
		a, b, c := ac[lag-1], ac[lag], ac[lag+1]
		return 60 * hertz / (float64(lag) + (a-c)/(2*(a-2*b+c)))
	}
	return 0
}

// standsOut is how far a rate stands out of its neighbours in the spectrum of an
// envelope of a minute, whose steps are one a minute.
func standsOut(env []float64, rate int) float64 {
	c := fourier.NewFFT(len(env)).Coefficients(nil, centred(env))
	around := 0.0
	for d := 3; d < 13; d++ {
		around += (cmplx.Abs(c[rate-d]) + cmplx.Abs(c[rate+d])) / 20
	}
	return cmplx.Abs(c[rate]) / around
}

// thuds counts the peaks of an envelope that stand well over the quiet between
// them: two a beat. It begins where it is quietest.
func thuds(env []float64) int {
	top, start := 0.0, 0
	for i, v := range env {
		top = max(top, v)
		if v < env[start] {
			start = i
		}
	}
	n, up := 0, false
	low, high := top, 0.0
	for i := range env {
		v := env[(start+i)%len(env)]
		switch {
		case !up && v > low+top*.12:
			up, high = true, v
		case up && v < high-top*.12:
			up, low = false, v
			n++
		}
		low, high = min(low, v), max(high, v)
	}
	return n
}

// span is the least and most of what was measured; `go test -v` tells it.
type span struct{ least, most float64 }

func (s *span) take(v float64) {
	if *s == (span{}) {
		*s = span{v, v}
	}
	s.least, s.most = min(s.least, v), max(s.most, v)
}

func (s *span) tell(t *testing.T, what, bound string) {
	t.Helper()
	t.Logf("%-46s %10.4g to %-10.4g bound: %s", what, s.least, s.most, bound)
}

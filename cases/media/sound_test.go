package media

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"

	"dewclaw/cases/senses"
)

// recording describes a WAV file to be written here by the published form: RIFF
// WAVE of Microsoft and IBM, Multimedia Programming Interface and Data
// Specifications 1.0, August 1991, chapter 3 (from memory), and the extensible
// form of Microsoft's ksmedia.h (from memory).
type recording struct {
	rate, channels, bits int
	float, extensible    bool
	seconds              float64
	sound                func(seconds float64) float64 // -1..1
}

func (r recording) bytes() []byte {
	le := binary.LittleEndian
	tag := uint16(1)
	if r.float {
		tag = 3
	}
	form := le.AppendUint16(nil, tag)
	if r.extensible {
		form = le.AppendUint16(nil, 0xfffe)
	}
	align := r.channels * r.bits / 8
	form = le.AppendUint16(form, uint16(r.channels))
	form = le.AppendUint32(form, uint32(r.rate))
	form = le.AppendUint32(form, uint32(r.rate*align))
	form = le.AppendUint16(form, uint16(align))
	form = le.AppendUint16(form, uint16(r.bits))
	if r.extensible {
		form = le.AppendUint16(form, 22)
		form = le.AppendUint16(form, uint16(r.bits))
		form = le.AppendUint32(form, 3)
		form = le.AppendUint16(form, tag)
		form = append(form, "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"...)
	}
	var data []byte
	for i := range int(float64(r.rate) * r.seconds) {
		v := r.sound(float64(i) / float64(r.rate))
		for range r.channels {
			data = r.sample(data, v)
		}
	}
	return riff("fmt ", string(form), "LIST", "INFOIART\x06\x00\x00\x00Willow", "data", string(data))
}

func (r recording) sample(b []byte, v float64) []byte {
	switch {
	case r.float:
		return binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	case r.bits == 8:
		return append(b, byte(math.Round(v*127)+128))
	case r.bits == 16:
		return binary.LittleEndian.AppendUint16(b, uint16(int16(math.Round(v*32767))))
	default:
		x := uint32(int32(math.Round(v * 8388607)))
		return append(b, byte(x), byte(x>>8), byte(x>>16))
	}
}

// riff writes chunks, each an id and a body.
func riff(chunks ...string) []byte {
	body := []byte("WAVE")
	for i := 0; i < len(chunks); i += 2 {
		body = append(body, chunks[i]...)
		body = binary.LittleEndian.AppendUint32(body, uint32(len(chunks[i+1])))
		body = append(body, chunks[i+1]...)
		if len(chunks[i+1])%2 == 1 {
			body = append(body, 0)
		}
	}
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}

func tone(hertz float64) func(float64) float64 {
	return func(s float64) float64 { return .3 * math.Sin(2*math.Pi*hertz*s) }
}

// heard are the samples of a served sound.
func heard(t *testing.T, wav []byte) []float64 {
	t.Helper()
	require.Len(t, wav, len(senses.Scene{}.WAV()), "as long as a rendered one")
	require.Equal(t, senses.Scene{}.WAV()[:44], wav[:44], "the header of a rendered one")
	out := make([]float64, minute)
	for i := range out {
		out[i] = float64(int16(binary.LittleEndian.Uint16(wav[44+2*i:])))
	}
	return out
}

// strength is how strong a frequency is, by gonum's Fourier transform over 4 s
// under a Hann window: the amplitude of a sine of that frequency.
func strength(x []float64, hertz float64) float64 {
	const n = 4 * senses.SampleRate
	w := make([]float64, n)
	for i := range w {
		w[i] = x[i+100] * (.5 - .5*math.Cos(2*math.Pi*float64(i)/n))
	}
	most := 0.0
	c := fourier.NewFFT(n).Coefficients(nil, w)
	for i := int(hertz*4) - 8; i <= int(hertz*4)+8; i++ {
		most = max(most, math.Hypot(real(c[i]), imag(c[i])))
	}
	return most * 4 / n
}

func rmsOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

// Every kind of sample that is taken comes out as the same tone at the same
// loudness.
func TestEveryKindOfRecordingIsHeardAlike(t *testing.T) {
	for _, r := range []recording{
		{rate: 8000, channels: 1, bits: 16}, {rate: 4000, channels: 1, bits: 8}, {rate: 11025, channels: 2, bits: 8},
		{rate: 22050, channels: 1, bits: 24}, {rate: 44100, channels: 2, bits: 16}, {rate: 48000, channels: 2, bits: 24, extensible: true},
		{rate: 48000, channels: 1, bits: 32, float: true}, {rate: 44100, channels: 2, bits: 32, float: true, extensible: true}, {rate: 44101, channels: 1, bits: 16},
	} {
		r.seconds, r.sound = 6.5, tone(230)
		m, err := Make(".wav", r.bytes(), 0, 1200)
		require.NoError(t, err, "%+v", r.rate)
		x := heard(t, m.From(0))
		require.InDelta(t, 1200, rmsOf(x), 12, r.rate)
		require.InDelta(t, 1200*math.Sqrt2, strength(x, 230), 60, r.rate)
		require.NotContains(t, string(m.From(0)), "Willow")
		kept, err := Kept(m.Bytes(), 0)
		require.NoError(t, err)
		require.Equal(t, m, kept)
	}
}

// What lies over half the new rate is gone and comes back nowhere; what is heard
// of a heart or a lung (up to 2 kHz) is as loud as it was.
func TestNothingIsMirroredAndNothingHeardIsLost(t *testing.T) {
	for _, rate := range []int{11025, 16000, 44100, 48000} {
		for _, high := range []float64{4100, 4600, 5400} {
			r := recording{rate: rate, channels: 1, bits: 32, float: true, seconds: 8, sound: func(s float64) float64 {
				return tone(200)(s) + tone(2000)(s) + tone(high)(s)
			}}
			m, err := Make(".wav", r.bytes(), 0, 1200)
			require.NoError(t, err)
			x := heard(t, m.From(0))
			low := strength(x, 200)
			require.InDelta(t, 1, strength(x, 2000)/low, .01, "%d Hz", rate)
			require.Less(t, strength(x, 8000-high)/low, .002, "%g Hz at %d Hz came back", high, rate)
		}
	}
	r := recording{rate: 4000, channels: 1, bits: 16, seconds: 8, sound: tone(900)}
	m, err := Make(".wav", r.bytes(), 0, 1200)
	require.NoError(t, err)
	x := heard(t, m.From(0))
	require.Less(t, strength(x, 3100)/strength(x, 900), .002, "the mirror of a slow recording")
}

// A recording with a rate runs round on the beat: a minute holds that many
// beats, evenly, whatever the length of the recording.
func TestARateRunsOverTheSeam(t *testing.T) {
	for _, row := range []struct {
		rate    int
		seconds float64
	}{{96, 7.3}, {60, 3}, {171, 11.9}, {240, 45}, {33, 61}, {40, 119}} {
		period := 60 / float64(row.rate)
		r := recording{rate: 22050, channels: 1, bits: 16, seconds: row.seconds, sound: func(s float64) float64 {
			at := math.Mod(s+.6*period, period)
			return .8 * math.Exp(-at/.015) * math.Sin(2*math.Pi*80*at)
		}}
		m, err := Make(".wav", r.bytes(), row.rate, 1200)
		require.NoError(t, err)
		at := onsets(heard(t, m.From(0)))
		require.Len(t, at, row.rate, "of %g s", row.seconds)
		for i := range at {
			next := at[0] + minute
			if i+1 < len(at) {
				next = at[i+1]
			}
			require.InDelta(t, period*senses.SampleRate, next-at[i], 12, "beat %d of %d", i, row.rate)
		}
	}
}

// onsets are where a sound that was small becomes great.
func onsets(x []float64) []int {
	most := 0.0
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	var out []int
	quiet := -senses.SampleRate
	for i, v := range x {
		if math.Abs(v) < most/3 {
			continue
		}
		if i-quiet > senses.SampleRate/12 {
			out = append(out, i)
		}
		quiet = i
	}
	return out
}

// There is no click where the recording begins anew.
func TestTheSeamIsNotHeard(t *testing.T) {
	r := recording{rate: 8000, channels: 1, bits: 16, seconds: 3.33, sound: tone(97)}
	m, err := Make(".wav", r.bytes(), 0, 3000)
	require.NoError(t, err)
	x := heard(t, m.From(0))
	steepest := 2 * math.Pi * 97 / 8000 * 3000 * math.Sqrt2 * 1.2
	for i := range x {
		require.LessOrEqual(t, math.Abs(x[(i+1)%minute]-x[i]), steepest, "at %d", i)
	}
}

// A phase moves the beginning and nothing else.
func TestASoundBeginsAtItsPhase(t *testing.T) {
	r := recording{rate: 8000, channels: 1, bits: 16, seconds: 61, sound: tone(50)}
	m, err := Make(".wav", r.bytes(), 0, 1200)
	require.NoError(t, err)
	x, y := heard(t, m.From(0)), heard(t, m.From(minute*7+12345))
	for i := range y {
		require.Equal(t, x[(i+12345)%minute], y[i])
	}
}

// Loud and soft recordings come out alike, and none is clipped, even of
// floats beyond their range.
func TestLoudnessIsComparableAndNothingIsClipped(t *testing.T) {
	for _, gain := range []float64{.01, .2, 3, 90} {
		r := recording{rate: 16000, channels: 1, bits: 32, float: true, seconds: 5, sound: func(s float64) float64 { return .1 + gain*tone(120)(s) }}
		m, err := Make(".wav", r.bytes(), 0, 1200)
		require.NoError(t, err)
		x := heard(t, m.From(0))
		require.InDelta(t, 1200, rmsOf(x), 15)
		require.InDelta(t, 1200*math.Sqrt2, strength(x, 120), 60)
	}
	r := recording{rate: 8000, channels: 1, bits: 16, seconds: 5, sound: func(s float64) float64 {
		if math.Mod(s, .5) < .0005 {
			return .9
		}
		return 0
	}}
	m, err := Make(".wav", r.bytes(), 0, 30000)
	require.NoError(t, err)
	for _, v := range heard(t, m.From(0)) {
		require.LessOrEqual(t, math.Abs(v), float64(highest))
	}
}

// What is no recording, or contradicts itself, is refused in words.
func TestBadRecordings(t *testing.T) {
	good := recording{rate: 8000, channels: 1, bits: 16, seconds: 3.5, sound: tone(100)}
	whole := good.bytes()
	form := string(whole[20:36])
	data := strings.Repeat("\x00\x10\x00\xf0", 8000)
	put := func(at int, v ...byte) []byte {
		b := bytes.Clone(whole)
		copy(b[at:], v)
		return b
	}
	short, long := good, good
	short.seconds, long.seconds = 2.9, 121
	for name, row := range map[string]struct {
		file []byte
		want string
	}{
		"empty":              {nil, "it is no WAV recording but empty"},
		"a PDF":              {[]byte("%PDF-1.7 and so on"), "it is no WAV recording but a PDF; save it as WAV (PCM)"},
		"an MP3":             {[]byte("ID3\x04and so on, longer"), "but an MP3 recording"},
		"cut short":          {whole[:len(whole)-10], "it is cut short: its header promises 56070 bytes and 56060 are there"},
		"more than it says":  {append(bytes.Clone(whole), 1, 2, 3), "its header says that it ends after 56070 bytes and 56073 are there"},
		"unfinished":         {put(4, 0xff, 0xff, 0xff, 0xff), "its header promises 4294967303 bytes"},
		"a chunk too long":   {put(40, 0xff, 0xff, 0xff, 0x7f), `its chunk "LIST" claims 2147483647 bytes`},
		"a tail":             {riff2(riff("fmt ", form, "data", data), "xyz"), "3 bytes after its last chunk belong to none"},
		"no data":            {riff("fmt ", form), "it holds no sample"},
		"no samples":         {riff("fmt ", form, "data", ""), "it holds no sample"},
		"no form":            {riff("LIST", "abcd"), `it has no chunk "fmt "`},
		"data first":         {riff("data", data, "fmt ", form), `"data" stands before "fmt "`},
		"a short form":       {riff("fmt ", form[:14], "data", data), `"fmt " has 14 bytes and needs 16`},
		"two recordings":     {riff("fmt ", form, "data", data, "data", data), `two chunks "data"`},
		"0 Hz":               {put(24, 0, 0, 0, 0), "0 samples a second; right would be 4000 to 48000"},
		"96 kHz":             {put(24, 0, 0x77, 1, 0), "96000 samples a second"},
		"six channels":       {put(22, 6, 0), "it has 6 channels; right would be one or two"},
		"no channel":         {put(22, 0, 0), "it has 0 channels"},
		"ADPCM":              {put(20, 2, 0), "its samples are ADPCM of 16 bits; right would be PCM of 8, 16 or 24 bits, or float of 32"},
		"an unknown kind":    {put(20, 0x99, 0), "of the unknown kind 153 of 16 bits"},
		"32 bit integers":    {put(34, 32, 0), "PCM of 32 bits"},
		"a wrong block size": {put(32, 4, 0), "its header contradicts itself: 1 channels of 16 bits at 8000 a second are 2 bytes a sample and 16000 a second, not 4 and 16000"},
		"half a sample":      {riff("fmt ", form, "data", data+"x"), "no whole number of samples"},
		"too short":          {short.bytes(), "it lasts 2.9 s; right would be 3 to 120 s"},
		"too long":           {long.bytes(), "it lasts 121.0 s; right would be 3 to 120 s"},
		"extensible, short":  {put(20, 0xfe, 0xff), "one of the extensible kind needs 40"},
		"silence":            {recording{rate: 8000, channels: 1, bits: 16, seconds: 4, sound: func(float64) float64 { return .4 }}.bytes(), "nothing is heard in it"},
		"no number": {recording{rate: 8000, channels: 1, bits: 32, float: true, seconds: 4, sound: func(s float64) float64 {
			if s > 2 {
				return math.NaN()
			}
			return 0
		}}.bytes(), "its sample 16001 is no number"},
	} {
		_, err := Make(".wav", row.file, 0, 1200)
		require.ErrorContains(t, err, row.want, name)
	}
	_, err := Make(".wav", good.bytes(), 10, 1200)
	require.ErrorContains(t, err, "too short for one whole beat or breath at 10 a minute")
	_, err = Make(".mp3", good.bytes(), 0, 1200)
	require.ErrorContains(t, err, "right would be .wav, .png, .jpg, .jpeg or .gif")
}

// riff2 adds bytes inside the form.
func riff2(b []byte, tail string) []byte {
	b = append(b, tail...)
	binary.LittleEndian.PutUint32(b[4:], uint32(len(b)-8))
	return b
}

// Floats of 32 bits are read as the standard says (IEEE 754), against Go's own
// reading of them.
func TestFloatsAreReadAsTheyAre(t *testing.T) {
	for _, f := range []float32{0, 1, -1, .5, -.25, 1e-3, -3.3e-5, 1e-20, 1.9999, 63, 64, -1000, math.MaxFloat32} {
		got, ok := floated(math.Float32bits(f))
		require.True(t, ok)
		want := math.Max(-loudest, math.Min(loudest, math.Trunc(float64(f)*full)))
		require.InDelta(t, want, got, 1, f)
	}
	for _, f := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, ok := floated(math.Float32bits(float32(f)))
		require.False(t, ok)
	}
}

// The sine in integers against the library's in floating point.
func TestSine(t *testing.T) {
	for i := int64(0); i < 1<<32; i += 1<<32/4099 + 1 {
		require.InDelta(t, math.Sin(2*math.Pi*float64(i)/(1<<32))*(1<<30), sine(i), 8, i)
	}
}

// Recordings written by another program, where it is there.
func TestRecordingsOfAnotherProgram(t *testing.T) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		require.Empty(t, os.Getenv("CI"), "in CI sox is there, see .ci/run")
		t.Skip("sox is not installed: no recording of another program was read")
	}
	for _, form := range []string{"-b 16", "-b 24", "-b 8 -e unsigned", "-b 32 -e floating-point"} {
		name := filepath.Join(t.TempDir(), "a.wav")
		args := strings.Fields("-n -r 44100 -c 2 " + form + " " + name + " synth 5 sine 330 gain -12")
		out, err := exec.Command(sox, args...).CombinedOutput()
		require.NoError(t, err, string(out))
		m, err := Make(".wav", readFile(t, name), 0, 1200)
		require.NoError(t, err, form)
		require.InDelta(t, 1200*math.Sqrt2, strength(heard(t, m.From(0)), 330), 60, form)
	}
}

// Whatever the bytes are, the reader ends, and what it takes keeps its promises.
func FuzzRecording(f *testing.F) {
	r := recording{rate: 4000, channels: 1, bits: 8, seconds: 3, sound: tone(100)}
	f.Add(r.bytes())
	r.extensible, r.bits = true, 24
	f.Add(r.bytes())
	r.float, r.bits, r.channels = true, 32, 2
	f.Add(r.bytes()[:4000])
	f.Add([]byte("RIFF\x00\x00\x00\x00WAVE"))
	f.Fuzz(func(t *testing.T, b []byte) {
		w, err := readWave(b)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.True(t, w.rate >= slowest && w.rate <= fastest)
		require.True(t, w.frames() >= least*w.rate && w.frames() <= most*w.rate)
		require.LessOrEqual(t, len(w.data), len(b))
		_, _ = w.mono(w.rate)
	})
}

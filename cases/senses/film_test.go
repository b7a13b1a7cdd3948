package senses

import (
	"bytes"
	"image"
	"image/color"
	"image/gif"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

var kinds = []string{"dog", "cat", "horse", "cattle", "rabbit"}

// shot is what stands on the page while a frame is shown.
type shot struct {
	*canvas
	palette color.Palette
}

// watch decodes a clip with image/gif and lays frame upon frame, as a page does.
func watch(t testing.TB, clip []byte) (frames []shot, centis int) {
	t.Helper()
	pic, err := gif.DecodeAll(bytes.NewReader(clip))
	require.NoError(t, err)
	require.Zero(t, pic.LoopCount, "it runs for ever")
	seen := sheet(pic.Config.Width, pic.Config.Height, 0)
	for i, f := range pic.Image {
		require.Equal(t, pic.Delay[0], pic.Delay[i])
		require.Equal(t, byte(gif.DisposalNone), pic.Disposal[i])
		if f.Rect.Dx() > 1 || i == 0 {
			seen = seen.copied()
			for y := f.Rect.Min.Y; y < f.Rect.Max.Y; y++ {
				for x := f.Rect.Min.X; x < f.Rect.Max.X; x++ {
					v := f.Pix[f.PixOffset(x, y)]
					if _, _, _, alpha := f.Palette[v].RGBA(); alpha > 0 {
						seen.pix[y*seen.w+x] = v
					}
				}
			}
		}
		frames = append(frames, shot{seen, f.Palette})
	}
	return frames, pic.Delay[0]
}

func (s shot) at(x, y int) color.Color { return s.palette[s.pix[y*s.w+x]] }

// area is how many pixels of a part of a frame pass a test.
func area(f shot, r image.Rectangle, is func(color.Color) bool) (n int) {
	var good [256]bool
	for i, c := range f.palette {
		good[i] = is(c)
	}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if good[f.pix[y*f.w+x]] {
				n++
			}
		}
	}
	return n
}

func (s shot) whole() image.Rectangle { return image.Rect(0, 0, s.w, s.h) }

func isColour(c RGB) func(color.Color) bool {
	return func(v color.Color) bool { return v == color.RGBA{c[0], c[1], c[2], 255} }
}

func notPlate(v color.Color) bool { return !isColour(common[plate])(v) }

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

// outside is what can be told of a clip without looking at it.
type outside struct{ bytes, frames, wide, high, centis int }

// Every clip of a kind has one length in bytes, one size, one delay and one
// number of frames, whatever is in it: nothing of a patient can be told from
// without. None carries a comment or another block that tells.
func TestClipsTellNothingFromWithout(t *testing.T) {
	for name, clips := range everyClip() {
		var all []outside
		for _, clip := range clips {
			pic, err := gif.DecodeAll(bytes.NewReader(clip))
			require.NoError(t, err)
			require.Equal(t, len(pic.Image)+1, extensions(t, clip), "one control a frame, and that it runs round")
			for _, d := range pic.Delay {
				require.Equal(t, pic.Delay[0], d)
			}
			all = append(all, outside{len(clip), len(pic.Image), pic.Config.Width, pic.Config.Height, pic.Delay[0]})
			require.Equal(t, all[0], all[len(all)-1], name)
		}
		require.LessOrEqual(t, all[0].bytes, 120000, name)
		require.Greater(t, len(all), 20, name)
	}
}

// extensions walks over the blocks of a GIF (its 1990 specification, from memory)
// and counts those that are not pictures; only controls and the loop are allowed.
func extensions(t *testing.T, clip []byte) (n int) {
	t.Helper()
	at := 13 + 3<<(clip[10]&7+1)
	for clip[at] != 0x3b {
		if clip[at] == 0x21 {
			require.Contains(t, []byte{0xf9, 0xff}, clip[at+1])
			at, n = at+2, n+1
		} else {
			require.Equal(t, byte(0x2c), clip[at])
			at += 11
		}
		for clip[at] != 0 {
			at += int(clip[at]) + 1
		}
		at++
	}
	require.Empty(t, bytes.Trim(clip[at+1:], "\x00"), "zeros after the end")
	return n
}

// everyClip walks through the parameters of every kind of clip.
func everyClip() map[string][][]byte {
	out := map[string][][]byte{}
	for i, kind := range kinds {
		for k, rate := range []int{math.MinInt, 0, 1, 30, 63, 300, math.MaxInt} {
			b := Breath{Species: kind, Rate: rate, Phase: uint64(k) << 13, Effort: (i + k) % 6, Depth: Depth(k % 4), Opposed: k%3 == 0, Open: k%2 == 0, Push: k%4 == 1}
			out["breath"] = append(out["breath"], b.Picture().Bytes)
			out["refill"] = append(out["refill"], Refill{Species: kind, Millis: rate * 20, Colour: []string{"pink", "pale", "purple rim", "?"}[k%4]}.Picture().Bytes)
			out["tent"] = append(out["tent"], Tent{Millis: rate * 20, Stays: k == 2}.Picture().Bytes)
			p := Pupils{Species: kind, Right: k%2 == 0, Size: Width(k % 4), Direct: Answer(k % 3), Follows: k%5 < 3, Lens: Lens(i % 4), Iris: Iris(k % 4)}
			out["pupils"] = append(out["pupils"], p.Picture().Bytes)
			g := Gait{Species: kind, Right: k%2 == 0, Manner: Gaited(k % 6)}
			g.Lame[k%4] = (k + i) % 6
			out["gait"] = append(out["gait"], g.Picture().Bytes)
		}
	}
	return out
}

// Contrast by the WCAG 2.2 formula (relative luminance of sRGB): ink on the
// plate and on the coat at least 4.5 to 1, and no picture lets the page through,
// so that this holds on a light page and on a dark one.
func TestInkStandsOut(t *testing.T) {
	for _, ground := range []RGB{common[plate], common[pale], {0xdd, 0xd5, 0xc6}} {
		require.Greater(t, contrast(common[black], ground), 4.5)
	}
	for _, p := range []Picture{Breath{}.Picture(), Refill{}.Picture(), Tent{}.Picture(), Pupils{}.Picture(), Gait{}.Picture()} {
		frames, _ := watch(t, p.Bytes)
		require.Zero(t, area(frames[0], frames[0].whole(), func(v color.Color) bool { _, _, _, a := v.RGBA(); return a < 0xffff }))
	}
}

func contrast(a, b RGB) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + .05) / (math.Min(la, lb) + .05)
}

func luminance(c RGB) float64 {
	l := 0.0
	for i, w := range []float64{.2126, .7152, .0722} {
		v := float64(c[i]) / 255
		if v <= .04045 {
			l += w * v / 12.92
		} else {
			l += w * math.Pow((v+.055)/1.055, 2.4)
		}
	}
	return l
}

// What a decoder of others makes of a film is what was drawn.
func TestFilmsDecodeToWhatWasDrawn(t *testing.T) {
	for i, kind := range kinds {
		for _, r := range []reel{
			Breath{Species: kind, Rate: 47, Effort: i, Depth: Deep, Push: true}.reel(),
			Gait{Species: kind, Lame: [4]int{i}}.reel(),
			Pupils{Species: kind, Lens: Lens(i % 4)}.reel(),
		} {
			frames, _ := watch(t, r.gif())
			for f, c := range r.frames {
				require.True(t, bytes.Equal(c.pix, frames[f].pix), "%s frame %d", kind, f)
			}
		}
	}
}

func TestTheSameClipTwice(t *testing.T) {
	require.Equal(t, Breath{Rate: 33, Phase: 99}.Picture(), Breath{Rate: 33, Phase: 99}.Picture())
	require.Equal(t, Gait{Species: "horse"}.Picture(), Gait{Species: "horse"}.Picture())
}

func BenchmarkFilms(b *testing.B) {
	for _, row := range []struct {
		name string
		reel func() reel
	}{
		{"breath", func() reel {
			return Breath{Species: "cattle", Rate: 47, Effort: 4, Depth: Deep, Push: true}.reel()
		}},
		{"refill", func() reel { return Refill{Species: "dog", Millis: 3000}.reel() }},
		{"tent", func() reel { return Tent{Millis: 6000}.reel() }},
		{"pupils", func() reel { return Pupils{Species: "cat", Follows: true}.reel() }},
		{"gait", func() reel { return Gait{Species: "horse", Lame: [4]int{4}}.reel() }},
	} {
		b.Run(row.name, func(b *testing.B) {
			for b.Loop() {
				row.reel().gif()
			}
		})
		// The same frames, packed by image/gif as whole frames.
		b.Run(row.name+" image-gif", func(b *testing.B) {
			r := row.reel()
			for b.Loop() {
				peer(b, r)
			}
		})
	}
}

// peer packs a reel with image/gif.
func peer(b testing.TB, r reel) {
	p := color.Palette{}
	for _, c := range append(append([]RGB{}, common...), r.own...) {
		p = append(p, color.RGBA{c[0], c[1], c[2], 255})
	}
	g := &gif.GIF{}
	for _, c := range r.frames {
		g.Image = append(g.Image, &image.Paletted{Pix: c.pix, Stride: c.w, Rect: image.Rect(0, 0, c.w, c.h), Palette: p})
		g.Delay = append(g.Delay, r.centis)
	}
	require.NoError(b, gif.EncodeAll(new(bytes.Buffer), g))
}

package media

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func readFile(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	return b
}

// quarters is a picture of four colours: red, green, blue and white, row by row.
func quarters(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	of := []color.RGBA{{200, 0, 0, 255}, {0, 200, 0, 255}, {0, 0, 200, 255}, {230, 230, 230, 255}}
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, of[2*(2*y/h)+2*x/w])
		}
	}
	return img
}

// seen names the colours of the quarters of a picture.
func seen(img image.Image) string {
	b := img.Bounds()
	out := ""
	for _, at := range [][2]int{{1, 1}, {3, 1}, {1, 3}, {3, 3}} {
		r, g, bl, _ := img.At(b.Dx()*at[0]/4, b.Dy()*at[1]/4).RGBA()
		switch {
		case r > 0x8000 && g > 0x8000:
			out += "W"
		case r > 0x8000:
			out += "R"
		case g > 0x8000:
			out += "G"
		case bl > 0x8000:
			out += "B"
		default:
			out += "?"
		}
	}
	return out
}

// tiff is a directory with an orientation and a place on earth (Exif 2.3, tags
// 0x0112 and 0x8825; from memory).
func tiff(order binary.AppendByteOrder, turn int) []byte {
	mark := "II*\x00"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		mark = "MM\x00*"
	}
	b := order.AppendUint32([]byte(mark), 8)
	b = order.AppendUint16(b, 3)
	entry := func(tag, kind uint16, n uint32, value []byte) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, n)
		b = append(b, append(value, 0, 0, 0, 0)[:4]...)
	}
	entry(0x010f, 2, 4, []byte("Cam"))
	entry(0x0112, 3, 1, order.AppendUint16(nil, uint16(turn)))
	entry(0x8825, 4, 1, order.AppendUint32(nil, 50))
	b = order.AppendUint32(b, 0)
	return append(b, "GPS 51.2000 N 4.4000 E"...)
}

func jpegWith(t *testing.T, img image.Image, exif []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}))
	out := append([]byte{}, b.Bytes()[:2]...)
	if exif != nil {
		body := append([]byte("Exif\x00\x00"), exif...)
		out = append(out, 0xff, 0xe1)
		out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
		out = append(out, body...)
	}
	return append(out, b.Bytes()[2:]...)
}

func pngWith(t *testing.T, img image.Image, chunks ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	out := append([]byte{}, b.Bytes()[:33]...) // the mark and IHDR
	for i := 0; i < len(chunks); i += 2 {
		body := chunks[i] + chunks[i+1]
		out = binary.BigEndian.AppendUint32(out, uint32(len(chunks[i+1])))
		out = append(out, body...)
		out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE([]byte(body)))
	}
	return append(out, b.Bytes()[33:]...)
}

// A photograph is turned as its Exif says: where the first row and the first
// column of the file are seen (Exif 2.3, tag 0x0112; from memory). The words are
// what is then seen, by quarters, of RG over BW.
func TestPhotographsAreTurned(t *testing.T) {
	for turn, want := range map[int]string{1: "RGBW", 2: "GRWB", 3: "WBGR", 4: "BWRG", 5: "RBGW", 6: "BRWG", 7: "WGBR", 8: "GWRB", 9: "RGBW", 0: "RGBW"} {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			exif := tiff(order, turn)
			m, err := Make(".jpg", jpegWith(t, quarters(64, 48), exif), 0, 0)
			require.NoError(t, err)
			img, err := jpeg.Decode(bytes.NewReader(m.From(9)))
			require.NoError(t, err)
			require.Equal(t, want, seen(img), turn)
			m, err = Make(".png", pngWith(t, quarters(64, 48), "eXIf", string(exif)), 0, 0)
			require.NoError(t, err)
			img, err = png.Decode(bytes.NewReader(m.From(9)))
			require.NoError(t, err)
			require.Equal(t, want, seen(img), turn)
			require.Equal(t, turn >= 5 && turn <= 8, img.Bounds().Dy() > img.Bounds().Dx())
		}
	}
}

// Nothing that was written beside the picture is passed on; the length is a
// multiple of 64 kB, and what is written is a picture to other readers.
func TestNothingButThePictureIsPassedOn(t *testing.T) {
	planted := []string{"GPS", "51.2000", "Cam", "Exif", "eXIf", "tEXt", "iCCP", "zTXt", "Owner", "Vermeer"}
	for name, file := range map[string][]byte{
		".jpg": jpegWith(t, quarters(100, 80), tiff(binary.LittleEndian, 3)),
		".png": pngWith(t, quarters(100, 80), "tEXt", "Owner\x00Vermeer", "eXIf", string(tiff(binary.BigEndian, 1))),
		".gif": append(clipOf(t, 3, 10)[:13], append([]byte("\x21\xfe\x0dOwner Vermeer\x00"), clipOf(t, 3, 10)[13:]...)...),
	} {
		require.True(t, strings.Contains(string(file), "Vermeer") || strings.Contains(string(file), "GPS"))
		m, err := Make(name, file, 0, 0)
		require.NoError(t, err, name)
		out := m.From(0)
		for _, word := range planted {
			require.NotContains(t, string(out), word, name)
		}
		require.Zero(t, len(out)%(64<<10), name)
		img, kind, err := image.Decode(bytes.NewReader(out))
		require.NoError(t, err)
		require.Equal(t, "image/"+kind, m.Type)
		require.Equal(t, 100*80, img.Bounds().Dx()*img.Bounds().Dy())
		kept, err := Kept(m.Bytes(), 0)
		require.NoError(t, err)
		require.Equal(t, m, kept)
		again, err := Make(name, file, 0, 0)
		require.NoError(t, err)
		require.Equal(t, m.Hash, again.Hash)
	}
}

// A great picture is averaged down, every pixel of it by its share: against an
// average over areas in floating point.
func TestShrinkAveragesAreas(t *testing.T) {
	for _, size := range [][4]int{{1000, 700, 960, 672}, {1921, 641, 960, 320}, {100, 2000, 64, 1280}, {5, 3000, 2, 1280}} {
		src := image.NewRGBA(image.Rect(0, 0, size[0], size[1]))
		n := uint32(7)
		for i := range src.Pix {
			n = n*1664525 + 1013904223
			src.Pix[i] = byte(n >> 24)
		}
		out := shrink(src, widest, tallest)
		require.Equal(t, image.Rect(0, 0, size[2], size[3]), out.Bounds())
		for i := range 300 {
			x, y := i*37%size[2], i*101%size[3]
			require.InDelta(t, averageOver(src, size, x, y), float64(out.Pix[out.PixOffset(x, y)]), .51, "%v at %d, %d", size, x, y)
		}
	}
}

// averageOver is the mean of the first channel over what one pixel covers.
func averageOver(src *image.RGBA, size [4]int, x, y int) float64 {
	overlap := func(i, at, from, to int) float64 {
		a, b := float64(at)*float64(from)/float64(to), float64(at+1)*float64(from)/float64(to)
		return math.Max(0, math.Min(b, float64(i+1))-math.Max(a, float64(i)))
	}
	sum, area := 0.0, 0.0
	for sy := range size[1] {
		if v := overlap(sy, y, size[1], size[3]); v > 0 {
			for sx := range size[0] {
				h := overlap(sx, x, size[0], size[2])
				sum += v * h * float64(src.Pix[src.PixOffset(sx, sy)])
				area += v * h
			}
		}
	}
	return sum / area
}

func TestAGreatPlainPictureBecomesAJPEG(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 900, 900))
	n := uint32(7)
	for i := range img.Pix {
		n = n*1664525 + 1013904223
		img.Pix[i] = byte(n>>24) | byte(i%4/3*255)
	}
	m, err := Make(".png", pngWith(t, img), 0, 0)
	require.NoError(t, err)
	require.Equal(t, "image/jpeg", m.Type)
	_, err = jpeg.Decode(bytes.NewReader(m.From(0)))
	require.NoError(t, err)
}

// clipOf is a clip of frames in four turns of the colours.
func clipOf(t *testing.T, frames, centis int) []byte {
	t.Helper()
	g := &gif.GIF{}
	for i := range frames {
		p := image.NewPaletted(image.Rect(0, 0, 100, 80), color.Palette{color.RGBA{200, 0, 0, 255}, color.RGBA{0, 200, 0, 255}, color.RGBA{0, 0, 200, 255}, color.RGBA{230, 230, 230, 255}})
		for j := range p.Pix {
			p.Pix[j] = uint8((2*(j/100/40) + j%100/50 + i) % 4)
		}
		g.Image, g.Delay = append(g.Image, p), append(g.Delay, centis)
	}
	var b bytes.Buffer
	require.NoError(t, gif.EncodeAll(&b, g))
	return b.Bytes()
}

func filmOf(t *testing.T, b []byte) (film *gif.GIF, words []string) {
	t.Helper()
	film, err := gif.DecodeAll(bytes.NewReader(b))
	require.NoError(t, err)
	for _, f := range film.Image {
		require.Equal(t, image.Rect(0, 0, film.Config.Width, film.Config.Height), f.Rect, "every frame stands alone")
		words = append(words, seen(f))
	}
	return film, words
}

// A clip with a rate holds whole breaths and begins at its phase, one without
// begins at its beginning.
func TestClips(t *testing.T) {
	m, err := Make(".gif", clipOf(t, 6, 20), 0, 0)
	require.NoError(t, err)
	require.True(t, m.Moves)
	film, words := filmOf(t, m.From(77))
	require.Equal(t, []string{"RGBW", "GBWR", "BWRG", "WRGB", "RGBW", "GBWR"}, words)
	require.Equal(t, []int{20, 20, 20, 20, 20, 20}, film.Delay)
	require.Zero(t, film.LoopCount, "again and again")

	m, err = Make(".gif", clipOf(t, 6, 20), 75, 0) // a breath is 80 hundredths: one is whole
	require.NoError(t, err)
	_, words = filmOf(t, m.From(0))
	require.Equal(t, []string{"RGBW", "GBWR", "BWRG", "WRGB"}, words)
	_, words = filmOf(t, m.From(80*5+45))
	require.Equal(t, []string{"BWRG", "WRGB", "RGBW", "GBWR"}, words)
	kept, err := Kept(m.Bytes(), 75)
	require.NoError(t, err)
	require.Equal(t, m, kept)

	m, err = Make(".gif", clipOf(t, 6, 20), 82, 0) // 73 hundredths
	require.NoError(t, err)
	film, _ = filmOf(t, m.From(0))
	require.Equal(t, []int{20, 20, 20, 13}, film.Delay)

	_, err = Make(".gif", clipOf(t, 6, 20), 20, 0)
	require.ErrorContains(t, err, "too short for one whole beat or breath at 20 a minute")
	m, err = Make(".gif", clipOf(t, 1, 0), 0, 0)
	require.NoError(t, err)
	require.False(t, m.Moves)
}

// What is left standing of earlier frames is drawn into the later ones (GIF89a,
// 23: disposal methods 0 to 3; from memory).
func TestFramesKeepWhatWasLeftStanding(t *testing.T) {
	p := color.Palette{color.RGBA{}, color.RGBA{200, 0, 0, 255}, color.RGBA{0, 200, 0, 255}, color.RGBA{0, 0, 200, 255}}
	patch := func(r image.Rectangle, c uint8) *image.Paletted {
		f := image.NewPaletted(r, p)
		for i := range f.Pix {
			f.Pix[i] = c
		}
		return f
	}
	whole, left, right := image.Rect(0, 0, 40, 40), image.Rect(0, 0, 20, 40), image.Rect(20, 0, 40, 40)
	for disposal, want := range map[byte][]string{gif.DisposalNone: {"RRRR", "GRGR", "GBGB"}, gif.DisposalBackground: {"RRRR", "GRGR", "?B?B"}, gif.DisposalPrevious: {"RRRR", "GRGR", "RBRB"}} {
		g := &gif.GIF{Image: []*image.Paletted{patch(whole, 1), patch(left, 2), patch(right, 3)}, Delay: []int{0, 1, 7}, Disposal: []byte{gif.DisposalNone, disposal, 0}}
		var b bytes.Buffer
		require.NoError(t, gif.EncodeAll(&b, g))
		m, err := Make(".gif", b.Bytes(), 0, 0)
		require.NoError(t, err)
		film, words := filmOf(t, m.From(0))
		require.Equal(t, want, words, disposal)
		require.Equal(t, []int{10, 10, 7}, film.Delay)
	}
}

func TestManyColoursAreTakenToTheNearest(t *testing.T) {
	src := image.NewRGBA(image.Rect(0, 0, 64, 64))
	for i := range src.Pix {
		src.Pix[i] = byte(i*7) | byte(i%4/3*255)
	}
	out := painted(src)
	require.LessOrEqual(t, len(out.Palette), 256)
	for i := range out.Pix {
		r, g, b, a := out.Palette[out.Pix[i]].RGBA()
		require.EqualValues(t, 0xffff, a)
		for c, v := range []uint32{r, g, b} {
			require.InDelta(t, float64(src.Pix[4*i+c]), float64(v>>8), 26)
		}
	}
}

// What is no picture, or would take too much room, is refused in words, and
// before room is made for it.
func TestBadPictures(t *testing.T) {
	jpg, pic, film := jpegWith(t, quarters(64, 48), nil), pngWith(t, quarters(64, 48)), clipOf(t, 4, 10)
	bomb := bytes.Clone(pic)
	binary.BigEndian.PutUint32(bomb[16:], 30000)
	binary.BigEndian.PutUint32(bomb[20:], 30000)
	binary.BigEndian.PutUint32(bomb[29:], crc32.ChecksumIEEE(bomb[12:29]))
	wide := bytes.Clone(film)
	binary.LittleEndian.PutUint16(wide[6:], 60000)
	for name, row := range map[string]struct{ kind, file, want string }{
		"a PNG header on a JPEG":   {".png", "\x89PNG\r\n\x1a\n" + string(jpg), "it is a damaged picture"},
		"a JPEG that is a PNG":     {".jpg", string(pic), "its name ends in .jpg and it is no such picture but a PNG picture"},
		"a PNG that is a PDF":      {".png", "%PDF-1.4", "but a PDF"},
		"a GIF that is a page":     {".gif", "<html>", "it is no GIF but a text such as SVG, HTML or XML"},
		"nothing":                  {".jpeg", "", "but empty"},
		"a PNG that is cut short":  {".png", string(pic[:len(pic)-20]), "damaged picture or cut short"},
		"a JPEG that is cut short": {".jpg", string(jpg[:len(jpg)-9]), "damaged picture or cut short"},
		"a GIF that is cut short":  {".gif", string(film[:len(film)-9]), "it is cut short"},
		"a bomb":                   {".png", string(bomb), "it is 30000 by 30000 pixels; right would be at least 16 by 16 and at most 20 million"},
		"a dot":                    {".png", string(pngWith(t, quarters(4, 4))), "it is 4 by 4 pixels"},
		"a wide GIF":               {".gif", string(wide), "it is 60000 by 80 pixels"},
		"a GIF without frames":     {".gif", string(film[:13]) + "\x3b", "it holds no frame"},
		"a long GIF":               {".gif", string(clipOf(t, 301, 2)), "it has 301 frames; at most 300 are taken"},
		"a damaged GIF":            {".gif", string(film[:13]) + "\x99\x3b", "of the unknown kind 0x99 at byte 13"},
	} {
		_, err := Make(row.kind, []byte(row.file), 0, 0)
		require.ErrorContains(t, err, row.want, name)
	}
	for _, b := range []string{"", "abc", "RIFF\x00\x00\x00\x00WAVE"} {
		_, err := Kept([]byte(b), 0)
		require.Error(t, err)
	}
}

// Cut anywhere, changed anywhere: an error or a picture, never a crash.
func TestDamagedPicturesDoNotCrash(t *testing.T) {
	for kind, file := range map[string][]byte{
		".jpg": jpegWith(t, quarters(32, 32), tiff(binary.LittleEndian, 6)),
		".png": pngWith(t, quarters(32, 32), "eXIf", string(tiff(binary.BigEndian, 6))),
		".gif": clipOf(t, 2, 10),
	} {
		for i := range file {
			_, _ = Make(kind, file[:i], 30, 0)
			b := bytes.Clone(file)
			b[i] ^= 0xff
			_, _ = Make(kind, b, 30, 0)
			orientation(b)
		}
	}
}

package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"io"
	"mime"
	"runtime"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// insides are what a medium holds once it is taken apart by the readers of the
// standard library: samples, pixels, palettes, names, texts. What has no
// business in it fails: comments, metadata, anything after its end but padding.
// Words are those that a person or a program could read out of it.
func insides(t testing.TB, where string, r *reply) (parts [][]byte, words string) {
	t.Helper()
	kind, _, err := mime.ParseMediaType(r.header.Get("Content-Type"))
	if err != nil || len(r.body) == 0 {
		return nil, ""
	}
	switch kind {
	case "audio/wav":
		return insideWAV(t, where, r.body), ""
	case "image/gif":
		return insideGIF(t, where, r.body), ""
	case "image/png":
		return insidePNG(t, where, r.body), ""
	case "image/jpeg":
		return insideJPEG(t, where, r.body), ""
	case "image/svg+xml":
		if !strings.Contains(where, "/static/") { // those are files of ours
			words = insideSVG(t, where, r.body)
		}
		return [][]byte{[]byte(words)}, words
	}
	return nil, ""
}

// insideWAV gives every channel as its upper bytes, its lower bytes, and the
// bytes that its lowest bits spell: where something could be hidden.
func insideWAV(t testing.TB, where string, wav []byte) (parts [][]byte) {
	t.Helper()
	require.Equal(t, []string{"fmt ", "data"}, chunks(t, wav), where)
	require.EqualValues(t, len(wav)-8, binary.LittleEndian.Uint32(wav[4:]), "%s: something stands after the end", where)
	require.EqualValues(t, 16, binary.LittleEndian.Uint32(wav[16:]), where)
	channels := int(binary.LittleEndian.Uint16(wav[22:]))
	require.Contains(t, []int{1, 2}, channels, where)
	require.EqualValues(t, 16, binary.LittleEndian.Uint16(wav[34:]), "%s: bits", where)
	for c := range channels {
		var high, low, bits []byte
		n := 0
		for at := 44 + 2*c; at+1 < len(wav); at += 2 * channels {
			low, high = append(low, wav[at]), append(high, wav[at+1])
			if n%8 == 0 {
				bits = append(bits, 0)
			}
			bits[n/8] = bits[n/8]<<1 | wav[at]&1
			n++
		}
		parts = append(parts, high, low, bits)
	}
	return parts
}

// insideGIF gives palettes and pixels. An animation has one delay and no block
// but those it is made of (GIF89a, sections 20 to 27).
func insideGIF(t testing.TB, where string, raw []byte) (parts [][]byte) {
	t.Helper()
	pic, err := gif.DecodeAll(bytes.NewReader(raw))
	require.NoError(t, err, where)
	for i, frame := range pic.Image {
		require.Equal(t, pic.Delay[0], pic.Delay[i], "%s: a delay that tells something", where)
		require.True(t, frame.Rect.In(pic.Image[0].Rect), where)
		parts = append(parts, frame.Pix, colours(frame.Palette))
	}
	for _, label := range gifExtensions(t, where, raw) {
		require.Contains(t, []byte{0xf9, 0xff}, label, "%s: an extension %x, such as a comment", where, label)
	}
	return parts
}

func colours(p color.Palette) (out []byte) {
	for _, c := range p {
		r, g, b, _ := c.RGBA()
		out = append(out, byte(r>>8), byte(g>>8), byte(b>>8))
	}
	return out
}

// gifExtensions lists the labels of all extensions, and holds that nothing but
// zeros comes after the end.
func gifExtensions(t testing.TB, where string, raw []byte) (labels []byte) {
	t.Helper()
	table := func(flags byte) int {
		if flags&0x80 == 0 {
			return 0
		}
		return 3 << (flags&7 + 1)
	}
	skip := func(at int) int { // sub-blocks
		for raw[at] != 0 {
			at += 1 + int(raw[at])
		}
		return at + 1
	}
	at := 13 + table(raw[10])
	for {
		switch raw[at] {
		case 0x21:
			labels = append(labels, raw[at+1])
			if raw[at+1] == 0xff {
				require.Equal(t, "NETSCAPE2.0", string(raw[at+3:at+14]), where)
			}
			at = skip(at + 2)
		case 0x2c:
			at = skip(at + 11 + table(raw[at+9]))
		case 0x3b:
			require.Empty(t, bytes.Trim(raw[at+1:], "\x00"), "%s: something stands after the end", where)
			return labels
		default:
			require.Fail(t, fmt.Sprintf("%s: no block of a GIF: %x", where, raw[at]))
		}
	}
}

// insidePNG gives the pixels. Only the chunks that a picture needs are there
// (PNG, third edition, 11.2 and 11.3.1); zeros may follow.
func insidePNG(t testing.TB, where string, raw []byte) [][]byte {
	t.Helper()
	for at := 8; ; {
		size, name := int(binary.BigEndian.Uint32(raw[at:])), string(raw[at+4:at+8])
		require.Contains(t, []string{"IHDR", "PLTE", "tRNS", "IDAT", "IEND"}, name, "%s: a chunk that may tell something", where)
		if at += 12 + size; name == "IEND" {
			require.Empty(t, bytes.Trim(raw[at:], "\x00"), "%s: something stands after the end", where)
			break
		}
	}
	pic, err := png.Decode(bytes.NewReader(raw))
	require.NoError(t, err, where)
	return [][]byte{pixels(pic)}
}

// insideJPEG gives the pixels. No comment and no application segment but JFIF's
// may stand before the picture (ITU-T T.81, B.2.4.5 and B.2.4.6).
func insideJPEG(t testing.TB, where string, raw []byte) [][]byte {
	t.Helper()
	for at := 2; raw[at+1] != 0xda; at += 2 + int(binary.BigEndian.Uint16(raw[at+2:])) {
		mark := raw[at+1]
		require.NotEqual(t, byte(0xfe), mark, "%s: a comment", where)
		require.False(t, mark > 0xe0 && mark <= 0xef, "%s: metadata in APP%d", where, mark-0xe0)
	}
	pic, err := jpeg.Decode(bytes.NewReader(raw))
	require.NoError(t, err, where)
	end := bytes.LastIndex(raw, []byte{0xff, 0xd9})
	require.Empty(t, bytes.Trim(raw[end+2:], "\x00"), "%s: something stands after the end", where)
	return [][]byte{pixels(pic)}
}

func pixels(pic image.Image) (out []byte) {
	b := pic.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, g, b, a := pic.At(x, y).RGBA()
			out = append(out, byte(r>>8), byte(g>>8), byte(b>>8), byte(a>>8))
		}
	}
	return out
}

// drawn are the attributes that only draw; the others are names.
var drawn = map[string]bool{"d": true, "x": true, "y": true, "x1": true, "x2": true, "y1": true, "y2": true, "cx": true, "cy": true, "r": true, "rx": true, "ry": true,
	"points": true, "transform": true, "width": true, "height": true, "viewBox": true, "stroke-width": true, "stroke-dasharray": true, "opacity": true,
	"fill-opacity": true, "stroke-opacity": true, "offset": true, "font-size": true, "fill": true, "stroke": true, "stop-color": true, "style": true, "xmlns": true}

// insideSVG gives every name and text of a drawing. It has no comment, no
// instruction, no script and no link.
func insideSVG(t testing.TB, where string, raw []byte) string {
	t.Helper()
	var words []string
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimRight(raw, "\x00 \n")))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return strings.Join(words, " ")
		}
		require.NoError(t, err, where)
		switch x := token.(type) {
		case xml.Comment, xml.Directive:
			require.Fail(t, where+": a comment in a drawing")
		case xml.ProcInst:
			require.Equal(t, "xml", x.Target, where)
		case xml.CharData:
			words = append(words, strings.TrimSpace(string(x)))
		case xml.StartElement:
			require.NotContains(t, []string{"script", "foreignObject", "image", "a", "metadata"}, x.Name.Local, where)
			words = append(words, x.Name.Local)
			for _, a := range x.Attr {
				require.NotContains(t, strings.ToLower(a.Name.Local), "href", where)
				if !drawn[a.Name.Local] {
					words = append(words, a.Name.Local, a.Value)
				}
			}
		}
	}
}

// looked remembers which media were looked through for which secrets: a player
// gets the same bytes every time.
var looked sync.Map

func lookedBefore(t testing.TB, body []byte, secrets []secret) bool {
	h := sha256.New()
	for _, s := range secrets {
		h.Write(s.forms[0])
	}
	h.Write(body)
	_, before := looked.LoadOrStore(t.Name()+hex.EncodeToString(h.Sum(nil)), true)
	return before
}

// Each reader finds what is hidden where it reads, so that a walk which finds
// nothing says something.
func TestTheReadersOfMediaFindWhatIsHidden(t *testing.T) {
	wav := append([]byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x02\x00\x40\x1f\x00\x00\x00\x7d\x00\x00\x04\x00\x10\x00data\x00\x00\x00\x00"), make([]byte, 800)...)
	binary.LittleEndian.PutUint32(wav[4:], uint32(len(wav)-8))
	binary.LittleEndian.PutUint32(wav[40:], 800)
	for i, b := range []byte(markCue) {
		wav[44+4*i+3] = b // upper bytes of the second channel
		for bit := range 8 {
			wav[44+4*(40+8*i+bit)] |= b >> (7 - bit) & 1 // lowest bits of the first
		}
	}
	found := 0
	for _, part := range insideWAV(t, "a sound", wav) {
		if bytes.Contains(part, []byte(markCue)) {
			found++
		}
	}
	require.Equal(t, 2, found)
	require.Contains(t, insideSVG(t, "a drawing", []byte(`<svg xmlns="http://www.w3.org/2000/svg"><g id="zq1" class="zq2"><title>zq3</title><path d="M67 1"/></g></svg>`)), "id zq1 class zq2 title zq3 path")

	failing := func(f func(t testing.TB)) bool {
		r := &recorder{TB: t}
		done := make(chan struct{})
		go func() { defer close(done); f(r) }()
		<-done
		return r.failed
	}
	gif := append([]byte("GIF89a\x01\x00\x01\x00\x00\x00\x00"), 0x21, 0xfe, 2, 'z', 'q', 0, 0x3b)
	require.Equal(t, []byte{0xfe}, gifExtensions(t, "a picture", gif))
	require.True(t, failing(func(t testing.TB) { gifExtensions(t, "", append(gif, "zq"...)) }), "after its end")
	require.True(t, failing(func(t testing.TB) { insideSVG(t, "", []byte(`<svg><!-- zq --></svg>`)) }), "a comment")
	require.True(t, failing(func(t testing.TB) { insideWAV(t, "", append(wav, "LIST\x04\x00\x00\x00zqzq"...)) }), "another chunk")
	var pic bytes.Buffer
	require.NoError(t, png.Encode(&pic, image.NewGray(image.Rect(0, 0, 1, 1))))
	insidePNG(t, "a picture", append(pic.Bytes(), 0, 0, 0))
	text := append(append(bytes.Clone(pic.Bytes()[:33]), "\x00\x00\x00\x02tEXtzq\x00\x00\x00\x00"...), pic.Bytes()[33:]...)
	require.True(t, failing(func(t testing.TB) { insidePNG(t, "", text) }), "a text chunk")
	pic.Reset()
	require.NoError(t, jpeg.Encode(&pic, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
	insideJPEG(t, "a photograph", pic.Bytes())
	comment := append(append(bytes.Clone(pic.Bytes()[:2]), 0xff, 0xfe, 0, 4, 'z', 'q'), pic.Bytes()[2:]...)
	require.True(t, failing(func(t testing.TB) { insideJPEG(t, "", comment) }), "a comment")
}

// recorder notes that a test failed in place of failing.
type recorder struct {
	testing.TB
	failed bool
}

func (r *recorder) Errorf(string, ...any) { r.failed = true }
func (r *recorder) FailNow()              { r.failed = true; runtime.Goexit() }

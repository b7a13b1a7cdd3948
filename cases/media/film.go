package media

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/gif"
)

const (
	mostFrames  = 300
	mostOfFilm  = 64_000_000 // pixels of all frames
	usualDelay  = 10         // hundredths of a second, where a frame states none: what browsers take
	fastestTurn = 2          // hundredths of a second
)

// span is where a frame lies in a GIF, and how long it is shown.
type span struct{ from, to, centis int }

// makeClip makes a moving picture, or of a single frame a still one.
func makeClip(file []byte, rate int) (*Medium, error) {
	if is := whatIs(file); is != aGIF {
		return nil, fmt.Errorf("its name ends in .gif and it is no GIF but %s", is)
	}
	if err := measured(file); err != nil {
		return nil, err
	}
	film, err := gif.DecodeAll(bytes.NewReader(file))
	if err != nil {
		return nil, fmt.Errorf("it is a damaged clip or cut short: %w", err)
	}
	frames := whole(film)
	delays := film.Delay
	for i, d := range delays {
		if d < fastestTurn {
			delays[i] = usualDelay
		}
	}
	if rate > 0 {
		if frames, delays, err = wholeBreaths(frames, delays, rate); err != nil {
			return nil, err
		}
	}
	out, err := encodeFilm(frames, delays)
	if err != nil {
		return nil, err
	}
	return readyClip(out, rate)
}

// measured looks at what a GIF will need before room is made for it.
func measured(file []byte) error {
	c, err := gif.DecodeConfig(bytes.NewReader(file))
	if err != nil {
		return fmt.Errorf("it is a damaged clip: %w", err)
	}
	_, spans, err := framesOf(file)
	switch {
	case err != nil:
		return err
	case c.Width < leastSide || c.Height < leastSide || c.Width > widest || c.Height > tallest:
		return fmt.Errorf("it is %d by %d pixels; right would be at least %d by %d and at most %d by %d", c.Width, c.Height, leastSide, leastSide, widest, tallest)
	case len(spans) == 0:
		return errors.New("it holds no frame")
	case len(spans) > mostFrames:
		return fmt.Errorf("it has %d frames; at most %d are taken", len(spans), mostFrames)
	case int64(c.Width)*int64(c.Height)*int64(len(spans)) > mostOfFilm:
		return fmt.Errorf("its %d frames of %d by %d pixels are more than %d million pixels; make it smaller or shorter", len(spans), c.Width, c.Height, mostOfFilm/1_000_000)
	}
	return nil
}

// framesOf walks the blocks of a GIF (GIF89a, 1990): where the first frame
// begins, and where each lies with the extensions before it.
func framesOf(b []byte) (head int, spans []span, err error) {
	cut := errors.New("it is cut short: a block has no end")
	if len(b) < 13 {
		return 0, nil, cut
	}
	at := 13 + table(b[10])
	head = at
	for start, centis := -1, 0; at < len(b); {
		switch b[at] {
		case 0x3b:
			return head, spans, nil
		case 0x21:
			control := at+6 < len(b) && b[at+1] == 0xf9
			if control {
				start, centis = at, int(b[at+4])|int(b[at+5])<<8
			}
			at = passBlocks(b, at+2)
			if !control && start < 0 && len(spans) == 0 {
				head = at // what stands before the first frame belongs to none
			}
		case 0x2c:
			if at+10 >= len(b) {
				return 0, nil, cut
			}
			from := at
			if start >= 0 {
				from = start
			}
			at = passBlocks(b, at+11+table(b[at+9]))
			spans = append(spans, span{from, at, centis})
			start, centis = -1, 0
		default:
			return 0, nil, fmt.Errorf("it holds a block of the unknown kind %#x at byte %d: it is damaged", b[at], at)
		}
	}
	return 0, nil, cut
}

// table is the length of a colour table in bytes.
func table(packed byte) int {
	if packed&0x80 == 0 {
		return 0
	}
	return 3 << (packed&7 + 1)
}

// passBlocks is the place after a chain of blocks; one beyond the end where it
// has none.
func passBlocks(b []byte, at int) int {
	for at < len(b) && b[at] != 0 {
		at += 1 + int(b[at])
	}
	return at + 1
}

// whole gives every frame as it is seen, with what shows of those before it.
func whole(film *gif.GIF) []*image.Paletted {
	bounds := image.Rect(0, 0, film.Config.Width, film.Config.Height)
	now := image.NewRGBA(bounds)
	out := make([]*image.Paletted, len(film.Image))
	for i, frame := range film.Image {
		before := now
		if film.Disposal[i] == gif.DisposalPrevious {
			before = image.NewRGBA(bounds)
			copy(before.Pix, now.Pix)
		}
		draw.Draw(now, frame.Rect, frame, frame.Rect.Min, draw.Over)
		out[i] = painted(now)
		switch film.Disposal[i] {
		case gif.DisposalPrevious:
			now = before
		case gif.DisposalBackground:
			draw.Draw(now, frame.Rect, image.Transparent, image.Point{}, draw.Src)
		}
	}
	return out
}

// painted gives a frame its own colours where there are at most 256, else the
// nearest of a cube of colours.
func painted(src *image.RGBA) *image.Paletted {
	places := map[uint32]uint8{}
	out := image.NewPaletted(src.Rect, nil)
	for i := range out.Pix {
		px := src.Pix[4*i : 4*i+4 : 4*i+4]
		key := binary.LittleEndian.Uint32(px)
		place, ok := places[key]
		if !ok && len(places) == 256 {
			return inCube(src)
		}
		if !ok {
			place = uint8(len(places))
			places[key] = place
			out.Palette = append(out.Palette, color.RGBA{px[0], px[1], px[2], px[3]})
		}
		out.Pix[i] = place
	}
	return out
}

// cube is a hole and six reds by seven greens by six blues.
var cube = func() color.Palette {
	p := color.Palette{color.RGBA{}}
	for i := range 6 * 7 * 6 {
		p = append(p, color.RGBA{uint8(i / 42 * 51), uint8((i/6%7*255 + 3) / 6), uint8(i % 6 * 51), 255})
	}
	return p
}()

func inCube(src *image.RGBA) *image.Paletted {
	out := image.NewPaletted(src.Rect, cube)
	for i := range out.Pix {
		px := src.Pix[4*i : 4*i+4 : 4*i+4]
		if px[3] >= 128 {
			r, g, b := (int(px[0])+25)/51, (int(px[1])*6+127)/255, (int(px[2])+25)/51
			out.Pix[i] = uint8(1 + r*42 + g*6 + b)
		}
	}
	return out
}

// wholeBreaths cuts a clip to as many whole breaths or beats as it holds.
func wholeBreaths(frames []*image.Paletted, delays []int, rate int) ([]*image.Paletted, []int, error) {
	const perMinute = 6000
	var total int64
	for _, d := range delays {
		total += int64(d)
	}
	events := total * int64(rate) / perMinute
	if len(frames) < 2 || events < 1 {
		return nil, nil, fmt.Errorf("it is too short for one whole beat or breath at %d a minute", rate)
	}
	left := int(events * perMinute / int64(rate))
	for i, d := range delays {
		if left -= d; left < fastestTurn {
			delays[i] += left // the last frame is shorter, or longer by a hundredth
			return frames[:i+1], delays[:i+1], nil
		}
	}
	return frames, delays, nil
}

// encodeFilm writes a clip in which every frame stands alone, so that it may
// begin with any.
func encodeFilm(frames []*image.Paletted, delays []int) ([]byte, error) {
	clears := byte(gif.DisposalNone)
	for _, f := range frames {
		if !f.Opaque() {
			clears = gif.DisposalBackground
		}
	}
	film := gif.GIF{Image: frames, Delay: delays, Disposal: bytes.Repeat([]byte{clears}, len(frames))}
	var b bytes.Buffer
	if err := gif.EncodeAll(&b, &film); err != nil {
		return nil, err
	}
	return append(b.Bytes(), make([]byte, ceiling(b.Len())-b.Len())...), nil
}

// readyClip takes a clip as encodeFilm wrote it.
func readyClip(b []byte, rate int) (*Medium, error) {
	head, spans, err := framesOf(b)
	if err != nil {
		return nil, err
	}
	moves := len(spans) > 1
	if rate == 0 {
		spans = nil
	}
	m := ready(Picture, "image/gif", b, head, spans)
	m.Moves = moves
	return m, nil
}

// turnFrames lets a clip begin with another frame.
func turnFrames(b []byte, head int, spans []span, phase uint64) []byte {
	total := 0
	for _, s := range spans {
		total += s.centis
	}
	first, at := 0, int(phase%uint64(max(total, 1)))
	for at >= spans[first].centis && first < len(spans)-1 {
		at -= spans[first].centis
		first++
	}
	out := make([]byte, 0, len(b))
	out = append(out, b[:head]...)
	for i := range spans {
		s := spans[(first+i)%len(spans)]
		out = append(out, b[s.from:s.to]...)
	}
	return append(out, b[spans[len(spans)-1].to:]...)
}

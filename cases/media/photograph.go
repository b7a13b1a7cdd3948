package media

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
)

const (
	mostPixels   = 20_000_000
	leastSide    = 16
	widest       = 960
	tallest      = 1280
	quality      = 85        // of a JPEG
	largestPlain = 512 << 10 // bytes of a PNG; a greater one without holes becomes a JPEG
)

// makePhotograph makes a still picture.
func makePhotograph(kind string, file []byte) (*Medium, error) {
	want := aJPEG
	if kind == ".png" {
		want = aPNG
	}
	is := whatIs(file)
	if is != want {
		return nil, fmt.Errorf("its name ends in %s and it is no such picture but %s; name it by what it is, or save it as PNG or JPEG", kind, is)
	}
	img, err := decodeStill(file, is)
	if err != nil {
		return nil, err
	}
	turn := orientation(file)
	if turn >= 5 {
		img = shrink(img, tallest, widest)
	} else {
		img = shrink(img, widest, tallest)
	}
	out, kind, err := encodeStill(turned(img, turn), is)
	if err != nil {
		return nil, err
	}
	return ready(Picture, kind, out, 0, nil), nil
}

// decodeStill looks at the size that a picture states before it makes room for it.
func decodeStill(file []byte, is string) (*image.RGBA, error) {
	size, decode := jpeg.DecodeConfig, jpeg.Decode
	if is == aPNG {
		size, decode = png.DecodeConfig, png.Decode
	}
	c, err := size(bytes.NewReader(file))
	if err != nil {
		return nil, fmt.Errorf("it is a damaged picture: %w", err)
	}
	if c.Width < leastSide || c.Height < leastSide || int64(c.Width)*int64(c.Height) > mostPixels {
		return nil, fmt.Errorf("it is %d by %d pixels; right would be at least %d by %d and at most %d million", c.Width, c.Height, leastSide, leastSide, mostPixels/1_000_000)
	}
	img, err := decode(bytes.NewReader(file))
	if err != nil {
		return nil, fmt.Errorf("it is a damaged picture or cut short: %w", err)
	}
	out := image.NewRGBA(image.Rect(0, 0, c.Width, c.Height))
	draw.Draw(out, out.Bounds(), img, img.Bounds().Min, draw.Src)
	return out, nil
}

// encodeStill writes a picture without any remark and fills it up.
func encodeStill(img *image.RGBA, is string) (out []byte, kind string, err error) {
	var b bytes.Buffer
	if is == aPNG {
		if err := png.Encode(&b, img); err != nil {
			return nil, "", err
		}
		if b.Len() <= largestPlain || !img.Opaque() {
			return fillPNG(b.Bytes()), "image/png", nil
		}
		b.Reset()
	}
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, "", err
	}
	return fillJPEG(b.Bytes()), "image/jpeg", nil
}

// fillPNG puts a chunk of noughts before the end: ancillary, private and safe to
// copy by its name (ISO 15948, 5.4), so that every reader passes over it.
func fillPNG(b []byte) []byte {
	const end, frame = 12, 12
	size := ceiling(len(b) + frame)
	body := append([]byte("fiLl"), make([]byte, size-len(b)-frame)...)
	out := make([]byte, 0, size)
	out = append(out, b[:len(b)-end]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(body)-4))
	out = append(out, body...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(body))
	return append(out, b[len(b)-end:]...)
}

// fillJPEG puts comments of noughts behind the start mark (ITU-T T.81, B.2.4.5).
func fillJPEG(b []byte) []byte {
	const least, most = 4, 65537 // a comment with its mark
	size := ceiling(len(b) + least)
	out := make([]byte, 0, size)
	out = append(out, b[:2]...)
	for left := size - len(b); left > 0; {
		n := min(left, most)
		if rest := left - n; rest > 0 && rest < least {
			n -= least
		}
		out = append(out, 0xff, 0xfe)
		out = binary.BigEndian.AppendUint16(out, uint16(n-2))
		out = append(out, make([]byte, n-4)...)
		left -= n
	}
	return append(out, b[2:]...)
}

// shrink averages a picture down until it is no wider and no taller; a smaller
// one it leaves as it is.
func shrink(src *image.RGBA, wide, tall int) *image.RGBA {
	w, h := src.Rect.Dx(), src.Rect.Dy()
	if w <= wide && h <= tall {
		return src
	}
	if int64(w)*int64(tall) > int64(h)*int64(wide) {
		tall = max(1, int(int64(h)*int64(wide)/int64(w)))
	} else {
		wide = max(1, int(int64(w)*int64(tall)/int64(h)))
	}
	out := image.NewRGBA(image.Rect(0, 0, wide, tall))
	across, down := shares(w, wide), shares(h, tall)
	row, sums := make([]uint64, 4*wide), make([]uint64, 4*wide)
	for y, d := range down {
		clear(row)
		gather(row, src.Pix[y*src.Stride:], across)
		add(sums, row, d.first)
		if y == h-1 || down[y+1].at > d.at {
			for i, v := range sums {
				out.Pix[d.at*out.Stride+i] = uint8((v + uint64(w)*uint64(h)/2) / (uint64(w) * uint64(h)))
			}
			clear(sums)
			add(sums, row, d.second)
		}
	}
	return out
}

// portion says to which pixel of the smaller picture one of the greater belongs,
// and how much of it to that one and to the next.
type portion struct {
	at            int
	first, second uint64
}

// shares parts n pixels among fewer; every one of the fewer gets n shares.
func shares(n, among int) []portion {
	out := make([]portion, n)
	for i := range out {
		from := int64(i) * int64(among)
		at := from / int64(n)
		first := min(int64(among), (at+1)*int64(n)-from)
		out[i] = portion{int(at), uint64(first), uint64(int64(among) - first)}
	}
	return out
}

// gather sums a row of pixels into fewer.
func gather(row []uint64, pix []uint8, across []portion) {
	for x, a := range across {
		for c := range 4 {
			v := uint64(pix[4*x+c])
			row[4*a.at+c] += v * a.first
			if a.second > 0 {
				row[4*a.at+4+c] += v * a.second
			}
		}
	}
}

func add(sums, row []uint64, share uint64) {
	if share == 0 {
		return
	}
	for i, v := range row {
		sums[i] += v * share
	}
}

// turned turns a picture as an Exif orientation says: where its first row and
// first column are to be seen.
func turned(src *image.RGBA, turn int) *image.RGBA {
	w, h := src.Rect.Dx(), src.Rect.Dy()
	from := map[int]func(x, y int) (int, int){
		2: func(x, y int) (int, int) { return w - 1 - x, y },
		3: func(x, y int) (int, int) { return w - 1 - x, h - 1 - y },
		4: func(x, y int) (int, int) { return x, h - 1 - y },
		5: func(x, y int) (int, int) { return y, x },
		6: func(x, y int) (int, int) { return y, h - 1 - x },
		7: func(x, y int) (int, int) { return w - 1 - y, h - 1 - x },
		8: func(x, y int) (int, int) { return w - 1 - y, x },
	}[turn]
	if from == nil {
		return src
	}
	size := image.Rect(0, 0, w, h)
	if turn >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range size.Dy() {
		for x := range size.Dx() {
			sx, sy := from(x, y)
			copy(out.Pix[y*out.Stride+4*x:][:4], src.Pix[sy*src.Stride+4*sx:])
		}
	}
	return out
}

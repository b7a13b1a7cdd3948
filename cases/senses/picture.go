package senses

import (
	"bytes"
	"compress/lzw"
	"encoding/binary"
)

// Picture is something to look at: GIF where it moves, SVG where it stands still.
type Picture struct {
	Type  string // media type
	Bytes []byte
}

// A picture is 144 by 80 in two tones on a transparent ground. The line is a
// grey with at least 4.4 to 1 against both white and black, so one picture
// serves light pages and dark ones.
const (
	wide, high = 144, 80
	ground     = 0
	line       = 1
	shade      = 2
)

var palette = [4][3]byte{{128, 128, 128}, {118, 118, 118}, {150, 150, 150}, {118, 118, 118}}

// canvas is one frame.
type canvas [wide * high]byte

// dot draws a small square, which makes a line of even weight.
func (c *canvas) dot(x, y int) {
	for dy := 0; dy < 2; dy++ {
		for dx := 0; dx < 2; dx++ {
			if px, py := x+dx, y+dy; px >= 0 && px < wide && py >= 0 && py < high {
				c[py*wide+px] = line
			}
		}
	}
}

// packed is the frame as the format packs it: code size, blocks, end.
func (c *canvas) packed() []byte {
	var raw, out bytes.Buffer
	w := lzw.NewWriter(&raw, lzw.LSB, 2)
	_, _ = w.Write(c[:]) // a bytes.Buffer takes everything
	_ = w.Close()
	out.WriteByte(2)
	for b := raw.Bytes(); len(b) > 0; {
		n := min(len(b), 255)
		out.WriteByte(byte(n))
		out.Write(b[:n])
		b = b[n:]
	}
	out.WriteByte(0)
	return out.Bytes()
}

// film assembles packed frames into an endless animation with one delay, and
// fills up with zeros after the end mark to a constant size.
func film(frames [][]byte, centis, size int) []byte {
	out := make([]byte, 0, size)
	out = append(out, "GIF89a"...)
	out = binary.LittleEndian.AppendUint16(out, wide)
	out = binary.LittleEndian.AppendUint16(out, high)
	out = append(out, 0b10010001, ground, 0) // a table of 4 colours
	for _, rgb := range palette {
		out = append(out, rgb[:]...)
	}
	out = append(out, "\x21\xff\x0bNETSCAPE2.0\x03\x01\x00\x00\x00"...) // again and again
	for _, f := range frames {
		// Each frame clears the one before it; ground is transparent.
		out = append(out, 0x21, 0xf9, 4, 0b1001, byte(centis), byte(centis>>8), ground, 0)
		out = append(out, 0x2c, 0, 0, 0, 0, wide, 0, high, 0, 0)
		out = append(out, f...)
	}
	out = append(out, 0x3b)
	if len(out) < size {
		out = append(out, make([]byte, size-len(out))...)
	}
	return out
}

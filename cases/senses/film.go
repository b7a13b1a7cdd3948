package senses

import (
	"bytes"
	"encoding/binary"
)

// Every film begins with these colours. The first is transparent: where a frame
// has it, the frame before shows through. The plate is opaque, so that ink, coat
// and membrane are the same to the eye on a light page and on a dark one.
const (
	kept byte = iota
	black
	pale
	plate
	own // the first of the film's own
)

// common are those colours; each film adds up to four of its own.
var common = []RGB{{0xfc, 0xfa, 0xf4}, {0x2e, 0x28, 0x34}, {0xec, 0xe2, 0xd0}, {0xfc, 0xfa, 0xf4}}

// reel is what a film is made of. Frames that are the same canvas look the same.
type reel struct {
	frames []*canvas
	own    []RGB // colours from own on
	centis int   // the delay of every frame in hundredths of a second
	size   int   // bytes of the film, filled up with zeros after its end
}

// gif winds the frames into an endless animation. A frame holds only the
// rectangle of what has changed, and in it only the pixels that have; a change
// from one canvas to another is packed once.
func (r reel) gif() []byte {
	c := r.frames[0]
	out := make([]byte, 0, r.size)
	out = append(out, "GIF89a"...)
	out = binary.LittleEndian.AppendUint16(out, uint16(c.w))
	out = binary.LittleEndian.AppendUint16(out, uint16(c.h))
	out = append(out, 0b10100010, kept, 0) // a table of 8 colours
	colours := append(append(make([]RGB, 0, 8), common...), r.own...)
	for _, rgb := range colours[:8:8] {
		out = append(out, rgb[:]...)
	}
	out = append(out, "\x21\xff\x0bNETSCAPE2.0\x03\x01\x00\x00\x00"...) // again and again
	p := new(packer)
	seen := map[[2]*canvas][]byte{}
	var before *canvas
	for _, f := range r.frames {
		change := [2]*canvas{before, f}
		if seen[change] == nil {
			seen[change] = p.change(before, f, r.centis)
		}
		out = append(out, seen[change]...)
		before = f
	}
	out = append(out, 0x3b)
	if len(out) < r.size {
		out = append(out, make([]byte, r.size-len(out))...)
	}
	return out
}

// changed is the rectangle in which two canvases differ: at least one pixel,
// all of it where there was none before.
func changed(from, to *canvas) (x0, y0, x1, y1 int) {
	if from == nil {
		return 0, 0, to.w, to.h
	}
	if from == to {
		return 0, 0, 1, 1
	}
	x0, y0 = to.w, to.h
	for y := range to.h {
		a, b := from.pix[y*to.w:(y+1)*to.w], to.pix[y*to.w:(y+1)*to.w]
		if bytes.Equal(a, b) {
			continue
		}
		l, r := 0, to.w
		for a[l] == b[l] {
			l++
		}
		for a[r-1] == b[r-1] {
			r--
		}
		x0, x1, y0, y1 = min(x0, l), max(x1, r), min(y0, y), y+1
	}
	if x1 == 0 {
		return 0, 0, 1, 1
	}
	return x0, y0, x1, y1
}

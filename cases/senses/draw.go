package senses

import "slices"

// point is a place in sixteenths of a pixel.
type point struct{ x, y int }

// canvas is one frame: an index into the palette for every pixel.
type canvas struct {
	w, h int
	pix  []byte
}

// sheet is a canvas of one colour.
func sheet(w, h int, colour byte) *canvas {
	c := &canvas{w, h, make([]byte, w*h)}
	for i := range c.pix {
		c.pix[i] = colour
	}
	return c
}

func (c *canvas) copied() *canvas { return &canvas{c.w, c.h, slices.Clone(c.pix)} }

// mirrored is the same seen from the other side.
func (c *canvas) mirrored() *canvas {
	for y := range c.h {
		slices.Reverse(c.pix[y*c.w : (y+1)*c.w])
	}
	return c
}

// fill colours the inside of a closed line, by the even-odd rule at the middle
// of every pixel.
func (c *canvas) fill(line []point, colour byte) {
	low, high := c.h*16, 0
	for _, p := range line {
		low, high = min(low, p.y), max(high, p.y)
	}
	var cuts []int
	for y := max(0, low/16-1); y < min(c.h, high/16+2); y++ {
		cuts = crossings(cuts[:0], line, y*16+8)
		for i := 0; i+1 < len(cuts); i += 2 {
			from, to := max(0, (cuts[i]+7)>>4), min(c.w, (cuts[i+1]+7)>>4)
			for x := from; x < to; x++ {
				c.pix[y*c.w+x] = colour
			}
		}
	}
}

// crossings are the places at which a closed line crosses a height, ascending.
func crossings(cuts []int, line []point, y int) []int {
	before := line[len(line)-1]
	for _, p := range line {
		if (before.y <= y) != (p.y <= y) {
			cuts = append(cuts, before.x+(p.x-before.x)*(y-before.y)/(p.y-before.y))
		}
		before = p
	}
	slices.Sort(cuts)
	return cuts
}

// Half the width of a line and of a fine line, in sixteenths of a pixel.
const (
	lineHalf = 16
	fineHalf = 9
)

// trace draws an open line of even weight.
func (c *canvas) trace(line []point, half int, colour byte) {
	for i := range line {
		c.segment(line[max(0, i-1)], line[i], half, colour)
	}
}

// outline fills a closed line and inks its edge.
func (c *canvas) outline(line []point, inside, ink byte) {
	c.fill(line, inside)
	c.trace(append(slices.Clip(line), line[0]), lineHalf, ink)
}

// segment colours every pixel whose middle lies within half a line's width of a
// straight piece.
func (c *canvas) segment(a, b point, half int, colour byte) {
	ux, uy := b.x-a.x, b.y-a.y
	long := ux*ux + uy*uy
	for y := max(0, (min(a.y, b.y)-half)>>4); y <= min(c.h-1, (max(a.y, b.y)+half)>>4); y++ {
		for x := max(0, (min(a.x, b.x)-half)>>4); x <= min(c.w-1, (max(a.x, b.x)+half)>>4); x++ {
			px, py := x*16+8-a.x, y*16+8-a.y
			along := int64(px*ux + py*uy)
			var off bool
			switch across := int64(px*uy - py*ux); {
			case along <= 0 || long == 0:
				off = px*px+py*py > half*half
			case along >= int64(long):
				off = (px-ux)*(px-ux)+(py-uy)*(py-uy) > half*half
			default:
				off = across*across > int64(half)*int64(half)*int64(long)
			}
			if !off {
				c.pix[y*c.w+x] = colour
			}
		}
	}
}

// disc colours an ellipse that stands upright or lies level.
func (c *canvas) disc(at point, rx, ry int, colour byte) {
	if rx <= 0 || ry <= 0 {
		return
	}
	for y := max(0, (at.y-ry)>>4); y <= min(c.h-1, (at.y+ry)>>4); y++ {
		for x := max(0, (at.x-rx)>>4); x <= min(c.w-1, (at.x+rx)>>4); x++ {
			dx, dy := int64(x*16+8-at.x), int64(y*16+8-at.y)
			if dx*dx*int64(ry*ry)+dy*dy*int64(rx*rx) <= int64(rx*rx)*int64(ry*ry) {
				c.pix[y*c.w+x] = colour
			}
		}
	}
}

// curve is the smooth line of a drawing's dots, in sixteenths of a pixel: four
// straight pieces from dot to dot of a Catmull-Rom spline.
func (v window) curve(dots []dot, closed bool) []point {
	n := len(dots)
	last := n - 1
	if closed {
		last = n
	}
	out := make([]point, 0, 4*n+1)
	for i := range last {
		p1, p2 := dots[i], dots[(i+1)%n]
		p0, p3 := p1, p2
		if p1[2] == 0 && (i > 0 || closed) {
			p0 = dots[(i-1+n)%n]
		}
		if p2[2] == 0 && (i+2 < n || closed) {
			p3 = dots[(i+2)%n]
		}
		for t := range 4 {
			out = append(out, v.at(spline(p0[0], p1[0], p2[0], p3[0], t), spline(p0[1], p1[1], p2[1], p3[1], t)))
		}
	}
	if !closed {
		out = append(out, v.at(dots[n-1][0]*16, dots[n-1][1]*16))
	}
	return out
}

// window is the part of a drawing that a frame shows: its left and top in
// the drawing's units, and how many sixteenths of a pixel a thousand units take.
type window struct{ left, top, scale int }

// at is a place of the drawing, given in sixteenths of a unit, on the canvas.
func (v window) at(x, y int) point {
	return point{(x - 16*v.left) * v.scale / 16000, (y - 16*v.top) * v.scale / 16000}
}

// spline is the spline at t quarters of the way from b to c, times 16.
func spline(a, b, c, d, t int) int {
	return (2*b*64 + (c-a)*t*16 + (2*a-5*b+4*c-d)*t*t*4 + (3*b-a-3*c+d)*t*t*t) / 8
}

// upsideDown turns the picture over.
func (c *canvas) upsideDown() *canvas {
	for y := range c.h / 2 {
		for x := range c.w {
			a, b := y*c.w+x, (c.h-1-y)*c.w+x
			c.pix[a], c.pix[b] = c.pix[b], c.pix[a]
		}
	}
	return c
}

package senses

import (
	"fmt"
	"strconv"
	"strings"
)

// Every still picture is SVG of stillWide by stillHigh units and stillSize
// bytes: blanks before the end tag fill it up, so that its length tells nothing.
const (
	stillWide = 960
	stillHigh = 720
	stillSize = 24000
	stillEnd  = "</svg>\n"
)

// stillHead opens a picture. Ink, paper and coat follow the page, light or
// dark; what is tissue has one colour and one dark line on both.
const stillHead = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 960 720" width="960" height="720" fill="none" stroke="#211d26" stroke-width="6" stroke-linecap="round" stroke-linejoin="round">
<style>.f{stroke-width:3}.c{fill:#f1ebdf}.r{fill:#ddd5c6}.s{fill:#211d26}.d{stroke:#43282b}.e{stroke:#43282b;stroke-width:3}.g{stroke:#857c8d;stroke-width:3}.w{fill:#fcfaf4}.h{stroke:#43282b;fill:#e3c3a6}text{font:40px sans-serif;fill:#211d26;stroke:none}
@media(prefers-color-scheme:dark){svg{stroke:#ece7dd}.c{fill:#443c4b}.r{fill:#322b39}.s{fill:#131117}.w{fill:#1b1820}text{fill:#ece7dd}.h{fill:#c9a688}}</style>
`

// pen is how a shape is drawn: the attributes of its element.
type pen string

// The pens of every picture.
const (
	inked  pen = `class="l"` // a line
	thin   pen = `class="f"` // a fine line
	coat   pen = `class="c"` // hair, filled
	behind pen = `class="r"` // the far side, filled darker
	solid  pen = `class="s"` // an eye, a nose
	blank  pen = `class="w"` // paper, outlined
	faint  pen = `class="g"` // the ground, a rule
	skin   pen = `class="h"` // a human hand
	dark   pen = `class="d"` // a line on tissue
	hair   pen = `class="e"` // a fine line on tissue
)

// filled is tissue of one colour with a dark line around it.
func filled(c RGB) pen { return pen(fmt.Sprintf(`class="d" fill="%s"`, c)) }

// flat is a patch of colour without a line.
func flat(c RGB) pen { return pen(fmt.Sprintf(`stroke="none" fill="%s"`, c)) }

// String is the colour as SVG writes it.
func (c RGB) String() string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }

// mix is the colour that lies the given share of a thousand on the way to another.
func (c RGB) mix(to RGB, share int) RGB {
	for i := range c {
		c[i] = uint8(int(c[i]) + (int(to[i])-int(c[i]))*share/1000)
	}
	return c
}

// dot is a point of a line: across, down, and 1 where the line turns a corner.
type dot [3]int

// still is a picture that is being drawn.
type still struct{ strings.Builder }

// drawing opens a picture.
func drawing() *still {
	s := new(still)
	s.WriteString(stillHead)
	return s
}

// Picture closes the drawing and fills it up to its size.
func (s *still) Picture() Picture {
	if n := stillSize - s.Len() - len(stillEnd); n > 0 {
		s.WriteString(strings.Repeat(" ", n))
	}
	s.WriteString(stillEnd)
	return Picture{"image/svg+xml", []byte(s.String())}
}

// line is an open curve through dots, shape a closed one.
func (s *still) line(p pen, dots ...dot)  { s.path(p, dots, false) }
func (s *still) shape(p pen, dots ...dot) { s.path(p, dots, true) }

// path writes a smooth curve through dots, broken at the corners.
func (s *still) path(p pen, dots []dot, closed bool) {
	fmt.Fprintf(s, `<path %s d="%s"/>`+"\n", p, route(dots, closed))
}

// poly writes straight lines through dots.
func (s *still) poly(p pen, dots ...dot) {
	for i := range dots {
		dots[i][2] = 1
	}
	s.path(p, dots, false)
}

// oval writes an ellipse.
func (s *still) oval(p pen, x, y, rx, ry int) {
	fmt.Fprintf(s, `<ellipse %s cx="%d" cy="%d" rx="%d" ry="%d"/>`+"\n", p, x, y, rx, ry)
}

// word writes a word with its middle at x.
func (s *still) word(x, y int, text string) {
	fmt.Fprintf(s, `<text x="%d" y="%d" text-anchor="middle">%s</text>`+"\n", x, y, text)
}

// clip limits what draw draws to a closed curve, and outlines it after.
func (s *still) clip(id string, p pen, dots []dot, draw func()) {
	fmt.Fprintf(s, `<clipPath id="%s"><path d="%s"/></clipPath><g clip-path="url(#%s)">`+"\n", id, route(dots, true), id)
	draw()
	s.WriteString("</g>\n")
	s.path(p, dots, true)
}

// route is a curve of cubic pieces through dots (a Catmull-Rom spline with the
// chord's root as parameter, which neither loops nor overshoots).
func route(m []dot, closed bool) string {
	var b strings.Builder
	fmt.Fprintf(&b, "M%d %d", m[0][0], m[0][1])
	n := len(m)
	last := n - 1
	if closed {
		last = n
	}
	for i := range last {
		p1, p2 := m[i], m[(i+1)%n]
		p0, p3 := p1, p2
		if p1[2] == 0 && (i > 0 || closed) {
			p0 = m[(i-1+n)%n]
		}
		if p2[2] == 0 && (i+2 < n || closed) {
			p3 = m[(i+2)%n]
		}
		if p1[2] == 1 && p2[2] == 1 {
			relative(&b, 'l', p1, p2)
			continue
		}
		c1, c2 := handle(p0, p1, p2), handle(p3, p2, p1)
		relative(&b, 'c', p1, c1, c2, p2)
	}
	if closed {
		b.WriteString("z")
	}
	return b.String()
}

// relative writes a piece of a path, its dots as seen from where it begins, with
// a blank only where no sign parts two numbers.
func relative(b *strings.Builder, command byte, from dot, dots ...dot) {
	b.WriteByte(command)
	for i, d := range dots {
		for j := range 2 {
			n := d[j] - from[j]
			if i+j > 0 && n >= 0 {
				b.WriteByte(' ')
			}
			b.WriteString(strconv.Itoa(n))
		}
	}
}

// handle is the control point beside q on the way from q to r, having come from p.
func handle(p, q, r dot) dot {
	dp, dr := int64(apart(p, q)), int64(apart(q, r))
	if dp == 0 {
		return dot{q[0] + (r[0]-q[0])/3, q[1] + (r[1]-q[1])/3}
	}
	den := 3 * dp * (dp + dr)
	f := func(p, q, r int) int {
		return int((dp*dp*int64(r) - dr*dr*int64(p) + (2*dp*dp+3*dp*dr+dr*dr)*int64(q)) / den)
	}
	return dot{f(p[0], q[0], r[0]), f(p[1], q[1], r[1])}
}

// apart is the root of the distance in sixty-fourths, the parameter of the curve.
func apart(a, b dot) int {
	x, y := b[0]-a[0], b[1]-a[1]
	return int(root(root(int64(x*x+y*y)<<12) << 6))
}

// turned is a dot turned about a pivot, clockwise, by thousandths of a degree.
func turned(p, pivot dot, milli int) dot {
	a := int(int64(milli) * (1 << 16) / 360000)
	sin, cos := bhaskara(a), bhaskara(a+1<<14)
	x, y := p[0]-pivot[0], p[1]-pivot[1]
	return dot{pivot[0] + (x*cos-y*sin)/(1<<15), pivot[1] + (x*sin+y*cos)/(1<<15), p[2]}
}

// ramp rises from 0 at a to 1000 at b, which may lie on either side.
func ramp(v, a, b int) int {
	if a == b {
		return 0
	}
	t := min(max((v-a)*1000/(b-a), 0), 1000)
	return t * t * (3000 - 2*t) / 1000000
}

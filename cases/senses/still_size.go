package senses

import "fmt"

// Felt is a body under the skin as the finger feels it.
type Felt struct {
	Long, Thick int // millimetres; 0: nothing is met
	Surface     Surface
	Hold        Hold
	Give        Give
	Top         Top
	Gland       bool   // a lobed soft lump lies behind it
	Broad       bool   // takes more of the picture than its neighbours
	Place       string // a word over it
}

// Surface is the outline of what is felt.
type Surface int

// The surfaces.
const (
	Smooth Surface = iota
	Knotty
)

// Hold says how it is held.
type Hold int

// The holds.
const (
	Slips  Hold = iota // to and fro under the finger
	Stuck              // to what lies beneath
	Stalk              // hangs by a thread of skin
	InSkin             // part of the skin
)

// Give is what it does under the fingertip.
type Give int

// The gives.
const (
	Yields Give = iota
	Rubber
	Wood
	Puffy // its edges lost in tight tissue
)

// Top is the skin over it.
type Top int

// The tops.
const (
	Unbroken Top = iota
	Hairless     // raised and red
	Bark         // raised, grey and rough
	Raw          // broken and crusted
)

// Size is a row of things felt beside a fingertip, all drawn to one scale.
type Size struct {
	Felt  []Felt
	Scale int // units of the picture to a centimetre
}

// fingerWide is the width of the fingertip in millimetres (derived; a grown
// person's forefinger, common practice, no source).
const fingerWide = 15

// Picture draws the panels side by side, with a rule of a centimetre.
func (z Size) Picture() Picture {
	s := drawing()
	if len(z.Felt) == 0 {
		return s.Picture()
	}
	at := 0
	for i, f := range z.Felt {
		wide := z.share(f)
		z.panel(s, f, at, wide, fmt.Sprintf("p%d", i))
		at += wide
	}
	x := 28
	s.poly(inked, dot{x, 690}, dot{x + z.Scale, 690})
	s.poly(inked, dot{x, 678}, dot{x, 702})
	s.poly(inked, dot{x + z.Scale, 678}, dot{x + z.Scale, 702})
	s.word(x+z.Scale+84, 706, "10 mm")
	return s.Picture()
}

// share is how wide the panel of one of them is.
func (z Size) share(f Felt) int {
	parts := 0
	for _, other := range z.Felt {
		parts += other.parts()
	}
	return stillWide * f.parts() / parts
}

// parts are the shares of the picture that a panel takes.
func (f Felt) parts() int {
	if f.Broad {
		return 10
	}
	return 7
}

// mm turns millimetres into units.
func (z Size) mm(n int) int { return n * z.Scale / 10 }

const (
	skinLine = 380 // where the skin lies
	floor    = 610 // what lies beneath begins
)

// panel draws a cut through the skin with the body in it and the fingertip beside it.
func (z Size) panel(s *still, f Felt, left, wide int, id string) {
	right := left + wide - 8
	left += 8
	cx := left + z.mm(fingerWide) + (right-left-z.mm(fingerWide))/2 + 4
	if f.Gland {
		cx = left + z.mm(fingerWide) + z.mm(20)
	}
	long, thick := z.mm(f.Long), z.mm(f.Thick)
	rise := max(0, thick-170) + thick/6
	if f.Top == Hairless || f.Top == Bark || f.Top == Raw {
		rise = thick
	}
	if f.Hold == Stalk {
		rise = 0
	}
	top := f.contour(left, right, cx, long, rise)
	under := append([]dot{{right, 660, 1}, {left, 660, 1}}, top...)
	s.clip(id, dark, under, func() {
		s.poly(flat(RGB{0xf3, 0xdf, 0xc0}), dot{left, 0}, dot{right, 0}, dot{right, 660}, dot{left, 660})
		s.shape(flat(flesh), dot{left - 20, floor, 1}, dot{(left + right) / 2, floor - 10}, dot{right + 20, floor, 1}, dot{right + 20, 700, 1}, dot{left - 20, 700, 1})
		if f.Give == Puffy && f.Long > 0 {
			s.oval(flat(RGB{0xe0, 0x8d, 0x78}), cx, skinLine+70, long/2+110, thick/2+120)
		}
		if f.Gland {
			z.gland(s, cx+z.mm(16)+long/3, skinLine+130)
		}
		if f.Long > 0 && f.Hold != Stalk {
			z.body(s, f, cx, skinLine-rise+thick/2+18, long, thick)
		}
	})
	s.path(pen(`stroke="`+hide.String()+`" stroke-width="12"`), top, false)
	z.surface(s, f, cx, long, thick, rise)
	z.finger(s, f, max(left+z.mm(fingerWide)/2+6, cx-long/2-z.mm(fingerWide)*7/10))
	if f.Place != "" {
		s.word((left+right)/2, 50, f.Place)
	}
}

// contour is the skin from left to right, raised over what stands out.
func (f Felt) contour(left, right, cx, long, rise int) []dot {
	if rise == 0 {
		return []dot{{left, skinLine, 1}, {(left + right) / 2, skinLine}, {right, skinLine, 1}}
	}
	h := max(long/2, 10)
	out := []dot{{left, skinLine, 1}, {max(left+4, cx-h-24), skinLine}}
	if f.Hold == InSkin {
		out = append(out, dot{cx - h, skinLine - rise*7/10}, dot{cx - h*6/10, skinLine - rise})
		out = append(out, dot{cx + h*6/10, skinLine - rise}, dot{cx + h, skinLine - rise*7/10})
	} else {
		out = append(out, dot{cx - h*7/10, skinLine - rise*6/10}, dot{cx, skinLine - rise}, dot{cx + h*7/10, skinLine - rise*6/10})
	}
	return append(out, dot{min(right-4, cx+h+24), skinLine}, dot{right, skinLine, 1})
}

var (
	node  = RGB{0xcf, 0x97, 0x84}
	lobes = RGB{0xe6, 0xbd, 0x9a}
)

// body draws the thing itself: its outline, how it gives, how it is held.
func (z Size) body(s *still, f Felt, cx, cy, long, thick int) {
	colour := node
	switch f.Top {
	case Hairless:
		colour = RGB{0xd9, 0x6c, 0x68}
	case Bark:
		colour = RGB{0x9a, 0x93, 0x90}
	}
	if f.Hold == Stuck {
		for i := range 5 {
			x := cx + (i-2)*long/5
			s.line(dark, dot{x, cy}, dot{x + (i-2)*6, (cy+floor)/2 + thick/4}, dot{x + (i-2)*14, floor + 12})
		}
	}
	s.path(f.edge(colour), f.outline(cx, cy, long/2, thick/2), true)
	if f.Give == Wood {
		for i := range 5 {
			x := cx + (i-2)*long/6
			s.poly(hair, dot{x - thick/6, cy + thick/5}, dot{x + thick/6, cy - thick/5})
		}
	}
	if f.Hold == Slips && f.Give != Puffy {
		y := cy + thick/2 + 30
		h := max(long/2, 26)
		s.poly(dark, dot{cx - h, y}, dot{cx + h, y})
		s.poly(dark, dot{cx - h + 16, y - 12}, dot{cx - h, y}, dot{cx - h + 16, y + 12})
		s.poly(dark, dot{cx + h - 16, y - 12}, dot{cx + h, y}, dot{cx + h - 16, y + 12})
	}
}

// edge is the pen of the outline: broken where its edges are lost, heavy where
// it is like wood, fine where it yields.
func (f Felt) edge(c RGB) pen {
	switch f.Give {
	case Puffy:
		return pen(fmt.Sprintf(`stroke="#43282b" stroke-width="4" stroke-dasharray="2 16" fill="%s"`, c.mix(RGB{0xc8, 0x4a, 0x3c}, 450)))
	case Wood:
		return pen(fmt.Sprintf(`stroke="#43282b" stroke-width="11" fill="%s"`, c.mix(RGB{0x60, 0x50, 0x50}, 350)))
	case Rubber:
		return pen(fmt.Sprintf(`stroke="#43282b" stroke-width="7" fill="%s"`, c))
	}
	return pen(fmt.Sprintf(`stroke="#43282b" stroke-width="4" fill="%s"`, c.mix(RGB{0xff, 0xe8, 0xd8}, 300)))
}

// outline is the body in dots: smooth, knotty, or flattened where it yields.
func (f Felt) outline(cx, cy, h, v int) []dot {
	if f.Surface == Knotty {
		return []dot{{cx - h, cy + v/5}, {cx - h*8/10, cy - v*6/10}, {cx - h*5/10, cy - v*5/10, 1}, {cx - h*2/10, cy - v}, {cx + h*15/100, cy - v*6/10, 1}, {cx + h*5/10, cy - v*9/10}, {cx + h*8/10, cy - v*3/10, 1},
			{cx + h, cy + v*2/10}, {cx + h*7/10, cy + v*7/10}, {cx + h*3/10, cy + v*6/10, 1}, {cx - h*1/10, cy + v}, {cx - h*4/10, cy + v*6/10, 1}, {cx - h*8/10, cy + v*8/10}}
	}
	if f.Give == Yields {
		v = v * 88 / 100
	}
	return round(cx, cy, h, v)
}

// gland draws the lobed soft lump that stays put.
func (z Size) gland(s *still, cx, cy int) {
	r := z.mm(5)
	for _, p := range [][2]int{{-7, 0}, {0, -4}, {7, 0}, {-3, 5}, {5, 5}} {
		s.oval(pen(`class="e" fill="`+lobes.String()+`"`), cx+z.mm(p[0]), cy+z.mm(p[1]), r, r*9/10)
	}
	for _, p := range [][2]int{{-3, 0}, {4, 1}} {
		s.oval(flat(lobes), cx+z.mm(p[0]), cy+z.mm(p[1]), r*8/10, r*7/10)
	}
}

// surface draws what the skin over it is like, or what hangs from it.
func (z Size) surface(s *still, f Felt, cx, long, thick, rise int) {
	y := skinLine - rise
	switch f.Top {
	case Hairless:
		s.path(pen(`stroke="#c4373a" stroke-width="14"`), f.contour(cx-long/2-26, cx+long/2+26, cx, long, rise)[1:5], false)
	case Bark:
		for i := range 6 {
			x := cx - long/2 + long*i/6 + 6
			s.poly(dark, dot{x, y + 2}, dot{x + 8, y - 12}, dot{x + long/7, y - 2})
		}
	case Raw:
		s.shape(filled(sore), dot{cx - long/3, y + 4}, dot{cx - long/6, y - 12}, dot{cx + long/8, y - 6}, dot{cx + long/3, y + 4}, dot{cx, y + 22})
		s.shape(filled(RGB{0x5c, 0x33, 0x22}), dot{cx - long/5, y - 6, 1}, dot{cx - long/10, y - 20, 1}, dot{cx + long/10, y - 14, 1}, dot{cx + long/6, y - 4, 1})
		s.shape(flat(blood), dot{cx + long/5, y}, dot{cx + long/5 + 14, y + 4}, dot{cx + long/5 + 18, y + 52}, dot{cx + long/5 + 10, y + 62}, dot{cx + long/5 + 4, y + 48})
	}
	if f.Hold == Stalk {
		s.line(pen(`stroke="#43282b" stroke-width="9"`), dot{cx, skinLine - 4}, dot{cx + 4, skinLine - 26}, dot{cx - 2, skinLine - 48})
		s.oval(filled(RGB{0xe3, 0x9c, 0xa2}), cx-2, skinLine-48-long/2, thick/2, long/2)
	}
}

// finger draws the fingertip from above the skin, to scale, beside the thing.
func (z Size) finger(s *still, f Felt, x int) {
	h := z.mm(fingerWide) / 2
	y := skinLine - 4
	if f.Long == 0 {
		y += 14
	}
	s.shape(skin, dot{x - h, 70, 1}, dot{x - h, y - h*16/10}, dot{x - h*8/10, y - h/2}, dot{x, y}, dot{x + h*8/10, y - h/2}, dot{x + h, y - h*16/10}, dot{x + h, 70, 1})
	s.shape(pen(`class="e" fill="#f0dccb"`), dot{x - h*55/100, y - h*19/10}, dot{x - h*58/100, y - h}, dot{x, y - h*55/100}, dot{x + h*58/100, y - h}, dot{x + h*55/100, y - h*19/10}, dot{x, y - h*21/10})
	s.line(hair, dot{x - h*7/10, y - h*34/10}, dot{x, y - h*33/10}, dot{x + h*7/10, y - h*34/10})
}

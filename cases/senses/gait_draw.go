package senses

// draw draws the animal at this moment, its left side to be seen unless it is
// the right one. Trunks that were drawn are kept by how they are carried.
func (s *step) draw(trunks map[carriage]*canvas) *canvas {
	c := sheet(gaitWide, gaitHigh, plate)
	b := bodyOf(s.Species, s.Dry)
	s.floor(c, b.ground)
	s.limb(c, farForeLimb)
	s.limb(c, farHindLimb)
	if trunks[s.carriage] == nil {
		trunks[s.carriage] = s.trunk(b)
	}
	c.lay(trunks[s.carriage])
	s.limb(c, nearHind)
	s.limb(c, nearFore)
	if s.Right {
		return c.mirrored()
	}
	return c
}

// trunk draws the animal without its limbs.
func (s *step) trunk(b *body) *canvas {
	c := sheet(gaitWide, gaitHigh, kept)
	for _, st := range b.strokes {
		if st = s.above(b, st); len(st.dots) > 1 {
			c.animal(b, s.window, []stroke{st}, []move{nod(s.head), s.carried(), s.tipped()})
		}
	}
	return c
}

// carried raises the rump, and the trunk with it.
func (s *step) carried() move {
	return func(b *bones, of piece, from, at dot) dot {
		back := 1000
		if of != tail {
			back = ramp(from[0], (b.fore[1]+b.hind[0])/2, b.hind[0]+60)
		}
		at[1] -= s.rise + s.rump*back/1000
		return at
	}
}

// above leaves of a stroke what is not of a limb, nor a rib.
func (s *step) above(b *body, st stroke) stroke {
	out := stroke{pen: st.pen, piece: st.piece}
	for _, d := range st.dots {
		fore := d[0] >= b.fore[0] && d[0] < b.fore[1]-12 && d[1] > b.elbow[1]-30
		hind := d[0] >= b.hind[0] && d[0] <= b.hind[1] && d[1] > s.cut
		if st.piece != trunk || !fore && !hind {
			out.dots = append(out.dots, d)
		}
	}
	if b.ribbed(st) || st.piece == farFore || st.piece == farHind || st.pen != coat && len(out.dots) < len(st.dots) {
		return stroke{}
	}
	return out
}

// limb draws a limb where its foot is; one of the far side is darker, a little
// ahead and higher.
func (s *step) limb(c *canvas, i int) {
	l, tint, far := s.fore, pale, i&1
	if i >= nearHind {
		l = s.hind
	}
	if far == 1 {
		tint = shade
	}
	f := s.feet[i]
	root := l.root
	b := &bodies[s.Species].bones
	root[0] += min(max((f.x-s.down[0])/4, -48), 40)
	root = s.tipped()(b, trunk, l.root, s.carried()(b, trunk, l.root, root))
	root[0] -= 16 * far
	l.draw(c, s.window, root, dot{l.foot[0] + f.x - 16*far, l.foot[1] + f.y - 10*far}, f.turn, tint)
}

// floorTint is the colour of the ground.
const floorTint = own + 1

// floor draws the ground and marks on it that pass as the animal goes on; they
// are curved where it goes on a circle.
func (s *step) floor(c *canvas, y int) {
	if s.aloft {
		s.ledge(c, y)
		return
	}
	v := s.window
	y += 6
	left, right := v.left-20, v.left+gaitWide*16000/v.scale+20
	mid := (left + right) / 2
	c.trace(v.curve([]dot{{left, y - s.bend, 0}, {mid, y + s.bend/2, 0}, {right, y - s.bend, 0}}, false), lineHalf, floorTint)
	for x := left - left%s.ground + s.gone - s.ground; x < right; x += s.ground / 2 {
		c.trace([]point{v.at(16*x, 16*(y+12)), v.at(16*(x+36), 16*(y+12))}, lineHalf, floorTint)
	}
}

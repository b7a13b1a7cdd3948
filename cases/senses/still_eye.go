package senses

import "fmt"

// Eye is an eye with its lower lid drawn down, and beside it how far it stands
// out when one looks from above. It is dark and shows no pupil, which is looked
// at in a light of its own.
type Eye struct {
	Species   string // dog, cat, horse, cattle or rabbit
	Right     bool   // the inner corner lies to the right
	Discharge int    // 0 none, 1 a dry crumb, 2 watery, 3 grey strings, 4 yellow
	Lids      Lids
	Set       Set
	Lining    int // of the lower lid: 0 pink, 1 pale, 2 red, 3 yellow
	White     Sclera
	Front     Front
	Third     int  // the third eyelid: 0 down, 1 raised, 2 a red bulge
	Creamy    bool // what is thick is whitish
}

// Lids is how the lids lie.
type Lids int

// The lids.
const (
	Fit Lids = iota
	Wart
	TurnedIn
	TurnedOut
	Drooping
	Squeezed
)

// Set is how the eye lies in its socket.
type Set int

// The sets.
const (
	LevelEye Set = iota
	Sunken
	Bulging
	Flicking
)

// Sclera is the white of the eye.
type Sclera int

// The whites.
const (
	ClearWhite Sclera = iota
	Crowded           // thick dark vessels
	YellowWhite
	BloodyWhite
	StrawWhite
)

// Front is the front of the eye.
type Front int

// The fronts.
const (
	ClearFront Front = iota
	Hazy
	Pitted
	Pigmented
	DryFront
)

const (
	eyeX, eyeY = 372, 320 // the middle of the eye
	eyeW, eyeH = 250, 150 // half of its opening
)

// Picture draws the eye; the right one is the left in a mirror.
func (e Eye) Picture() Picture {
	s := drawing()
	if e.Right {
		fmt.Fprintf(s, `<g transform="matrix(-1 0 0 1 %d 0)">`+"\n", 2*eyeX)
	}
	s.shape(coat, dot{10, 10, 1}, dot{734, 10, 1}, dot{734, 710, 1}, dot{10, 710, 1})
	e.lining(s)
	lid := e.opening()
	s.clip("a", pen(`stroke="#2b2025" stroke-width="14"`), lid, func() { e.ball(s) })
	e.brows(s)
	e.runs(s)
	if e.Right {
		s.WriteString("</g>\n")
	}
	e.fromAbove(s)
	return s.Picture()
}

// opening is the gap between the lids, the inner corner to the left.
func (e Eye) opening() []dot {
	up, down := eyeH, eyeH*80/100
	switch e.Lids {
	case Drooping:
		up = eyeH * 5 / 100
	case Squeezed:
		up, down = eyeH*14/100, eyeH*12/100
	}
	if e.Set == Sunken {
		up, down = up*78/100, down*80/100
	}
	if e.Set == Bulging {
		up, down = up*116/100, down*116/100
	}
	return []dot{{eyeX - eyeW, eyeY + 40, 1}, {eyeX - eyeW*62/100, eyeY - up*60/100}, {eyeX, eyeY - up}, {eyeX + eyeW*64/100, eyeY - up*55/100}, {eyeX + eyeW, eyeY + 20, 1},
		{eyeX + eyeW*60/100, eyeY + down*74/100}, {eyeX, eyeY + down}, {eyeX - eyeW*60/100, eyeY + down*80/100}}
}

// lining draws the inside of the lower lid, which a fingertip draws down.
func (e Eye) lining(s *still) {
	c := []RGB{{0xe3, 0x9c, 0xa2}, {0xf3, 0xe6, 0xe2}, {0xb4, 0x2f, 0x33}, {0xe4, 0xc8, 0x6a}}[e.Lining]
	s.shape(filled(c), dot{eyeX - 200, eyeY + 70}, dot{eyeX - 100, eyeY + 110}, dot{eyeX, eyeY + 90}, dot{eyeX + 110, eyeY + 104}, dot{eyeX + 200, eyeY + 64}, dot{eyeX + 150, eyeY + 170}, dot{eyeX, eyeY + 214}, dot{eyeX - 150, eyeY + 176})
	for i := range 5 {
		x := eyeX - 120 + i*60
		s.line(pen(`stroke="`+c.mix(sore, 420).String()+`" stroke-width="4"`), dot{x, eyeY + 196 - i%2*8}, dot{x + 8, eyeY + 160}, dot{x - 4, eyeY + 128})
	}
	if e.Lining == 2 {
		s.line(dark, dot{eyeX - 130, eyeY + 160}, dot{eyeX, eyeY + 176}, dot{eyeX + 130, eyeY + 156})
	}
	s.shape(skin, dot{eyeX - 60, 740, 1}, dot{eyeX - 62, 640}, dot{eyeX - 40, 560}, dot{eyeX, 536}, dot{eyeX + 40, 560}, dot{eyeX + 62, 640}, dot{eyeX + 60, 740, 1})
	s.line(hair, dot{eyeX - 34, 592}, dot{eyeX, 576}, dot{eyeX + 34, 592})
}

// ball draws white, iris, the front of the eye and the third eyelid.
func (e Eye) ball(s *still) {
	s.oval(flat([]RGB{{0xf6, 0xf3, 0xec}, {0xf3, 0xe8, 0xe2}, {0xe2, 0xc2, 0x5c}, {0xf6, 0xf3, 0xec}, {0xf3, 0xe8, 0xba}}[e.White]), eyeX, eyeY, 300, 240)
	e.vessels(s)
	x := eyeX
	if e.Set == Flicking {
		x += 52
	}
	iris := RGB{0x40, 0x29, 0x1a}
	if e.Species == "cat" {
		iris = RGB{0x55, 0x58, 0x2a}
	}
	s.oval(filled(iris), x, eyeY-10, 132, 132)
	e.front(s, x)
	switch e.Third {
	case 0:
		s.line(pen(`stroke="#3c2a2c" stroke-width="9"`), dot{eyeX - 226, eyeY + 4}, dot{eyeX - 206, eyeY + 40}, dot{eyeX - 216, eyeY + 84})
	case 1:
		s.shape(filled(RGB{0xf0, 0xd3, 0xcd}), dot{eyeX - 280, eyeY - 120, 1}, dot{eyeX - 130, eyeY - 110}, dot{eyeX - 76, eyeY + 10}, dot{eyeX - 110, eyeY + 140}, dot{eyeX - 280, eyeY + 160, 1})
	default:
		s.oval(filled(RGB{0xc9, 0x3c, 0x40}), eyeX-176, eyeY+50, 58, 54)
		s.oval(flat(RGB{0xf2, 0xb7, 0xb2}), eyeX-194, eyeY+32, 14, 9)
	}
	if e.Set == Flicking {
		s.poly(pen(`stroke="#fcfaf4" stroke-width="9"`), dot{eyeX - 120, eyeY - 10}, dot{eyeX + 10, eyeY - 10})
		s.poly(pen(`stroke="#fcfaf4" stroke-width="9"`), dot{eyeX - 92, eyeY - 32}, dot{eyeX - 120, eyeY - 10}, dot{eyeX - 92, eyeY + 12})
		s.poly(pen(`stroke="#fcfaf4" stroke-width="9"`), dot{eyeX - 18, eyeY - 32}, dot{eyeX + 10, eyeY - 10}, dot{eyeX - 18, eyeY + 12})
	}
}

// vessels draws those of the white, few and thin or many and thick, and blood on it.
func (e Eye) vessels(s *still) {
	if e.White == BloodyWhite {
		s.shape(filled(RGB{0xb0, 0x18, 0x20}), dot{eyeX + 118, eyeY - 100}, dot{eyeX + 180, eyeY - 90}, dot{eyeX + 260, eyeY - 20}, dot{eyeX + 270, eyeY + 60}, dot{eyeX + 150, eyeY + 100}, dot{eyeX + 124, eyeY + 20})
	}
	n, p := 2, pen(`stroke="#cf7a76" stroke-width="3"`)
	if e.White == Crowded {
		n, p = 6, pen(`stroke="#8e1c22" stroke-width="9"`)
	}
	for i := range n {
		y := eyeY - 90 + i*180/max(n-1, 1)
		s.line(p, dot{eyeX + 250, y}, dot{eyeX + 196, y*3/4 + eyeY/4 + 8}, dot{eyeX + 144, y*6/10 + eyeY*4/10})
		s.line(p, dot{eyeX - 250, y}, dot{eyeX - 196, y*3/4 + eyeY/4 - 6}, dot{eyeX - 144, y*6/10 + eyeY*4/10})
	}
}

// front draws how the front of the eye shines.
func (e Eye) front(s *still, x int) {
	glint := flat(RGB{0xff, 0xff, 0xff})
	switch e.Front {
	case ClearFront:
		s.oval(glint, x-44, eyeY-60, 26, 20)
	case Hazy:
		s.oval(pen(`stroke="none" fill="#b9cbd6" fill-opacity=".72"`), x, eyeY-10, 130, 130)
		s.oval(pen(`stroke="none" fill="#ffffff" fill-opacity=".6"`), x-40, eyeY-54, 58, 26)
	case Pitted:
		s.oval(pen(`stroke="#a6232a" stroke-width="9" fill="#c7c3bd"`), x+34, eyeY-34, 40, 34)
		s.oval(flat(RGB{0x8f, 0x8b, 0x88}), x+36, eyeY-32, 22, 18)
		s.oval(glint, x-60, eyeY-56, 18, 14)
		for i := range 3 {
			s.line(pen(`stroke="#a6232a" stroke-width="4"`), dot{x + 130, eyeY - 90 + i*40}, dot{x + 100, eyeY - 66 + i*26}, dot{x + 76, eyeY - 50 + i*16})
		}
	case Pigmented:
		s.shape(pen(`stroke="none" fill="#150e0b" fill-opacity=".9"`), dot{x - 134, eyeY - 90}, dot{x - 60, eyeY - 80}, dot{x - 10, eyeY - 20}, dot{x - 40, eyeY + 60}, dot{x - 110, eyeY + 100}, dot{x - 140, eyeY})
		s.oval(glint, x+30, eyeY-60, 24, 18)
	default:
		s.oval(pen(`stroke="none" fill="#cfc6b4" fill-opacity=".5"`), x, eyeY-10, 130, 130)
		s.poly(pen(`stroke="#ffffff" stroke-width="7"`), dot{x - 76, eyeY - 64}, dot{x - 56, eyeY - 48}, dot{x - 48, eyeY - 70}, dot{x - 28, eyeY - 46}, dot{x - 18, eyeY - 68}, dot{x + 2, eyeY - 56})
		for i := range 4 {
			s.line(pen(`stroke="#8d8470" stroke-width="4"`), dot{x - 80 + i*44, eyeY + 30}, dot{x - 64 + i*44, eyeY + 44}, dot{x - 74 + i*44, eyeY + 62})
		}
	}
}

// brows draws what the lids do, their lashes, and a hollow about a sunken eye.
func (e Eye) brows(s *still) {
	o := e.opening()
	lashes := 6
	if e.Species == "cat" { // has none to speak of (common practice, no source)
		lashes = 0
	}
	for i := range lashes {
		x, y := eyeX-20+i*42, o[2][1]+i*i*4
		s.line(thin, dot{x, y - 4}, dot{x + 14, y - 34}, dot{x + 34, y - 52})
	}
	switch e.Lids {
	case Wart:
		s.oval(filled(RGB{0x8c, 0x5f, 0x5c}), eyeX+96, o[3][1]-40, 28, 24)
	case TurnedIn:
		s.shape(coat, dot{eyeX - 150, eyeY + 140}, dot{eyeX - 100, eyeY + 66}, dot{eyeX + 60, eyeY + 60}, dot{eyeX + 150, eyeY + 110}, dot{eyeX + 60, eyeY + 160})
		for i := range 9 {
			x := eyeX - 110 + i*28
			s.line(inked, dot{x, eyeY + 78}, dot{x + 6, eyeY + 46}, dot{x + 2, eyeY + 20})
		}
	case TurnedOut:
		s.shape(filled(sore), dot{eyeX - 150, eyeY + 96}, dot{eyeX, eyeY + 128}, dot{eyeX + 150, eyeY + 92}, dot{eyeX + 90, eyeY + 220}, dot{eyeX, eyeY + 262}, dot{eyeX - 90, eyeY + 226})
		s.line(pen(`stroke="#f0b0aa" stroke-width="8"`), dot{eyeX - 60, eyeY + 176}, dot{eyeX, eyeY + 190}, dot{eyeX + 50, eyeY + 178})
	case Drooping:
		s.line(inked, dot{eyeX - 210, eyeY - 40}, dot{eyeX, eyeY - 96}, dot{eyeX + 210, eyeY - 50})
	case Squeezed:
		for i := range 3 {
			s.line(inked, dot{eyeX + 262, eyeY - 30 + i*44}, dot{eyeX + 300, eyeY - 60 + i*60}, dot{eyeX + 330, eyeY - 100 + i*96})
			s.line(inked, dot{eyeX - 160 + i*150, eyeY - 52 - i%2*14}, dot{eyeX - 120 + i*150, eyeY - 84 - i%2*14}, dot{eyeX - 70 + i*150, eyeY - 76})
		}
	}
	if e.Set == Sunken {
		s.line(inked, dot{eyeX - 270, eyeY - 20}, dot{eyeX - 150, eyeY - 160}, dot{eyeX, eyeY - 196}, dot{eyeX + 160, eyeY - 160}, dot{eyeX + 290, eyeY - 10})
		s.line(inked, dot{eyeX - 230, eyeY + 130}, dot{eyeX - 160, eyeY + 220})
		s.line(inked, dot{eyeX + 240, eyeY + 120}, dot{eyeX + 170, eyeY + 216})
	}
}

// runs draws what runs or sticks at the inner corner and below.
func (e Eye) runs(s *still) {
	x, y := eyeX-eyeW+12, eyeY+60
	thick := RGB{0xc9, 0xb4, 0x3e}
	if e.Creamy {
		thick = RGB{0xe9, 0xe2, 0xc6}
	}
	switch e.Discharge {
	case 1:
		s.shape(filled(RGB{0x6b, 0x45, 0x28}), dot{x - 8, y - 10, 1}, dot{x + 20, y - 14, 1}, dot{x + 30, y + 8, 1}, dot{x + 10, y + 24, 1}, dot{x - 12, y + 14, 1})
	case 2:
		s.shape(pen(`stroke="none" fill="#8b6f57" fill-opacity=".45"`), dot{x - 20, y}, dot{x + 30, y + 10}, dot{x + 50, y + 180}, dot{x + 40, y + 330}, dot{x - 50, y + 330}, dot{x - 40, y + 160})
		for i := range 3 {
			s.shape(pen(`class="d" fill="#dfeaf0"`), dot{x + 8 + i*4, y + 10 + i*104, 1}, dot{x + 26 + i*4, y + 52 + i*104}, dot{x + 8 + i*4, y + 72 + i*104}, dot{x - 10 + i*4, y + 52 + i*104})
		}
	case 3:
		for i := range 4 {
			s.line(pen(`stroke="#43282b" stroke-width="17"`), dot{x + 6, y - 4 + i*6}, dot{x + 70 + i*40, y + 46 + i*8}, dot{x + 150 + i*56, y + 58 - i*4})
			s.line(pen(`stroke="#c3c5bf" stroke-width="11"`), dot{x + 6, y - 4 + i*6}, dot{x + 70 + i*40, y + 46 + i*8}, dot{x + 150 + i*56, y + 58 - i*4})
		}
	case 4:
		s.shape(filled(thick), dot{x - 24, y - 30}, dot{x + 36, y - 20}, dot{x + 110, y + 34}, dot{x + 220, y + 60}, dot{x + 370, y + 30}, dot{x + 400, y + 60}, dot{x + 250, y + 110}, dot{x + 110, y + 96}, dot{x + 40, y + 130}, dot{x + 20, y + 210}, dot{x - 14, y + 190}, dot{x - 30, y + 60})
		s.shape(filled(thick), dot{x + 90, y - 118}, dot{x + 180, y - 180}, dot{x + 270, y - 196}, dot{x + 300, y - 168}, dot{x + 200, y - 140}, dot{x + 120, y - 92})
	}
}

// fromAbove draws the brow from above with the eye in it, beside its line.
func (e Eye) fromAbove(s *still) {
	out := map[Set]int{Sunken: -34, Bulging: 44}[e.Set]
	s.oval(blank, 858+out, 200, 62, 62)
	s.oval(solid, 858+out+50, 200, 12, 34)
	s.shape(coat, dot{752, 20, 1}, dot{846, 20, 1}, dot{864, 90}, dot{866, 138}, dot{846, 200}, dot{866, 262}, dot{864, 330}, dot{840, 430}, dot{752, 440, 1})
	s.poly(pen(`class="g" stroke-dasharray="4 12"`), dot{914, 20}, dot{914, 440})
}

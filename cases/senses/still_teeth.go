package senses

import "slices"

// Teeth are the cheek teeth, canines and front teeth of a dog or a cat seen from
// the left, lips lifted, as they can be judged in a conscious animal.
type Teeth struct {
	Species  string // dog or cat
	Gum      string // its colour, a choice of mm.colour; another is healthy
	Tartar   int    // 0 none to 3
	Redness  int    // of the edge of the gum, 0 none to 3
	Receded  int    // 0 covered, 1 slightly, 2 far with bare roots
	Crown    Crown
	Bite     Bite
	Resorbed int // of one lower cheek tooth: 0 none, 1 a notch, 2 a stump
}

// Crown is what has happened to a crown.
type Crown int

// The crowns.
const (
	Whole Crown = iota
	Worn
	Broken
	Missing
)

// Bite is how upper and lower teeth meet.
type Bite int

// The bites: of dogs and cats the first four.
const (
	Scissor Bite = iota
	Level
	CanineInward
	DoubleCanine
)

var (
	healthyGum = RGB{0xe3, 0x9c, 0xa2}
	sore       = RGB{0xb9, 0x2c, 0x2f}
	blood      = RGB{0x9a, 0x17, 0x1d}
)

// gumOf is the colour of the gum about teeth: like that above them, by the choice of
// mm.colour. A healthy one is a little deeper there, where lamp and lip stain less.
func gumOf(choice string) RGB {
	c, ok := tissue[choice]
	if !ok || choice == "pink" {
		return healthyGum
	}
	return c
}

// Picture draws both rows.
func (t Teeth) Picture() Picture {
	s := drawing()
	upper, lower, big := dogUpper, dogLower, 6
	if t.Species == "cat" {
		upper, lower, big = catUpper, catLower, 5
	}
	breaks := carnassial
	if t.Species == "cat" {
		breaks = canine
	}
	frame := []dot{{20, 360}, {40, 120}, {160, 40}, {480, 20}, {800, 40}, {930, 130}, {948, 360}, {930, 590}, {800, 680}, {480, 700}, {160, 680}, {40, 600}}
	s.shape(coat, dot{2, 2, 1}, dot{958, 2, 1}, dot{958, 718, 1}, dot{2, 718, 1})
	s.clip("a", pen(`class="d" stroke-width="14"`), frame, func() {
		s.oval(flat(mouth), 480, 360, 600, 500)
		up := jaw{teeth: upper, edge: 250, top: -10, left: -10, right: 980, gum: gumOf(t.Gum), worn: t.Crown == Worn}
		down := jaw{teeth: lower, edge: 720 - 480, top: -10, left: -10, right: 980, gum: gumOf(t.Gum), worn: t.Crown == Worn}
		t.meet(&up, &down)
		big += len(up.teeth) - len(upper)
		if t.Crown == Broken {
			up.broken = slices.IndexFunc(up.teeth, func(c tooth) bool { return c.crown == breaks }) + 1
		}
		t.recess(&up, &down, big)
		up.worked = func(s *still, i int, c tooth, y int) { t.onCrown(s, i, c, y, big, "u") }
		down.worked = func(s *still, i int, c tooth, y int) { t.onCrown(s, i+20, c, y, big+20, "l") }
		if t.Crown == Missing {
			up.skip = big
		}
		s.flipped(func() { t.row(s, down); t.resorb(s, down) })
		t.row(s, up)
		if t.Bite == CanineInward {
			s.inward(gumOf(t.Gum))
		}
	})
	return s.Picture()
}

// meet sets how far the front teeth pass each other.
func (t Teeth) meet(up, down *jaw) {
	switch t.Bite {
	case Scissor:
		return
	case CanineInward:
		down.teeth = slices.Clone(down.teeth)
		down.teeth[3].x, down.teeth[3].half, down.teeth[3].length = up.teeth[3].x+44, 30, 250
		if t.Species != "cat" {
			down.teeth[4].x, down.teeth[4].half = 384, 10
		}
		return
	case DoubleCanine:
		c := up.teeth[3]
		up.teeth = slices.Insert(slices.Clone(up.teeth), 4, tooth{canine, c.x + 66, 16, c.length * 62 / 100})
		up.teeth[5].x += 18
		return
	}
	level := func(teeth []tooth, to int) []tooth {
		out := slices.Clone(teeth)
		for i := range 3 {
			out[i].length = to
		}
		return out
	}
	up.teeth, down.teeth = level(up.teeth, 112), level(down.teeth, 114)
	for i := range 3 {
		down.teeth[i].x = up.teeth[i].x
	}
}

// recess draws the gum back: at one tooth, or far at the cheek teeth.
func (t Teeth) recess(up, down *jaw, big int) {
	up.recede, down.recede = make([]int, len(up.teeth)), make([]int, len(down.teeth))
	switch t.Receded {
	case 1:
		up.recede[big+1] = 34
	case 2:
		for i := big - 1; i < len(up.teeth); i++ {
			up.recede[i] = 76
		}
		up.recede[big+1] = 112
		down.recede[len(down.teeth)-1], down.recede[len(down.teeth)-2] = 70, 60
	}
}

// row draws teeth and gum, and the edge of the gum as red as it is.
func (t Teeth) row(s *still, j jaw) {
	s.jaw(j)
	m := j.margin()
	switch t.Redness {
	case 0:
		s.path(pen(`stroke="#f2c3c5" stroke-width="7"`), m, false)
	case 1:
		s.path(pen(`stroke="#c83a3f" stroke-width="9"`), m, false)
	case 2:
		s.path(pen(`stroke="#43282b" stroke-width="30"`), m, false)
		s.path(pen(`stroke="#c4373a" stroke-width="22"`), m, false)
		for i := range j.teeth {
			x := j.teeth[i].x
			s.line(pen(`stroke="#f6c9c4" stroke-width="6"`), dot{x - 12, j.edge - 12 - j.back(i)}, dot{x + 8, j.edge - 14 - j.back(i)})
		}
	default:
		s.path(pen(`stroke="#43282b" stroke-width="38"`), m, false)
		s.path(pen(`stroke="#8e1c22" stroke-width="30"`), m, false)
		t.bleeds(s, j)
	}
}

// bleeds draws a ragged edge and blood upon the crowns.
func (t Teeth) bleeds(s *still, j jaw) {
	for i, c := range j.teeth {
		if i+1 == j.skip {
			continue
		}
		y := j.edge - j.back(i)
		s.shape(flat(RGB{0x8e, 0x1c, 0x22}), dot{c.x - c.half - 6, y + 4, 1}, dot{c.x - c.half/2, y + 30, 1}, dot{c.x - c.half/5, y + 8, 1}, dot{c.x + c.half/3, y + 26, 1}, dot{c.x + c.half, y + 2, 1})
		if i%3 == 1 || c.half > 50 {
			s.shape(flat(blood), dot{c.x - 9, y + 10}, dot{c.x + 9, y + 10}, dot{c.x + 8, y + 52}, dot{c.x, y + 66}, dot{c.x - 8, y + 52})
		}
	}
}

// onCrown draws what lies on a crown or is off it. A crown beyond the canine is
// a cheek tooth; big is the place of the largest.
func (t Teeth) onCrown(s *still, i int, c tooth, y, big int, row string) {
	if t.Tartar > 0 && c.crown != incisor {
		t.crust(s, i, c, y, row)
	}
	if t.Crown != Broken {
		return
	}
	if t.Species == "cat" && c.crown == canine && row == "u" {
		s.oval(flat(RGB{0x35, 0x18, 0x1a}), c.x, y+c.length*42/100, 9, 9)
	}
	if t.Species != "cat" && c.crown == carnassial && row == "u" {
		s.shape(filled(dentin), dot{c.x - c.half*80/100, y + c.length*24/100, 1}, dot{c.x - c.half*10/100, y + c.length*10/100}, dot{c.x + c.half*10/100, y + c.length*48/100, 1}, dot{c.x + c.half*2/100, y + c.length*36/100, 1}, dot{c.x - c.half*24/100, y + c.length*44/100, 1}, dot{c.x - c.half*50/100, y + c.length*28/100, 1})
		s.oval(flat(RGB{0x35, 0x18, 0x1a}), c.x-c.half*22/100, y+c.length*28/100, 12, 10)
	}
}

// crust is tartar on a crown: a tan rim, half of it, or all.
func (t Teeth) crust(s *still, i int, c tooth, y int, row string) {
	share := []int{0, 17, 52, 92}[t.Tartar]
	colour := []RGB{{}, {0xcf, 0xa8, 0x62}, {0xa0, 0x70, 0x38}, {0x74, 0x4e, 0x2a}}[t.Tartar]
	if c.crown == canine || c.crown == premolar && c.half < 44 {
		share = share * 6 / 10
	}
	d := y + c.length*share/100
	h := c.half
	id := row + string(rune('a'+i%20))
	s.clip(id, dark, c.outline(y, t.Crown == Worn), func() {
		s.shape(pen(`class="e" fill="`+colour.String()+`"`), dot{c.x - h - 6, y - 20, 1}, dot{c.x + h + 6, y - 20, 1}, dot{c.x + h + 6, d - 6}, dot{c.x + h/2, d + 7}, dot{c.x, d - 4}, dot{c.x - h/2, d + 6}, dot{c.x - h - 6, d - 4})
	})
}

// inward draws, in a corner, the mouth from the front: one lower canine leans
// inwards and has dented the roof.
func (s *still) inward(gum RGB) {
	s.oval(pen(`fill="`+mouth.String()+`" stroke="#43282b" stroke-width="10"`), 480, 596, 190, 112)
	s.shape(filled(gum), dot{310, 560, 1}, dot{350, 500}, dot{480, 486}, dot{610, 500}, dot{650, 560, 1}, dot{600, 556}, dot{480, 534}, dot{360, 556})
	s.shape(filled(gum), dot{318, 640, 1}, dot{400, 656}, dot{480, 660}, dot{560, 656}, dot{642, 640, 1}, dot{590, 694}, dot{480, 708}, dot{370, 694})
	s.shape(filled(enamel), dot{352, 654, 1}, dot{340, 590}, dot{330, 552, 1}, dot{368, 596}, dot{392, 660, 1})
	s.shape(filled(enamel), dot{604, 656, 1}, dot{584, 600}, dot{530, 538, 1}, dot{548, 604}, dot{562, 662, 1})
	s.oval(filled(sore), 524, 532, 26, 12)
}

// resorb draws a lower cheek tooth that is eaten away at its neck. It draws
// upside down.
func (t Teeth) resorb(s *still, j jaw) {
	c := j.teeth[len(j.teeth)-2]
	switch t.Resorbed {
	case 1:
		s.shape(filled(sore), dot{c.x - 6, j.edge - 20}, dot{c.x - 34, j.edge + 16}, dot{c.x - 8, j.edge + 50}, dot{c.x + 22, j.edge + 40}, dot{c.x + 28, j.edge + 6})
	case 2:
		s.shape(pen(`stroke="none" fill="`+mouth.String()+`"`), dot{c.x - c.half - 8, j.edge + 18, 1}, dot{c.x + c.half + 8, j.edge + 18, 1}, dot{c.x + c.half + 8, j.edge + c.length + 10, 1}, dot{c.x - c.half - 8, j.edge + c.length + 10, 1})
		s.shape(filled(enamel), dot{c.x - 30, j.edge, 1}, dot{c.x - 32, j.edge + 34, 1}, dot{c.x - 14, j.edge + 26, 1}, dot{c.x - 4, j.edge + 46, 1}, dot{c.x + 14, j.edge + 22, 1}, dot{c.x + 30, j.edge + 36, 1}, dot{c.x + 30, j.edge, 1})
		s.shape(filled(sore), dot{c.x - c.half - 6, j.edge - 10}, dot{c.x - 40, j.edge + 26}, dot{c.x - 6, j.edge + 18}, dot{c.x + 16, j.edge + 8}, dot{c.x + 44, j.edge + 24}, dot{c.x + c.half + 6, j.edge - 10})
	}
}

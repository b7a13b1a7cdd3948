package senses

// EarCanal is the canal of an ear through the cone of an otoscope.
type EarCanal struct {
	Canal Canal
	Drum  Drum
}

// Canal is what the canal is like.
type Canal int

// The canals.
const (
	OpenCanal   Canal = iota
	RedNarrowed       // walls red and swollen
	FilledCanal       // paste to the bend
	StalkCanal        // a barbed stalk stands in it
	KnobCanal         // a smooth pink knob fills it
)

// Drum is what is seen at the end of the canal.
type Drum int

// The drums.
const (
	GreySheet   Drum = iota
	DrumUnseen       // the bend hides it
	BulgingDrum      // bowed out, dull
	TornDrum         // a ragged gap
)

// Picture draws what stands in the cone: a round field.
func (e EarCanal) Picture() Picture {
	s := drawing()
	s.clip("a", pen(`stroke-width="16"`), round(480, 360, 340, 340), func() { e.field(s) })
	return s.Picture()
}

// round is an ellipse as dots.
func round(x, y, rx, ry int) []dot {
	var out []dot
	for i := range 12 {
		t := i * (1 << 16) / 12
		out = append(out, dot{x + rx*bhaskara(t+1<<14)/(1<<15), y + ry*bhaskara(t)/(1<<15)})
	}
	return out
}

var (
	wallPink = RGB{0xec, 0xc2, 0xb6}
	wallRed  = RGB{0xc0, 0x50, 0x4a}
	depth    = RGB{0x4a, 0x2d, 0x2d}
)

// field draws walls, opening, and what stands in them.
func (e EarCanal) field(s *still) {
	wall, wide := wallPink, 176
	if e.Canal == RedNarrowed {
		wall, wide = wallRed, 62
	}
	s.oval(flat(wall), 480, 360, 360, 360)
	s.oval(flat(wall.mix(depth, 120)), 488, 354, wide+(330-wide)/2, (wide+(330-wide)/2)*96/100)
	s.oval(filled(wall.mix(depth, 480)), 500, 346, wide, wide*96/100)
	if e.Canal != FilledCanal && e.Canal != KnobCanal {
		e.end(s, wide)
	}
	switch e.Canal {
	case RedNarrowed:
		s.swollen()
	case FilledCanal:
		s.paste()
	case StalkCanal:
		s.stalk()
	case KnobCanal:
		s.knob()
	}
}

// end draws the end of the canal.
func (e EarCanal) end(s *still, wide int) {
	x, y, r := 504, 342, wide*84/100
	grey := RGB{0xc6, 0xc9, 0xc6}
	switch e.Drum {
	case GreySheet, TornDrum:
		s.oval(filled(grey), x, y, r, r*94/100)
		s.shape(flat(RGB{0xe0, 0xc4, 0xba}), dot{x - r*6/10, y - r*6/10, 1}, dot{x, y - r*9/10}, dot{x + r*6/10, y - r*6/10, 1}, dot{x, y - r*45/100})
		s.line(pen(`stroke="#fbf7ea" stroke-width="12"`), dot{x + r*5/10, y - r*55/100}, dot{x + r*15/100, y - r*20/100}, dot{x - r*5/100, y + r*20/100}, dot{x - r*22/100, y + r*34/100})
	case BulgingDrum:
		s.oval(filled(RGB{0xd2, 0xb8, 0x6a}), x, y, r*108/100, r*104/100)
		s.oval(flat(RGB{0xdf, 0xc9, 0x86}), x-r/10, y-r/12, r*75/100, r*70/100)
		s.line(pen(`stroke="#f4e8c0" stroke-width="14"`), dot{x - r*6/10, y - r*2/10}, dot{x - r*4/10, y - r*5/10}, dot{x - r*1/10, y - r*64/100})
		s.line(hair, dot{x + r*7/10, y + r*3/10}, dot{x + r*4/10, y + r*65/100}, dot{x - r*1/10, y + r*8/10})
	case DrumUnseen:
		s.oval(flat(depth), x, y, r, r*94/100)
		s.shape(filled(wallPink.mix(depth, 250)), dot{x - r*110/100, y + r*40/100}, dot{x - r*30/100, y - r*15/100}, dot{x + r*50/100, y - r*5/100}, dot{x + r*110/100, y + r*50/100}, dot{x, y + r*115/100})
	}
	if e.Drum == TornDrum {
		s.shape(filled(RGB{0x2a, 0x16, 0x17}), dot{x - r*35/100, y + r*45/100, 1}, dot{x - r*20/100, y + r*20/100, 1}, dot{x - r*2/100, y + r*32/100, 1}, dot{x + r*18/100, y + r*5/100, 1},
			dot{x + r*40/100, y + r*22/100, 1}, dot{x + r*60/100, y + r*12/100, 1}, dot{x + r*56/100, y + r*45/100, 1}, dot{x + r*34/100, y + r*52/100, 1}, dot{x + r*22/100, y + r*72/100, 1}, dot{x - r*10/100, y + r*62/100, 1})
	}
}

// swollen draws the cushions that press into the opening.
func (s *still) swollen() {
	for i, p := range [][4]int{{400, 250, 110, 84}, {600, 262, 104, 92}, {652, 420, 88, 100}, {520, 486, 122, 78}, {356, 410, 96, 106}} {
		s.oval(filled(wallRed.mix(depth, 60*(i%2))), p[0], p[1], p[2], p[3])
	}
	for _, p := range [][2]int{{360, 220}, {620, 226}, {486, 494}} {
		s.line(pen(`stroke="#e79a90" stroke-width="9"`), dot{p[0], p[1]}, dot{p[0] + 22, p[1] - 14}, dot{p[0] + 50, p[1] - 16})
	}
}

// paste draws what fills the canal.
func (s *still) paste() {
	brown := RGB{0x6a, 0x47, 0x2c}
	s.shape(filled(brown), dot{316, 330}, dot{350, 240}, dot{430, 190}, dot{510, 176}, dot{600, 196}, dot{662, 262}, dot{690, 350}, dot{660, 450}, dot{590, 520}, dot{490, 548}, dot{390, 510}, dot{330, 430})
	for _, p := range [][4]int{{420, 290, 60, 34}, {560, 300, 50, 40}, {500, 420, 78, 44}, {400, 420, 36, 26}, {600, 410, 36, 30}} {
		s.oval(flat(brown.mix(RGB{0xb0, 0x86, 0x50}, 330)), p[0], p[1], p[2], p[3])
		s.oval(flat(brown.mix(RGB{0xd8, 0xb8, 0x80}, 600)), p[0]-p[2]/3, p[1]-p[3]/3, p[2]/4, p[3]/5)
	}
}

// stalk draws a barbed stalk of grass from the front into the depth.
func (s *still) stalk() {
	straw := RGB{0xe9, 0xd9, 0x92}
	s.shape(filled(straw), dot{240, 560, 1}, dot{272, 600, 1}, dot{420, 452}, dot{528, 330, 1}, dot{396, 430})
	for i := range 5 {
		x, y := 290+i*44, 552-i*42
		s.poly(pen(`stroke="#43282b" stroke-width="10"`), dot{x, y}, dot{x - 66 + i*6, y - 26 + i*2})
		s.poly(pen(`stroke="#43282b" stroke-width="10"`), dot{x + 14, y + 14}, dot{x + 6, y + 80 - i*8})
		s.poly(pen(`stroke="`+straw.String()+`" stroke-width="4"`), dot{x, y}, dot{x - 66 + i*6, y - 26 + i*2})
		s.poly(pen(`stroke="`+straw.String()+`" stroke-width="4"`), dot{x + 14, y + 14}, dot{x + 6, y + 80 - i*8})
	}
}

// knob draws a smooth knob that fills the way.
func (s *still) knob() {
	pink := RGB{0xde, 0x86, 0x8e}
	s.shape(filled(pink), dot{352, 420}, dot{360, 300}, dot{430, 222}, dot{520, 206}, dot{612, 246}, dot{652, 330}, dot{640, 430}, dot{570, 500}, dot{470, 516}, dot{390, 484})
	s.oval(flat(pink.mix(RGB{0xff, 0xff, 0xff}, 350)), 450, 300, 62, 40)
	s.oval(flat(RGB{0xff, 0xff, 0xff}), 436, 290, 22, 12)
	s.line(hair, dot{600, 430}, dot{560, 470}, dot{500, 486})
}

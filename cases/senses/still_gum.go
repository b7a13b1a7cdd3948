package senses

// Gum is the gum above the teeth with the lip lifted; of cattle below the front
// teeth with the lip drawn down.
type Gum struct {
	Species string
	Colour  string // a choice of mm.colour
	Rim     bool   // a purple line along the teeth
	Spots   Spots
	Drying  int // 0 moist, 1 tacky, 2 dry
}

// Spots are marks on the gum.
type Spots int

// The marks.
const (
	NoSpots  Spots = iota
	Pigment        // flat black patches with a clear edge
	Pinpoint       // red dots
	Blotches       // purple, with blurred edges
)

// Picture draws the mouth from the side, of hoofed animals and the rabbit from the front.
func (g Gum) Picture() Picture {
	s := drawing()
	if g.Species == "cattle" {
		s.flipped(func() { g.mouth(s, cowRow) })
		return s.Picture()
	}
	row := map[string][]tooth{"dog": dogUpper, "cat": catUpper, "horse": horseRow, "rabbit": hareRow}[g.Species]
	if row != nil {
		g.mouth(s, row)
	}
	return s.Picture()
}

// mouth draws lip, gum and teeth, and what lies on the gum.
func (g Gum) mouth(s *still, row []tooth) {
	c := tissue[g.Colour]
	frame := []dot{{40, 420}, {70, 200}, {180, 110}, {480, 84}, {780, 110}, {890, 200}, {920, 420}, {860, 600}, {480, 640}, {100, 600}}
	s.shape(coat, dot{8, 700, 1}, dot{8, 120}, dot{160, 40}, dot{480, 16}, dot{800, 40}, dot{952, 120}, dot{952, 700, 1})
	s.clip("a", pen(`class="d" stroke-width="14"`), frame, func() {
		s.oval(flat(mouth), 480, 400, 470, 400)
		s.path(flat(c.mix(RGB{0xff, 0xff, 0xff}, 120)), frame, true)
		s.oval(flat(mouth), 480, 660, 600, 190)
		g.beyond(s)
		j := jaw{teeth: row, edge: 400, top: 190, left: 10, right: 950, gum: c}
		s.jaw(j)
		s.line(hair, dot{120, 190}, dot{480, 176}, dot{840, 190})
		if g.Rim {
			s.path(pen(`stroke="#6d3568" stroke-width="22"`), j.margin(), false)
		}
		g.marks(s)
		g.wet(s)
	})
	s.fingers()
}

// beyond is what stands opposite the row: the other jaw, or the pad of cattle.
func (g Gum) beyond(s *still) {
	if g.Species == "cattle" {
		s.shape(filled(RGB{0xd9, 0xb9, 0xa8}), dot{60, 690}, dot{160, 606}, dot{480, 580}, dot{800, 606}, dot{900, 690})
		return
	}
	s.shape(behindLip, dot{20, 740}, dot{160, 640}, dot{480, 610}, dot{800, 640}, dot{940, 740})
}

// behindLip is the lower lip.
const behindLip = behind

// fingers hold the lip.
func (s *still) fingers() {
	s.shape(skin, dot{330, -20, 1}, dot{480, -20, 1}, dot{486, 60}, dot{460, 118}, dot{404, 136}, dot{350, 112}, dot{330, 50})
	s.line(hair, dot{362, 92}, dot{404, 74}, dot{450, 92})
	s.line(hair, dot{362, 96}, dot{380, 122}, dot{428, 124}, dot{450, 96})
}

// places are where marks lie on the gum, spread without an order.
var places = [][2]int{{138, 262}, {214, 318}, {262, 236}, {344, 290}, {372, 350}, {452, 244}, {470, 322}, {540, 284}, {588, 352}, {618, 232}, {672, 300}, {726, 254}, {762, 334}, {826, 270}, {180, 226}, {300, 352}, {420, 380}, {690, 372}, {508, 216}, {790, 222}}

// marks draws the spots.
func (g Gum) marks(s *still) {
	switch g.Spots {
	case Pigment:
		black := flat(RGB{0x2f, 0x27, 0x2b})
		s.shape(black, dot{110, 250}, dot{170, 212}, dot{236, 240}, dot{250, 290}, dot{196, 330}, dot{126, 310})
		s.shape(black, dot{520, 220}, dot{600, 206}, dot{660, 240}, dot{640, 300}, dot{570, 296}, dot{530, 268})
		s.shape(black, dot{760, 290}, dot{820, 270}, dot{850, 320}, dot{806, 356}, dot{764, 336})
	case Pinpoint:
		for i, p := range places {
			s.oval(flat(RGB{0x9c, 0x14, 0x22}), p[0], p[1], 7+i%3, 7+i%3)
			s.oval(flat(RGB{0x9c, 0x14, 0x22}), p[0]+30-i%5*4, p[1]+14-i%4*9, 5, 5)
		}
	case Blotches:
		for i, p := range places[:14] {
			if i%2 == 1 {
				continue
			}
			s.shape(pen(`stroke="none" fill="#6a2a5e" fill-opacity=".38"`), dot{p[0] - 54, p[1]}, dot{p[0] - 20, p[1] - 34}, dot{p[0] + 36, p[1] - 24}, dot{p[0] + 52, p[1] + 12}, dot{p[0] + 8, p[1] + 36}, dot{p[0] - 38, p[1] + 26})
			s.shape(pen(`stroke="none" fill="#5a1f50" fill-opacity=".75"`), dot{p[0] - 34, p[1] + 2}, dot{p[0] - 10, p[1] - 20}, dot{p[0] + 24, p[1] - 14}, dot{p[0] + 32, p[1] + 8}, dot{p[0] + 4, p[1] + 22})
		}
	}
}

// wet draws how the gum shines: long glints when moist, none and fine cracks
// when dry, strings where it is tacky.
func (g Gum) wet(s *still) {
	glint := pen(`stroke="#ffffff" stroke-width="13"`)
	switch g.Drying {
	case 0:
		s.line(glint, dot{150, 236}, dot{250, 214}, dot{350, 208})
		s.line(glint, dot{392, 206}, dot{420, 206})
		s.line(glint, dot{590, 212}, dot{690, 218}, dot{780, 236})
		s.line(glint, dot{430, 300}, dot{480, 296}, dot{530, 300})
	case 1:
		s.line(pen(`stroke="#ffffff" stroke-width="6"`), dot{210, 222}, dot{250, 216})
		s.line(pen(`stroke="#ffffff" stroke-width="6"`), dot{690, 218}, dot{730, 226})
		for i := range 3 {
			x := 300 + i*170
			s.line(pen(`stroke="#ffffff" stroke-width="4"`), dot{x, 196}, dot{x + 6, 226}, dot{x - 2, 262})
		}
	default:
		for i := range 9 {
			x, y := 130+i*88, 226+i%3*44
			s.line(hair, dot{x, y, 1}, dot{x + 22, y + 16, 1}, dot{x + 14, y + 38, 1})
			s.line(hair, dot{x + 22, y + 16, 1}, dot{x + 48, y + 10, 1})
		}
	}
}

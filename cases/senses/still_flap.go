package senses

// Flap is the inner face of an ear with its opening, the flap held up.
type Flap struct {
	Species   string
	Skin      FlapSkin
	Discharge int  // 0 none, 1 a trace of wax, 2 brown paste, 3 dark crumbs, 4 yellow and runny
	Redness   int  // 0 none, 1 mild, 2 marked
	Layered   bool // crumbs lie in layers like bran, and what runs is creamy
}

// FlapSkin is what the flap itself is like.
type FlapSkin int

// The skins of a flap.
const (
	SmoothFlap FlapSkin = iota
	CrustedRim
	Cushion
	Scratched
)

// flaps are the outlines by species, the opening at 480, 560 (drawn freehand).
var flaps = map[string][]dot{
	"dog":    {{330, 640}, {290, 480}, {250, 300}, {300, 120}, {440, 56}, {580, 90}, {680, 220}, {700, 400}, {660, 560}, {620, 640}},
	"cat":    {{300, 640}, {270, 480}, {330, 260}, {480, 40, 1}, {620, 240}, {690, 460}, {670, 640}},
	"horse":  {{380, 650}, {330, 500}, {350, 300}, {480, 30, 1}, {600, 220}, {640, 440}, {590, 650}},
	"cattle": {{360, 650}, {260, 500}, {240, 320}, {330, 160}, {520, 50, 1}, {640, 190}, {700, 360}, {680, 520}, {600, 650}},
	"rabbit": {{410, 660}, {370, 520}, {360, 300}, {400, 110}, {480, 30}, {560, 100}, {610, 300}, {600, 520}, {560, 660}},
}

// Picture draws the flap.
func (f Flap) Picture() Picture {
	s := drawing()
	o, ok := flaps[f.Species]
	if !ok {
		return s.Picture()
	}
	s.shape(coat, dot{60, 730, 1}, dot{120, 650}, dot{300, 600}, dot{480, 590}, dot{680, 600}, dot{860, 660}, dot{900, 730, 1})
	s.path(coat, o, true)
	c := []RGB{{0xf0, 0xd2, 0xc8}, {0xe8, 0xa9, 0xa4}, {0xc2, 0x4f, 0x4c}}[f.Redness]
	inner := shrink(o, 800)
	s.clip("a", dark, inner, func() {
		s.path(flat(c), inner, true)
		f.folds(s, c)
	})
	f.skin(s, o, c)
	f.opening(s, c)
	s.shape(skin, dot{740, 60, 1}, dot{664, 110}, dot{612, 170}, dot{606, 210}, dot{640, 226}, dot{700, 196}, dot{790, 160, 1}, dot{970, 150, 1}, dot{970, 10, 1})
	s.line(hair, dot{622, 186}, dot{640, 176}, dot{656, 196})
	return s.Picture()
}

// shrink is an outline drawn in towards its middle.
func shrink(o []dot, share int) []dot {
	out := make([]dot, len(o))
	for i, d := range o {
		out[i] = dot{480 + (d[0]-480)*share/1000, 400 + (d[1]-400)*share/1000, d[2]}
	}
	return out
}

// folds are the ridges of the skin, thick when it is very red.
func (f Flap) folds(s *still, c RGB) {
	p := pen(`stroke="` + c.mix(depth, 260).String() + `" stroke-width="4"`)
	n := 3
	if f.Redness == 2 {
		n = 6
		p = pen(`stroke="` + c.mix(depth, 380).String() + `" stroke-width="12"`)
	}
	for i := range n {
		x := 400 + i*160/(n-1)
		s.line(p, dot{x, 470}, dot{x + (x-480)/6, 380}, dot{x + (x-480)/3, 290 - i%2*40})
	}
}

// skin draws the rim, a cushion of fluid, or scratches.
func (f Flap) skin(s *still, o []dot, c RGB) {
	switch f.Skin {
	case CrustedRim:
		rim := shrink(o, 960)
		for i := 1; i < len(rim)-2; i++ {
			for k := range 3 {
				d := between(rim[i], rim[i+1], k*333)
				s.shape(filled(RGB{0xb0, 0x86, 0x52}), dot{d[0] - 20, d[1] - 4, 1}, dot{d[0] - 4, d[1] - 18, 1}, dot{d[0] + 18, d[1] - 8, 1}, dot{d[0] + 14, d[1] + 14, 1}, dot{d[0] - 10, d[1] + 16, 1})
			}
		}
	case Cushion:
		s.shape(filled(c.mix(RGB{0xff, 0xff, 0xff}, 180)), dot{392, 300}, dot{420, 180}, dot{490, 150}, dot{560, 200}, dot{584, 310}, dot{560, 420}, dot{480, 450}, dot{410, 410})
		s.line(pen(`stroke="#ffffff" stroke-width="12"`), dot{430, 250}, dot{450, 210}, dot{486, 190})
		s.line(hair, dot{556, 360}, dot{530, 410}, dot{480, 426})
	case Scratched:
		for i := range 5 {
			x, y := 410+i*30, 190+i*34
			s.line(pen(`stroke="#9a171d" stroke-width="7"`), dot{x, y}, dot{x + 18, y + 40}, dot{x + 26, y + 92})
			s.shape(flat(RGB{0x5c, 0x2c, 0x20}), dot{x + 10, y + 30, 1}, dot{x + 28, y + 40, 1}, dot{x + 30, y + 60, 1}, dot{x + 14, y + 52, 1})
		}
	}
}

// opening draws the way in and what is in it.
func (f Flap) opening(s *still, c RGB) {
	s.shape(filled(c.mix(depth, 160)), dot{380, 560}, dot{410, 490}, dot{480, 466}, dot{550, 490}, dot{580, 560}, dot{550, 630}, dot{480, 650}, dot{410, 630})
	s.shape(filled(depth), dot{424, 566}, dot{440, 520}, dot{480, 504}, dot{520, 520}, dot{536, 566}, dot{516, 608}, dot{480, 618}, dot{444, 608})
	wax := RGB{0x5e, 0x3c, 0x22}
	switch f.Discharge {
	case 1:
		s.shape(flat(RGB{0xc9, 0x9a, 0x58}), dot{410, 540}, dot{430, 512}, dot{446, 520}, dot{430, 560})
		s.shape(flat(RGB{0xc9, 0x9a, 0x58}), dot{520, 600}, dot{548, 586}, dot{550, 604}, dot{530, 622})
	case 2:
		s.shape(filled(wax), dot{388, 560}, dot{420, 494}, dot{480, 476}, dot{540, 498}, dot{572, 566}, dot{556, 640}, dot{500, 676}, dot{440, 664}, dot{404, 630})
		s.line(pen(`stroke="#a8814e" stroke-width="10"`), dot{430, 540}, dot{470, 520}, dot{510, 528})
		s.shape(flat(wax), dot{540, 500}, dot{580, 430}, dot{596, 440}, dot{570, 520})
	case 3:
		for i := range 26 {
			x, y := 400+i*37%160, 500+i*53%150
			if f.Layered {
				s.shape(filled(RGB{0x9b, 0x76, 0x48}), dot{x - 26, y, 1}, dot{x, y - 14, 1}, dot{x + 28, y - 4, 1}, dot{x + 24, y + 10, 1}, dot{x - 20, y + 12, 1})
				continue
			}
			s.shape(flat(RGB{0x26, 0x18, 0x12}), dot{x - 10, y, 1}, dot{x - 2, y - 10, 1}, dot{x + 12, y - 4, 1}, dot{x + 8, y + 10, 1})
		}
	case 4:
		pus := RGB{0xcc, 0xb6, 0x3c}
		if f.Layered {
			pus = RGB{0xee, 0xe6, 0xcc}
		}
		s.shape(filled(pus), dot{410, 560}, dot{440, 520}, dot{500, 510}, dot{544, 550}, dot{548, 620}, dot{566, 690}, dot{540, 716}, dot{516, 660}, dot{480, 640}, dot{450, 700}, dot{424, 706}, dot{420, 630})
	}
}

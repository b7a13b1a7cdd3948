package senses

// Face is an animal's face while a hand is on it: ears, eyes, muzzle and the
// turn of the head.
//
// Which features change is taken from published work; nothing of its drawings,
// words or scores: ears turned out and flattened, eyes narrowed, muzzle tense,
// whiskers straight, head low in the cat (Evangelista et al., Sci Rep 2019, known
// as open, its list of five features from memory); stiff ears, narrowed eyes,
// strained mouth and chin, wide nostrils in the horse, and narrowed eyes, flat
// cheeks and ears laid back in the rabbit (their grimace scales, from memory).
// Lip licking, a turn to the hand and shown teeth in the dog, and all of cattle:
// common practice, no source.
type Face struct {
	Species  string
	Strength int // 0 none to 4 extreme
}

// mien is what a face does. Thousandths, except where it says otherwise.
type mien struct {
	ears  int // 0 at ease to 1000 flat
	open  int // how far the eyes are open
	tense int // muzzle and whiskers
	turn  int // units towards the hand, away below 0
	draw  int // units the head is drawn away from the hand
	mouth lips
}

// lips is what the mouth does.
type lips int

const (
	shut  lips = iota
	licks      // the tip of the tongue over the lip
	tight      // corners drawn back, chin strained
	teeth      // lips lifted
	agape      // open in a cry
)

// miens are the faces by species, from none to extreme.
var miens = map[string][5]mien{
	"dog":    {{0, 1000, 0, 0, 0, shut}, {220, 930, 200, 14, 0, licks}, {480, 720, 520, 60, 0, tight}, {820, 470, 850, -46, 70, teeth}, {1000, 300, 1000, 54, 40, agape}},
	"cat":    {{0, 1000, 0, 0, 0, shut}, {230, 820, 220, 12, 0, shut}, {560, 580, 560, 42, 10, tight}, {840, 350, 820, -40, 70, tight}, {1000, 260, 1000, 40, 50, agape}},
	"horse":  {{0, 1000, 0, 0, 0, shut}, {260, 920, 220, 10, 0, shut}, {520, 700, 550, 38, 0, tight}, {820, 520, 850, -34, 70, tight}, {1000, 380, 1000, 56, 20, teeth}},
	"cattle": {{0, 1000, 0, 0, 0, shut}, {260, 920, 220, 10, 0, licks}, {520, 700, 550, 38, 0, tight}, {820, 520, 850, -34, 70, tight}, {1000, 380, 1000, 52, 20, agape}},
	"rabbit": {{0, 1000, 0, 0, 0, shut}, {200, 860, 260, 8, 0, shut}, {560, 560, 560, 26, 0, tight}, {860, 340, 860, -26, 60, tight}, {1000, 180, 1000, 30, 40, agape}},
}

// visage is a head from the front: its right half, the middle at 0, 0.
type visage struct {
	half      []dot
	ear, flat []dot // the right ear at ease, and laid back
	eye       dot   // where the right eye is
	eyeWide   int
	eyeHigh   int
	slit      bool // the pupil stands upright
	nose      []dot
	lip       int  // the height of the mouth
	lipWide   int  // half the mouth
	whiskers  bool // long ones, that are drawn
	gnaws     bool // two long front teeth instead of canines
	nostril   dot
	x, y      int   // where its middle stands on the picture
	muzzle    []dot // a fold beside it
}

var visages = map[string]visage{
	"dog": {
		half: []dot{{0, -206}, {80, -200}, {146, -160}, {176, -80}, {170, 20}, {134, 84}, {116, 150}, {108, 204}, {64, 246}, {0, 254}},
		ear:  []dot{{88, -196}, {150, -196}, {214, -140}, {236, -20}, {216, 80}, {180, 92}, {160, 20}, {146, -80}}, flat: []dot{{92, -190}, {140, -206}, {230, -196}, {290, -120}, {300, -40}, {270, -36}, {226, -80}, {156, -110}},
		eye: dot{74, -50}, eyeWide: 36, eyeHigh: 30, nose: []dot{{-46, 84}, {-40, 62}, {0, 54}, {40, 62}, {46, 84}, {26, 112}, {0, 122}, {-26, 112}},
		lip: 164, lipWide: 84, x: 430, y: 330, muzzle: []dot{{54, 6}, {96, 70}, {104, 150}}},
	"cat": {
		half: []dot{{0, -176}, {80, -170}, {164, -126}, {206, -30}, {196, 60}, {146, 130}, {80, 176}, {0, 188}},
		ear:  []dot{{62, -166, 1}, {96, -250}, {158, -322, 1}, {184, -220}, {180, -106, 1}}, flat: []dot{{92, -160, 1}, {190, -176}, {306, -132, 1}, {270, -76}, {196, -52, 1}},
		eye: dot{84, -30}, eyeWide: 52, eyeHigh: 42, slit: true, nose: []dot{{-26, 50, 1}, {0, 44}, {26, 50, 1}, {0, 78, 1}},
		lip: 104, lipWide: 54, whiskers: true, x: 430, y: 390, muzzle: []dot{{30, 56}, {70, 84}, {54, 124}}},
	"horse": {
		half: []dot{{0, -262}, {60, -256}, {98, -212}, {112, -130}, {98, -20}, {78, 84}, {74, 150}, {96, 212}, {92, 270}, {50, 304}, {0, 310}},
		ear:  []dot{{34, -252, 1}, {34, -310}, {62, -376, 1}, {88, -320}, {86, -236, 1}}, flat: []dot{{44, -256, 1}, {96, -282}, {172, -262, 1}, {136, -226}, {92, -214, 1}},
		eye: dot{94, -122}, eyeWide: 28, eyeHigh: 32, nostril: dot{52, 218}, lip: 276, lipWide: 60, x: 430, y: 388},
	"cattle": {
		half: []dot{{0, -226}, {60, -224}, {112, -184}, {140, -90}, {122, 24}, {104, 110}, {120, 168}, {108, 236}, {60, 268}, {0, 274}},
		ear:  []dot{{110, -176, 1}, {180, -206}, {286, -184, 1}, {246, -134}, {126, -134, 1}}, flat: []dot{{112, -172, 1}, {176, -160}, {256, -66, 1}, {190, -80}, {126, -126, 1}},
		eye: dot{112, -70}, eyeWide: 34, eyeHigh: 32, nose: []dot{{-96, 190}, {-84, 146}, {0, 134}, {84, 146}, {96, 190}, {60, 222}, {0, 230}, {-60, 222}}, nostril: dot{60, 178},
		lip: 250, lipWide: 80, x: 430, y: 370},
	"rabbit": {
		half: []dot{{0, -130}, {70, -126}, {128, -84}, {150, 0}, {142, 78}, {102, 142}, {50, 176}, {0, 182}},
		ear:  []dot{{22, -122}, {24, -220}, {52, -336}, {86, -352}, {104, -300}, {98, -200}, {78, -112}}, flat: []dot{{44, -126}, {130, -176}, {240, -180}, {318, -140}, {314, -106}, {220, -98}, {96, -92}},
		eye: dot{116, -28}, eyeWide: 34, eyeHigh: 36, nose: []dot{{-26, 66}, {0, 60}, {26, 66}, {12, 84}, {0, 94}, {-12, 84}},
		lip: 122, lipWide: 40, whiskers: true, gnaws: true, x: 430, y: 420, muzzle: []dot{{26, 70}, {72, 92}, {58, 136}}},
}

// Picture draws the face and the hand beside it.
func (f Face) Picture() Picture {
	s := drawing()
	v, ok := visages[f.Species]
	if !ok || f.Strength < 0 || f.Strength > 4 {
		return s.Picture()
	}
	m := miens[f.Species][f.Strength]
	v.x -= m.draw
	v.y -= m.draw / 3
	s.shape(coat, dot{v.x - 150, 760}, dot{v.x - 130, 560}, dot{v.x - 60, v.y + 60}, dot{v.x + 60, v.y + 60}, dot{v.x + 200, 540}, dot{v.x + 420, 610}, dot{v.x + 520, 760})
	s.handAt(770, 500)
	v.ears(s, m)
	v.head(s, m)
	for _, side := range []int{-1, 1} {
		v.eyes(s, m, side)
	}
	v.front(s, m)
	v.mouthed(s, m)
	return s.Picture()
}

// handAt draws a hand that comes from the right, its fingertips at x, y.
func (s *still) handAt(x, y int) {
	s.shape(skin, dot{x, y + 40}, dot{x + 20, y + 16}, dot{x + 80, y - 10}, dot{x + 200, y - 60, 1}, dot{x + 240, y + 120, 1}, dot{x + 130, y + 122}, dot{x + 50, y + 104}, dot{x + 6, y + 72})
	s.line(hair, dot{x + 6, y + 60}, dot{x + 60, y + 52}, dot{x + 110, y + 40})
	s.line(hair, dot{x + 30, y + 88}, dot{x + 80, y + 82}, dot{x + 120, y + 72})
	s.line(hair, dot{x + 36, y + 16}, dot{x + 50, y + 28}, dot{x + 48, y + 38})
}

// at places a dot of the right or the left side, moved with the turn of the head
// as far as it stands out.
func (v *visage) at(m mien, side int, d dot, out int) dot {
	return dot{v.x + side*d[0] + m.turn*out/100, v.y + d[1], d[2]}
}

// ears draws both ears, between at ease and flat.
func (v *visage) ears(s *still, m mien) {
	for _, side := range []int{-1, 1} {
		dots := make([]dot, len(v.ear))
		for i, d := range v.ear {
			to := v.flat[i]
			dots[i] = v.at(m, side, dot{d[0] + (to[0]-d[0])*m.ears/1000, d[1] + (to[1]-d[1])*m.ears/1000, d[2]}, 30)
		}
		s.path(coat, dots, true)
		n := len(dots)
		s.line(thin, between(dots[0], dots[n-1], 400), between(dots[n/2-1], dots[n/2+1], 500), between(dots[n/2], dots[0], 250))
	}
}

// between lies the given share of a thousand from a to b.
func between(a, b dot, share int) dot {
	return dot{a[0] + (b[0]-a[0])*share/1000, a[1] + (b[1]-a[1])*share/1000}
}

// head draws the outline of the head and the lines of the bridge.
func (v *visage) head(s *still, m mien) {
	var dots []dot
	for _, d := range v.half {
		dots = append(dots, v.at(m, 1, d, max(d[1], 0)/3))
	}
	for i := len(v.half) - 2; i > 0; i-- {
		dots = append(dots, v.at(m, -1, v.half[i], max(v.half[i][1], 0)/3))
	}
	s.path(coat, dots, true)
}

// eyes draws an eye as far as it is open, and the brow above it.
func (v *visage) eyes(s *still, m mien, side int) {
	c := v.at(m, side, v.eye, 70)
	w, h := v.eyeWide, v.eyeHigh*m.open/1000
	tilt := side * m.tense * 10 / 1000
	lid := []dot{{c[0] - w, c[1] + 4 - tilt, 1}, {c[0] - w/3, c[1] - h}, {c[0] + w/3, c[1] - h}, {c[0] + w, c[1] + 4 + tilt, 1}, {c[0] + w/3, c[1] + h*8/10}, {c[0] - w/3, c[1] + h*8/10}}
	s.clip([]string{"l", "", "r"}[side+1], inked, lid, func() {
		white := RGB{0xc9, 0xa8, 0x5a}
		if !v.slit {
			white = RGB{0x6a, 0x45, 0x2a}
		}
		s.oval(flat(RGB{0xf4, 0xee, 0xe2}), c[0], c[1], w+4, v.eyeHigh+4)
		look := min(max(m.turn/5, -10), 10)
		s.oval(flat(white), c[0]+look, c[1], w*80/100, v.eyeHigh*96/100)
		r := v.eyeHigh * 62 / 100
		if v.slit {
			r = v.eyeHigh * 34 / 100
		}
		s.oval(flat(RGB{0x1b, 0x15, 0x1b}), c[0]+look, c[1], r, v.eyeHigh*80/100)
		s.oval(flat(RGB{0xff, 0xff, 0xff}), c[0]+look-8, c[1]-h/3, 5, 5)
	})
	y := c[1] - v.eyeHigh - 16 + m.tense*14/1000
	s.line(thin, dot{c[0] - w, y + 8 + tilt}, dot{c[0], y - 6}, dot{c[0] + w, y + 8 - tilt})
	if m.tense > 400 { // folds over and beneath a narrowed eye
		s.line(thin, dot{c[0] - w*8/10, c[1] + v.eyeHigh + 2}, dot{c[0], c[1] + v.eyeHigh + 10}, dot{c[0] + w*8/10, c[1] + v.eyeHigh + 2})
		s.line(thin, dot{c[0] - w*7/10, y - 12 + tilt}, dot{c[0], y - 22}, dot{c[0] + w*7/10, y - 12 - tilt})
	}
}

// front draws nose, nostrils, muzzle and whiskers.
func (v *visage) front(s *still, m mien) {
	for _, side := range []int{-1, 1} {
		if v.muzzle != nil {
			a, b, c := v.muzzle[0], v.muzzle[1], v.muzzle[2]
			b[0] -= m.tense * 20 / 1000
			s.line(thin, v.at(m, side, a, 110), v.at(m, side, b, 110), v.at(m, side, c, 110))
		} else {
			s.line(thin, v.at(m, side, dot{58, -60}, 60), v.at(m, side, dot{48, 60}, 90), v.at(m, side, dot{50, 130}, 100))
		}
	}
	if v.nose != nil {
		dots := make([]dot, len(v.nose))
		for i, d := range v.nose {
			dots[i] = v.at(m, 1, d, 130)
		}
		p := solid
		if v.nostril != (dot{}) {
			p = behind
		}
		s.path(p, dots, true)
	}
	for _, side := range []int{-1, 1} {
		if n := v.nostril; n != (dot{}) {
			c := v.at(m, side, n, 130)
			s.oval(solid, c[0], c[1], 12+m.tense*10/1000, 20+m.tense*4/1000)
		}
		if v.whiskers {
			v.whisk(s, m, side)
		}
	}
}

// whisk draws the whiskers of a side: hanging in a curve at ease, straight and
// spread when tense.
func (v *visage) whisk(s *still, m mien, side int) {
	hang := 46 - m.tense*46/1000
	for i := range 3 {
		a := dot{v.lipWide + 6, v.lip - 22 + i*16}
		spread := (i - 1) * (18 + m.tense*34/1000)
		s.line(thin, v.at(m, side, a, 110), v.at(m, side, dot{a[0] + 90, a[1] + spread/2 - 8 + hang/4}, 90), v.at(m, side, dot{a[0] + 190, a[1] + spread + hang}, 70))
	}
}

// mouthed draws the mouth.
func (v *visage) mouthed(s *still, m mien) {
	at := func(side, x, y int) dot { return v.at(m, side, dot{x, v.lip + y}, 120) }
	w := v.lipWide
	if v.nose != nil && v.nostril == (dot{}) {
		last := v.nose[len(v.nose)/2+len(v.nose)/4]
		s.line(inked, v.at(m, 1, dot{0, last[1] + 8}, 125), at(1, 0, -14))
	}
	switch m.mouth {
	case shut, licks:
		s.line(inked, at(-1, w, -6), at(-1, w/2, 10), at(1, 0, -12), at(1, w/2, 10), at(1, w, -6))
		if m.mouth == licks {
			s.shape(filled(RGB{0xe0, 0x82, 0x8c}), at(1, -8, -4), at(1, 10, -34), at(1, 40, -42), at(1, 52, -20), at(1, 40, 8), at(1, 10, 14))
			s.line(hair, at(1, 16, 2), at(1, 28, -14), at(1, 36, -30))
		}
	case tight:
		s.line(inked, at(-1, w*12/10, -18), at(-1, w/2, -2), at(1, 0, -6), at(1, w/2, -2), at(1, w*12/10, -18))
		s.line(thin, at(-1, w/2, 30), at(1, 0, 22), at(1, w/2, 30))
		s.line(thin, at(-1, w*12/10+10, -34), at(-1, w*12/10+16, -16), at(-1, w*12/10+6, 2))
		s.line(thin, at(1, w*12/10+10, -34), at(1, w*12/10+16, -16), at(1, w*12/10+6, 2))
	case teeth:
		v.shown(s, at, w)
	case agape:
		v.cries(s, at, w)
	}
}

// shown draws lifted lips with the teeth between them.
func (v *visage) shown(s *still, at func(side, x, y int) dot, w int) {
	s.shape(filled(mouth), at(-1, w, -20), at(-1, w/2, -34), at(1, 0, -28), at(1, w/2, -34), at(1, w, -20), at(1, w*9/10, 14), at(1, w/2, 30), at(-1, w/2, 30), at(-1, w*9/10, 14))
	for i := range 6 {
		x := (i*2 - 5) * w / 8
		s.shape(filled(enamel), at(1, x-w/9, -26), at(1, x+w/9, -26), at(1, x+w/12, -2), at(1, x-w/12, -2))
	}
	if v.nostril == (dot{}) {
		for _, side := range []int{-1, 1} {
			s.shape(filled(enamel), at(side, w*66/100, -26), at(side, w*92/100, -22), at(side, w*76/100, 20))
			for i := range 3 {
				s.line(thin, at(side, 62+i*8, -110+i*22), at(side, 78+i*6, -98+i*22))
			}
		}
	}
}

// cries draws an open mouth.
func (v *visage) cries(s *still, at func(side, x, y int) dot, w int) {
	deep := 54 + w/3
	s.shape(filled(mouth), at(-1, w, -22), at(-1, w/2, -32), at(1, 0, -26), at(1, w/2, -32), at(1, w, -22), at(1, w*86/100, deep*6/10), at(1, w/3, deep), at(-1, w/3, deep), at(-1, w*86/100, deep*6/10))
	s.shape(flat(RGB{0xd9, 0x7e, 0x88}), at(-1, w/2, deep-14), at(-1, w/4, deep/2), at(1, 0, deep/2+6), at(1, w/4, deep/2), at(1, w/2, deep-14), at(1, 0, deep-4))
	if v.gnaws {
		s.shape(filled(enamel), at(-1, 13, -26), at(1, 0, -28), at(1, 0, 16), at(-1, 13, 16))
		s.shape(filled(enamel), at(1, 13, -26), at(1, 0, -28), at(1, 0, 16), at(1, 13, 16))
	}
	for _, side := range []int{-1, 1} {
		if v.nostril == (dot{}) && !v.gnaws {
			s.shape(filled(enamel), at(side, w*46/100, -28), at(side, w*76/100, -26), at(side, w*58/100, 22))
		}
		if v.nostril == (dot{}) {
			s.line(thin, at(side, w+10, -70), at(side, w+24, -40))
			s.line(thin, at(side, w+28, -84), at(side, w+42, -50))
		}
	}
}

package senses

// Nose is a nose from the front: one nostril is looked at, a fingertip closes
// the other, so that nothing is seen of it.
type Nose struct {
	Species   string
	Discharge int // 0 none, 1 a clear drop, 2 thick, 3 a thread of blood
	Surface   int // of the leather: 0 moist, 1 dry, 2 horny on top, 3 raw; of horse and rabbit always 0
	Right     bool
}

// nostrils are the drawings by species: the leather, the nostril, where it
// drips. They are of one half, its middle at 96.
var nostrils = map[string]struct {
	leather, hole []dot
	drip          dot
}{
	"dog":    {[]dot{{96, 150, 1}, {330, 130}, {560, 190}, {660, 320}, {600, 450}, {440, 470}, {300, 520}, {96, 560, 1}}, []dot{{300, 330}, {380, 280}, {500, 300}, {600, 372}, {640, 400, 1}, {560, 412}, {430, 416}, {330, 400}}, dot{400, 420}},
	"cat":    {[]dot{{96, 190, 1}, {330, 180}, {540, 220}, {610, 320}, {520, 420}, {380, 480}, {220, 560}, {96, 580, 1}}, []dot{{310, 330}, {400, 300}, {500, 330}, {560, 350, 1}, {470, 380}, {360, 390}}, dot{390, 392}},
	"cattle": {[]dot{{96, 60, 1}, {420, 70}, {660, 150}, {760, 320}, {700, 520}, {480, 600}, {96, 610, 1}}, []dot{{400, 260}, {480, 180}, {590, 200}, {640, 280, 1}, {560, 300}, {470, 350}, {410, 340}}, dot{450, 352}},
	"horse":  {nil, []dot{{330, 300}, {400, 170}, {540, 150}, {630, 240}, {600, 360, 1}, {560, 300}, {500, 300}, {470, 400}, {400, 440}, {340, 400}}, dot{420, 442}},
	"rabbit": {nil, []dot{{120, 270, 1}, {260, 250}, {420, 300}, {470, 350, 1}, {370, 350}, {230, 330}, {120, 330, 1}}, dot{300, 346}},
}

// at places a dot of the half that is drawn on the side that is looked at, or on
// the other below 0.
func (n Nose) at(side int, d dot) dot {
	if n.Right {
		side = -side
	}
	return dot{480 + side*(d[0]-96)*56/100, 24 + d[1]*92/100, d[2]}
}

// whole is the half and its mirror image.
func (n Nose) whole(half []dot) []dot {
	var out []dot
	for _, d := range half {
		out = append(out, n.at(1, d))
	}
	for i := len(half) - 1; i >= 0; i-- {
		out = append(out, n.at(-1, half[i]))
	}
	for _, i := range []int{0, len(half) - 1, len(half), len(out) - 1} {
		out[i][2] = 0
	}
	return out
}

// side is a line or shape of one side.
func (n Nose) side(side int, half ...dot) []dot {
	out := make([]dot, len(half))
	for i, d := range half {
		out[i] = n.at(side, d)
	}
	return out
}

// Picture draws the nose.
func (n Nose) Picture() Picture {
	s := drawing()
	d, ok := nostrils[n.Species]
	if !ok {
		return s.Picture()
	}
	s.path(coat, n.whole([]dot{{96, 8}, {420, 22}, {720, 90}, {880, 280}, {860, 520}, {700, 680}, {400, 728}, {96, 736}}), true)
	for _, side := range []int{-1, 1} {
		n.lip(s, side)
	}
	if d.leather != nil {
		dry := RGB{0x45, 0x38, 0x3e}
		if n.Species == "cattle" {
			dry = RGB{0xb5, 0x95, 0x8c}
		}
		pad := n.whole(d.leather)
		s.clip("a", dark, pad, func() {
			s.path(flat(dry), pad, true)
			n.leather(s, dry)
		})
	}
	for _, side := range []int{-1, 1} {
		s.path(pen(`class="d" fill="#1c1216"`), n.side(side, d.hole...), true)
		if h := d.hole; n.Species == "horse" {
			s.path(thin, n.side(side, dot{h[0][0] - 60, h[0][1] - 40}, dot{h[1][0] - 30, h[1][1] - 70}, dot{h[2][0] + 40, h[2][1] - 60}, dot{h[3][0] + 80, h[3][1] - 10}), false)
		}
	}
	n.runs(s, n.at(1, d.drip))
	n.closes(s, n.at(-1, d.drip))
	return s.Picture()
}

// closes draws the fingertip on the other nostril.
func (n Nose) closes(s *still, at dot) {
	x, y, out := at[0], at[1]-120, -1
	if n.Right {
		out = 1
	}
	s.shape(skin, dot{x - out*70, y + 40}, dot{x - out*50, y - 20}, dot{x + out*40, y - 50}, dot{x + out*180, y - 40}, dot{x + out*500, y + 20, 1}, dot{x + out*500, y + 200, 1}, dot{x + out*180, y + 130}, dot{x + out*30, y + 120}, dot{x - out*50, y + 96})
	s.shape(pen(`class="e" fill="#f0dccb"`), dot{x - out*40, y + 32}, dot{x - out*10, y - 10}, dot{x + out*60, y - 8}, dot{x + out*70, y + 60}, dot{x, y + 80})
}

// lip draws the lip of a side.
func (n Nose) lip(s *still, side int) {
	switch n.Species {
	case "horse":
		s.path(inked, n.side(side, dot{96, 600}, dot{400, 620}, dot{700, 560}, dot{790, 500}), false)
		for i := range 5 {
			s.path(thin, n.side(side, dot{190 + i*90, 520 + i%2*30}, dot{196 + i*90, 550 + i%2*30}, dot{190 + i*90, 580 + i%2*24}), false)
		}
	case "rabbit":
		s.path(inked, n.side(side, dot{96, 320}, dot{110, 420}, dot{170, 560}, dot{330, 640}, dot{560, 610}), false)
		for i := range 3 {
			s.path(thin, n.side(side, dot{420, 440 + i*40}, dot{640, 430 + i*60}, dot{930, 440 + i*100}), false)
		}
	default:
		s.path(inked, n.side(side, dot{96, 540}, dot{98, 620}, dot{260, 668}, dot{520, 650}, dot{760, 560}), false)
	}
}

// leather draws the cobbles of the nose pad, and how it shines or has changed.
func (n Nose) leather(s *still, c RGB) {
	line := pen(`stroke="` + c.mix(RGB{0xff, 0xff, 0xff}, 300).String() + `" stroke-width="3"`)
	for y := 80; y < 640; y += 44 {
		for x := 100 + y/44%2*26; x < 860; x += 52 {
			s.line(line, dot{x, y}, dot{x + 16, y + 18}, dot{x + 36, y + 8})
		}
	}
	switch n.Surface {
	case 0:
		for _, p := range [][2]int{{340, 240}, {420, 210}, {540, 250}, {640, 236}, {480, 330}, {440, 440}, {530, 450}, {600, 420}, {360, 410}, {480, 500}} {
			s.oval(flat(RGB{0xff, 0xff, 0xff}), p[0], p[1], 13, 9)
		}
		s.line(pen(`stroke="#ffffff" stroke-width="12"`), dot{370, 196}, dot{480, 184}, dot{590, 196})
	case 2:
		for i := range 13 {
			x, y := 170+i*48, 150
			s.shape(filled(RGB{0xb9, 0xa7, 0x8c}), dot{x, y + 66, 1}, dot{x + 8, y, 1}, dot{x + 20, y + 30, 1}, dot{x + 32, y - 8, 1}, dot{x + 46, y + 70, 1})
		}
	case 3:
		raw := RGB{0xd9, 0x8e, 0x8a}
		s.shape(filled(raw), dot{400, 220}, dot{510, 196}, dot{570, 260}, dot{510, 330}, dot{420, 320})
		s.shape(filled(raw), dot{610, 240}, dot{690, 236}, dot{730, 280}, dot{660, 300}, dot{620, 280})
		s.shape(filled(raw), dot{420, 440}, dot{520, 430}, dot{560, 470}, dot{450, 510})
		for _, p := range [][2]int{{440, 260}, {630, 256}, {450, 460}} {
			s.poly(pen(`stroke="#9a171d" stroke-width="8"`), dot{p[0], p[1]}, dot{p[0] + 34, p[1] + 20}, dot{p[0] + 52, p[1] + 8}, dot{p[0] + 88, p[1] + 30})
		}
	}
}

// runs draws what comes from the nostril.
func (n Nose) runs(s *still, at dot) {
	x, y := at[0], at[1]
	thick := RGB{0xc2, 0xb8, 0x4a}
	if n.Species == "rabbit" {
		thick = RGB{0xea, 0xe4, 0xcd}
	}
	switch n.Discharge {
	case 1:
		s.shape(pen(`class="d" fill="#dfeaf0"`), dot{x, y - 20, 1}, dot{x + 26, y + 30}, dot{x, y + 58}, dot{x - 26, y + 30})
		s.oval(flat(RGB{0xff, 0xff, 0xff}), x-8, y+30, 6, 9)
	case 2:
		s.shape(filled(thick), dot{x - 80, y - 40}, dot{x, y - 60}, dot{x + 90, y - 46}, dot{x + 80, y}, dot{x + 50, y + 90}, dot{x + 60, y + 180}, dot{x + 10, y + 220}, dot{x - 50, y + 170}, dot{x - 40, y + 70}, dot{x - 76, y + 10})
		s.shape(filled(thick.mix(RGB{0x6a, 0x4a, 0x20}, 500)), dot{x - 40, y + 120, 1}, dot{x - 10, y + 104, 1}, dot{x + 26, y + 130, 1}, dot{x + 44, y + 176, 1}, dot{x + 8, y + 210, 1}, dot{x - 36, y + 172, 1})
	case 3:
		s.shape(filled(blood), dot{x - 16, y - 40}, dot{x + 22, y - 40}, dot{x + 18, y + 60}, dot{x + 34, y + 150}, dot{x + 16, y + 240}, dot{x - 12, y + 236}, dot{x + 2, y + 150}, dot{x - 14, y + 60})
		s.shape(flat(blood.mix(RGB{0x20, 0x10, 0x10}, 400)), dot{x - 30, y + 226}, dot{x + 40, y + 220}, dot{x + 50, y + 250}, dot{x - 20, y + 258})
	}
}

package senses

// Condition is an animal from the side and from above, with a cut through the
// cover of its ribs under a flat hand.
type Condition struct {
	Species string
	Dry     bool // it has no udder, as a calf
	Fat     int  // -1000 wasted, 0 ideal, 1000 as fat as the scale goes
}

// Picture draws the three views.
func (c Condition) Picture() Picture {
	s := drawing()
	b := bodyOf(c.Species, c.Dry)
	if b == nil {
		return s.Picture()
	}
	c.Fat = min(max(c.Fat, -1000), 1000)
	c.fromSide(s, *b)
	c.fromAbove(s, outlines[c.Species])
	c.cut(s)
	return s.Picture()
}

// lean is how far below ideal, and fat how far above, 0 to 1000.
func (c Condition) lean() int { return max(-c.Fat, 0) }
func (c Condition) fat() int  { return max(c.Fat, 0) }

// grown is how a species puts on fat: thousandths of its depth of trunk at the
// belly, before the flank, on rump and neck, when it is as fat as can be, and
// how far flank and rump fall in when it is wasted.
type grown struct{ belly, pad, rump, crest, tuck, hollow int }

var growth = map[string]grown{
	"dog":    {190, 200, 60, 60, 230, 120},
	"cat":    {190, 330, 70, 30, 190, 120},
	"horse":  {120, 100, 70, 190, 150, 150},
	"cattle": {80, 90, 110, 40, 120, 190},
	"rabbit": {60, 60, 60, 40, 120, 120},
}

// fromSide draws the profile.
func (c Condition) fromSide(s *still, b body) {
	b.scale = min(b.scale*640/1000, 352*1000/(b.ground-20))
	b.left, b.top = 12, 372-b.ground*b.scale/1000
	g, deep := growth[c.Species], b.belly-b.back
	share := func(fat, lean int) int { return (fat*c.fat() - lean*c.lean()) / 1000 * deep / 1000 }
	moves := []move{
		arch(0, -share(g.belly, g.tuck/3)),
		sag(share(g.pad, g.tuck)),
		swell(share(g.rump, g.hollow)),
		crest(share(g.crest, g.crest/2)),
	}
	s.posedBut([]piece{rib, bone}, &b, moves...)
	c.bonesSeen(s, &b, moves)
}

// bonesSeen draws ribs, the row of the spine and the point of the hip as far as
// they show through, and folds where fat lies.
func (c Condition) bonesSeen(s *still, b *body, moves []move) {
	deep := b.belly - b.back
	at := func(x, y int) dot { return b.spot(rib, dot{x, b.back + deep*y/1000}, moves...) }
	show := max(c.lean()-150, 0) * 1000 / 850 // nothing at ideal
	for i := range 7 {
		x := b.fore[1] + 14 + (b.hind[0]-b.fore[1]-40)*i/7
		half := show * (300 - 14*i) / 1000
		if half < 20 {
			continue
		}
		p := thin
		if c.Fat < -400 {
			p = inked
		}
		s.line(p, at(x, 430-half), at(x+deep/14, 450), at(x+deep/28, 460+half))
	}
	if c.Fat < -200 {
		for i := range 9 {
			x := b.fore[1] + (b.hind[0]+50-b.fore[1])*i/9
			y := (b.ridge(x+12)-b.back)*1000/deep + 50
			s.line(thin, at(x, y), at(x+12, y-c.lean()*60/1000), at(x+24, y))
		}
	}
	if size := (300 - c.Fat) * 60 / 1300; size > 6 {
		hook := b.hind[0] + 50
		s.line(inked, at(hook-size/2, 70+size), at(hook+size/4, 60), at(hook+size, 70+size*2))
	}
	if c.fat() > 700 {
		n := (c.fat() - 250) / 250
		for i := range n {
			s.line(thin, at(b.fore[0]+60-i*24, -40+i*30), at(b.fore[0]+40-i*24, 90+i*30), at(b.fore[0]+66-i*24, 200+i*30))
		}
	}
}

// ridge is the height of the back at a place along it.
func (b *body) ridge(x int) int {
	top := b.belly
	for _, st := range b.strokes {
		if st.piece != trunk || st.pen != coat || len(st.dots) < 40 {
			continue
		}
		for i := 1; i < len(st.dots); i++ {
			p, q := st.dots[i-1], st.dots[i]
			if p[0] <= x && x < q[0] || q[0] <= x && x < p[0] {
				top = min(top, p[1]+(q[1]-p[1])*(x-p[0])/(q[0]-p[0]))
			}
		}
	}
	return top
}

// sag lowers the belly towards the flank, and draws it up below 0.
func sag(by int) move {
	return func(b *bones, of piece, from, at dot) dot {
		if of != trunk || from[0] < b.fore[1] || from[0] > b.hind[0]+70 {
			return at
		}
		w := ramp(from[0], b.fore[1], b.hind[0]-60) * (1000 - ramp(from[0], b.hind[0]-10, b.hind[0]+70)) / 1000
		at[1] += by * w / 1000 * ramp(from[1], b.belly-130, b.belly-40) / 1000
		return at
	}
}

// swell rounds loin and rump, and lets them fall in between hip and tail below 0.
func swell(by int) move {
	return func(b *bones, of piece, from, at dot) dot {
		if !of.onTrunk() {
			return at
		}
		hip, end := b.hind[0]+50, b.tail[0]
		w := ramp(from[0], hip, (hip+end)/2)
		if from[0] > (hip+end)/2 {
			w = 1000 - ramp(from[0], (hip+end)/2, end)
		}
		loin := ramp(from[0], b.fore[1]+60, b.hind[0]-60) * (1000 - ramp(from[0], b.hind[0]-60, hip)) / 1000
		at[1] -= by * (w + loin/2) / 1000 * (1000 - ramp(from[1], b.back+60, b.back+150)) / 1000
		return at
	}
}

// crest thickens the upper line of the neck, and thins it below 0.
func crest(by int) move {
	return func(b *bones, of piece, from, at dot) dot {
		if of != trunk || from[1] > b.neck[1] {
			return at
		}
		mid := (b.neckBand[0] + b.headBand[1]) / 2
		w := ramp(from[0], b.neckBand[0], mid)
		if from[0] < mid {
			w = ramp(from[0], b.headBand[1], mid)
		}
		at[1] -= by * w / 1000
		at[0] += by * w / 4000
		return at
	}
}

// outline is a trunk from above: where along it, and its half width when
// wasted, ideal and fat. Length and width are units of the picture.
type outline []struct{ x, lean, ideal, fat int }

// outlines are the animals from above, nose to the left (drawn freehand).
var outlines = map[string]outline{
	"dog": {{16, 12, 12, 14}, {50, 26, 28, 32}, {92, 44, 46, 54}, {132, 38, 46, 66}, {168, 30, 46, 84}, {212, 56, 72, 108}, {262, 62, 82, 122},
		{322, 60, 82, 130}, {376, 40, 70, 132}, {424, 28, 58, 130}, {466, 52, 66, 122}, {508, 46, 64, 110}, {546, 26, 38, 76}, {562, 12, 14, 26}},
	"cat": {{22, 14, 14, 18}, {56, 40, 42, 52}, {100, 46, 50, 66}, {140, 32, 42, 72}, {176, 36, 48, 88}, {220, 48, 64, 112}, {278, 56, 76, 136},
		{336, 52, 78, 150}, {390, 36, 68, 152}, {434, 26, 58, 142}, {472, 48, 64, 128}, {512, 40, 60, 108}, {546, 22, 34, 72}, {560, 10, 12, 24}},
	"horse": {{10, 20, 20, 22}, {40, 24, 24, 26}, {86, 32, 34, 38}, {130, 22, 28, 48}, {176, 26, 36, 66}, {218, 48, 64, 92}, {268, 64, 86, 116},
		{330, 70, 98, 134}, {388, 58, 92, 136}, {432, 44, 82, 128}, {474, 74, 92, 124}, {516, 58, 86, 116}, {548, 34, 56, 88}, {564, 12, 16, 28}},
	"cattle": {{10, 26, 26, 28}, {40, 28, 30, 32}, {84, 40, 42, 46}, {122, 24, 32, 46}, {164, 34, 46, 66}, {208, 56, 72, 96}, {268, 74, 100, 132},
		{332, 86, 120, 152}, {390, 74, 112, 150}, {434, 54, 92, 136}, {470, 96, 104, 132}, {508, 54, 82, 118}, {544, 62, 70, 96}, {564, 20, 26, 54}},
	"rabbit": {{24, 16, 16, 18}, {58, 36, 38, 44}, {106, 46, 50, 60}, {148, 34, 44, 72}, {190, 40, 56, 92}, {244, 50, 76, 116}, {308, 54, 90, 136},
		{370, 54, 100, 148}, {424, 44, 102, 152}, {466, 60, 102, 148}, {506, 52, 94, 142}, {540, 32, 66, 110}, {560, 14, 20, 40}},
}

// half is a half width of the outline at the animal's condition.
func (c Condition) half(lean, ideal, fat int) int {
	return ideal - (ideal-lean)*c.lean()/1000 + (fat-ideal)*c.fat()/1000
}

// fromAbove draws the outline seen from above, head to the left.
func (c Condition) fromAbove(s *still, o outline) {
	const mid = 548
	var dots []dot
	for _, p := range o {
		dots = append(dots, dot{p.x, mid - c.half(p.lean, p.ideal, p.fat)})
	}
	for i := len(o) - 1; i >= 0; i-- {
		dots = append(dots, dot{o[i].x, 2*mid - dots[i][1]})
	}
	end := o[len(o)-1].x
	s.shape(coat, dot{end - 16, mid - 8}, dot{end + 22, mid - 7}, dot{end + 44, mid - 3}, dot{end + 44, mid + 3}, dot{end + 22, mid + 7}, dot{end - 16, mid + 8})
	s.shape(coat, dots...)
	c.earsAbove(s, mid)
	c.spineAbove(s, mid, o)
}

// earsAbove are the ears from above.
func (c Condition) earsAbove(s *still, mid int) {
	for _, side := range []int{-1, 1} {
		y := func(v int) int { return mid + side*v }
		switch c.Species {
		case "dog":
			s.shape(coat, dot{84, y(26)}, dot{104, y(52)}, dot{128, y(70)}, dot{138, y(58)}, dot{120, y(28)})
		case "cattle":
			s.shape(coat, dot{90, y(38)}, dot{96, y(70)}, dot{116, y(104), 1}, dot{122, y(72)}, dot{114, y(34)})
		case "rabbit":
			s.shape(coat, dot{92, y(8)}, dot{140, y(14)}, dot{206, y(36)}, dot{232, y(34)}, dot{212, y(14)}, dot{140, y(2)})
		default:
			s.shape(coat, dot{92, y(20)}, dot{96, y(48)}, dot{110, y(60), 1}, dot{118, y(44)}, dot{116, y(16)})
		}
	}
}

// spineAbove draws what the spine, the ribs and the hips show from above: knobs
// when lean, a gutter between pads when fat.
func (c Condition) spineAbove(s *still, mid int, o outline) {
	first, last := o[4].x, o[len(o)-3].x
	if c.Fat >= 0 {
		gap := 2 + c.fat()*16/1000
		s.line(thin, dot{first, mid - 2}, dot{(first + last) / 2, mid - gap}, dot{last, mid - 2})
		s.line(thin, dot{first, mid + 2}, dot{(first + last) / 2, mid + gap}, dot{last, mid + 2})
	} else {
		size := 4 + c.lean()*8/1000
		for x := first; x <= last; x += 22 {
			s.oval(thin, x, mid, size*2/3, size)
		}
	}
	for _, side := range []int{-1, 1} {
		for i := range 6 * c.lean() / 1000 {
			x := o[5].x + 6 + i*24
			s.line(thin, dot{x, mid + side*20}, dot{x + 8, mid + side*38}, dot{x + 4, mid + side*50})
		}
		if knob := 12 + c.lean()*10/1000 - c.fat()*40/1000; knob > 2 {
			hip := o[len(o)-4]
			if c.Species == "rabbit" {
				hip = o[len(o)-3]
			}
			s.oval(thin, hip.x, mid+side*(c.half(hip.lean, hip.ideal, hip.fat)-knob), knob*3/2, knob*2/3)
		}
	}
}

// What a cut through the cover of the ribs shows.
var (
	hide   = RGB{0xc9, 0x9a, 0x7c}
	tallow = RGB{0xf0, 0xdc, 0x9a}
	flesh  = RGB{0xb4, 0x5a, 0x55}
	ivory  = RGB{0xf3, 0xea, 0xd6}
)

// cut draws ribs end on with flesh between them, the fat, the skin, and a flat
// hand that lies on it.
func (c Condition) cut(s *still) {
	const left, right, ribs = 664, 936, 470
	over := 22 - c.lean()*17/1000 + c.fat()*146/1000
	dip := c.lean()*26/1000 + max(0, 10-c.fat()*30/1000)
	var top []dot
	for i := range 9 {
		y := ribs - 44 - over
		if i%2 == 0 {
			y += dip // between two ribs
		}
		top = append(top, dot{left + i*(right-left)/8, y})
	}
	under := append([]dot{{right, 600, 1}, {left, 600, 1}}, top...)
	under[2][2], under[len(under)-1][2] = 1, 1
	s.clip("a", dark, under, func() {
		s.poly(flat(tallow), dot{left, 200}, dot{right, 200}, dot{right, 620}, dot{left, 620})
		s.poly(flat(flesh), dot{left, ribs - 24}, dot{right, ribs - 24}, dot{right, 560}, dot{left, 560})
		s.poly(flat(RGB{0x8f, 0x7f, 0x8a}), dot{left, 530}, dot{right, 530}, dot{right, 620}, dot{left, 620})
		for i := range 4 {
			s.oval(filled(ivory), left+(2*i+1)*(right-left)/8, ribs, 26, 44)
		}
	})
	s.path(pen(`stroke-width="14" stroke="`+hide.String()+`"`), top, false)
	c.flatHand(s, ribs-44-over-7)
}

// flatHand is a hand with its fingers flat on the skin.
func (c Condition) flatHand(s *still, y int) {
	s.shape(skin, dot{672, y - 20}, dot{682, y - 38}, dot{740, y - 44}, dot{800, y - 52}, dot{860, y - 78}, dot{950, y - 104, 1}, dot{950, y - 40, 1}, dot{890, y - 12},
		dot{830, y - 2}, dot{740, y}, dot{686, y - 2})
	for i := range 2 {
		x := 740 + i*58
		s.line(hair, dot{x, y - 40 - i*8}, dot{x + 8, y - 28 - i*8})
	}
	s.line(hair, dot{676, y - 26}, dot{690, y - 30}, dot{702, y - 30})
}

package senses

import "slices"

// watched is a patient whose breath is watched: how it stands, and how far its
// chest and belly go.
type watched struct {
	*body
	framed
	stance []move
	gape   int    // degrees between the jaws
	elbows bool   // they are held out
	tongue bool   // it is out
	reach  [2]int // pixels that chest and flank come out at full breath
	push   int    // pixels that the belly goes in when it presses
	sprung bool   // the edge of the last rib is seen to move
}

// framed is how a species is shown.
type framed struct {
	window
	corner, lip dot  // of the mouth, where the jaws part
	most        int  // pixels that a belly may go: the film has a limit of bytes
	crouched    bool // the belly is on the ground, and the back is what moves
}

var breathWindows = map[string]framed{
	"dog":    {window{50, 50, 4600}, dot{186, 214, 1}, dot{84, 218, 1}, 14, false},
	"cat":    {window{20, 20, 4480}, dot{122, 268, 1}, dot{84, 270, 1}, 13, false},
	"horse":  {window{-60, -64, 3200}, dot{112, 292, 1}, dot{76, 304, 1}, 12, false},
	"cattle": {window{40, 100, 4200}, dot{120, 308, 1}, dot{70, 326, 1}, 9, false},
	"rabbit": {window{10, 40, 3640}, dot{122, 402, 1}, dot{96, 392, 1}, 7, true},
}

// patient poses the animal for its effort.
func (b Breath) patient() *watched {
	species := b.Species
	if _, ok := breathWindows[species]; !ok {
		species = "dog"
	}
	p := &watched{body: bodyOf(species, b.Dry), framed: breathWindows[species], tongue: b.Open}
	p.pose(min(max(b.Effort, 0), 4))
	p.reaches(b)
	if b.Open {
		p.gape = max(p.gape, 20)
	}
	return p
}

// pose stretches neck and elbows out with effort.
func (p *watched) pose(effort int) {
	switch effort {
	case 2:
		p.stance = []move{nod(5), tip(4)}
	case 3:
		p.stance, p.elbows, p.gape = []move{nod(9), tip(12)}, !p.crouched, 8
	case 4:
		p.stance, p.elbows, p.gape = []move{nod(12), tip(28)}, !p.crouched, 24
	}
}

// reaches settles how far chest and flank go: further with effort, less far the
// quicker the breath, as in life.
func (p *watched) reaches(b Breath) {
	effort, rate := min(max(b.Effort, 0), 4), min(max(b.Rate, 1), maxBreaths)
	r := excursions[min(max(b.Depth, Usual), Deep)]
	most := max(p.most/4+1, min(p.most, 75*p.most/rate))
	chest, flank := min(r.chest+r.chestMore*effort/16, most*3/4), min(r.flank+r.flankMore*effort/16, most)
	if b.Push {
		p.push = min(2+effort, most/3)
	}
	p.sprung = (flank+p.push)*rate <= 30*p.most
	if b.Opposed {
		chest = -max(chest, 2)
	}
	p.reach = [2]int{chest, flank}
}

func (p *watched) colours() []RGB {
	return []RGB{{0xdd, 0xd5, 0xc6}, {0xc9, 0x5f, 0x6c}, {0, 0, 0}, {0, 0, 0}}
}

// The colours of its own.
const (
	shade = own
	red   = own + 1
)

// breathing draws the animal with chest and flank that many pixels out.
func (p *watched) breathing(chest, flank int) *canvas {
	c := sheet(breathWide, breathHigh, plate)
	for _, s := range p.strokes {
		switch {
		case p.ribbed(s): // drawn anew
		case len(s.dots) > 30: // the outline
			c.animal(p.body, p.window, []stroke{s}, append([]move{p.swell(chest, flank), p.parted()}, p.stance...))
		default:
			c.animal(p.body, p.window, []stroke{s}, p.stance)
		}
	}
	p.ribs(c, chest)
	p.elbowOut(c)
	p.jaws(c)
	return c
}

// ribbed says whether a stroke is one of the fine lines on ribs and belly.
func (p *bones) ribbed(s stroke) bool {
	return s.pen == thin && !slices.ContainsFunc(s.dots, func(d dot) bool {
		return d[0] < p.fore[1]+20 || d[0] > p.hind[0]-20
	})
}

// animal draws strokes of a body as moves put them.
func (c *canvas) animal(b *body, v window, strokes []stroke, moves []move) {
	for _, s := range strokes {
		line := v.curve(b.moved(s.piece, s.dots, moves), s.pen == coat || s.pen == behind || s.pen == solid)
		switch s.pen {
		case coat:
			c.outline(line, pale, black)
		case behind:
			c.outline(line, shade, black)
		case solid:
			c.fill(line, black)
		case thin, faint:
			c.trace(line, fineHalf, black)
		default:
			c.trace(line, lineHalf, black)
		}
	}
}

// moved are dots as moves put them.
func (b *body) moved(of piece, dots []dot, moves []move) []dot {
	out := make([]dot, len(dots))
	for i, from := range dots {
		out[i] = from
		for _, m := range moves {
			out[i] = m(&b.bones, of, from, out[i])
		}
	}
	return out
}

// swell sets the line of chest and belly out, in pixels, each over its half of
// the trunk between elbow and stifle; in a crouching animal the line of the back.
func (p *watched) swell(chest, flank int) move {
	return func(b *bones, of piece, from, at dot) dot {
		if p.crouched {
			c, f := halves(from[0], b.fore[1]+30, b.hind[1]-130)
			high := 1000 - ramp(from[1], b.elbow[1]-240, b.elbow[1]-100)
			at[1] -= (chest*c + flank*f) / 1000 * high * 16 / p.window.scale
			return at
		}
		c, f := halves(from[0], b.fore[1], b.hind[0])
		deep := ramp(from[1], b.elbow[1]-190, b.elbow[1]-40)
		at[1] += (chest*c + flank*f) / 1000 * deep * 16 / p.window.scale
		return at
	}
}

// halves says how much of a place between two belongs to the chest and how much
// to the flank, in thousandths.
func halves(x, from, to int) (chest, flank int) {
	mid := (from + to) / 2
	chest = ramp(x, from-12, from+30) * (1000 - ramp(x, mid-30, mid+50)) / 1000
	flank = ramp(x, mid-50, mid+30) * (1000 - ramp(x, to-16, to+6)) / 1000
	return chest, flank
}

// parted turns the lower jaw down.
func (p *watched) parted() move {
	return func(b *bones, of piece, from, at dot) dot {
		if of != trunk || p.gape == 0 || !p.below(from) {
			return at
		}
		return turned(at, p.corner, -p.gape*ramp(from[0], p.corner[0]+30, p.corner[0]-30))
	}
}

// below says whether a place lies on the lower jaw.
func (m framed) below(at dot) bool {
	return at[0] < m.corner[0]+30 && at[1] > m.lip[1]+8 && at[1] < m.corner[1]+90
}

// jaws draws the open mouth.
func (p *watched) jaws(c *canvas) {
	if p.gape == 0 {
		return
	}
	low := turned(p.lip, p.corner, -p.gape*1000)
	gap := p.moved(ear, []dot{p.corner, p.lip, low}, p.stance)
	c.outline(p.curve(gap, true), red, black)
	if p.tongue {
		long := p.corner[0] - p.lip[0]
		x, y := low[0], low[1]
		c.outline(p.curve([]dot{
			{x + long/2, y - long/8, 0}, {x, y - long/5, 0}, {x - long/4, y, 0}, {x - long/4, y + long/3, 0}, {x - long/16, y + long/3, 0}, {x + long/6, y + long/12, 0},
		}, true), red, black)
	}
}

// elbow draws an elbow that is held out from the chest.
func (p *watched) elbowOut(c *canvas) {
	if !p.elbows {
		return
	}
	x, y := p.elbow[0]+30, p.elbow[1]
	bulge := p.curve([]dot{{x - 30, y - 96, 0}, {x + 26, y - 62, 0}, {x + 52, y - 18, 0}, {x + 34, y + 16, 0}, {x - 8, y + 30, 0}}, false)
	c.fill(bulge, pale)
	c.trace(bulge, lineHalf, black)
}

// ribs draws three ribs and the edge of the last, which goes back as the chest
// comes out.
func (p *watched) ribs(c *canvas, chest int) {
	from, to := p.fore[1]+34, (p.fore[1]+p.hind[0])/2+20
	top, foot := p.elbow[1]-170, p.elbow[1]-50
	for k := range 4 {
		x, half := from+(to-from)*k/3, fineHalf
		if k == 3 && p.sprung {
			x, half = x+max(chest, chest/3)*16000/p.window.scale, lineHalf
		}
		rib := []dot{{x, top, 0}, {x + 16, (top + foot) / 2, 0}, {x + 4, foot, 0}}
		c.trace(p.curve(rib, false), half, black)
	}
}

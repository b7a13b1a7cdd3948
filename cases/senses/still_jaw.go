package senses

// crown is the form of a tooth.
type crown int

const (
	incisor crown = iota
	canine
	premolar
	carnassial
	molar
	block  // a front tooth of a horse
	spade  // a front tooth of a cow
	chisel // a front tooth of a rabbit
)

// tooth stands in a row: its form, its middle, half its width, and how far it
// reaches from the edge of the gum.
type tooth struct {
	crown           crown
	x, half, length int
}

// jaw is a row of teeth in its gum, crowns hanging down from the edge; a lower
// jaw is drawn the other way up.
type jaw struct {
	teeth  []tooth
	edge   int // where the gum ends
	top    int // where the gum begins
	left   int // both ends of the gum
	right  int
	recede []int // how far the gum has drawn back, by tooth
	gum    RGB
	worn   bool
	broken int                                      // one that is broken, counted from 1
	worked func(s *still, i int, t tooth, edge int) // what else is on a crown
	skip   int                                      // a tooth that is missing, counted from 1
}

var (
	enamel = RGB{0xf7, 0xf2, 0xe4}
	dentin = RGB{0xe3, 0xd2, 0xa4}
	mouth  = RGB{0x4c, 0x2e, 0x33}
	tartar = RGB{0x8a, 0x5f, 0x33}
)

// The rows of teeth, seen from the left side or, of hoofed animals and the
// rabbit, from the front (drawn freehand).
var (
	dogUpper = []tooth{{incisor, 84, 22, 76}, {incisor, 130, 24, 86}, {incisor, 182, 28, 104}, {canine, 300, 46, 210}, {premolar, 400, 34, 70}, {premolar, 488, 46, 92}, {premolar, 596, 52, 108}, {carnassial, 726, 74, 140}, {molar, 862, 54, 82}}
	dogLower = []tooth{{incisor, 96, 18, 66}, {incisor, 136, 20, 74}, {incisor, 178, 22, 84}, {canine, 234, 36, 180}, {premolar, 350, 28, 50}, {premolar, 436, 40, 76}, {premolar, 540, 46, 88}, {premolar, 650, 52, 96}, {carnassial, 796, 80, 120}}
	catUpper = []tooth{{incisor, 112, 14, 44}, {incisor, 144, 14, 46}, {incisor, 178, 16, 54}, {canine, 292, 42, 226}, {premolar, 430, 20, 40}, {premolar, 542, 58, 112}, {carnassial, 716, 88, 136}, {molar, 840, 20, 34}}
	catLower = []tooth{{incisor, 118, 12, 38}, {incisor, 146, 12, 40}, {incisor, 174, 14, 46}, {canine, 230, 34, 176}, {premolar, 476, 50, 90}, {premolar, 610, 58, 104}, {carnassial, 764, 76, 122}}
	horseRow = []tooth{{block, 206, 42, 150}, {block, 306, 54, 172}, {block, 422, 58, 184}, {block, 538, 58, 184}, {block, 654, 54, 172}, {block, 754, 42, 150}}
	cowRow   = []tooth{{spade, 190, 34, 130}, {spade, 266, 38, 150}, {spade, 348, 40, 168}, {spade, 436, 44, 180}, {spade, 524, 44, 180}, {spade, 612, 40, 168}, {spade, 694, 38, 150}, {spade, 770, 34, 130}}
	hareRow  = []tooth{{chisel, 412, 66, 210}, {chisel, 548, 66, 210}}
)

// outline is the crown with its edge of gum at y, in dots, the tip below.
func (t tooth) outline(y int, worn bool) []dot {
	x, h, l := t.x, t.half, t.length
	if worn {
		l = l * 62 / 100
		return []dot{{x - h, y - 40, 1}, {x - h, y}, {x - h*8/10, y + l, 1}, {x + h*7/10, y + l, 1}, {x + h, y}, {x + h, y - 40, 1}}
	}
	switch t.crown {
	case canine:
		return []dot{{x - h, y - 60, 1}, {x - h, y}, {x - h*7/10, y + l*45/100}, {x - h*1/10, y + l*85/100}, {x + h*30/100, y + l, 1}, {x + h*55/100, y + l*80/100}, {x + h*95/100, y + l*35/100}, {x + h, y}, {x + h, y - 60, 1}}
	case premolar:
		return []dot{{x - h, y - 40, 1}, {x - h, y + l/8}, {x - h*75/100, y + l*38/100, 1}, {x - h*30/100, y + l*75/100}, {x - h*10/100, y + l, 1}, {x + h*20/100, y + l*72/100}, {x + h*60/100, y + l*48/100, 1}, {x + h*95/100, y + l*30/100}, {x + h, y}, {x + h, y - 40, 1}}
	case carnassial:
		return []dot{{x - h, y - 40, 1}, {x - h, y + l/8}, {x - h*80/100, y + l*40/100}, {x - h*40/100, y + l*84/100}, {x - h*28/100, y + l, 1}, {x - h*10/100, y + l*78/100}, {x + h*14/100, y + l*56/100, 1}, {x + h*50/100, y + l*78/100}, {x + h*72/100, y + l*62/100, 1}, {x + h*96/100, y + l*30/100}, {x + h, y}, {x + h, y - 40, 1}}
	case molar:
		return []dot{{x - h, y - 40, 1}, {x - h, y + l*40/100}, {x - h*45/100, y + l, 1}, {x - h*5/100, y + l*70/100, 1}, {x + h*45/100, y + l*92/100}, {x + h*90/100, y + l*40/100}, {x + h, y}, {x + h, y - 40, 1}}
	case spade:
		return []dot{{x - h*50/100, y - 40, 1}, {x - h*55/100, y}, {x - h*95/100, y + l*60/100}, {x - h, y + l*88/100}, {x - h*80/100, y + l}, {x + h*80/100, y + l}, {x + h, y + l*88/100}, {x + h*95/100, y + l*60/100}, {x + h*55/100, y}, {x + h*50/100, y - 40, 1}}
	case block, chisel:
		return []dot{{x - h*86/100, y - 40, 1}, {x - h*90/100, y}, {x - h, y + l*70/100}, {x - h*94/100, y + l, 1}, {x + h*94/100, y + l, 1}, {x + h, y + l*70/100}, {x + h*90/100, y}, {x + h*86/100, y - 40, 1}}
	}
	return []dot{{x - h*80/100, y - 40, 1}, {x - h*85/100, y}, {x - h, y + l*60/100}, {x - h*60/100, y + l}, {x + h*60/100, y + l}, {x + h, y + l*60/100}, {x + h*85/100, y}, {x + h*80/100, y - 40, 1}}
}

// chipped is the crown with its edge of gum at y and a part of it broken off.
func (t tooth) chipped(y int) []dot {
	x, h, l := t.x, t.half, t.length
	switch t.crown {
	case canine:
		return []dot{{x - h, y - 60, 1}, {x - h, y}, {x - h*66/100, y + l*50/100, 1}, {x - h*30/100, y + l*42/100, 1}, {x + h*10/100, y + l*54/100, 1}, {x + h*90/100, y + l*40/100, 1}, {x + h, y}, {x + h, y - 60, 1}}
	case carnassial:
		return []dot{{x - h, y - 40, 1}, {x - h, y + l/8}, {x - h*84/100, y + l*34/100, 1}, {x - h*50/100, y + l*26/100, 1}, {x - h*24/100, y + l*44/100, 1}, {x + h*2/100, y + l*34/100, 1}, {x + h*14/100, y + l*56/100, 1}, {x + h*50/100, y + l*78/100}, {x + h*72/100, y + l*62/100, 1}, {x + h*96/100, y + l*30/100}, {x + h, y}, {x + h, y - 40, 1}}
	case chisel:
		return []dot{{x - h*86/100, y - 40, 1}, {x - h*90/100, y}, {x - h*94/100, y + l*26/100, 1}, {x - h*40/100, y + l*46/100, 1}, {x - h*5/100, y + l*30/100, 1}, {x + h*50/100, y + l*42/100, 1}, {x + h*94/100, y + l*24/100, 1}, {x + h*90/100, y}, {x + h*86/100, y - 40, 1}}
	}
	return []dot{{x - h*86/100, y - 40, 1}, {x - h*90/100, y}, {x - h, y + l*40/100, 1}, {x - h*30/100, y + l*52/100, 1}, {x + h*10/100, y + l*74/100, 1}, {x + h*30/100, y + l, 1}, {x + h*92/100, y + l, 1}, {x + h, y + l*70/100}, {x + h*90/100, y}, {x + h*86/100, y - 40, 1}}
}

// back is how far the gum has drawn back at a tooth.
func (j *jaw) back(i int) int {
	if i < len(j.recede) {
		return j.recede[i]
	}
	return 0
}

// jaw draws teeth, then the gum over their necks.
func (s *still) jaw(j jaw) {
	for i, t := range j.teeth {
		if i+1 == j.skip {
			continue
		}
		form := t.outline(j.edge, j.worn && t.crown != incisor)
		if i+1 == j.broken {
			form = t.chipped(j.edge)
		}
		s.path(filled(enamel), form, true)
		if r := j.back(i); r > 0 {
			s.roots(t, j.edge, r)
		}
		if j.worn && t.crown != incisor {
			s.oval(flat(tartar), t.x, j.edge+t.length*56/100, t.half/3, 7)
		}
		if t.crown == chisel {
			s.line(hair, dot{t.x, j.edge + 20}, dot{t.x - 4, j.edge + t.length/2}, dot{t.x, j.edge + t.length - 12})
		}
		if j.worked != nil {
			j.worked(s, i, t, j.edge)
		}
	}
	margin := j.margin()
	gum := append([]dot{{j.right, j.top, 1}, {j.left, j.top, 1}}, margin...)
	s.path(filled(j.gum), gum, true)
}

// margin is the edge of the gum from left to right, scalloped over the teeth.
func (j *jaw) margin() []dot {
	out := []dot{{j.left, j.edge - 4, 1}}
	for i, t := range j.teeth {
		if i+1 == j.skip {
			out = append(out, dot{t.x, j.edge - 8})
			continue
		}
		high := j.edge - 6 - j.back(i)
		out = append(out, dot{t.x - t.half - 3, (j.edge + 14) - j.back(i)/2}, dot{t.x - t.half/2, high}, dot{t.x + t.half/2, high}, dot{t.x + t.half + 3, (j.edge + 14) - j.back(i)/2})
	}
	return append(out, dot{j.right, j.edge - 4, 1})
}

// roots draws what the gum has left bare; of a broad tooth the roots part.
func (s *still) roots(t tooth, edge, back int) {
	x, h := t.x, t.half
	s.shape(filled(dentin), dot{x - h*7/10, edge - back - 60, 1}, dot{x - h, edge + 4, 1}, dot{x, edge - 6}, dot{x + h, edge + 4, 1}, dot{x + h*7/10, edge - back - 60, 1})
	if back > 50 && h > 40 {
		s.shape(filled(mouth), dot{x - h*15/100, edge - back - 60, 1}, dot{x, edge - 14, 1}, dot{x + h*15/100, edge - back - 60, 1})
	}
}

// flipped draws upside down.
func (s *still) flipped(draw func()) {
	s.WriteString(`<g transform="matrix(1 0 0 -1 0 720)">` + "\n")
	draw()
	s.WriteString("</g>\n")
}

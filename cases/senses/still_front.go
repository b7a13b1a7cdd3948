package senses

import "slices"

// FrontTeeth are the front teeth of a horse or of cattle: the rows from the
// front, and how they meet from the side.
type FrontTeeth struct {
	Species string // horse or cattle
	Gum     string // its colour, a choice of mm.colour; another is healthy
	Crown   Crown
	Jaw     Jaw
}

// Jaw says which jaw stands ahead of the other.
type Jaw int

// The jaws.
const (
	Meets Jaw = iota
	UpperAhead
	LowerAhead
)

// Picture draws both views.
func (f FrontTeeth) Picture() Picture {
	s := drawing()
	s.WriteString(`<g transform="matrix(.66 0 0 .66 6 122)">` + "\n")
	frame := []dot{{30, 360}, {60, 120}, {220, 40}, {480, 20}, {740, 40}, {900, 120}, {930, 360}, {900, 600}, {740, 690}, {480, 704}, {220, 690}, {60, 600}}
	s.clip("a", pen(`class="d" stroke-width="14"`), frame, func() {
		s.oval(flat(mouth), 480, 360, 600, 500)
		if f.Species == "cattle" {
			s.shape(filled(pad), dot{-20, -40, 1}, dot{980, -40, 1}, dot{980, 190}, dot{760, 268}, dot{480, 292}, dot{200, 268}, dot{-20, 190})
		} else {
			s.jaw(f.row(horseRow, 236))
		}
		s.flipped(func() { s.jaw(f.row(map[string][]tooth{"cattle": cowRow}[f.Species], 256)) })
	})
	s.WriteString("</g>\n")
	f.profile(s)
	return s.Picture()
}

// pad is the colour of the pad that stands in for the upper front teeth of cattle.
var pad = RGB{0xdd, 0xba, 0xaa}

// row is one row of front teeth; nil teeth are the lower row of a horse.
func (f FrontTeeth) row(teeth []tooth, edge int) jaw {
	lower := teeth == nil || f.Species == "cattle"
	if teeth == nil {
		for _, t := range horseRow {
			teeth = append(teeth, tooth{block, 480 + (t.x-480)*92/100, t.half * 92 / 100, t.length * 86 / 100})
		}
	}
	j := jaw{teeth: teeth, edge: edge, top: -20, left: -20, right: 980, gum: gumOf(f.Gum), worn: f.Crown == Worn}
	if lower && f.Crown == Missing {
		j.skip = len(teeth)/2 + 2
	}
	if lower && f.Crown == Broken {
		j.broken = len(teeth) / 2
		t := teeth[j.broken-1]
		j.worked = func(s *still, i int, _ tooth, y int) {
			if i == j.broken-1 {
				s.oval(flat(mouth), t.x-t.half*40/100, y+t.length*30/100, 15, 18)
			}
		}
	}
	return j
}

// profile draws both jaws from the side, the front to the left.
func (f FrontTeeth) profile(s *still) {
	ahead := map[Jaw]int{Meets: 0, UpperAhead: 84, LowerAhead: -84}[f.Jaw]
	reach := 0
	if f.Jaw != Meets {
		reach = 34
	}
	if f.Crown == Worn {
		reach -= 22
	}
	up, down := 726-ahead/2, 726+ahead/2
	if f.Species == "cattle" {
		s.shape(filled(pad), dot{up - 24, 300}, dot{up - 10, 340 + reach}, dot{up + 60, 350 + reach}, dot{up + 130, 310}, dot{up + 150, 250, 1}, dot{up - 10, 250, 1})
	} else {
		s.shape(filled(enamel), dot{up + 4, 250, 1}, dot{up - 22, 356 + reach, 1}, dot{up + 34, 362 + reach, 1}, dot{up + 74, 250, 1})
	}
	s.shape(filled(enamel), dot{down + 4, 480, 1}, dot{down - 22, 370 - reach, 1}, dot{down + 34, 364 - reach, 1}, dot{down + 74, 480, 1})
	s.shape(filled(gumOf(f.Gum)), dot{up - 10, 272}, dot{up + 40, 276}, dot{up + 100, 262}, dot{952, 250, 1}, dot{952, 176, 1}, dot{up + 20, 190})
	s.shape(filled(gumOf(f.Gum)), dot{down - 10, 460}, dot{down + 40, 452}, dot{down + 100, 466}, dot{952, 480, 1}, dot{952, 548, 1}, dot{down + 20, 530})
	s.shape(coat, dot{up - 36, 262}, dot{up - 44, 214}, dot{up - 10, 160}, dot{up + 60, 120}, dot{952, 96, 1}, dot{952, 190, 1}, dot{up + 40, 216})
	s.shape(coat, dot{down - 36, 466}, dot{down - 40, 510}, dot{down - 10, 560}, dot{down + 60, 596}, dot{952, 620, 1}, dot{952, 530, 1}, dot{down + 40, 508})
}

// RabbitFront are the front teeth of a rabbit from the front and from the side.
type RabbitFront struct {
	Meet    int // of the lower teeth: 0 just behind the big upper pair, 1 edge to edge, 2 before it
	Length  int // 0 short, 1 long, 2 curled
	Surface int // 0 smooth, 1 ridged across, 2 one broken
}

// Picture draws both views.
func (r RabbitFront) Picture() Picture {
	s := drawing()
	s.WriteString(`<g transform="matrix(.62 0 0 .62 -14 130)">` + "\n")
	frame := []dot{{170, 360}, {190, 120}, {320, 40}, {480, 20}, {640, 40}, {770, 120}, {790, 360}, {770, 600}, {640, 690}, {480, 704}, {320, 690}, {190, 600}}
	s.clip("a", pen(`class="d" stroke-width="14"`), frame, func() {
		s.oval(flat(mouth), 480, 360, 600, 500)
		lower := jaw{teeth: r.grown(142), edge: 210, top: -20, left: 100, right: 860, gum: healthyGum}
		upper := jaw{teeth: r.grown(190), edge: 200, top: -20, left: 100, right: 860, gum: healthyGum}
		if r.Surface == 2 {
			upper.broken = 2
		}
		if r.Surface == 1 {
			upper.worked, lower.worked = rungs, rungs
		}
		draw := []func(){func() { s.flipped(func() { s.jaw(lower) }) }, func() { s.jaw(upper) }}
		if r.Meet == 2 {
			draw[0], draw[1] = draw[1], draw[0]
		}
		draw[0]()
		draw[1]()
	})
	s.WriteString("</g>\n")
	r.profile(s)
	return s.Picture()
}

// grown is a pair of teeth as long as they have grown.
func (r RabbitFront) grown(length int) []tooth {
	if r.Meet == 1 {
		length = length * 84 / 100
	}
	length += []int{0, 60, 120}[r.Length]
	return []tooth{{chisel, 412, 62, length}, {chisel, 548, 62, length}}
}

// rungs are ridges across a crown.
func rungs(s *still, _ int, t tooth, y int) {
	for d := 26; d < t.length-10; d += 24 {
		s.line(hair, dot{t.x - t.half*84/100, y + d}, dot{t.x, y + d + 6}, dot{t.x + t.half*84/100, y + d})
	}
}

// profile draws the teeth from the side, the front to the left.
func (r RabbitFront) profile(s *still) {
	upper, lower := r.curves()
	s.band(38, dot{800, 230}, dot{792, 310}) // the small pair behind the big one
	if r.Meet == 2 {
		s.tusk(upper, r, true)
		s.tusk(lower, r, false)
	} else {
		s.tusk(lower, r, false)
		s.tusk(upper, r, true)
	}
	s.shape(filled(healthyGum), dot{712, 244}, dot{756, 252}, dot{840, 250}, dot{952, 240, 1}, dot{952, 150, 1}, dot{740, 170})
	s.shape(filled(healthyGum), dot{726, 502}, dot{780, 494}, dot{850, 500}, dot{952, 506, 1}, dot{952, 590, 1}, dot{760, 576})
	s.shape(coat, dot{690, 262}, dot{668, 214}, dot{690, 140}, dot{770, 92}, dot{952, 64, 1}, dot{952, 166, 1}, dot{770, 196})
	s.shape(coat, dot{708, 500}, dot{700, 546}, dot{740, 602}, dot{820, 636}, dot{952, 650, 1}, dot{952, 564, 1}, dot{790, 546})
}

// curves are the middle lines of the upper and the lower tooth.
func (r RabbitFront) curves() (upper, lower []dot) {
	shift := []int{28, -8, -66}[r.Meet]
	end := []int{342, 366, 330}[r.Meet]
	switch r.Length {
	case 0:
		return []dot{{756, 220}, {736, 290}, {734, 374 - r.Meet%2*14}}, []dot{{786, 520}, {758 + shift/2, 440}, {736 + shift, end + 10}}
	case 1:
		return []dot{{756, 220}, {722, 300}, {716, 380}, {734, 446}}, []dot{{786, 520}, {740 + shift/2, 440}, {690 + shift, 350}, {680 + shift, end - 56}}
	}
	return []dot{{756, 220}, {716, 300}, {716, 390}, {760, 454}, {826, 456}, {862, 404}}, []dot{{786, 520}, {720 + shift/2, 440}, {650 + shift, 350}, {632 + shift, 250}, {668 + shift, 172}}
}

// tusk draws one tooth along its middle line.
func (s *still) tusk(line []dot, r RabbitFront, upper bool) {
	if upper && r.Surface == 2 {
		line = []dot{line[0], {(line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2}, {line[1][0], line[1][1]}}
		s.band(52, line...)
		x, y := line[2][0], line[2][1]
		s.shape(filled(enamel), dot{x - 28, y - 4, 1}, dot{x - 26, y + 44, 1}, dot{x - 8, y + 14, 1}, dot{x + 6, y + 34, 1}, dot{x + 28, y - 4, 1})
		return
	}
	s.band(52, line...)
	if r.Surface == 1 {
		for i := 1; i < len(line); i++ {
			for k := range 3 {
				x := line[i-1][0] + (line[i][0]-line[i-1][0])*(k+1)/3
				y := line[i-1][1] + (line[i][1]-line[i-1][1])*(k+1)/3
				s.line(hair, dot{x - 26, y}, dot{x - 2, y + 4})
			}
		}
	}
}

// band draws a tooth of even width along its middle line, cut off at a slant.
func (s *still) band(width int, line ...dot) {
	var left, right []dot
	for i, d := range line {
		a, b := line[max(i-1, 0)], line[min(i+1, len(line)-1)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		n := max(int(root(int64(dx*dx+dy*dy))), 1)
		ox, oy := dy*width/2/n, -dx*width/2/n
		tip := 0
		if i == len(line)-1 {
			tip = 1
		}
		slant := tip * width / 2
		left = append(left, dot{d[0] + ox, d[1] + oy, tip})
		right = append(right, dot{d[0] - ox + dx*slant/n, d[1] - oy + dy*slant/n, tip})
	}
	slices.Reverse(right)
	left[0][2], right[len(right)-1][2] = 1, 1
	s.path(filled(enamel), append(left, right...), true)
}

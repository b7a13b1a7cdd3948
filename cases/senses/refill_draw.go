package senses

// peg is a tooth: as wide as it is, and so long and so pointed, in pixels: a point of
// 0 is flat.
type peg struct{ wide, long, point int }

// pegs are the teeth that stand under the lifted lip, from the front: the trade's
// usual places to look, above the corner teeth of dogs and cats, at the front
// teeth of the others, which in cattle are those of the lower jaw.
var pegs = map[string][]peg{
	"dog":    {{16, 12, 3}, {16, 14, 4}, {20, 17, 5}, {12, 0, 0}, {30, 32, 15}, {14, 0, 0}, {26, 13, 11}, {36, 17, 14}, {44, 20, 17}, {40, 18, 14}},
	"cat":    {{10, 8, 2}, {10, 8, 2}, {12, 10, 3}, {20, 0, 0}, {26, 32, 13}, {38, 0, 0}, {24, 10, 9}, {48, 18, 16}, {52, 20, 18}},
	"horse":  {{50, 30, 1}, {54, 30, 1}, {54, 30, 1}, {52, 28, 2}, {40, 24, 3}},
	"cattle": {{48, 28, 3}, {50, 28, 3}, {50, 28, 3}, {50, 26, 4}, {42, 24, 5}},
	"rabbit": {{74, 0, 0}, {46, 32, 2}, {46, 32, 2}, {74, 0, 0}},
}

// gum draws lip, gum and teeth.
func (r Refill) gum() *canvas {
	c := sheet(refillWide, refillHigh, plate)
	v := window{0, 0, 16000}
	teeth, ok := pegs[r.Species]
	if !ok {
		teeth = pegs["dog"]
	}
	c.teeth(v, teeth)
	margin := []dot{{-8, -9, 1}, {248, -9, 1}, {248, 112, 1}}
	x := 240
	for i := len(teeth) - 1; i >= 0; i-- { // a scallop at each tooth
		t := teeth[i]
		margin = append(margin, dot{x, 113, 0}, dot{x - t.wide/2, 113 - min(t.long/3, 8), 0})
		x -= t.wide
	}
	margin = append(margin, dot{0, 113, 0}, dot{-8, 112, 1})
	edge := v.curve(margin[2:], false)
	c.fill(v.curve(margin, true), gumPlain)
	if r.Colour == "purple rim" {
		for i := range edge {
			edge[i].y -= 4 * 16
		}
		c.trace(edge, 16*5, gumEdge)
		for i := range edge {
			edge[i].y += 4 * 16
		}
	}
	c.trace(edge, lineHalf, black)
	lip := []dot{{-8, -9, 1}, {-8, 20, 1}, {50, 27, 0}, {120, 24, 0}, {190, 28, 0}, {248, 20, 1}, {248, -9, 1}}
	c.outline(v.curve(lip, true), pale, black)
	for x := 6; x < 240; x += 9 { // hair on the lip
		c.trace([]point{{x * 16, (5 + x%4) * 16}, {(x + 4) * 16, (13 + x%4) * 16}}, fineHalf, black)
	}
	if r.Species == "cattle" {
		return c.upsideDown()
	}
	return c
}

// teeth draws the crowns; the gum will cover their necks.
func (c *canvas) teeth(v window, teeth []peg) {
	x := 0
	for _, t := range teeth {
		if t.long > 0 {
			l, r, m, foot := x+1, x+t.wide-1, x+t.wide/2, 111+t.long
			q, half := t.wide/4, 111+t.long*3/5
			crown := []dot{{l, 100, 1}, {l, 114, 0}, {l + q*2/3, half, 0}, {m, foot, 0}, {r - q*2/3, half, 0}, {r, 114, 0}, {r, 100, 1}}
			if t.point < 6 {
				crown = []dot{{l, 100, 1}, {l, 114, 0}, {l + t.point, foot - 2, 0}, {m, foot, 0}, {r - t.point, foot - 2, 0}, {r, 114, 0}, {r, 100, 1}}
			}
			c.outline(v.curve(crown, true), plate, black)
		}
		x += t.wide
	}
}

// finger draws the finger that presses on the middle of the gum.
func (r Refill) finger(c *canvas) {
	v := window{0, 0, 16000}
	tip := []dot{{164, -9, 1}, {142, 50, 0}, {138, 78, 0}, {120, 94, 0}, {101, 84, 0}, {97, 62, 0}, {104, 30, 0}, {112, -9, 1}}
	nail := []dot{{104, 62, 0}, {110, 50, 0}, {124, 52, 0}, {128, 68, 0}, {119, 84, 0}, {107, 78, 0}}
	if r.Species == "cattle" {
		c.upsideDown()
	}
	c.outline(v.curve(tip, true), gumFinger, black)
	c.trace(append(v.curve(nail, true), v.curve(nail, true)[0]), fineHalf, black)
	if r.Species == "cattle" {
		c.upsideDown()
	}
}

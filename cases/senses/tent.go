package senses

// Tent is a fold of skin that is lifted and let go.
type Tent struct {
	Millis int  // from letting go until the coat is level again; 0 to 6000
	Stays  bool // it sinks a little and keeps standing
}

// The fold is lifted in a second, held until tentRelease, then let go; a frame
// lasts a tenth of a second.
const (
	tentCentis  = 10
	tentFrames  = 90
	tentLift    = 10
	tentRelease = 20
	tentSize    = 40000
	tentWide    = 240
	tentHigh    = 140
	tentTop     = 60 // pixels that the fold is lifted
	maxTent     = 6000
)

// Picture renders the clip: a GIF of 9 s and 40,000 bytes.
func (t Tent) Picture() Picture { return Picture{"image/gif", t.reel().gif()} }

func (t Tent) reel() reel {
	known := map[[2]int]*canvas{}
	frames := make([]*canvas, tentFrames)
	for f := range frames {
		held := 0
		if f < tentRelease {
			held = 1
		}
		at := [2]int{t.height(f), held}
		if known[at] == nil {
			known[at] = fold(at[0], held == 1)
		}
		frames[f] = known[at]
	}
	return reel{frames: frames, own: []RGB{{0xe3, 0xc3, 0xa6}, {0xdd, 0xd5, 0xc6}, {}, {}}, centis: tentCentis, size: tentSize}
}

// height is how high the fold stands at a frame, in pixels. Let go, it falls fast
// at first and slower towards the end; one that stays loses a third in two
// seconds and then nothing.
func (t Tent) height(frame int) int {
	gone := (frame - tentRelease) * 10 * tentCentis
	switch {
	case frame < 3:
		return 0
	case frame < 3+tentLift:
		return tentTop * (frame - 2) / tentLift
	case gone < 0:
		return tentTop
	case t.Stays:
		return tentTop - tentTop/3*min(gone, 2000)/2000
	}
	millis := min(max(t.Millis, 0), maxTent)
	if gone >= millis {
		return 0
	}
	left := (millis - gone) * 1000 / millis
	return max(1, tentTop*left*left/1000000)
}

// Level returns the tenths of a second from letting go until the coat is level,
// or -1 where it is not within the clip.
func (t Tent) Level() int {
	for f := tentRelease; f < tentFrames; f++ {
		if t.height(f) == 0 {
			return f - tentRelease
		}
	}
	return -1
}

// coatLine is where the coat lies, in pixels from the top.
const coatLine = 112

// fold draws the coat from the side with a fold standing so high, held or not.
func fold(high int, held bool) *canvas {
	c := sheet(tentWide, tentHigh, plate)
	v := window{0, 0, 16000}
	foot := 14 + high/5
	line := []dot{{-8, coatLine - 2, 1}, {60, coatLine + 1, 0}, {120 - 2*foot, coatLine, 0}}
	if high > 0 {
		line = append(line, dot{120 - foot, coatLine - high/6, 0}, dot{113 - high/30, coatLine - high*2/3, 0}, dot{120, coatLine - high, 0},
			dot{127 + high/30, coatLine - high*2/3, 0}, dot{120 + foot, coatLine - high/6, 0})
	}
	line = append(line, dot{120 + 2*foot, coatLine, 0}, dot{180, coatLine + 1, 0}, dot{248, coatLine - 2, 1})
	body := append(append([]dot{}, line...), dot{248, 148, 1}, dot{-8, 148, 1})
	c.fill(v.curve(body, true), pale)
	coated := v.curve(line, false)
	c.trace(coated, lineHalf, black)
	c.hairs(coated)
	if held {
		c.pinch(v, coatLine-high)
	}
	return c
}

// hairs draws the hair that lies along the coat, pointing backwards.
func (c *canvas) hairs(line []point) {
	next := 0
	for _, p := range line {
		if p.x < next {
			continue
		}
		next = p.x + 9*16
		c.trace([]point{{p.x + 8, p.y + 48}, {p.x + 80, p.y + 88}}, fineHalf, black)
		c.trace([]point{{p.x + 48, p.y + 208}, {p.x + 120, p.y + 240}}, fineHalf, black)
	}
}

// pinch draws finger and thumb of a hand that comes from the right and holds the
// fold at a height.
func (c *canvas) pinch(v window, y int) {
	finger := []dot{{248, y - 72, 1}, {196, y - 66, 0}, {140, y - 56, 0}, {108, y - 36, 0}, {100, y - 8, 0}, {103, y + 14, 0}, {112, y + 17, 0},
		{117, y + 2, 0}, {121, y - 14, 0}, {136, y - 24, 0}, {164, y - 24, 0}, {200, y - 30, 1}, {248, y - 26, 1}}
	thumb := []dot{{248, y - 30, 1}, {200, y - 30, 0}, {158, y - 16, 0}, {130, y - 8, 0}, {123, y + 4, 0}, {127, y + 16, 0}, {142, y + 17, 0}, {176, y + 12, 0}, {210, y + 20, 0}, {248, y + 26, 1}}
	c.outline(v.curve(finger, true), own, black)
	c.outline(v.curve(thumb, true), own, black)
	c.trace(v.curve([]dot{{128, y - 2, 0}, {138, y - 1, 0}, {142, y + 7, 0}}, false), fineHalf, black)
}

package senses

// Refill is a gum to press: the colour goes under the finger and comes back.
type Refill struct {
	Species string // as of a Breath; it settles which teeth stand there
	Millis  int    // from letting go until the colour is back; 0 to 6000
	Colour  string // of the gum, a choice of mm.colour; another is pink
}

// The finger lets go after refillRelease frames of a tenth of a second each.
const (
	refillCentis  = 10
	refillFrames  = 90
	refillRelease = 20
	refillSize    = 20000
	refillWide    = 240
	refillHigh    = 140
	maxRefill     = 6000
)

// Picture renders the clip: the gum is pressed for two seconds, then let go. A
// GIF of 9 s and 20,000 bytes.
func (r Refill) Picture() Picture { return Picture{"image/gif", r.reel().gif()} }

func (r Refill) reel() reel {
	gum := r.gum()
	pressed := gum.copied()
	r.finger(pressed)
	known := map[int]*canvas{0: gum}
	frames := make([]*canvas, refillFrames)
	for f := range frames {
		radius := r.radius(f)
		switch {
		case f < refillRelease:
			frames[f] = pressed
			continue
		case known[radius] == nil:
			known[radius] = gum.copied()
			at := point{refillWide * 8, refillHigh * 8}
			known[radius].disc(at, radius*16+8, radius*16+8, gumEdge)
			known[radius].disc(at, radius*16-8, radius*16-8, gumWhite)
		}
		frames[f] = known[radius]
	}
	return reel{frames: frames, own: r.colours(), centis: refillCentis, size: refillSize}
}

// The colours of its own: the gum, the white print, the finger, and the edge of
// print and gum.
const (
	gumPlain = own + iota
	gumWhite
	gumFinger
	gumEdge
)

func (r Refill) colours() []RGB {
	gum, ok := tissue[r.Colour]
	if !ok {
		gum = tissue["pink"]
	}
	edge := gum.mix(RGB{0x43, 0x28, 0x2b}, 350)
	if r.Colour == "purple rim" {
		edge = RGB{0x6d, 0x3b, 0x7c}
	}
	return []RGB{gum, gum.mix(RGB{0xff, 0xfd, 0xf8}, 780), {0xe3, 0xc3, 0xa6}, edge}
}

// gumRadius is the print of the finger, in pixels.
const gumRadius = 24

// radius is the white that is left: all of it while pressed, none once the
// time is over. It closes from the rim, faster towards the end.
func (r Refill) radius(frame int) int {
	millis := min(max(r.Millis, 0), maxRefill)
	gone := (frame - refillRelease) * 10 * refillCentis
	if gone < 0 {
		return gumRadius
	}
	if gone >= millis {
		return 0
	}
	share := gone * 1000 / millis
	return max(1, gumRadius*(1000*1000-share*share)/(1000*1000))
}

// Back returns the frame in which the colour is first back, and the tenths of
// a second since the finger let go.
func (r Refill) Back() (frame, tenths int) {
	for f := refillRelease; f < refillFrames; f++ {
		if r.radius(f) == 0 {
			return f, f - refillRelease
		}
	}
	return refillFrames, refillFrames - refillRelease
}

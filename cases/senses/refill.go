package senses

// Refill is a gum to press: the colour goes under the finger and comes back.
type Refill struct {
	Millis int // from letting go until the colour is back; 0 to 6000
}

// The finger lets go after refillRelease frames of a tenth of a second each.
const (
	refillCentis  = 10
	refillFrames  = 90
	refillRelease = 20
	refillSize    = 1 << 17
	maxRefill     = 6000
)

// Picture renders the clip: a disc of colour, pressed for two seconds, then let go.
// A ring stands around it while the finger presses.
func (r Refill) Picture() Picture { return Picture{"image/gif", r.gif()} }

func (r Refill) gif() []byte {
	frames := make([][]byte, refillFrames)
	packs := map[int][]byte{}
	for f := range frames {
		radius := r.radius(f)
		key := radius
		if f < refillRelease {
			key = -1
		}
		if packs[key] == nil {
			packs[key] = gum(radius, f < refillRelease).packed()
		}
		frames[f] = packs[key]
	}
	return film(frames, refillCentis, refillSize)
}

// gumRadius is the disc that was pressed, in pixels.
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
	return gumRadius * (1000*1000 - share*share) / (1000 * 1000)
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

// gum draws the gum with a white disc of the given radius in it.
func gum(radius int, pressed bool) *canvas {
	c := new(canvas)
	for y := range high {
		for x := range wide {
			dx, dy := x-wide/2, y-high/2
			d := dx*dx + dy*dy
			switch {
			case d < radius*radius:
			case pressed && d < (gumRadius+3)*(gumRadius+3):
				c[y*wide+x] = line
			case dx*dx/4+dy*dy < 34*34:
				c[y*wide+x] = shade
			}
		}
	}
	return c
}

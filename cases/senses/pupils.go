package senses

// Pupils are the eyes of a patient while a light is shone into one of them.
type Pupils struct {
	Species string // as of a Breath: a cat's pupil stands, that of horse and cattle lies, others are round
	Right   bool   // the right eye is lit, on the left of the picture; a rabbit shows only the eye that is lit
	Size    Width  // of the lit eye's pupil at rest
	Direct  Answer // of the lit eye
	Follows bool   // the other pupil draws together too
	Lens    Lens   // of the lit eye
	Iris    Iris   // of the lit eye
}

// Width is that of a pupil at rest.
type Width int

// The widths of a pupil; the fellow of one that is keyed up is as wide.
const (
	PupilMiddling Width = iota
	PupilKeyedUp
	PupilWide
	PupilNarrow
)

// Answer is how a pupil takes a light.
type Answer int

// The answers to light.
const (
	AnswerBrisk Answer = iota
	AnswerSlow
	AnswerFixed
)

// Lens is what is seen in the pupil.
type Lens int

// The looks of a lens.
const (
	LensClear Lens = iota
	LensHaze
	LensPatch
	LensWhite
)

// Iris is the look of the coloured ring.
type Iris int

// The looks of an iris.
const (
	IrisEven Iris = iota
	IrisSpecks
	IrisLacy
	IrisRusty
)

// The light comes on at pupilOn and goes off at pupilOff; a frame lasts a tenth
// of a second.
const (
	pupilCentis = 10
	pupilFrames = 90
	pupilOn     = 20
	pupilOff    = 55
	pupilSize   = 40000
	pupilWide   = 240
	pupilHigh   = 140
)

// Picture renders the clip: a GIF of 9 s and 40,000 bytes. The eyes are seen from
// the front, so that the right one stands on the left.
func (p Pupils) Picture() Picture { return Picture{"image/gif", p.reel().gif()} }

func (p Pupils) reel() reel {
	known := map[[3]int]*canvas{}
	frames := make([]*canvas, pupilFrames)
	for f := range frames {
		lit := 0
		if f >= pupilOn && f < pupilOff {
			lit = 1
		}
		at := [3]int{p.drawn(f, p.Direct), 0, lit}
		if p.Follows {
			at[1] = p.drawn(f, p.Direct%AnswerFixed) // a fixed pupil may have a brisk fellow
		}
		if known[at] == nil {
			known[at] = p.eyes(at[0], at[1], lit == 1)
		}
		frames[f] = known[at]
	}
	return reel{frames: frames, own: p.colours(), centis: pupilCentis, size: pupilSize}
}

// answers are how many tenths of a second a pupil waits, how many it takes to
// draw together, and how far it does, in thousandths of its way (derived: order
// and proportion are the trade's, the figures ours).
var answers = [...]struct{ wait, take, far int }{AnswerBrisk: {2, 4, 1000}, AnswerSlow: {7, 14, 350}, AnswerFixed: {0, 1, 0}}

// drawn is how far a pupil has drawn together at a frame, in twentieths of the
// whole way; in the dark it opens again in two seconds.
func (p Pupils) drawn(frame int, how Answer) int {
	a := answers[min(max(how, AnswerBrisk), AnswerFixed)]
	far := a.far * min(max(frame-pupilOn-a.wait, 0), a.take) / a.take
	if frame >= pupilOff {
		far = far * max(0, 20-max(0, frame-pupilOff-a.wait)) / 20
	}
	return far / 50
}

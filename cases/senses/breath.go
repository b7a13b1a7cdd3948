package senses

import "sync"

// Breath is a chest to watch.
type Breath struct {
	Rate   int    // breaths a minute; 0 or less is a still chest, more than 360 is taken as 360
	Phase  uint64 // where in a breath the clip begins
	Effort int    // 0 quiet to 4: how far the flank moves
}

// breathCentis is the delay of a frame in hundredths of a second: 12.5 frames a
// second follow a chest up to 375 breaths a minute.
const (
	breathCentis = 8
	breathFrames = Seconds * 100 / breathCentis
	maxBreaths   = 360
	breathSize   = 1 << 19 // bytes of every clip; a test holds that no clip needs more
)

// turn is the place within a breath at a frame, 1<<16 a breath; inspiration begins at 0.
func (b Breath) turn(frame int) int {
	rate := min(max(b.Rate, 0), maxBreaths)
	return int((int64(frame*rate)*(1<<16)/breathFrames + int64(b.Phase%(1<<16))) & (1<<16 - 1))
}

// Onsets returns the frames in which an inspiration begins, ascending. The clip
// runs round, so that the frame before the first is the last: an inspiration
// that begins with the clip counts, and a whole number of breaths in the time
// watched is counted so wherever in a breath the clip begins.
func (b Breath) Onsets() []int {
	var at []int
	before := b.turn(breathFrames - 1)
	for f := range breathFrames {
		turn := b.turn(f)
		if turn < before {
			at = append(at, f)
		}
		before = turn
	}
	return at
}

// Within returns how many inspirations begin in the first seconds of the clip.
func (b Breath) Within(seconds int) int {
	n := 0
	for _, f := range b.Onsets() {
		if f*breathCentis < seconds*100 {
			n++
		}
	}
	return n
}

// Picture renders the clip.
func (b Breath) Picture() Picture { return Picture{"image/gif", b.gif()} }

func (b Breath) gif() []byte {
	frames := make([][]byte, breathFrames)
	pics := flanks()
	for f := range frames {
		frames[f] = pics[b.level(f)]
	}
	return film(frames, breathCentis, breathSize)
}

// levels is how finely the rise of the flank is drawn.
const levels = 29

// level is the rise of the flank: up in two fifths of a breath, down in three,
// further with effort.
func (b Breath) level(frame int) int {
	const full = 1 << 16
	t := b.turn(frame)
	if t < full*2/5 {
		t = t * 5 / 4 // 0 to half a turn
	} else {
		t = full/2 + (t-full*2/5)*5/6 // half to a whole turn
	}
	rise := (1<<15 - bhaskara(t+full/4)) / 2 // 0 .. 1<<15
	reach := 12 + 4*min(max(b.Effort, 0), 4)
	return min(rise*reach>>15, levels-1)
}

// flanks are the pictures of every level, packed once.
var flanks = sync.OnceValue(func() [][]byte {
	out := make([][]byte, levels)
	for l := range out {
		out[l] = flank(l).packed()
	}
	return out
})

// flank draws a trunk from the side: the back stands still, the ribs and the
// belly line move.
func flank(level int) *canvas {
	c := new(canvas)
	for x := 8; x < wide-8; x++ {
		bow := bhaskara((x - 8) * (1 << 15) / (wide - 16)) // 0 .. 1<<15 .. 0
		c.dot(x, 18-bow*8>>15)
		c.dot(x, 46+bow*(4+level*9/10)>>15)
	}
	for rib := range 5 {
		x0 := 30 + rib*15
		for y := 18; y < 46; y++ {
			bow := bhaskara((y - 18) * (1 << 15) / 28)
			c.dot(x0+rib*level/16+bow*(6+level/4)>>15, y)
		}
	}
	return c
}

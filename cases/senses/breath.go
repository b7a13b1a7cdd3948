package senses

// Breath is a chest to watch.
type Breath struct {
	Species string // dog, cat, horse, cattle or rabbit; another is drawn as a dog
	Dry     bool   // it has no udder, as a calf
	Rate    int    // breaths a minute; 0 or less is a still chest, more than 360 is taken as 360
	Phase   uint64 // where in a breath the clip begins
	Effort  int    // 0 none, 1 mild, 2 moderate, 3 severe, 4 agonal
	In, Out int    // thousandths of a breath that drawing it and letting it out take; 0 is 420 of each, the rest a pause
	Depth   Depth
	Opposed bool // the chest falls while the flank rises
	Open    bool // the mouth is open
	Push    bool // the belly presses the breath out
}

// Depth is how far ribs and flank move at rest.
type Depth int

// The depths of a breath.
const (
	Usual   Depth = iota
	Quick         // a pant: small, and mostly of the flank
	Shallow       // the ribs hardly move
	Deep
)

// breathCentis is the delay of a frame in hundredths of a second: 12.5 frames a
// second follow a chest up to 375 breaths a minute.
const (
	breathCentis = 8
	breathFrames = Seconds * 100 / breathCentis
	maxBreaths   = 360
	breathSize   = 120000 // bytes of every clip; a test holds that no clip needs more
	breathWide   = 240
	breathHigh   = 140
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

// Picture renders the clip: a GIF of 60 s and 120,000 bytes. It runs round
// without a seam, for it holds a whole number of breaths.
func (b Breath) Picture() Picture { return Picture{"image/gif", b.reel().gif()} }

func (b Breath) reel() reel { return b.filmed(b.patient()) }

func (b Breath) filmed(p *watched) reel {
	known := map[[2]int]*canvas{}
	frames := make([]*canvas, breathFrames)
	for f := range frames {
		rise, push := b.rise(b.turn(f))
		at := [2]int{p.reach[0] * rise / 1000, (p.reach[1]*rise - p.push*push) / 1000}
		if known[at] == nil {
			known[at] = p.breathing(at[0], at[1])
		}
		frames[f] = known[at]
	}
	return reel{frames: frames, own: p.colours(), centis: breathCentis, size: breathSize}
}

// rise is how far the breath is drawn, and how hard the belly presses, at a
// place in it: 0 to 1000.
func (b Breath) rise(turn int) (rise, push int) {
	in, out := b.In, b.Out
	if in <= 0 || out <= 0 {
		in, out = 420, 420
	}
	at := turn * (in + out + max(0, 1000-in-out)) >> 16
	switch {
	case at < in:
		return swing(at * 1000 / in), 0
	case at < in+out:
		t := (at - in) * 1000 / out
		return 1000 - swing(t), max(0, bhaskara((t-300)*(1<<15)/700)*1000>>15)
	}
	return 0, 0
}

// swing goes from 0 to 1000 along half a wave, at thousandths of the way.
func swing(t int) int { return (1<<15 - bhaskara(t*(1<<15)/1000+1<<14)) * 1000 >> 16 }

// excursions are how far chest and flank come out at full breath, in pixels, by
// depth: at no effort, and what each grade of effort adds in sixteenths.
var excursions = [...]struct{ chest, flank, chestMore, flankMore int }{
	Usual:   {4, 5, 12, 30},
	Quick:   {2, 4, 8, 16},
	Shallow: {1, 3, 4, 20},
	Deep:    {6, 7, 20, 32},
}

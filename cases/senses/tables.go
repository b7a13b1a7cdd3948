package senses

import "sync"

// Everything that sounds is read from tables: a turn of a wave, a stretch of
// noise, the swell of a sound over its length. They are made once, in integers.
const (
	unit      = 1 << 12 // a level of one; beds and waves have this much on average (root of the mean square)
	shapeSize = 1 << 10
	waveSize  = 1 << 10
	bedSize   = samples / 20 // a bed begins again after three seconds, 20 times in a clip
	bedHertz  = 3            // steps of a bed's pitch in a hertz
)

// wave is one turn of a tone, bed a stretch of noise without a seam, shape how
// a sound swells and fades over its length, 0 to unit.
type (
	wave  [waveSize]int16
	bed   [bedSize]int16
	shape [shapeSize]int16
)

// A tone by the strength of its harmonics.
func newWave(harmonics ...int) *wave {
	raw := make([]int, waveSize)
	for i := range raw {
		for h, strength := range harmonics {
			raw[i] += strength * bhaskara(i*(h+1)*(1<<16/waveSize)) / 16
		}
	}
	w := new(wave)
	for i, v := range levelled(raw) {
		w[i] = int16(v)
	}
	return w
}

// newBed is noise between two pitches: many tones at random; where it leans, more
// of them low, and the high ones softer. Each runs a whole number of times in
// the bed: no seam.
func newBed(seed uint32, low, high int, leans bool) *bed {
	const tones = 96
	raw := make([]int, bedSize)
	n := noise(seed)
	for range tones {
		up, strength := n.below(1<<12), 16
		if leans {
			up = up * up >> 12
			strength = 16 - up*14>>12
		}
		pitch := uint32((uint64(bedHertz*low+bedHertz*(high-low)*up>>12)<<32 + bedSize/2) / bedSize)
		at := uint32(n.below(1<<16)) << 16
		for i := range raw {
			raw[i] += strength * int(sine[at>>22])
			at += pitch
		}
	}
	b := new(bed)
	for i, v := range levelled(raw) {
		b[i] = int16(v)
	}
	return b
}

// sine is the plain turn that beds are made of.
var sine = func() (s [waveSize]int16) {
	for i := range s {
		s[i] = int16(bhaskara(i*(1<<16/waveSize)) / 16)
	}
	return s
}()

// levelled scales to a root mean square of one unit.
func levelled(raw []int) []int {
	var sum int64
	for _, v := range raw {
		sum += int64(v) * int64(v)
	}
	mean := root(sum / int64(len(raw)))
	for i, v := range raw {
		raw[i] = min(max(int(int64(v)*unit/max(mean, 1)), -1<<15), 1<<15-1)
	}
	return raw
}

// root is the whole part of a square root.
func root(n int64) int64 {
	if n < 2 {
		return max(n, 0)
	}
	x := n
	for y := (x + 1) / 2; y < x; y = (x + n/x) / 2 {
		x = y
	}
	return x
}

// newShape draws a shape through heights at even distances, 0 to 100, with
// straight lines between them.
func newShape(heights ...int) *shape {
	s := new(shape)
	last := len(heights) - 1
	for i := range s {
		at := i * last * 256 / shapeSize
		a, b := heights[at/256], heights[at/256+1]
		s[i] = int16((a*256 + (b-a)*(at%256)) * unit / 25600)
	}
	return s
}

// The shapes: level throughout, rising and falling, loudest at the start,
// loudest late, and the rush of a breath.
var (
	level    = newShape(0, 90, 100, 100, 100, 100, 100, 100, 90, 0)
	diamond  = newShape(0, 18, 50, 85, 100, 85, 50, 18, 0)
	falling  = newShape(0, 100, 90, 75, 60, 46, 34, 24, 15, 8, 0)
	arching  = newShape(0, 20, 55, 85, 100, 100, 85, 60, 42, 30, 20, 0)
	inrush   = newShape(0, 40, 75, 92, 100, 100, 92, 70, 35, 0)
	outgoing = newShape(0, 80, 100, 80, 50, 25, 10, 4, 0)
)

// beds are the noises. Murmurs of regurgitation lie at 100 to 600 Hz (textbook,
// from memory), breath at 100 to 1000 Hz over the chest and to 1500 Hz over the
// windpipe (common practice, no source); below 100 Hz small loudspeakers are silent.
type beds struct {
	room, blow, sigh, rustle, rush, pipe, roll *bed
}

var noises = sync.OnceValue(func() beds {
	return beds{
		room:   newBed(1, 60, 3000, false),
		blow:   newBed(2, 100, 600, false),
		sigh:   newBed(3, 160, 700, false),
		rustle: newBed(4, 100, 600, true),
		rush:   newBed(5, 100, 1200, true),
		pipe:   newBed(6, 120, 1500, true),
		roll:   newBed(7, 70, 260, true),
	}
})

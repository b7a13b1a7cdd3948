package senses

// Feel is what a beat of the pulse is like under a finger.
type Feel int

// NoFinger is where nobody feels for a pulse: such a clip has one channel. The
// others are how a beat fills and leaves: Strong well and at ease; Bounding tall
// and falling off at once; Weak a thread; SlowRising late and long; Changing
// tall and small by turns; Absent not at all; Slight like a strong one, but far
// under the finger.
const (
	NoFinger Feel = iota
	Strong
	Bounding
	Weak
	SlowRising
	Changing
	Absent
	Slight
)

// Pulse is an artery under a finger while the heart is heard.
type Pulse struct {
	Feel   Feel
	Misses bool // a beat that came too early to fill the heart does not arrive
}

// swells are the beats of a pulse: how high the finger is lifted, of 1<<15, and
// by every second beat; and how long it rises and falls, in ms. That a bounding
// one is tall and short, a weak one low, and a slow one late is the words'
// meaning; the figures are derived.
var swells = [...]struct{ high, second, rise, fall int }{
	Strong:     {16000, 16000, 90, 250},
	Bounding:   {25000, 25000, 60, 140},
	Weak:       {4500, 4500, 70, 140},
	SlowRising: {9000, 9000, 230, 250},
	Changing:   {17000, 8000, 90, 250},
	Absent:     {},
	Slight:     {6500, 6500, 90, 250},
}

// carries is how full a heart must be, in thousandths of its mean filling, for a
// beat to reach the finger where beats are missed (derived: early beats fall
// short of it, as does about one in five of an irregular heart).
const carries = 750

// Carried returns which beats reach the finger, beside those that Beats gives.
func (s Scene) Carried() []bool {
	out := make([]bool, 0, maxRate)
	s.heart().each(func(_, _, filled int) { out = append(out, s.Pulse.carried(filled)) })
	return out
}

func (p Pulse) carried(filled int) bool {
	return p.Feel != Absent && (!p.Misses || filled >= carries)
}

// render lays the wave under the finger: it begins two fifths of the contraction
// after the first sound, for the valve opens and the wave travels meanwhile, at
// most 120 ms (derived). The fuller the heart was, the higher the wave.
func (p Pulse) render(m mix, h Heart) {
	row := swells[min(max(int(p.Feel), int(Strong)), len(swells)-1)]
	k, delay := 0, 0
	if n := len(h.Beats()); n > 0 {
		delay = systole(samples/n) * 2 / 5
	}
	h.each(func(at, gap, filled int) {
		high := row.high
		if k++; k%2 == 0 {
			high = row.second
		}
		if high > 0 && p.carried(filled) {
			// A wave is over before the next one comes, and at most as long as it likes.
			long := min((row.rise+row.fall)*SampleRate/1000, gap*9/10)
			rise := long * row.rise / (row.rise + row.fall)
			m.swell(at+delay, rise, long-rise, perMille(high, min(max(filled, 500), 1200)))
		}
	})
}

// rising is the side of a hill: half a turn of a cosine, 0 to unit.
var rising = func() (s shape) {
	for i := range s {
		s[i] = int16((1<<15 - bhaskara(i<<15/shapeSize+1<<14)) * unit >> 16)
	}
	return s
}()

// swell adds a smooth hill: half a wave up, half a wave down.
func (m mix) swell(from, rise, fall, high int) {
	m.side(from, rise, 1, high)
	m.side(from+rise, fall, -1, high)
}

// side adds a side of a hill, upwards or downwards.
func (m mix) side(from, n, way, high int) {
	step := shapeSize << 20 / max(n, 1)
	m.spans(from, n, func(from, to, skip int) {
		at := skip * step
		for i := range m[from:to] {
			k := at >> 20 & (shapeSize - 1)
			if way < 0 {
				k = shapeSize - 1 - k
			}
			m[from+i] += int32(high) * int32(rising[k]) >> 12
			at += step
		}
	})
}

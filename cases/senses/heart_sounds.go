package senses

// Timing is the part of a beat in which a murmur is heard.
type Timing int

// Systolic is between the first and the second sound, Diastolic after the
// second, Continuous through both, loudest about the second.
const (
	Systolic Timing = iota
	Diastolic
	Continuous
)

// Shape is how a murmur's loudness goes; a continuous one has its own.
type Shape int

// Plateau is level, Diamond rises and falls, Falling is loudest at its start.
const (
	Plateau Shape = iota
	Diamond
	Falling
)

// Murmur is noise that the blood makes, as loud as its grade at this place.
type Murmur struct {
	Timing Timing
	Shape  Shape
	Grade  int // 0 none to 6
}

// murmurLevels is the loudness by grade. One is near the noise of the room; two
// is quieter than the heart sounds, three about as loud, four and more louder
// (wording of the UK heart-screening cardiologists; the figures are derived).
var murmurLevels = [...]int{0, 180, 480, 1450, 2200, 3000, 4000}

// thump is one heart sound: a pitch, its harmonics, a length and a loudness.
type thump struct {
	hertz, millis, loud int
	harmonics           []int
}

// The first sound is longer and lower than the second (teaching notes on canine
// heart sounds), mostly at 20 to 150 Hz and the second at 50 to 200 Hz (from
// memory). Small loudspeakers give little below 100 Hz, so both are richer in
// overtones than a chest is, and a part of each lies above 150 Hz. That shifts
// both; their relation stays: the first is lower and half as long again.
// Third and fourth sounds are brief, dull, 20 to 70 Hz (from memory) and
// enriched too.
var (
	firstSound  = thump{hertz: 45, millis: 110, loud: 2000, harmonics: []int{4, 6, 5, 4, 2}}
	secondSound = thump{hertz: 65, millis: 70, loud: 2000, harmonics: []int{3, 6, 5, 3}}
	extraSound  = thump{hertz: 38, millis: 70, loud: 1150, harmonics: []int{4, 5, 3, 1}}
)

// render writes the thump in so many samples, equally loud whether it is short or
// long; dull takes the overtones off. The overtones do not start together, so
// that none of its peaks towers over the rest.
func (t thump) render(n int, dull bool) []int32 {
	raw := make([]int, max(n, 8))
	for i := range raw {
		sum := 0
		for h, strength := range t.harmonics {
			if dull {
				strength = strength * 3 / (3 + h)
			}
			turn := int(int64(i*t.hertz*(h+1))*(1<<16)/SampleRate) + h*h*(1<<15)/len(t.harmonics)
			sum += strength * bhaskara(turn)
		}
		swell := min(i*8, len(raw)) // full after an eighth of its length
		rest := len(raw) - i        // then it falls away
		fade := rest * rest / len(raw)
		raw[i] = sum / 32 * min(swell, fade) / len(raw)
	}
	out := make([]int32, len(raw))
	for i, v := range levelled(raw) {
		out[i] = int32(v * t.loud / unit)
	}
	return out
}

// beat is the plan of one heart's beats.
type beat struct {
	systole              int // from the first to the second sound
	first, second, extra []int32
	firstLoud            int
	secondLoud           int
	loud                 int // of what is neither
}

// systole is the contraction: two fifths of a fast beat and at most 300 ms of a
// slow one (common practice, no source).
func systole(period int) int { return min(period*2/5, SampleRate*3/10) }

// plan measures a beat by the mean gap.
func (h Heart) plan(period int) beat {
	contracts := systole(period)
	n := min(SampleRate*firstSound.millis/1000, contracts/2)
	b := beat{
		systole: contracts,
		first:   firstSound.render(n, h.Muffled),
		second:  secondSound.render(n*secondSound.millis/firstSound.millis, h.Muffled),
		extra:   extraSound.render(n*extraSound.millis/firstSound.millis, h.Muffled),
		loud:    within(h.Loud),
	}
	if h.Muffled {
		b.loud = perMille(b.loud, 330)
	}
	// A slow heart is silent for longer: its sounds are a little louder, so that
	// one loudness of the earphones serves every patient.
	full := SampleRate * firstSound.millis / 1000 * 5
	thumps := int(root(int64(min(max(period, full), 3*full)) * 1000000 / int64(full)))
	b.firstLoud, b.secondLoud = perMille(b.loud, thumps), perMille(b.loud, thumps*3/4)
	b.loud = perMille(b.loud, (1000+thumps)/2)
	if h.Base {
		b.firstLoud, b.secondLoud = b.secondLoud*9/10, b.firstLoud
	}
	return b
}

func (h Heart) render(m mix) {
	n := len(h.Beats())
	if n == 0 || h.Loud <= 0 {
		return
	}
	plan := h.plan(samples / n)
	h.each(func(at, gap, filled int) { h.sound(m, plan, at, gap, filled) })
}

// each calls f with where every beat begins, the gap after it, and how full the
// heart was, in thousandths of the mean.
func (h Heart) each(f func(at, gap, filled int)) {
	beats := h.Beats()
	for k, at := range beats {
		before := (k + len(beats) - 1) % len(beats)
		after := (k + 1) % len(beats)
		gap := (beats[after]-at+samples-1)%samples + 1
		filled := min(((at-beats[before]+samples-1)%samples+1)*1000/(samples/len(beats)), 1200)
		if h.Rhythm == Regular || h.Rhythm == Sinus {
			filled = 1000
		}
		f(at, gap, filled)
	}
}

// sound lays one beat. A chamber that had little time to fill throws out
// little: its second sound and its murmur are softer, its first is not.
func (h Heart) sound(m mix, b beat, at, gap, filled int) {
	closes := min(b.systole, gap*3/5)
	m.add(at, b.first, b.firstLoud)
	second := perMille(b.secondLoud, 300+perMille(700, filled))
	m.add(at+closes, b.second, second)
	if h.Split {
		m.add(at+closes+max(len(b.second)*2/3, SampleRate*45/1000), b.second, perMille(second, 900))
	}
	if h.Third {
		m.add(at+closes+len(b.second)+min(gap/12, SampleRate/16), b.extra, b.loud)
	}
	if h.Fourth {
		m.add(at-len(b.extra)-min(gap/20, SampleRate/40), b.extra, b.loud)
	}
	for i, x := range h.Murmurs {
		loud := perMille(murmurLevels[min(max(x.Grade, 0), len(murmurLevels)-1)], b.loud)
		x.render(m, b, at, closes, gap, perMille(loud, filled), scatter(h.Phase, uint64(at+i)))
	}
}

var shapes = [...]*shape{Plateau: level, Diamond: diamond, Falling: falling}

// render lays one beat's murmur. Noise above 100 Hz, as murmurs of regurgitation
// are; what falls in the pause is higher and blowing.
func (x Murmur) render(m mix, b beat, at, closes, gap, loud int, noise uint64) {
	s := shapes[min(max(int(x.Shape), 0), len(shapes)-1)]
	opens := len(b.first) * 2 / 3
	rests := closes + len(b.second)*2/3
	switch x.Timing {
	case Systolic:
		m.pour(at+opens, closes-opens, noises().blow, noise, s, loud)
	case Diastolic:
		m.pour(at+rests, (gap-rests)*4/5, noises().sigh, noise, s, loud)
	case Continuous:
		m.pour(at+opens/2, gap, noises().blow, noise, arching, loud)
	}
}

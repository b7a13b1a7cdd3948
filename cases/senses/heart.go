package senses

import "slices"

// Rhythm is how the beats follow each other.
type Rhythm int

// Regular is even; Sinus quickens as a breath is drawn and slows as it is let
// out; Irregular has no pattern (as in atrial fibrillation); Early has a beat
// now and then that comes too soon, with a pause after it (premature); Blocked
// is even, but that one beat in about five is left out. All keep the rate over
// the whole clip, as beats that are heard.
const (
	Regular Rhythm = iota
	Sinus
	Irregular
	Early
	Blocked
)

// Heart is a heart to listen to.
type Heart struct {
	Rate    int    // beats a minute; 0 or less is silence, more than 600 is taken as 600
	Phase   uint64 // where in a beat the clip begins; within a Scene, the scene's
	Rhythm  Rhythm
	Breaths int  // breaths a minute that a Sinus rhythm keeps with; 0, or too fast to follow: one in five beats
	Loud    int  // thousandths
	Base    bool // at the base the second sound is the louder, elsewhere the first
	Third   bool // an extra dull sound early in the pause
	Fourth  bool // an extra dull sound just before the first
	Split   bool // the second sound doubled
	Muffled bool // everything dull and from further away, as through fluid or fat
	Murmurs []Murmur
}

// maxRate bounds the work of a clip.
const maxRate = 600

// Beats returns where the first heart sound of every beat begins, in samples
// from the start of the clip, ascending: as many as the rate says.
func (h Heart) Beats() []int {
	rate := min(h.Rate, maxRate)
	if rate <= 0 {
		return nil
	}
	start := int(h.Phase % samples)
	at := make([]int, rate)
	for k, even := range h.places(rate) {
		at[k] = ((even+start)%samples + samples) % samples
	}
	slices.Sort(at)
	return at
}

// places are the beats from the beginning of the pattern. Places are moved, not
// gaps added up, so that the rate over the clip stays what it is.
func (h Heart) places(rate int) []int {
	at := make([]int, rate)
	for k := range at {
		at[k] = over(k, rate)
	}
	switch h.Rhythm {
	case Sinus:
		h.sway(at)
	case Irregular:
		h.stray(at)
	case Early:
		h.hurry(at)
	case Blocked:
		skip(at)
	}
	return at
}

// over is the k-th of n places spread evenly over the clip.
func over(k, n int) int { return int(int64(k) * samples / int64(n)) }

// sway brings beats closer in the middle of a breath drawn and spreads them as
// it is let out: a quarter faster and slower than their mean, but no beat
// further from its even place than a fifth of a beat.
func (h Heart) sway(at []int) {
	waves := h.Breaths
	if waves <= 0 || waves > len(at)*2/5 {
		waves = max(len(at)/5, 1)
	}
	far := min(samples/len(at)/5, samples/(25*waves)) // 1/(4*2*pi) of a wave
	breath := breathStart(h.Phase) - int(h.Phase%samples)
	for k, even := range at {
		turn := int(int64(even-breath)*int64(waves)*(1<<16)/samples) - 1<<16/5
		at[k] -= int(int64(bhaskara(turn)) * int64(far) >> 15)
	}
}

// stray gives every beat a gap of its own, 55 to 145 in the hundred.
func (h Heart) stray(at []int) {
	n := noise(scatter(h.Phase, 2))
	gaps := make([]int, len(at))
	sum := 0
	for k := range gaps {
		gaps[k] = 55 + n.below(91)
		sum += gaps[k]
	}
	done := 0
	for k, gap := range gaps {
		at[k] = int(int64(done) * samples / int64(sum))
		done += gap
	}
}

// hurry brings about one beat in five forward; the next keeps its place, and
// so comes after a pause.
func (h Heart) hurry(at []int) {
	n := noise(scatter(h.Phase, 3))
	early := samples / len(at) * 35 / 100
	for k, since := 0, 2; k < len(at); k, since = k+1, since+1 {
		if since > 2 && (since > 8 || n.below(4) == 0) {
			at[k] -= early
			since = 0
		}
	}
}

// skip spreads the beats over more places than there are beats.
func skip(at []int) {
	slots := len(at) + max(len(at)/4, 1)
	k := 0
	for slot := range slots {
		if (slot+1)*len(at)/slots > slot*len(at)/slots {
			at[k] = over(slot, slots)
			k++
		}
	}
}

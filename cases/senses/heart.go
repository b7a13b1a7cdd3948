package senses

import (
	"encoding/binary"
	"sort"
)

// SampleRate is the clips' samples a second; 16 bit, one channel.
const SampleRate = 8000

// Rhythm is how the beats follow each other.
type Rhythm int

// Regular is even; Sinus quickens and slows in waves, as with breathing;
// Irregular has no pattern; Early has a beat now and then that comes too soon,
// with a pause after it. All keep the rate over the whole clip.
const (
	Regular Rhythm = iota
	Sinus
	Irregular
	Early
)

// Heart is a heart to listen to.
type Heart struct {
	Rate    int    // beats a minute; 0 or less is silence, more than 600 is taken as 600
	Phase   uint64 // where in a beat the clip begins, and which room noise it has
	Rhythm  Rhythm
	Murmur  int  // 0 none to 6: noise between the two sounds
	Gallop  bool // an extra dull sound in the pause
	Muffled bool // everything from further away
}

const samples = Seconds * SampleRate

// maxRate bounds the work of a clip.
const maxRate = 600

// Beats returns where the first heart sound of every beat begins, in samples
// from the start of the clip, ascending.
func (h Heart) Beats() []int {
	var in []int
	for _, at := range h.beats() {
		if at >= 0 && at < samples {
			in = append(in, at)
		}
	}
	return in
}

// beats includes the beats just before and after the clip, whose sounds reach into it.
func (h Heart) beats() []int {
	rate := min(h.Rate, maxRate)
	if rate <= 0 {
		return nil
	}
	period := samples / rate
	start := int(h.Phase % uint64(period))
	all := make([]int, 0, rate+3)
	for k := -1; k <= rate+1; k++ {
		all = append(all, k*samples/rate+start-period+h.sway(k, period))
	}
	sort.Ints(all)
	return all
}

// The beats of one breath's wave, of one loop of early beats, and the beats
// after which both begin again together.
const (
	beatsAWave = 5
	beatsALoop = 7
	beatsALap  = beatsAWave * beatsALoop
)

// sway moves a beat from its even place. The places are moved, not the gaps
// added up, so that the rate over the clip stays what it is. Where in its wave
// the clip begins follows from the phase, as does where in a beat.
func (h Heart) sway(k, period int) int {
	beat := k + 1 + int(h.Phase/uint64(period)%beatsALap)
	switch h.Rhythm {
	case Sinus:
		return int(int64(bhaskara(beat*(1<<16)/beatsAWave)) * int64(period) / 5 >> 15)
	case Irregular:
		n := noise(uint32(h.Phase>>3) ^ uint32(k+2)*2654435761)
		n.next()
		return n.next() * period * 9 / (128 * 40) // up to 22 % either way
	case Early:
		if at := beat % beatsALoop; at == 2 || at == 5 {
			return -period / 3
		}
	}
	return 0
}

// thump is one dull sound: a few low partials under an envelope.
type thump struct {
	hertz, millis, level int
}

// The first sound is longer and lower than the second (teaching notes on canine
// heart sounds; the frequencies are common practice, no source). Both carry
// octaves above 100 Hz because small loudspeakers give little below it.
var (
	firstSound  = thump{hertz: 60, millis: 120, level: 8200}
	secondSound = thump{hertz: 95, millis: 80, level: 6000}
	extraSound  = thump{hertz: 45, millis: 70, level: 3000}
)

// render writes the thump, at most limit samples long.
func (t thump) render(limit int) []int {
	n := max(min(t.millis*SampleRate/1000, limit), 8)
	out := make([]int, n)
	for i := range out {
		turn := int(int64(i*t.hertz) * (1 << 16) / SampleRate)
		wave := (3*bhaskara(turn) + 3*bhaskara(2*turn) + 2*bhaskara(3*turn)) / 8
		rest := n - i
		swell := min(i*6, n)    // full after a sixth of its length
		fade := rest * rest / n // then falls away
		out[i] = wave * t.level / n * min(swell, fade) >> 15
	}
	return out
}

// WAV renders the clip. Its length in bytes is the same whatever is in it.
func (h Heart) WAV() []byte {
	mix := make([]int, samples)
	h.room(mix)
	if beats := h.beats(); len(beats) > 0 {
		h.sound(mix, beats)
	}
	if h.Muffled {
		for i := range mix {
			mix[i] /= 3
		}
	}
	return wav(mix)
}

// room lays a faint noise under everything, so that silence is not exact zeros.
func (h Heart) room(mix []int) {
	n := noise(uint32(h.Phase) ^ uint32(h.Phase>>32))
	for i := range mix {
		mix[i] = n.next() / 4
	}
}

// murmurLevels is the loudness of a murmur by grade beside the heart sounds:
// grade 3 is about as loud as they are (UK heart-screening wording, Vet360).
var murmurLevels = [...]int{0, 300, 700, 1600, 2800, 4200, 5600}

func (h Heart) sound(mix, beats []int) {
	period := samples / min(h.Rate, maxRate)
	systole := min(period*2/5, SampleRate*3/10)
	first := firstSound.render(period * 3 / 10)
	second := secondSound.render(period / 4)
	extra := extraSound.render(period / 5)
	murmur := murmurLevels[min(max(h.Murmur, 0), len(murmurLevels)-1)]
	for _, at := range beats {
		add(mix, first, at)
		add(mix, second, at+systole)
		if h.Gallop {
			add(mix, extra, at+systole+len(second)+period/12)
		}
		if murmur > 0 {
			hiss(mix, at+len(first)/2, at+systole, murmur, noise(uint32(at)))
		}
	}
}

// add mixes a sound in, as far as it lies within the clip.
func add(mix, sound []int, at int) {
	for i, v := range sound {
		if j := at + i; j >= 0 && j < len(mix) {
			mix[j] += v
		}
	}
}

// hiss adds softened noise from..to.
func hiss(mix []int, from, to, level int, n noise) {
	var a, b, c int
	for i := from; i < to; i++ {
		a, b, c = b, c, n.next()
		if i >= 0 && i < len(mix) {
			mix[i] += (a + 2*b + c) * level / 512
		}
	}
}

// wav writes the shortest lawful header and the samples.
func wav(mix []int) []byte {
	const head = 44
	out := make([]byte, head+2*len(mix))
	le := binary.LittleEndian
	copy(out, "RIFF")
	le.PutUint32(out[4:], uint32(len(out)-8))
	copy(out[8:], "WAVEfmt ")
	le.PutUint32(out[16:], 16)
	le.PutUint16(out[20:], 1) // PCM
	le.PutUint16(out[22:], 1) // one channel
	le.PutUint32(out[24:], SampleRate)
	le.PutUint32(out[28:], 2*SampleRate)
	le.PutUint16(out[32:], 2)
	le.PutUint16(out[34:], 16)
	copy(out[36:], "data")
	le.PutUint32(out[40:], uint32(2*len(mix)))
	for i, v := range mix {
		le.PutUint16(out[head+2*i:], uint16(int16(v)))
	}
	return out
}

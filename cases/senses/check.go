package senses

import "sync"

// A sound check asks how many beats there were, and which of two hums is the deep
// one. Its clips are shorter than those of a patient; both kinds have one size.
const (
	CheckSeconds = 16
	LeastBeats   = 9 // about twelve, but nobody knows beforehand how many
	MostBeats    = 15
)

// The clips of the check. A beat has overtones, so that any loudspeaker carries
// it. The deep hum is 80 Hz, where much of a heart sound lies (50 to 150 Hz;
// common practice, no source). All figures are derived.
const (
	checkBegins = SampleRate                // the first second is quiet
	checkGap    = SampleRate * 9 / 10       // from beat to beat
	checkBeat   = SampleRate * 9 / 100      // a beat's length
	checkHums   = 4                         // swells of the hum
	checkHum    = SampleRate * 3            // from swell to swell
	checkSwell  = SampleRate * 5 / 2        // a swell's length
	deepHertz   = 80                        // of the deep hum
	deepLoud    = 4000                      // root of the mean square
	overLoud    = 450                       // of each overtone, in both clips
	hushLoud    = 350                       // of the noise that lies under both
	checkClip   = CheckSeconds * SampleRate // samples
)

// checking are the sounds of the check.
var checking = sync.OnceValue(func() (c struct {
	beat, pure *wave
	hush       *bed
}) {
	c.beat, c.pure, c.hush = newWave(16, 12, 6), newWave(16), newBed(8, 140, 1200, false)
	return c
})

// CheckBeats is a steady beat of so many, LeastBeats to MostBeats, and then
// quiet: a WAV of CheckSeconds.
func CheckBeats(beats int, phase uint64) []byte {
	m := make(mix, checkClip)
	m.fill(noises().room, phase, roomLevel)
	for k := range min(max(beats, LeastBeats), MostBeats) {
		m.sing(checkBegins+k*checkGap, checkBeat, checking().beat, 1100, diamond, 5000)
	}
	return wav(m)
}

// CheckHum is a hum that swells and fades; a deep one holds 80 Hz besides. What
// a small loudspeaker makes of 80 Hz by overdriving are its overtones: those,
// and a noise over them, are in both, so that without 80 Hz both sound alike.
func CheckHum(deep bool, phase uint64) []byte {
	m := make(mix, checkClip)
	m.fill(checking().hush, phase, hushLoud)
	for k := range checkHums {
		from := checkBegins + k*checkHum
		for overtone := 2; overtone <= 4; overtone++ {
			m.sing(from, checkSwell, checking().pure, deepHertz*10*overtone, level, overLoud)
		}
		if deep {
			m.sing(from, checkSwell, checking().pure, deepHertz*10, level, deepLoud)
		}
	}
	return wav(m)
}

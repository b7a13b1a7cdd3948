package senses

// Scene is what is audible at one place, with a chest piece lying there: a
// heart, breath and a belly, each as loud as it is at this place. Loud is
// always in thousandths of the loudness at the sound's own place; 0 is not
// heard, and the zero Scene is a quiet room.
type Scene struct {
	Phase uint64 // where the clip begins in its beats and breaths, and in its noise
	Heart Heart
	Air   Air
	Belly Belly
	Pulse Pulse // under a finger at the same time
}

// roomLevel is what is heard of the room, so that silence is not exact zeros.
const roomLevel = 36

// WAV renders a minute that runs round without a seam. Its length in bytes is
// the same whatever is in it. Where a finger lies on an artery it has two
// channels: what is heard, and how far the finger is lifted, 0 to 32767, which
// is to be looked at and not played.
func (s Scene) WAV() []byte {
	m := pool.Get().(*mix)
	defer pool.Put(m)
	s.render(*m)
	if s.Pulse.Feel == NoFinger {
		return wav(*m)
	}
	finger := pool.Get().(*mix)
	defer pool.Put(finger)
	clear(*finger)
	s.Pulse.render(*finger, s.heart())
	return wav(*m, *finger)
}

// render lays the beginning of the clip into a mix, as much as it holds.
func (s Scene) render(m mix) {
	m.fill(noises().room, scatter(s.Phase, 1), roomLevel)
	s.Air.render(m, s.Phase)
	s.heart().render(m)
	s.Belly.render(m, s.Phase)
}

// Beats returns where the first sound of every beat begins, in samples from the
// start of the clip, ascending.
func (s Scene) Beats() []int { return s.heart().Beats() }

func (s Scene) heart() Heart {
	s.Heart.Phase = s.Phase
	return s.Heart
}

// within keeps a loudness to what a clip has room for.
func within(loud int) int { return min(max(loud, 0), 2000) }

// scatter turns a phase into another number for each use of it, so that
// where a breath begins tells nothing of where a beat does (the finishing
// steps of a multiplicative hash).
func scatter(phase, use uint64) uint64 {
	x := phase + use*0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// perMille is a share of a loudness.
func perMille(loud, share int) int { return loud * share / 1000 }

// Package senses makes the sounds and pictures of an examination: a Scene is what
// a chest piece hears at one place, with a finger on an artery or without, a
// Breath is a chest to watch, a Refill a gum to press, a Tent a fold of skin, Pupils
// and Gait what their names say; Gum, Teeth, EarCanal, Condition, Posture, Face, Eye,
// Nose and Felt stand still. Its functions are pure and use integers only, so the
// same patient sounds and looks the same on every processor.
//
// A clip tells nothing but what a listener or watcher would get from it. Its
// length in bytes and its timing are constants, it begins at a phase that the
// caller picks, and it carries no metadata: neither size nor header gives a
// rate away. Serve clips uncompressed, for a compressed size would tell.
package senses

// Seconds is how long every counted clip lasts.
const Seconds = 60

// bhaskara is a sine in integers: the turn is 1<<16, the result -32768..32768.
// The approximation is Bhaskara's, good to two parts in a thousand.
func bhaskara(turn int) int {
	const half = 1 << 15
	turn &= 1<<16 - 1
	sign := 1
	if turn >= half {
		turn -= half
		sign = -1
	}
	p := int64(turn * (half - turn))
	return sign * int(16*p*half/(5*half*half-4*p))
}

// noise is a small generator for room noise and murmurs; it hides nothing and
// needs no quality.
type noise uint32

// next returns a value in -128..127.
func (n *noise) next() int {
	*n = *n*1664525 + 1013904223
	return int(int8(*n >> 24))
}

// below returns a value in 0..limit-1.
func (n *noise) below(limit int) int {
	n.next()
	return int(uint64(*n) * uint64(max(limit, 1)) >> 32)
}

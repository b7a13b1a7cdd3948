package senses

// Belly is gut and rumen to listen to.
type Belly struct {
	Gurgles int  // of the gut a minute, at most 60
	Rushes  int  // long rushes of the gut a minute, at most 6
	Rolls   int  // of the rumen a minute, at most 6
	Weak    bool // the rolls are short and soft
	Drips   int  // single drops a minute, at most 60
	Loud    int  // thousandths
}

func (b Belly) render(m mix, phase uint64) {
	if b.Loud <= 0 {
		return
	}
	b.Loud = within(b.Loud)
	n := noise(scatter(phase, 6))
	start := int(scatter(phase, 7) % samples)
	spread(start, min(b.Gurgles, 60), &n, func(at int) {
		gurgle(m, at, SampleRate/2+n.below(SampleRate*3/2), perMille(b.Loud, 500+n.below(500)), &n)
	})
	spread(start, min(b.Rushes, 6), &n, func(at int) {
		gurgle(m, at, SampleRate*7, perMille(b.Loud, 800), &n)
		m.pour(at, SampleRate*7, noises().blow, uint64(n.below(bedSize)), arching, perMille(260, b.Loud))
	})
	spread(start, min(b.Rolls, 6), &n, func(at int) { b.roll(m, at, &n) })
	spread(start, min(b.Drips, 60), &n, func(at int) { bubble(m, at, 420+n.below(160), perMille(b.Loud, 280)) })
}

// spread calls f with n places, about evenly over the clip.
func spread(start, n int, r *noise, f func(at int)) {
	for k := range max(n, 0) {
		f(start + over(k, n) + r.below(samples/n/3))
	}
}

// gurgle is a run of bubbles, close to each other.
func gurgle(m mix, at, long, loud int, n *noise) {
	pitch := 170 + n.below(140)
	for t := 0; t < long; t += SampleRate/50 + n.below(SampleRate/16) {
		pitch = min(max(pitch-50+n.below(101), 140), 420)
		edge := min(1000, 2500*min(t+SampleRate/10, long-t)/long+200)
		bubble(m, at+t, pitch, perMille(loud, perMille(edge, 500+n.below(500))))
	}
}

// bubble is a small hollow sound whose pitch rises: two notes of one ringing.
func bubble(m mix, at, hertz, loud int) {
	long := SampleRate * 12 / hertz
	m.sing(at, long, hollow, hertz*10, falling, perMille(1400, loud))
	m.sing(at+long/3, long*2/3, hollow, hertz*12, falling, perMille(700, loud))
}

var hollow = newWave(10, 4, 2)

// roll is a contraction of the rumen: far thunder that swells and fades over six
// to eight seconds, with bubbling at its height.
func (b Belly) roll(m mix, at int, n *noise) {
	long, loud := SampleRate*6+n.below(SampleRate*2), b.Loud
	if b.Weak {
		long, loud = SampleRate*5/2, perMille(loud, 350)
	}
	m.pour(at, long, noises().roll, uint64(n.below(bedSize)), diamond, perMille(1500, loud))
	for t := long / 4; t < long*3/4; t += SampleRate/9 + n.below(SampleRate/4) {
		m.pour(at+t, SampleRate/8, noises().roll, uint64(n.below(bedSize)), falling, perMille(1400, loud))
		bubble(m, at+t, 130+n.below(90), perMille(loud, 300+n.below(300)))
	}
}

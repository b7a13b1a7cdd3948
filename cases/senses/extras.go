package senses

// The acoustic definitions are those of the European guideline on lung sounds
// and of Pramono and others, PLoS ONE 2017;12:e0177926 (figures from memory).

// extra lays what one breath brings.
var extra = [extras]func(mix, drawn, *noise){
	FineCrackles: func(m mix, d drawn, n *noise) {
		// Late in the breath drawn.
		crackle(m, d.at+d.in/2, d.in*9/20, max(SampleRate/70, d.in/34), fineGrain, d.loud, n)
	},
	CoarseCrackles: func(m mix, d drawn, n *noise) {
		// Fewer and lower, early in the breath drawn and as it is let out.
		crackle(m, d.at+d.in/8, d.in*3/5, max(SampleRate/18, d.in/5), coarseGrain, d.loud, n)
		crackle(m, d.at+d.after+d.out/10, d.out/2, max(SampleRate/18, d.out/4), coarseGrain, d.loud, n)
	},
	Wheezes: func(m mix, d drawn, _ *noise) {
		// One steady note a breath let out, never shorter than 120 ms.
		note := [...]int{4100, 4350, 3900, 4600, 4200}[d.nth%5]
		long := max(d.out*3/4, SampleRate*12/100)
		m.sing(d.at+d.after+d.out/8, long, whistle, note, level, perMille(650, d.loud))
	},
	Stertor: func(m mix, d drawn, n *noise) {
		// A snore: a low rattle, mostly as the breath is drawn.
		m.sing(d.at+d.in/10, max(d.in*4/5, SampleRate/11), snore, 680+n.below(80), inrush, perMille(1250, d.loud))
		m.sing(d.at+d.after, d.out/3, snore, 640, diamond, perMille(500, d.loud))
	},
	Stridor: func(m mix, d drawn, _ *noise) {
		// High, as the breath is drawn, 270 ms at least.
		m.sing(d.at+d.in/12, max(d.in*9/10, SampleRate*27/100), whistle, 7200, level, perMille(750, d.loud))
		m.pour(d.at+d.in/12, d.in*9/10, noises().pipe, uint64(d.nth)*977, inrush, perMille(350, d.loud))
	},
	Rub: func(m mix, d drawn, _ *noise) {
		// Creaks at the same place of every breath, in and out.
		for i := range 4 {
			long := SampleRate * (38 + 9*(i%2)) / 1000
			m.sing(d.at+d.in/3+i*long*5/4, long, creak, 1180+60*i, diamond, perMille(1500, d.loud))
			m.sing(d.at+d.after+d.out/3+i*long*5/4, long, creak, 1240-50*i, diamond, perMille(1200, d.loud))
		}
	},
	Purr: func(m mix, d drawn, _ *noise) {
		// About 26 pulses a second, in and out alike, hardly a gap (from memory).
		m.sing(d.at, d.after, thrum, 262, level, perMille(1750, d.loud))
		m.sing(d.at+d.after, d.out+d.out/4, thrum, 250, level, perMille(1500, d.loud))
	},
}

// The waves of what sings: a whistle is all but one pitch, a snore and a creak
// are strongest below 200 and 350 Hz, a purr is a low pulse with overtones that
// small loudspeakers give.
var (
	whistle = newWave(16, 2)
	snore   = newWave(7, 12, 4, 3, 2, 2)
	creak   = newWave(8, 6)
	thrum   = newWave(3, 4, 5, 6, 6, 5, 4, 3, 2, 2, 1, 1)
)

// The grains of crackles: a short ringing, fine 5 ms at 650 Hz, coarse 15 ms at 350 Hz.
var (
	fineGrain   = ring(650, SampleRate*5/1000, 3600)
	coarseGrain = ring(350, SampleRate*15/1000, 3600)
)

// ring is a tone that is struck and dies away.
func ring(hertz, n, peak int) []int32 {
	out := make([]int32, n)
	for i := range out {
		rest := (n - i) * 1000 / n
		wave := bhaskara(int(int64(i*hertz) * (1 << 16) / SampleRate))
		out[i] = int32(int64(wave) * int64(peak) * int64(rest*rest) / (1000000 << 15))
	}
	return out
}

// crackle scatters grains over a stretch, about one each step.
func crackle(m mix, from, long, step int, grain []int32, loud int, n *noise) {
	for at := 0; at+len(grain) <= long; at += step/2 + n.below(step) {
		m.add(from+at, grain, perMille(loud, 450+n.below(550)))
	}
}

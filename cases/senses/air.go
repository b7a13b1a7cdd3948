package senses

// Sound is what breath sounds like where the chest piece lies.
type Sound int

// Rustle is the soft sound of healthy lung, longer in than out; Whisper is that
// of a large animal at rest; Harsh is loud and coarse, in and out alike; Hollow
// is the open rush over the windpipe; Faint is all but nothing; Pant is the
// mouth-wide hiss of panting.
const (
	Rustle Sound = iota
	Whisper
	Harsh
	Hollow
	Faint
	Pant
)

// Extra is a sound that does not belong.
type Extra int

// The extras. Purr is a cat's, and no disease.
const (
	FineCrackles Extra = iota
	CoarseCrackles
	Wheezes
	Stertor
	Stridor
	Rub
	Purr
	extras
)

// Air is breath to listen to.
type Air struct {
	Rate   int // breaths a minute; 0 or less is none, more than 360 is taken as 360
	In     int // thousandths of a breath that drawing it takes; 0 is 420
	Out    int // thousandths that letting it out takes; 0 is 420. The rest is pause.
	Effort int // 0 quiet to 4: louder
	Loud   int // thousandths
	Sound  Sound
	Extra  [extras]int // thousandths, of what is heard beside it
}

// rushes are the beds, loudness and shapes of a breath in and out.
var rushes = [...]struct {
	bed     func(beds) *bed
	in, out int
	outs    *shape
}{
	Rustle:  {func(b beds) *bed { return b.rustle }, 430, 190, outgoing},
	Whisper: {func(b beds) *bed { return b.rustle }, 200, 80, outgoing},
	Harsh:   {func(b beds) *bed { return b.rush }, 800, 720, inrush},
	Hollow:  {func(b beds) *bed { return b.pipe }, 850, 950, inrush},
	Faint:   {func(b beds) *bed { return b.rustle }, 60, 25, outgoing},
	Pant:    {func(b beds) *bed { return b.pipe }, 800, 1000, level},
}

// breathStart is where a breath is first drawn in a clip.
func breathStart(phase uint64) int { return int(scatter(phase, 4) % samples) }

// drawn is one breath: where it begins, how long it is drawn and let out, and
// how deep it is beside its neighbours.
type drawn struct {
	at, in, out, after int // after: from the beginning to the letting out
	nth                int
	loud               int
}

func (a Air) render(m mix, phase uint64) {
	rate := min(a.Rate, maxBreaths)
	if rate <= 0 || a.Loud <= 0 {
		return
	}
	period := samples / rate
	loud := perMille(within(a.Loud), 850+150*min(max(a.Effort, 0), 4))
	d := drawn{in: perMille(period, share(a.In)), out: perMille(period, share(a.Out))}
	d.after = min(d.in+period/40, period-d.out)
	deep, extras := noise(scatter(phase, 5)), noise(scatter(phase, 8))
	for k := range rate {
		d.at, d.nth = breathStart(phase)+over(k, rate), k
		d.loud = perMille(loud, 900+deep.below(200)) // no two breaths are quite alike
		a.rush(m, d, scatter(phase, uint64(100+k)))
		for x, much := range a.Extra {
			if much > 0 {
				e := d
				e.loud = perMille(within(a.Loud), min(much, 4000))
				extra[x](m, e, &extras)
			}
		}
	}
}

// share is the part of a breath, the usual one where none is told.
func share(part int) int {
	if part <= 0 {
		return 420
	}
	return min(part, 900)
}

func (a Air) rush(m mix, d drawn, noise uint64) {
	r := rushes[min(max(int(a.Sound), 0), len(rushes)-1)]
	b := r.bed(noises())
	m.pour(d.at, d.in, b, noise, inrush, perMille(r.in, d.loud))
	m.pour(d.at+d.after, d.out, b, noise>>20, r.outs, perMille(r.out, d.loud))
}

package media

import "sync"

// A recording is brought to another rate by a windowed sinc: 16 zero crossings
// to each side under a Blackman window, which lets less than a thousandth
// through where it stops, cut at .85 of half the lower rate. It is flat to
// about .7 of that and has stopped at .99, so that nothing comes back mirrored.
const (
	crossings = 16
	grain     = 512 // entries of the table from one zero crossing to the next
	cutoff    = 85  // percent
	one       = 1 << 22
)

// kernel is half the filter, from its middle outwards, with noughts after it.
var kernel = sync.OnceValue(func() []int64 {
	const pi28 = 843314857 // pi times 1<<28
	k := make([]int64, crossings*grain+2*grain)
	k[0] = one
	for i := 1; i < crossings*grain; i++ {
		sinc := sine(int64(i)<<32/(2*grain)) << 29 / (int64(i) * pi28)
		turn := int64(i) << 32 / (2 * crossings * grain)
		window := (42*(1<<30) + 50*cosine(turn) + 8*cosine(2*turn)) / 100
		k[i] = sinc * window >> 30
	}
	return k
})

// sine takes a turn as 1<<32 and gives -1<<30..1<<30, by its power series over a
// quarter of the turn.
func sine(turn int64) int64 {
	turn &= 1<<32 - 1
	sign := int64(1)
	if turn >= 1<<31 {
		turn, sign = turn-1<<31, -1
	}
	if turn > 1<<30 {
		turn = 1<<31 - turn
	}
	const halfPi29 = 843314857 // half of pi times 1<<29
	x := turn * halfPi29 >> 29 // the angle times 1<<30
	x2 := x * x >> 30
	r := int64(1 << 30)
	for _, d := range []int64{156, 110, 72, 42, 20, 6} {
		r = 1<<30 - x2*r>>30/d
	}
	return sign * (x * r >> 30)
}

func cosine(turn int64) int64 { return sine(turn + 1<<30) }

// resample brings samples from one rate to another.
func resample(in []int32, from, to int) []int32 {
	if from == to {
		return in
	}
	k := kernel()
	step := int64(grain<<16) * cutoff * int64(min(from, to)) / (100 * int64(from)) // of the table, a sample of the input
	wing := int(crossings*grain<<16/step) + 1
	wide := make([]int32, len(in)+2*wing+1) // silence on both sides
	copy(wide[wing:], in)
	out := make([]int32, int64(len(in))*int64(to)/int64(from))
	for n := range out {
		at, past := int64(n)*int64(from)/int64(to), int64(n)*int64(from)%int64(to)
		p := -int64(wing)*step - past*step/int64(to)
		var sum, weight int64
		for _, x := range wide[at : at+int64(2*wing)+1] {
			a := max(p, -p)
			i := a >> 16
			w := k[i] + (k[i+1]-k[i])*(a&0xffff)>>16
			sum += w * int64(x)
			weight += w
			p += step
		}
		out[n] = int32(sum / weight)
	}
	return out
}

package media

import (
	"encoding/binary"
	"errors"
	"fmt"
	"sync"

	"dewclaw/cases/senses"
)

const (
	minute  = senses.Seconds * senses.SampleRate // samples of a clip
	fade    = senses.SampleRate / 20             // over which one round goes over into the next
	highest = 29000                              // the greatest sample that is written
	hushed  = 16 << 8                            // below it nothing is heard: a two-thousandth of the greatest
)

// blank is a rendered clip, for its header: what is ours and what is a school's
// have the same.
var blank = sync.OnceValue(func() []byte { return senses.Scene{}.WAV() })

func soundHead() int { return len(blank()) - 2*minute }

// makeSound makes a minute of a recording.
func makeSound(file []byte, rate, level int) (*Medium, error) {
	w, err := readWave(file)
	if err != nil {
		return nil, err
	}
	in, err := w.mono((senses.Seconds + 1) * w.rate)
	if err != nil {
		return nil, err
	}
	middle(in)
	round, err := runRound(resample(in, w.rate, senses.SampleRate), rate)
	if err != nil {
		return nil, err
	}
	out := make([]byte, len(blank()))
	copy(out, blank()[:soundHead()])
	if err := levelled(round, level, out[soundHead():]); err != nil {
		return nil, err
	}
	return ready(Sound, "audio/wav", out, soundHead(), nil), nil
}

// middle takes away what a recorder adds to every sample.
func middle(in []int32) {
	var sum int64
	for _, v := range in {
		sum += int64(v)
	}
	mean := int32(sum / int64(len(in)))
	for i := range in {
		in[i] -= mean
	}
}

// runRound lays a recording end to end over a minute, each round fading into the
// next and the last into the first. With a rate, a round is as many whole beats
// as the recording holds, and the minute holds that many of them.
func runRound(in []int32, rate int) ([]int64, error) {
	use := min(len(in)-fade-1, minute)
	begin := func(k int) int { return k * use }
	if rate > 0 {
		beats := min(use*rate/minute, rate)
		if beats < 1 {
			return nil, fmt.Errorf("it is too short for one whole beat or breath at %d a minute", rate)
		}
		begin = func(k int) int { return int(int64(k) * int64(beats) * minute / int64(rate)) }
	}
	out := make([]int64, minute)
	for k := 0; begin(k) < minute; k++ {
		lay(out, in, begin(k), min(begin(k+1), minute)-begin(k))
	}
	return out, nil
}

// lay adds the beginning of a recording at a place: n samples, and the fades.
func lay(out []int64, in []int32, at, n int) {
	for i := range min(n+fade, len(in)) {
		swell := min(i, n+fade-i, fade)
		out[(at+i)%minute] += int64(in[i]) * int64(swell) / fade
	}
}

// levelled writes samples so that the root of their mean square is the level,
// and none is greater than the highest.
func levelled(in []int64, level int, out []byte) error {
	const top = 20 // bits of the greatest sample while it is reckoned with
	var peak, sum int64
	for _, v := range in {
		peak = max(peak, v, -v)
	}
	if peak < hushed {
		return errors.New("nothing is heard in it: all samples are nearly nought; record it louder")
	}
	for i, v := range in {
		in[i] = v << top / peak
		sum += in[i] * in[i]
	}
	rms := max(root(sum/int64(len(in))), 1)
	by := min(int64(level)<<top/rms, highest)
	for i, v := range in {
		binary.LittleEndian.PutUint16(out[2*i:], uint16(v*by>>top))
	}
	return nil
}

// root is the greatest number whose square is not above n.
func root(n int64) int64 {
	var r int64
	for bit := int64(1) << 31; bit > 0; bit >>= 1 {
		if next := r + bit; next*next <= n {
			r = next
		}
	}
	return r
}

// turnSound lets a clip begin elsewhere.
func turnSound(b []byte, head int, phase uint64) []byte {
	at := head + 2*int(phase%minute)
	out := make([]byte, 0, len(b))
	out = append(out, b[:head]...)
	out = append(out, b[at:]...)
	return append(out, b[head:at]...)
}

package senses

import (
	"encoding/binary"
	"sync"
)

// SampleRate is the clips' samples a second, 16 bit each.
const SampleRate = 8000

const samples = Seconds * SampleRate

// mix is what has been laid into a clip so far. A place beyond the end of a
// clip is one after its beginning, so that it runs round without a seam.
type mix []int32

// spans calls f for the one or two stretches of the clip that n samples from a
// place cover: from..to in the clip, skip samples into the sound.
func (m mix) spans(from, n int, f func(from, to, skip int)) {
	from = (from%samples + samples) % samples
	n = min(n, samples)
	if end := min(from+n, samples, len(m)); from < end {
		f(from, end, 0)
	}
	if end := min(from+n-samples, len(m)); end > 0 {
		f(0, end, samples-from)
	}
}

// fill lays a noise evenly under everything, and clears what was there.
func (m mix) fill(b *bed, at uint64, loud int32) {
	k := int(at % bedSize)
	for i := range m {
		m[i] = int32(b[k]) * loud >> 12
		if k++; k == bedSize {
			k = 0
		}
	}
}

// pour adds n samples of noise, so loud at its loudest, in a shape.
func (m mix) pour(from, n int, b *bed, at uint64, s *shape, loud int) {
	if n < 1 || loud < 1 {
		return
	}
	step := uint32(shapeSize<<20) / uint32(n)
	m.spans(from, n, func(from, to, skip int) {
		k := int((at + uint64(skip)) % bedSize)
		turn := step * uint32(skip)
		for i := range m[from:to] {
			swell := int32(s[turn>>20&(shapeSize-1)]) * int32(loud) >> 10
			m[from+i] += int32(b[k]) * swell >> 14
			turn += step
			if k++; k == bedSize {
				k = 0
			}
		}
	})
}

// sing adds n samples of a tone of so many tenths of a hertz.
func (m mix) sing(from, n int, w *wave, decihertz int, s *shape, loud int) {
	if n < 1 || loud < 1 {
		return
	}
	step := uint32(shapeSize<<20) / uint32(n)
	pitch := uint32(int64(decihertz) * (1 << 32) / (10 * SampleRate))
	m.spans(from, n, func(from, to, skip int) {
		turn, at := step*uint32(skip), pitch*uint32(skip)
		for i := range m[from:to] {
			swell := int32(s[turn>>20&(shapeSize-1)]) * int32(loud) >> 10
			m[from+i] += int32(w[at>>22]) * swell >> 14
			turn += step
			at += pitch
		}
	})
}

// add lays a short sound in, at so many thousandths of its loudness.
func (m mix) add(from int, sound []int32, perMille int) {
	scale := int32(perMille * 1024 / 1000)
	m.spans(from, len(sound), func(from, to, skip int) {
		for i, v := range sound[skip : skip+to-from] {
			m[from+i] += v * scale >> 10
		}
	})
}

// pool keeps mixes: a clip's is two megabytes.
var pool = sync.Pool{New: func() any { m := make(mix, samples); return &m }}

// wav writes the shortest lawful header and the samples, channel by channel.
func wav(channels ...mix) []byte {
	const head = 44
	wide := 2 * len(channels) // bytes of a moment
	out := make([]byte, head+wide*len(channels[0]))
	le := binary.LittleEndian
	copy(out, "RIFF")
	le.PutUint32(out[4:], uint32(len(out)-8))
	copy(out[8:], "WAVEfmt ")
	le.PutUint32(out[16:], 16)
	le.PutUint16(out[20:], 1) // PCM
	le.PutUint16(out[22:], uint16(len(channels)))
	le.PutUint32(out[24:], SampleRate)
	le.PutUint32(out[28:], uint32(wide)*SampleRate)
	le.PutUint16(out[32:], uint16(wide))
	le.PutUint16(out[34:], 16)
	copy(out[36:], "data")
	le.PutUint32(out[40:], uint32(len(out)-head))
	for c, m := range channels {
		at := out[head+2*c:]
		for _, v := range m {
			le.PutUint16(at, uint16(min(max(v, -1<<15), 1<<15-1)))
			if len(at) <= wide {
				break
			}
			at = at[wide:]
		}
	}
	return out
}

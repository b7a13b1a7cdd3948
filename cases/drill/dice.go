package drill

import (
	"crypto/sha256"
	"encoding/binary"
	"io"
	"math/bits"
	"strconv"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// dice are the draws of one item. Every draw has a name and a source of its own,
// so that a new one shifts no other.
type dice struct {
	s cases.Seed
	n int
}

// seed is the seed of a name: SHA-256 over the drill's seed, the item and the name.
func (d dice) seed(name string) cases.Seed {
	h := sha256.New()
	h.Write(cases.EncodeSeed(d.s))
	_, _ = io.WriteString(h, "drill/"+strconv.Itoa(d.n)+"/"+name)
	var out cases.Seed
	copy(out[:], h.Sum(nil))
	return out
}

// below draws from 0..n-1.
func (d dice) below(name string, n int) int {
	if n <= 1 {
		return 0
	}
	s := d.seed(name)
	hi, _ := bits.Mul64(binary.BigEndian.Uint64(s[:8]), uint64(n))
	return int(hi)
}

// between draws from low..high in whole steps of grain.
func (d dice) between(name string, low, high, grain rubric.Milli) rubric.Milli {
	if high <= low {
		return low
	}
	return low + grain*rubric.Milli(d.below(name, int((high-low)/grain)+1))
}

// pick draws one of a list.
func pick[T any](d dice, name string, list []T) T { return list[d.below(name, len(list))] }

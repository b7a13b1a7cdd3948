package cases

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"log/slog"
	"math/bits"
	prand "math/rand/v2"

	"dewclaw/rubric"
)

// Seed makes one attempt's patient out of a case: the same seed, the same
// patient. It is hidden, because with it every truth could be worked out.
type Seed [16]byte

// NewSeed returns a seed that nobody can predict.
func NewSeed() Seed {
	var s Seed
	// crypto/rand.Read never returns an error; it ends the process instead.
	_, _ = rand.Read(s[:])
	return s
}

// SeedOf returns the seed that stands for a number, zero-extended: for the
// command line and for tests, never for an examination.
func SeedOf(n uint64) Seed {
	var s Seed
	binary.BigEndian.PutUint64(s[8:], n)
	return s
}

// EncodeSeed opens a seed for storage: 16 bytes.
func EncodeSeed(s Seed) []byte { return append([]byte(nil), s[:]...) }

// DecodeSeed reads what EncodeSeed wrote.
func DecodeSeed(b []byte) (Seed, error) {
	var s Seed
	if len(b) != len(s) {
		return s, fmt.Errorf("cases: a seed has %d bytes, these are %d", len(s), len(b))
	}
	copy(s[:], b)
	return s, nil
}

// hidden is what a hidden value prints.
const hidden = "[hidden]"

// MarshalJSON refuses: a seed is hidden.
func (Seed) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// MarshalText refuses: a seed is hidden.
func (Seed) MarshalText() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Seed) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Seed) LogValue() slog.Value { return slog.StringValue(hidden) }

// sum is SHA-256 over the seed and the name of what is drawn. Every draw has a
// source of its own, so that a new row in the catalogue shifts nobody's patient.
func (s Seed) sum(name string) [32]byte {
	h := sha256.New()
	h.Write(s[:])
	_, _ = io.WriteString(h, name)
	var out [32]byte
	h.Sum(out[:0])
	return out
}

// dice is a stream of draws for one name.
type dice struct{ src *prand.PCG }

// roll returns the stream of draws for a name such as field@site.
func (s Seed) roll(name string) dice {
	sum := s.sum(name)
	return dice{prand.NewPCG(binary.BigEndian.Uint64(sum[:8]), binary.BigEndian.Uint64(sum[8:16]))}
}

// below draws from 0..n-1; n must be positive. It is written out here because
// the standard library's own may differ between 32 and 64 bits.
func (d dice) below(n int) int {
	if n <= 1 {
		return 0
	}
	hi, _ := bits.Mul64(d.src.Uint64(), uint64(n))
	return int(hi)
}

// between draws from low..high in whole steps of grain, both ends included.
func (d dice) between(low, high, grain rubric.Milli) rubric.Milli {
	if high <= low {
		return low
	}
	steps := int((high - low) / grain)
	return low + grain*rubric.Milli(d.below(steps+1))
}

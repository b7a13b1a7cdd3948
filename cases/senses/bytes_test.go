package senses

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/require"
)

// The same numbers give the same bytes on every processor: taken on a 64-bit
// machine, they hold on a 32-bit one and on arm64 (.ci/long).
func TestTheSamePicturesEverywhere(t *testing.T) {
	sum := sha256.New()
	for i, rate := range []int{0, 1, 40, 95, 131, 244, 600} {
		kind := kinds[i%5]
		sum.Write(Breath{Species: kind, Rate: rate, Effort: i % 5, Phase: uint64(rate) << 7, Push: i == 2, Open: i == 4}.Picture().Bytes)
		sum.Write(Refill{Species: kind, Millis: 100 + 700*i}.Picture().Bytes)
		sum.Write(Tent{Millis: 100 + 700*i, Stays: i == 6}.Picture().Bytes)
		sum.Write(Pupils{Species: kind, Size: Width(i % 4), Direct: Answer(i % 3), Lens: Lens(i % 4)}.Picture().Bytes)
		sum.Write(Gait{Species: kind, Lame: [4]int{i % 6}, Manner: Gaited(i % 6)}.Picture().Bytes)
	}
	require.Equal(t, "b9b78cfd596d68ce", hex.EncodeToString(sum.Sum(nil)[:8]))
}

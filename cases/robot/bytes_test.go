package robot

import (
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// A visit by whoever, played and graded, is the same to the byte on every
// processor. The digest changes with the library, so that it is printed and not
// held here: .ci/long compares what a 64-bit, a 32-bit and an arm64 machine
// print (go test ./cases/robot -run SameVisits -v).
func TestTheSameVisitsEverywhere(t *testing.T) {
	sum := sha256.New()
	acts := 0
	inTurn(t, 1, func(t *testing.T, x *trial) {
		for _, student := range []func() []rubric.Act{
			func() []rubric.Act { return Ideal(x.p, x.k) },
			func() []rubric.Act { return Typical(x.p, x.k, 2, 7) },
			func() []rubric.Act { return Reckless(x.p, x.k) },
		} {
			tr, err := x.p.Play(student())
			require.NoError(t, err)
			require.NoError(t, rubric.WriteTranscript(sum, tr))
			text, err := rubric.EncodeReport(rubric.Grade(x.r, x.k, tr))
			require.NoError(t, err)
			_, err = sum.Write(text)
			require.NoError(t, err)
			acts += len(tr)
		}
	})
	require.Greater(t, acts, 2500)
	if testing.Verbose() {
		fmt.Printf("digest of %d acts: %x\n", acts, sum.Sum(nil)[:12])
	}
}

package rubric_test

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// The same input gives the same bytes on every processor: these digests were
// taken on a 64-bit machine and hold on a 32-bit one (GOARCH=386 go test). A
// change of them is a change of marks or of wording codes, and of Engine.
func TestTheSameBytesEverywhere(t *testing.T) {
	for id, want := range map[string]string{
		"veterinary": "d43f27f92926ca85",
		"technician": "ec6a7e11d78564c8",
	} {
		w := sick(t, id)
		acts := mended(w, swapSide)
		acts = append(acts[5:60], acts[100:]...)
		text, err := rubric.EncodeReport(w.grade(acts))
		require.NoError(t, err)
		sum := sha256.Sum256(text)
		require.Equal(t, want, hex.EncodeToString(sum[:8]), id)
	}
}

package main

import (
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// The limit stays above what is in use, by enough to work with, whatever that is.
func TestTheLimitOfMemoryFollowsWhatIsInUse(t *testing.T) {
	t.Parallel()
	const mb = 1 << 20
	require.EqualValues(t, limitLeast, memoryLimit(0))
	for _, used := range []uint64{10 * mb, 100 * mb, 150 * mb, 1000 * mb, 8000 * mb} {
		require.Greater(t, memoryLimit(used), int64(used)+int64(used)/3)
	}
	require.Less(t, memoryLimit(150*mb), int64(250*mb))
	held := make([]byte, 64*mb)
	runtime.GC()
	require.Greater(t, inUse(), uint64(64*mb))
	runtime.KeepAlive(held)
}

package store

import (
	"context"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"modernc.org/sqlite"
)

// slowDisk makes every commit take so much longer, with the file locked, as the flush
// of a slow disk does. SQLite calls the hook before it writes its log.
func slowDisk(t *testing.T, s *Store, flush time.Duration) {
	t.Helper()
	conn, err := pool(s.write).Conn(t.Context()) // the only one that writes
	require.NoError(t, err)
	require.NoError(t, conn.Raw(func(c any) error {
		c.(sqlite.HookRegisterer).RegisterCommitHook(func() int32 { time.Sleep(flush); return 0 })
		return nil
	}))
	require.NoError(t, conn.Close()) // back into the pool
}

// TestASlowDiskIsShared: acts of many students share a flush, so that each waits for one or
// two and not for everybody's, and who reads does not wait at all.
func TestASlowDiskIsShared(t *testing.T) {
	t.Parallel()
	const students, each, flush = 100, 4, 100 * time.Millisecond
	s, acts := hall(t, students)
	slowDisk(t, s, flush)
	waits := make([]time.Duration, students*each)
	errs := make([]error, students*each)
	begun := time.Now()
	var group sync.WaitGroup
	for i, act := range acts {
		group.Go(func() {
			for n := range each {
				act.N = n + 1
				asked := time.Now()
				_, errs[i*each+n] = s.Append(context.Background(), act)
				waits[i*each+n] = time.Since(asked)
			}
		})
	}
	asked := time.Now()
	_, err := s.Acts(t.Context(), acts[0].Transcript, 0)
	read := time.Since(asked)
	require.NoError(t, err)
	group.Wait()
	took := time.Since(begun)
	for _, err := range errs {
		require.NoError(t, err)
	}
	for _, act := range acts {
		stored, err := s.Acts(t.Context(), act.Transcript, 0)
		require.NoError(t, err)
		require.Len(t, stored, each)
	}
	stats := s.Stats()
	require.EqualValues(t, students*each, stats.Acts)
	require.Less(t, stats.Groups, int64(students*each/8), "acts share a flush")
	slices.Sort(waits)
	t.Logf("%d acts with flushes of %v: %d commits in %v; an act waited %v in the middle and %v at most; reading meanwhile took %v",
		stats.Acts, flush, stats.Groups, took.Round(time.Millisecond), waits[len(waits)/2].Round(time.Millisecond), waits[len(waits)-1].Round(time.Millisecond), read.Round(time.Millisecond))
}

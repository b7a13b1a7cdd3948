package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// hall opens a store with so many open attempts and returns each one's first act.
func hall(t *testing.T, n int) (*Store, []NewAct) {
	t.Helper()
	s, err := openAt(t, filepath.Join(t.TempDir(), "dewclaw.db"))
	require.NoError(t, err)
	p, err := s.AddPerson(t.Context(), NewPerson{Login: "ann", Role: "student", Name: "Ann"})
	require.NoError(t, err)
	hash, err := s.PutContent(t.Context(), []byte("text"))
	require.NoError(t, err)
	acts := make([]NewAct, n)
	for i := range acts {
		a, err := s.AddAttempt(t.Context(), NewAttempt{Person: p.ID, Case: "c", CaseHash: hash, CatalogueHash: hash, RubricHash: hash, RangesHash: hash})
		require.NoError(t, err)
		acts[i] = NewAct{Transcript: a.Transcript, N: 1, By: p.ID, Retry: "r", Act: []byte("act"), Outcome: make([]byte, 2000)}
	}
	return s, acts
}

func pragma(t *testing.T, s *Store, format string, args ...any) {
	t.Helper()
	_, err := pool(s.write).Exec("PRAGMA " + fmt.Sprintf(format, args...))
	require.NoError(t, err)
}

// TestALockedDatabaseFailsAGroupOnce: were the acts tried one by one, each would
// wait out the lock's time limit by itself.
func TestALockedDatabaseFailsAGroupOnce(t *testing.T) {
	s, acts := hall(t, 60)
	pragma(t, s, "busy_timeout = 300")
	other, err := connect(s.dialect.name(), 1)
	require.NoError(t, err)
	defer func() { require.NoError(t, pool(other).Close()) }()
	_, err = pool(other).Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)

	errs := make([]error, len(acts))
	var group sync.WaitGroup
	for i := range acts {
		group.Go(func() { _, errs[i] = s.Append(context.Background(), acts[i]) })
	}
	group.Wait()
	require.Zero(t, s.Stats().Alone, "no group was tried act by act")
	for _, err := range errs {
		require.ErrorIs(t, err, ErrBusy)
	}
	_, err = pool(other).Exec("ROLLBACK")
	require.NoError(t, err)
	for _, act := range acts {
		got, err := s.Append(t.Context(), act)
		require.NoError(t, err)
		require.False(t, got.Earlier)
	}
}

func TestAFullDiskLosesNothingAcknowledged(t *testing.T) {
	s, acts := hall(t, 4)
	var pages int
	require.NoError(t, pool(s.write).QueryRow("PRAGMA page_count").Scan(&pages))
	pragma(t, s, "max_page_count = %d", pages+20) // SQLite answers as for a full disk
	acked := make([]int, len(acts))
	var full error
	for full == nil {
		for i := range acts {
			acts[i].N = acked[i] + 1
			if _, err := s.Append(t.Context(), acts[i]); err != nil {
				full = err
				break
			}
			acked[i]++
		}
	}
	require.ErrorIs(t, full, ErrFull)
	require.Greater(t, acked[0], 2)
	for i := range acts {
		stored, err := s.Acts(t.Context(), acts[i].Transcript, 0)
		require.NoError(t, err)
		require.Len(t, stored, acked[i])
	}
	pragma(t, s, "max_page_count = %d", pages+1000) // somebody made room
	for i := range acts {
		acts[i].N = acked[i] + 1
		_, err := s.Append(t.Context(), acts[i])
		require.NoError(t, err)
	}
}

// TestAnUnknownCommitIsSettledByReading: a commit that reported an error may
// have happened all the same.
func TestAnUnknownCommitIsSettledByReading(t *testing.T) {
	s, acts := hall(t, 2)
	lost := errors.New("the connection broke while committing")
	rows := make([]Act, len(acts))
	for i := range acts {
		var err error
		rows[i], err = acts[i].row(s.now())
		require.NoError(t, err)
	}
	_, err := s.Append(t.Context(), acts[0]) // this one did happen
	require.NoError(t, err)

	happened := s.writers[0].settle(&waiter{row: rows[0]}, lost)
	require.NoError(t, happened.err)
	require.Equal(t, acts[0].Act, happened.appended.Act.Act)
	require.ErrorIs(t, s.writers[0].settle(&waiter{row: rows[1]}, lost).err, lost)
	rows[0].Retry = "another"
	require.ErrorIs(t, s.writers[0].settle(&waiter{row: rows[0]}, lost).err, ErrTaken)
}

// TestAGroupHoldsOneActATranscript: what depends on an act before it comes in a
// later group, in the order of arrival.
func TestAGroupHoldsOneActATranscript(t *testing.T) {
	w := &writer{}
	w.wake = sync.NewCond(&w.mu)
	for _, at := range [][2]int{{1, 1}, {2, 1}, {1, 2}, {3, 1}, {1, 3}, {2, 2}} {
		w.waiting = append(w.waiting, &waiter{row: Act{Transcript: int64(at[0]), N: at[1]}})
	}
	var got [][][2]int
	for len(w.waiting) > 0 {
		var group [][2]int
		for _, one := range w.take() {
			group = append(group, [2]int{int(one.row.Transcript), one.row.N})
		}
		got = append(got, group)
	}
	require.Equal(t, [][][2]int{{{1, 1}, {2, 1}, {3, 1}}, {{1, 2}, {2, 2}}, {{1, 3}}}, got)

	for i := range groupMost + 5 {
		w.waiting = append(w.waiting, &waiter{row: Act{Transcript: int64(i), N: 1}})
	}
	require.Len(t, w.take(), groupMost)
	require.Len(t, w.take(), 5)
	w.shut = true
	require.Nil(t, w.take())
}

func TestStatementsCoverEverySize(t *testing.T) {
	var s statements
	for n := range 2*groupMost + 1 {
		next := 0
		require.NoError(t, s.each(n, func(_ *sql.Stmt, from, to int) error {
			require.Equal(t, next, from)
			require.Contains(t, sizes, to-from)
			next = to
			return nil
		}))
		require.Equal(t, n, next)
	}
}

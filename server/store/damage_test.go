package store

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// spoil overwrites the page at the root of a table, as a failing disk might.
func spoil(t *testing.T, path, table string) {
	t.Helper()
	s, err := Open(t.Context(), Config{Path: path})
	require.NoError(t, err)
	var page, size int64
	require.NoError(t, pool(s.write).QueryRow("SELECT rootpage FROM sqlite_master WHERE name = ?", table).Scan(&page))
	require.NoError(t, pool(s.write).QueryRow("PRAGMA page_size").Scan(&size))
	require.NoError(t, s.Close()) // the log beside the file goes into it
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	_, err = f.WriteAt(bytes.Repeat([]byte{0xa5}, int(size)), (page-1)*size)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

func TestADamagedPageIsNamedAtStart(t *testing.T) {
	t.Parallel()
	for _, table := range []string{"people", "acts", "goose_db_version"} {
		path := filepath.Join(t.TempDir(), "dewclaw.db")
		spoil(t, path, table)
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		_, err = openAt(t, path)
		require.ErrorIs(t, err, ErrDamaged, table)
		require.ErrorContains(t, err, path+" is damaged in the table "+table+"; nothing was changed: keep a copy")
		require.NotContains(t, err.Error(), "\n", "one sentence")
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, before, after)
	}
}

func TestADamagedSchemaIsTold(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	s, err := Open(t.Context(), Config{Path: path})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	_, err = f.WriteAt(bytes.Repeat([]byte{0xa5}, 3000), 100) // the header stands, what follows on the first page does not
	require.NoError(t, err)
	require.NoError(t, f.Close())
	_, err = openAt(t, path)
	require.ErrorIs(t, err, ErrDamaged)
	require.ErrorContains(t, err, "put back the last backup")
}

// TestWhatIsTooLargeAtStartIsLookedAtLater: a start looks no longer than it may, and
// what it left is looked at to the end afterwards.
func TestWhatIsTooLargeAtStartIsLookedAtLater(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	s, err := openAt(t, path)
	require.NoError(t, err)
	require.Empty(t, s.unseen, "a small database is looked at whole")
	_, err = pool(s.write).Exec(`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 200000)
		INSERT INTO counters (name, value) SELECT 'counter ' || i, i FROM n`)
	require.NoError(t, err)

	began := time.Now()
	left, err := s.dialect.look(t.Context(), []string{"counters"}, 4*time.Millisecond)
	require.NoError(t, err)
	require.Equal(t, []string{"counters"}, left)
	require.Less(t, time.Since(began), 5*time.Second)

	s.unseen = left
	require.NoError(t, s.LookOver(t.Context()))
	over, stop := context.WithCancel(t.Context())
	stop()
	require.ErrorIs(t, s.LookOver(over), context.Canceled)
	require.NoError(t, s.Close())
	spoil(t, path, "counters")
	again := &Store{dialect: s.dialect, unseen: left}
	err = again.LookOver(t.Context())
	require.ErrorIs(t, err, ErrDamaged)
	require.ErrorContains(t, err, "counters")
	require.NotContains(t, fmt.Sprint(err), "counter 1", "no value is told")
}

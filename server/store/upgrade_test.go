package store

import (
	"io/fs"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/require"
)

// A database of the first schema is copied, brought up to date and keeps its rows.
func TestTheFirstSchemaIsUpgraded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	first, err := fs.ReadFile(migrationFiles, "00001_start.sql")
	require.NoError(t, err)
	db, err := connect(path, 1)
	require.NoError(t, err)
	require.NoError(t, prepareFile(t.Context(), path))
	require.NoError(t, migrate(t.Context(), pool(db), fstest.MapFS{"00001_start.sql": {Data: first}}, path, time.Unix(1, 0)))
	for _, sql := range []string{
		"INSERT INTO people VALUES ('p', 'ann', 'ann', 'student', '', 1, 0)", "INSERT INTO content VALUES ('h', x'00')",
		"INSERT INTO attempts VALUES (1, 'a', 'p', 'c', 'veterinary', 'graded', 'h', 'h', 'h', 'h', 'e', x'00', x'01', 1, 2, 'left')",
	} {
		_, err := pool(db).Exec(sql)
		require.NoError(t, err)
	}
	require.NoError(t, pool(db).Close())

	s, err := openAt(t, path)
	require.NoError(t, err)
	require.NoError(t, s.Ready(t.Context()))
	uses, err := s.RubricUses(t.Context())
	require.NoError(t, err)
	require.Equal(t, []RubricUse{{Hash: "h", Attempts: 1, Graded: 1}}, uses)
	old, err := s.Attempt(t.Context(), "a")
	require.NoError(t, err)
	require.False(t, old.Alternatives.Any(), "sounds were heard and nothing else")
	asked, err := s.Forecast(t.Context(), old.Transcript)
	require.NoError(t, err)
	require.True(t, asked.At.IsZero(), "nothing is asked before a debrief that has been open")
	cohorts, err := s.MemberOf(t.Context(), "p")
	require.NoError(t, err)
	require.Len(t, cohorts, 1, "whoever was here is in a cohort")
	copies, err := filepath.Glob(path + ".before-schema-*")
	require.NoError(t, err)
	require.Len(t, copies, 1)
	var plan string
	var skip any
	require.NoError(t, pool(s.read).QueryRow("EXPLAIN QUERY PLAN SELECT rubric_hash, COUNT(*), SUM(state = 'graded') FROM attempts GROUP BY rubric_hash").Scan(&skip, &skip, &skip, &plan))
	require.Contains(t, plan, "USING COVERING INDEX attempts_rubric", "counted without reading keys")
}

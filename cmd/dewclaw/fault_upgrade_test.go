package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/require"
)

// TestAnUpgradeInTheMiddleOfAVisit: a visit that was begun under the first schema is gone on
// with by today's program, and marked.
func TestAnUpgradeInTheMiddleOfAVisit(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	students(t, data, 1)
	p := serving(t, data)
	u := signedPupils(p, 1)[0]
	for range 5 {
		_, err := u.next()
		require.NoError(t, err)
	}
	require.Zero(t, p.terminate())
	asFirstWritten(t, filepath.Join(data, "dewclaw.db"))

	p.start()
	u.whole()
	u.again()
	for range 3 {
		code, err := u.next()
		require.NoError(t, err)
		require.Equal(t, http.StatusCreated, code)
	}
	u.graded()
	require.Zero(t, p.terminate())
	sound(t, data, 8)
	copies, err := filepath.Glob(filepath.Join(data, "dewclaw.db.before-schema-*"))
	require.NoError(t, err)
	require.Len(t, copies, 1)
}

// asFirstWritten puts a file in the place of another that holds the same as far as the
// first schema has a place for it.
func asFirstWritten(t *testing.T, path string) {
	t.Helper()
	ctx := context.Background()
	first, err := os.ReadFile("../../server/store/migrations/00001_start.sql")
	require.NoError(t, err)
	old := filepath.Dir(path) + "-old"
	require.NoError(t, os.Mkdir(old, 0o700))
	db := beside(t, old)
	db.SetMaxOpenConns(1)
	m, err := goose.NewProvider(goose.DialectSQLite3, db, fstest.MapFS{"00001_start.sql": {Data: first}}, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = m.Up(ctx)
	require.NoError(t, err)
	var text string
	require.NoError(t, db.QueryRow(`SELECT json_group_object(m.name, (SELECT group_concat('"' || o.name || '"', ', ') FROM pragma_table_info(m.name) o))
		FROM sqlite_master m WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' AND m.name <> 'goose_db_version'`).Scan(&text))
	columns := map[string]string{}
	require.NoError(t, json.Unmarshal([]byte(text), &columns))
	statements := []string{fmt.Sprintf("ATTACH %s AS today", "'"+path+"'")}
	for table, names := range columns {
		statements = append(statements, fmt.Sprintf("INSERT OR REPLACE INTO %[1]s (%[2]s) SELECT %[2]s FROM today.%[1]s", table, names))
	}
	statements = append(statements, "DELETE FROM counters WHERE name <> 'transcript'")
	statements = append(statements, "DETACH today", fmt.Sprintf("PRAGMA application_id = %d", 0x44657763))
	for _, text := range statements {
		_, err := db.Exec(text)
		require.NoError(t, err, text)
	}
	for _, end := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(path + end)
	}
	require.NoError(t, os.Rename(filepath.Join(old, "dewclaw.db"), path))
}

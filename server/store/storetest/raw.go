package storetest

import (
	"database/sql"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Raw opens a database past the store, as a person with a shell of it would.
func Raw(t testing.TB, url string) *sql.DB {
	t.Helper()
	driver, address := "pgx", url
	if path, file := strings.CutPrefix(url, "sqlite:"); file {
		driver, address = "sqlite", "file:"+path+"?_busy_timeout=5000"
	}
	db, err := sql.Open(driver, address)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

// Exec says a statement past the store; placeholders are ?.
func Exec(t testing.TB, url, query string, args ...any) error {
	t.Helper()
	for n := 1; !strings.HasPrefix(url, "sqlite:") && strings.Contains(query, "?"); n++ {
		query = strings.Replace(query, "?", "$"+strconv.Itoa(n), 1)
	}
	_, err := Raw(t, url).Exec(query, args...)
	return err
}

// Tables are the names of all tables.
func Tables(t testing.TB, db *sql.DB) (names []string) {
	t.Helper()
	rows, err := db.Query("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
	if err != nil {
		rows, err = db.Query("SELECT tablename::text FROM pg_tables WHERE schemaname = current_schema() ORDER BY 1")
	}
	require.NoError(t, err)
	defer rows.Close()
	for rows.Next() {
		names = append(names, "")
		require.NoError(t, rows.Scan(&names[len(names)-1]))
	}
	require.NoError(t, rows.Err())
	return names
}

// Version is another one after every commit of somebody else than this
// connection; it may be another one without.
func Version(t testing.TB, db *sql.DB) (version int64) {
	t.Helper()
	err := db.QueryRow("PRAGMA data_version").Scan(&version)
	if err != nil {
		err = db.QueryRow("SELECT pg_snapshot_xmax(pg_current_snapshot())::text::bigint").Scan(&version)
	}
	require.NoError(t, err)
	return version
}

package store

import (
	"context"
	"database/sql"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/require"
)

func openAt(t *testing.T, path string) (*Store, error) {
	t.Helper()
	s, err := Open(t.Context(), Config{Path: path})
	if err == nil {
		t.Cleanup(func() { require.NoError(t, s.Close()) })
	}
	return s, err
}

func TestOpenMakesAPrivateDatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a?b #1%41", "dewclaw.db") // a folder's name is only a name
	s, err := openAt(t, path)
	require.NoError(t, err)
	require.NoError(t, s.Ready(t.Context()))

	for name, want := range map[string]os.FileMode{filepath.Dir(path): 0o700, path: 0o600, path + "-wal": 0o600, path + "-shm": 0o600} {
		info, err := os.Stat(name)
		require.NoError(t, err)
		require.Equal(t, want, info.Mode().Perm(), name)
	}
	found, err := os.ReadDir(filepath.Dir(filepath.Dir(path)))
	require.NoError(t, err)
	require.Len(t, found, 1)
}

func TestEveryConnectionHasItsPragmas(t *testing.T) {
	s, err := openAt(t, filepath.Join(t.TempDir(), "dewclaw.db"))
	require.NoError(t, err)
	// synchronous 2 is FULL: sqlite.org/pragma.html#pragma_synchronous
	want := map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000"}
	for name, db := range map[string]*sql.DB{"write": pool(s.write), "read": pool(s.read)} {
		for pragma, value := range want {
			var got string
			require.NoError(t, db.QueryRow("PRAGMA "+pragma).Scan(&got))
			require.Equal(t, value, got, "%s of the %s connections", pragma, name)
		}
	}
	_, err = pool(s.read).Exec("INSERT INTO counters (name, value) VALUES ('x', 1)")
	require.ErrorIs(t, wrap("write while reading", err), ErrReadOnly)
}

func TestOpenNarrowsAWideFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	require.NoError(t, os.WriteFile(path, nil, 0o644))
	_, err := openAt(t, path)
	require.NoError(t, err)
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

func TestOpenLeavesAloneWhatIsNotOurs(t *testing.T) {
	dir := t.TempDir()
	letter := filepath.Join(dir, "letter.txt")
	require.NoError(t, os.WriteFile(letter, []byte("Dear all, this is a letter and surely no database.\n"), 0o600))
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open(driverName, dsn(other, url.Values{}))
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE theirs (x)")
	require.NoError(t, err)
	require.NoError(t, db.Close())

	for _, path := range []string{letter, other} {
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		_, err = openAt(t, path)
		require.ErrorIs(t, err, ErrNotOurs)
		require.ErrorContains(t, err, path+" is not a Dewclaw database; choose another file")
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, before, after)
	}
}

func TestOpenSaysWhatToDoWhenItMayNotWrite(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "file"), nil, 0o600))
	_, err := openAt(t, filepath.Join(dir, "file", "dewclaw.db")) // the folder is a file
	require.ErrorIs(t, err, ErrReadOnly)
	require.ErrorContains(t, err, "give this user the right to write the file and its folder")

	locked := filepath.Join(dir, "locked")
	require.NoError(t, os.Mkdir(locked, 0o500))
	asNobody(t, func() { _, err = openAt(t, filepath.Join(locked, "dewclaw.db")) })
	require.ErrorIs(t, err, ErrReadOnly)
	require.ErrorContains(t, err, "give this user the right to write the file and its folder")
}

// asNobody runs f with the file rights of a user who is not root: root may write anywhere.
func asNobody(t *testing.T, f func()) {
	t.Helper()
	if os.Geteuid() != 0 {
		f()
		return
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	require.NoError(t, syscall.Setfsuid(65534))
	defer func() { require.NoError(t, syscall.Setfsuid(0)) }()
	f()
}

// files returns our migrations and, where more is given, another one after them.
func files(t *testing.T, more string) fs.FS {
	t.Helper()
	all := fstest.MapFS{}
	names, err := fs.Glob(migrationFiles, "*.sql")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		data, err := fs.ReadFile(migrationFiles, name)
		require.NoError(t, err)
		all[name] = &fstest.MapFile{Data: data}
	}
	if more != "" {
		all["09999_later.sql"] = &fstest.MapFile{Data: []byte("-- +goose Up\n" + more)}
	}
	return all
}

func TestANewerSchemaIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	s, err := openAt(t, path)
	require.NoError(t, err)
	require.NoError(t, migrate(t.Context(), pool(s.write), files(t, "CREATE TABLE later (x BIGINT);"), path, s.now()))
	require.ErrorContains(t, s.Ready(t.Context()), "schema 9999")
	require.NoError(t, s.Close())

	_, err = openAt(t, path)
	require.ErrorIs(t, err, ErrNewer)
	require.ErrorContains(t, err, "was written by a newer Dewclaw; start that one")
}

func TestAnOlderSchemaIsCopiedThenUpgraded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	s, err := openAt(t, path)
	require.NoError(t, err)
	p, err := s.AddPerson(t.Context(), NewPerson{Login: "ann", Role: "student", Name: "Ann"})
	require.NoError(t, err)
	now := time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC)
	require.NoError(t, migrate(t.Context(), pool(s.write), files(t, "CREATE TABLE later (x BIGINT);"), path, now))
	var n int
	require.NoError(t, pool(s.write).QueryRow("SELECT COUNT(*) FROM later").Scan(&n))

	copied := path + ".before-schema-9999.20260302T093000Z"
	info, err := os.Stat(copied)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	old, err := openAt(t, copied) // this program knows the copy's schema, not the upgraded one
	require.NoError(t, err)
	again, err := old.Person(t.Context(), p.ID)
	require.NoError(t, err)
	require.Equal(t, p, again)
	require.NoError(t, migrate(t.Context(), pool(s.write), files(t, "CREATE TABLE later (x BIGINT);"), path, now), "nothing left to do")
}

func TestAMigrationThatFailsLeavesTheOldSchema(t *testing.T) {
	path := filepath.Join(t.TempDir(), "dewclaw.db")
	s, err := openAt(t, path)
	require.NoError(t, err)
	bad := files(t, "CREATE TABLE half (x BIGINT);\nINSERT INTO nowhere VALUES (1);")
	now := time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC)
	copied := path + ".before-schema-9999.20260302T093000Z"
	require.ErrorContains(t, migrate(t.Context(), pool(s.write), bad, path, now), "the database as it was before is in "+copied)
	require.FileExists(t, copied)
	var n int
	require.NoError(t, pool(s.write).QueryRow("SELECT COUNT(*) FROM sqlite_master WHERE name = 'half'").Scan(&n))
	require.Zero(t, n)
	require.NoError(t, s.Ready(t.Context()))
}

func TestOldSQLiteIsTold(t *testing.T) {
	for version, ok := range map[string]bool{"3.51.3": true, "3.51.2": false, "3.52.0": true, "3.9.9": false, "4.0": true, "3.54": true, "2.99.99": false, "": false} {
		require.Equal(t, ok, sqliteAtLeast(version, leastSQLite), version)
	}
}

func TestErrorsOfTheDriverAreOurs(t *testing.T) {
	s, err := openAt(t, filepath.Join(t.TempDir(), "dewclaw.db"))
	require.NoError(t, err)
	db := pool(s.write)
	for text, want := range map[string]error{
		"INSERT INTO counters (name, value) VALUES ('transcript', 1)": ErrDuplicate, // primary key
		"INSERT INTO names (person, name) VALUES ('nobody', 'x')":     ErrConflict,  // foreign key
		"INSERT INTO counters (name, value) VALUES ('x', NULL)":       ErrInvalid,   // not null
	} {
		_, err := db.ExecContext(context.Background(), text)
		require.ErrorIs(t, wrap("x", err), want, text)
	}
	_, err = db.Exec(`INSERT INTO settings (name, value, changed) VALUES ("name", '', 0)`)
	require.ErrorContains(t, err, "no such column")
}

package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
)

// applicationID marks a SQLite file as ours (PRAGMA application_id): "Dewc".
const applicationID = 0x44657763

// leastSQLite is the first release without the WAL-reset bug, which could
// corrupt a database (SQLite's changelog for 3.51.3).
var leastSQLite = [3]int{3, 51, 3}

// prepareFile makes the folder and the file where they are missing, private to
// this user, and makes sure that the file is ours before anything is changed in it.
func prepareFile(ctx context.Context, path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return explain(path, err)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return explain(path, err)
	}
	info, err := f.Stat()
	if err == nil && info.Mode().IsRegular() && info.Mode().Perm()&0o077 != 0 {
		err = f.Chmod(0o600) // SQLite gives the same mode to the files that it puts beside
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return explain(path, err)
	}
	return explain(path, claim(ctx, path))
}

// claim looks at the file over a connection that sets nothing, and marks a new one as ours.
func claim(ctx context.Context, path string) (err error) {
	db, err := sql.Open(driverName, dsn(path, url.Values{"mode": {"rw"}, "_busy_timeout": {"5000"}}))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var version string
	var mark, tables int64
	err = db.QueryRowContext(ctx, "SELECT sqlite_version()").Scan(&version)
	if err == nil {
		err = db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&mark)
	}
	if err == nil {
		err = db.QueryRowContext(ctx, "SELECT COUNT(*) FROM sqlite_master").Scan(&tables)
	}
	switch {
	case err != nil:
		return err
	case !sqliteAtLeast(version, leastSQLite):
		return fmt.Errorf("%w: it is %s, at least %d.%d.%d is needed", ErrOldSQLite, version, leastSQLite[0], leastSQLite[1], leastSQLite[2])
	case mark == applicationID:
		return nil
	case mark != 0 || tables != 0:
		return ErrNotOurs
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID))
	return err
}

// advice is what to do about a database that does not open.
var advice = []struct {
	kind error
	say  string
}{
	{ErrNotOurs, "is not a Dewclaw database; choose another file or folder, or move this one away"},
	{ErrNewer, "was written by a newer Dewclaw; start that one, or put back the copy made before the upgrade"},
	{ErrOldSQLite, "cannot be opened safely by the SQLite built into this program; build it with the versions in go.mod"},
	{ErrReadOnly, "cannot be written; give this user the right to write the file and its folder, or choose another folder"},
	{ErrFull, "cannot be written because the disk is full; make room and start again"},
	{ErrDamaged, "is damaged%s; nothing was changed: keep a copy of its folder, then put back the last backup with 'dewclaw restore'"},
	{ErrBusy, "is locked by another program; stop that one and start again"},
}

// explain turns an error of opening into one sentence that says what to do.
func explain(path string, err error) error {
	if err == nil {
		return nil
	}
	kind := kindOf(err)
	var bad *os.PathError
	if kind == nil && errors.As(err, &bad) {
		kind = ErrReadOnly
	}
	for _, a := range advice {
		say := strings.Replace(a.say, "%s", where(err), 1)
		if errors.Is(err, a.kind) {
			return fmt.Errorf("%s %s (%w)", path, say, err)
		}
		if kind == a.kind {
			return fmt.Errorf("%s %s (%w: %w)", path, say, kind, err)
		}
	}
	return fmt.Errorf("%s cannot be opened (%w)", path, err)
}

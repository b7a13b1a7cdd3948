package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"
)

// Restore makes a database out of a backup, in a place where there is none, and
// brings it to the schema of this program. ErrInUse: there is one already; it is
// left as it is. Whatever fails, no part of a database is left behind that could
// be taken for a whole one.
func Restore(ctx context.Context, c Config, b *Backup) error {
	d, err := choose(c)
	if err != nil {
		return err
	}
	return d.fresh(func(d dialect) error {
		if err := d.prepare(ctx); err != nil {
			return err
		}
		db, err := d.connect(writes, writeConnections)
		if err != nil {
			return d.explain(err)
		}
		return errors.Join(restore(ctx, d, db, b), pool(db).Close())
	})
}

// restore loads the rows into the schema that they were written from, and then
// goes the way that every database of that age goes.
func restore(ctx context.Context, d dialect, db *gorm.DB, b *Backup) error {
	err := d.lay(ctx, pool(db), b.Manifest.Schema)
	if errors.Is(err, ErrNewer) { // its tables are empty or not, they are another schema's
		return inUse(d)
	}
	if err != nil {
		return d.explain(err)
	}
	if err := load(ctx, d, pool(db), b); err != nil {
		return wrap("restore", err)
	}
	if err := d.lay(ctx, pool(db), 0); err != nil {
		return wrap("restore", err)
	}
	return wrap("restore", d.guard(ctx, pool(db)))
}

// load puts all rows in place in one transaction.
func load(ctx context.Context, d dialect, db *sql.DB, b *Backup) (err error) {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, ignoreDone(tx.Rollback())) }()
	w := d.words()
	if w.first != "" {
		if _, err := tx.ExecContext(ctx, w.first); err != nil {
			return err
		}
	}
	tables, err := layouts(ctx, tx, w)
	if err != nil {
		return err
	}
	if err := sameTables(tables, b.Manifest); err != nil {
		return err
	}
	if err := empty(ctx, tx, d, tables); err != nil {
		return err
	}
	for _, t := range tables {
		kept, _ := b.Manifest.Table(t.name)
		if err := loadTable(ctx, tx, w, t, kept, b); err != nil {
			return err
		}
	}
	return tx.Commit()
}

// sameTables: a backup says nothing of tables and columns that its own schema does
// not have, and leaves out none.
func sameTables(tables []layout, m Manifest) error {
	for _, t := range tables {
		kept, ok := m.Table(t.name)
		if !ok {
			return fmt.Errorf("%w: it has no table %s, which schema %d has", ErrBackup, t.name, m.Schema)
		}
		if !slices.Equal(kept.Columns, t.columns) {
			return fmt.Errorf("%w: table %s does not have the columns of schema %d", ErrBackup, t.name, m.Schema)
		}
	}
	if len(tables) != len(m.Tables) {
		return fmt.Errorf("%w: it has %d tables, schema %d has %d", ErrBackup, len(m.Tables), m.Schema, len(tables))
	}
	return nil
}

// empty takes away what the migrations themselves put into new tables. Anything
// else is somebody's.
func empty(ctx context.Context, tx *sql.Tx, d dialect, tables []layout) error {
	for _, t := range slices.Backward(tables) {
		if t.name == "counters" {
			if _, err := tx.ExecContext(ctx, "DELETE FROM counters"); err != nil {
				return err
			}
			continue
		}
		var n int
		if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM (SELECT 1 FROM "+quoted(t.name)+" LIMIT 1) AS first").Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return inUse(d)
		}
	}
	return nil
}

func inUse(d dialect) error {
	return fmt.Errorf("%s has data in it, which is never overwritten; name a new place (%w)", d.name(), ErrInUse)
}

// Rows go in together as far as so many parameters and bytes.
const (
	batchValues = 800
	batchBytes  = 1 << 20
)

func loadTable(ctx context.Context, tx *sql.Tx, w words, t layout, kept TableKept, b *Backup) error {
	var batch []any
	size, done := 0, 0
	flush := func() error {
		rows := len(batch) / len(t.columns)
		if rows == 0 {
			return nil
		}
		insert := "INSERT INTO " + quoted(t.name) + " (" + t.list() + ") VALUES " + marks(rows, len(t.columns))
		if _, err := tx.ExecContext(ctx, w.bind(insert), batch...); err != nil {
			return fmt.Errorf("table %s, rows %d to %d: %w", t.name, done+1, done+rows, err)
		}
		batch, size, done = batch[:0], 0, done+rows
		return nil
	}
	err := b.rows(ctx, kept, func(values []any) error {
		for _, v := range values {
			size += lengthOf(v)
		}
		batch = append(batch, values...)
		if len(batch)+len(values) > batchValues || size > batchBytes {
			return flush()
		}
		return nil
	})
	if err != nil {
		return err
	}
	return flush()
}

func lengthOf(v any) int {
	switch v := v.(type) {
	case string:
		return len(v)
	case []byte:
		return len(v)
	}
	return 8
}

// RestoreFiles writes the school's own files of a backup below a folder. Only those
// under the named files and folders are written, and none over another.
func (b *Backup) RestoreFiles(folder string, under []string) (n int, err error) {
	for _, kept := range b.Manifest.Files {
		name := strings.TrimPrefix(kept.Member, "files/")
		if top, _, _ := strings.Cut(name, "/"); !slices.Contains(under, top) {
			return n, fmt.Errorf("%w: it holds a file %q, for which there is no place", ErrBackup, name)
		}
		if err := b.restoreFile(kept, filepath.Join(folder, filepath.FromSlash(name))); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

func (b *Backup) restoreFile(kept FileKept, path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	return errors.Join(b.file(kept, f), f.Sync(), f.Close())
}

// fresh fills a file beside and gives it the right name once it is whole.
func (f sqliteFile) fresh(do func(d dialect) error) error {
	if _, err := os.Lstat(f.path); err == nil {
		return inUse(f)
	}
	beside := sqliteFile{fmt.Sprintf("%s.restoring.%d", f.path, time.Now().UnixNano())}
	err := do(beside)
	if err == nil {
		err = onDisk(beside.path)
	}
	if err == nil {
		err = rename(beside.path, f.path)
	}
	for _, end := range []string{"", "-wal", "-shm"} {
		if e := os.Remove(beside.path + end); e != nil && !errors.Is(e, os.ErrNotExist) {
			err = errors.Join(err, e)
		}
	}
	if err != nil {
		return err
	}
	return onDisk(filepath.Dir(f.path))
}

// rename overwrites nothing, where the file system knows links; elsewhere it looks
// once more beforehand.
func rename(from, to string) error {
	err := os.Link(from, to)
	if err == nil || errors.Is(err, os.ErrExist) {
		return err
	}
	if _, err := os.Lstat(to); err == nil {
		return os.ErrExist
	}
	return os.Rename(from, to)
}

// onDisk flushes a file or folder to the disk.
func onDisk(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// fresh: one transaction holds all rows, so that nobody sees some of them.
func (p onServer) fresh(do func(d dialect) error) error { return do(p) }

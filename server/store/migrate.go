package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/pressly/goose/v3"
)

//go:embed migrations
var embedded embed.FS

// migrationFiles are numbered, append-only and run in a transaction each. One
// that has been released is never edited: a later one mends it.
var migrationFiles = func() fs.FS {
	files, err := fs.Sub(embedded, "migrations")
	if err != nil {
		panic(err) // the folder is named in the line above
	}
	return files
}()

// migrate brings the schema of a SQLite file up to date. An older one is copied
// first, and a failure says where that copy is.
func migrate(ctx context.Context, db *sql.DB, files fs.FS, path string, now time.Time) error {
	kept := ""
	err := migrateSchema(ctx, db, goose.DialectSQLite3, files, 0, func(want int64) error {
		to := fmt.Sprintf("%s.before-schema-%d.%s", path, want, now.Format("20060102T150405Z"))
		if err := copyDatabase(ctx, db, to); err != nil {
			return fmt.Errorf("copy before the upgrade: %w", err)
		}
		kept = to
		return nil
	})
	if err != nil && kept != "" {
		return fmt.Errorf("%w; the database as it was before is in %s", err, kept)
	}
	return err
}

// migrateSchema brings a schema to a version, or up to date where that is 0,
// after before was called where there is an older one. A newer one is left alone
// and refused. Where several servers start at once one of them lays each migration,
// and the others wait for it.
func migrateSchema(ctx context.Context, db *sql.DB, d goose.Dialect, files fs.FS, to int64, before func(want int64) error) error {
	p, err := goose.NewProvider(d, db, files,
		goose.WithDisableGlobalRegistry(true), goose.WithLogger(goose.NopLogger()))
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	if to == 0 {
		to = newestMigration(files)
	}
	err = lay(ctx, p, to, before)
	if err == nil || errors.Is(err, ErrNewer) {
		return err
	}
	return othersLay(ctx, p, to, err)
}

// lay brings a schema to a version.
func lay(ctx context.Context, p *goose.Provider, to int64, before func(want int64) error) error {
	have, _, err := p.GetVersions(ctx)
	switch {
	case err != nil:
		return fmt.Errorf("migrate: %w", err)
	case have > to:
		return fmt.Errorf("migrate: %w: schema %d, this program knows %d", ErrNewer, have, to)
	case have == to:
		return nil
	case have > 0:
		if err := before(to); err != nil {
			return err
		}
	}
	if _, err := p.UpTo(ctx, to); err != nil {
		return fmt.Errorf("migrate from schema %d to %d: %w", have, to, err)
	}
	return nil
}

// othersFor is how long a schema may stand still before nobody else is at it.
const othersFor = 2 * time.Second

// othersLay waits for another server that was faster at a migration, which is why
// ours failed: whoever lays one goes on with the next. Where nothing moves, ours
// failed for a reason of its own.
func othersLay(ctx context.Context, p *goose.Provider, to int64, failed error) error {
	last := int64(-1)
	for moved := time.Now(); time.Since(moved) < othersFor; {
		have, _, err := p.GetVersions(ctx)
		if err == nil && have == to {
			return nil
		}
		if err == nil && have > last {
			if last >= 0 {
				moved = time.Now()
			}
			last = have
		}
		select {
		case <-ctx.Done():
			return failed
		case <-time.After(20 * time.Millisecond):
		}
	}
	return failed
}

// copyDatabase writes a whole and consistent copy, on the disk when it returns.
func copyDatabase(ctx context.Context, db *sql.DB, to string) error {
	f, err := os.OpenFile(to, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600) // VACUUM INTO takes an empty file
	if err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", to); err != nil {
		return errors.Join(err, f.Close(), os.Remove(to))
	}
	folder, err := os.Open(filepath.Dir(to))
	if err != nil {
		return errors.Join(err, f.Close())
	}
	return errors.Join(f.Sync(), f.Close(), folder.Sync(), folder.Close())
}

// newestMigration is the number of the last file, which is the schema's version.
func newestMigration(files fs.FS) int64 {
	newest := int64(0)
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return 0 // only for a bad pattern
	}
	for _, name := range names {
		if n, err := goose.NumericComponent(name); err == nil {
			newest = max(newest, n)
		}
	}
	return newest
}

package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"
)

// Peek opens a database that is there as it is, of this program's schema or an
// older one, to read it only: nothing is made, moved or brought up to date, and
// a server may be at work on it.
func Peek(ctx context.Context, c Config) (s *Store, err error) {
	if c.Now == nil {
		c.Now = time.Now
	}
	d, err := choose(c)
	if err != nil {
		return nil, err
	}
	if err := d.exists(); err != nil {
		return nil, err
	}
	if err := d.prepare(ctx); err != nil {
		return nil, err
	}
	s = &Store{gate: make(chan struct{}, 1), dialect: d, words: d.words(), now: func() time.Time { return c.Now().UTC().Truncate(time.Microsecond) }}
	if s.read, err = d.connect(reads, max(c.Readers, 2)); err != nil {
		return nil, d.explain(err)
	}
	_, err = s.Schema(ctx)
	if err != nil && !errors.Is(err, ErrSchema) {
		err = d.explain(err)
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// Name is what the database is called in a sentence; never a password.
func (s *Store) Name() string { return s.dialect.name() }

// Schema is the version of the schema. ErrSchema: there is none yet. ErrNewer: this
// program does not know it.
func (s *Store) Schema(ctx context.Context) (have int64, err error) {
	tables, err := s.tables(ctx)
	if err == nil && len(tables) == 0 {
		return 0, fmt.Errorf("%s has nothing in it yet; name the one of the school (%w)", s.Name(), ErrSchema)
	}
	if err == nil {
		err = s.queryRow(ctx, "SELECT MAX(version_id) FROM goose_db_version").Scan(&have)
	}
	if err != nil {
		return 0, wrap("schema", err)
	}
	if want := newestMigration(migrationFiles); have > want {
		return have, fmt.Errorf("schema: %w: schema %d, this program knows %d", ErrNewer, have, want)
	}
	return have, nil
}

// NewestSchema is the version of the schema that this program knows.
func NewestSchema() int64 { return newestMigration(migrationFiles) }

// Current is ErrSchema where the database has to be brought up to date first.
func (s *Store) Current(ctx context.Context) error {
	have, err := s.Schema(ctx)
	if err == nil && have < NewestSchema() {
		err = fmt.Errorf("%s has schema %d, this program knows %d; start 'dewclaw serve' once, which copies it and brings it up to date (%w)", s.Name(), have, NewestSchema(), ErrSchema)
	}
	return err
}

func (s *Store) tables(ctx context.Context) (names []string, err error) {
	rows, err := s.query(ctx, s.words.tables)
	if err != nil {
		return nil, wrap("tables", err)
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, wrap("tables", err)
		}
		names = append(names, name)
	}
	return names, wrap("tables", rows.Err())
}

// exists looks for the file, and makes none.
func (f sqliteFile) exists() error {
	info, err := os.Stat(f.path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("%s is not there; name the folder of the database with --data (%w)", f.path, ErrNoDatabase)
	case err == nil && info.Size() == 0:
		return fmt.Errorf("%s is empty; name the folder of the database with --data (%w)", f.path, ErrNoDatabase)
	case err == nil && !info.Mode().IsRegular():
		return fmt.Errorf("%s is no file; name the folder of the database with --data (%w)", f.path, ErrNoDatabase)
	}
	return explain(f.path, err)
}

func (p onServer) exists() error { return nil }

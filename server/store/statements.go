package store

import (
	"context"
	"database/sql"
	"errors"
)

// sizes are the numbers of tuples for which a statement is kept ready, so that a
// group of any size is written with few statements and none is parsed anew.
var sizes = [...]int{64, 16, 4, 1}

// statements is one statement in each of sizes.
type statements [len(sizes)]*sql.Stmt

func (s *statements) prepare(ctx context.Context, db *sql.DB, text func(n int) string) (err error) {
	for i, n := range sizes {
		if s[i], err = db.PrepareContext(ctx, text(n)); err != nil {
			return err
		}
	}
	return nil
}

// each cuts n items into runs for which a statement stands ready.
func (s *statements) each(n int, do func(stmt *sql.Stmt, from, to int) error) error {
	from := 0
	for i, size := range sizes {
		for n-from >= size {
			if err := do(s[i], from, from+size); err != nil {
				return err
			}
			from += size
		}
	}
	return nil
}

func (s *statements) close() error {
	var errs []error
	for _, stmt := range s {
		if stmt != nil {
			errs = append(errs, stmt.Close())
		}
	}
	return errors.Join(errs...)
}

package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"
)

// lookWithin is how long a start looks for damage; what is too large for it is
// looked at by LookOver while the server answers already. Our own figure.
const lookWithin = time.Second

// LookOver looks for damaged pages in those tables that were too large to be
// looked at when the database was opened. ErrDamaged says which table. It reads
// the file at leisure, table by table, and is over at once where nothing is left.
func (s *Store) LookOver(ctx context.Context) error {
	_, err := s.dialect.look(ctx, s.unseen, 0)
	return err
}

// look: SQLite is asked table by table, so that the table can be named. No tables
// stands for all. within 0 is without a limit, else what takes longer is left.
func (f sqliteFile) look(ctx context.Context, tables []string, within time.Duration) (left []string, err error) {
	if within == 0 && len(tables) == 0 {
		return nil, nil
	}
	db, err := sql.Open(driverName, dsn(f.path, url.Values{"mode": {"rw"}, "_busy_timeout": {"5000"}}))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if len(tables) == 0 {
		if tables, err = tablesOf(ctx, db); err != nil {
			return nil, err
		}
	}
	until := time.Now().Add(within)
	for _, table := range tables {
		seen, err := lookAt(ctx, db, table, within/4, until)
		if err != nil {
			return nil, err
		}
		if !seen {
			left = append(left, table)
		}
	}
	return left, nil
}

// tablesOf are all tables, those that are SQLite's own among them.
func tablesOf(ctx context.Context, db *sql.DB) (names []string, err error) {
	rows, err := db.QueryContext(ctx, "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		names = append(names, name)
	}
	return names, rows.Err()
}

// lookAt checks the pages of a table and its indexes, for most at the longest;
// most 0: as long as it takes. seen: it came to the end.
func lookAt(ctx context.Context, db *sql.DB, table string, most time.Duration, until time.Time) (seen bool, err error) {
	if most > 0 {
		most = min(most, time.Until(until))
		if most <= 0 {
			return false, nil
		}
		short, stop := context.WithTimeout(ctx, most)
		defer stop()
		ctx = short
	}
	found, err := quickCheck(ctx, db, table)
	switch {
	case ctx.Err() != nil && most > 0:
		return false, nil
	case ctx.Err() != nil:
		return false, ctx.Err()
	case err != nil && kindOf(err) == ErrBusy:
		return false, err
	case err != nil:
		return true, &damage{table, err.Error()}
	case found != "ok":
		return true, &damage{table, found}
	}
	return true, nil
}

// quickCheck is SQLite's word about a table: ok, or what is wrong, in one line.
func quickCheck(ctx context.Context, db *sql.DB, table string) (found string, err error) {
	rows, err := db.QueryContext(ctx, `PRAGMA quick_check("`+strings.ReplaceAll(table, `"`, `""`)+`")`)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var all []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return "", err
		}
		all = append(all, strings.Fields(line)...)
	}
	return strings.Join(slices.Clip(all[:min(len(all), 40)]), " "), rows.Err()
}

// damage is a table that cannot be trusted.
type damage struct{ table, what string }

func (d *damage) Error() string {
	return fmt.Sprintf("%v, in the table %s: %s", ErrDamaged, d.table, d.what)
}
func (d *damage) Unwrap() error { return ErrDamaged }

// where is the table, for a sentence.
func where(err error) string {
	var d *damage
	if errors.As(err, &d) {
		return " in the table " + d.table
	}
	return ""
}

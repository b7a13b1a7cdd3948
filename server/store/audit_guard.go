package store

import (
	"context"
	"database/sql"
	"fmt"
)

// guards keep the log append-only in SQLite itself, whoever writes to it.
// They are made at every start and not by a migration: triggers are written
// otherwise in each database, and one that was dropped by hand is back again. An
// insert in place of a row deletes it without its trigger, so it is refused too.
var guards = []string{
	`CREATE TRIGGER IF NOT EXISTS audit_no_update BEFORE UPDATE ON audit
		BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END`,
	`CREATE TRIGGER IF NOT EXISTS audit_no_delete BEFORE DELETE ON audit
		BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END`,
	`CREATE TRIGGER IF NOT EXISTS audit_no_replace BEFORE INSERT ON audit WHEN EXISTS (SELECT 1 FROM audit WHERE n = NEW.n)
		BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END`,
}

// guard puts such guards in place.
func guard(ctx context.Context, db *sql.DB, guards []string) error {
	for _, text := range guards {
		if _, err := db.ExecContext(ctx, text); err != nil {
			return fmt.Errorf("guard the log: %w", err)
		}
	}
	return nil
}

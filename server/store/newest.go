package store

import (
	"context"
	"database/sql"
	"time"
)

// Newest is when the newest sign of life was stored: of a session, a sitting's clock, or
// an act of the thousand visits begun last, which is what a start has time to look
// at. Zero: there is none.
func (s *Store) Newest(ctx context.Context) (time.Time, error) {
	var at sql.NullInt64
	err := s.queryRow(ctx, `SELECT MAX(at) FROM (SELECT MAX(last_seen) AS at FROM sessions
		UNION ALL SELECT MAX(seen) FROM turns
		UNION ALL SELECT MAX(at) FROM clock_deeds
		UNION ALL SELECT MAX(at) FROM acts WHERE transcript > (SELECT MAX(transcript) FROM attempts) - 1000) AS newest`).Scan(&at)
	return fromMicros(at.Int64), wrap("newest", err)
}

package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"fmt"
	"time"
)

// Limits of one act, in bytes. What a student can type in one act is far less.
const (
	MaxAct     = 64 << 10
	MaxOutcome = 64 << 10
	MaxRetry   = 64
)

// Act is a stored act with its outcome.
type Act struct {
	Transcript int64
	N          int       // from 1
	At         time.Time // when the server took it
	By         string    // a person's id
	Retry      string
	Act        []byte
	Outcome    Hidden
	request    []byte
}

// NewAct is an act to be stored. Retry is the client's word for this request: the
// same word with the same Request gets the first answer again. Request is the
// act as the client sent it, of which a hash is kept; nil stands for Act. (The
// server may add to an act what differs from try to try.)
type NewAct struct {
	Transcript int64
	N          int
	At         time.Time // zero: now
	By         string
	Retry      string
	Request    []byte
	Act        []byte
	Outcome    Hidden
}

// row checks an act and gives it the form in which it is stored.
func (n NewAct) row(now time.Time) (Act, error) {
	switch {
	case n.N < 1:
		return Act{}, fmt.Errorf("%w: acts are numbered from 1, this one is %d", ErrInvalid, n.N)
	case n.Retry == "" || len(n.Retry) > MaxRetry:
		return Act{}, fmt.Errorf("%w: a retry text of 1 to %d bytes is needed", ErrInvalid, MaxRetry)
	case len(n.Act) > MaxAct || len(n.Outcome) > MaxOutcome:
		return Act{}, fmt.Errorf("%w: an act is at most %d bytes and its outcome %d", ErrInvalid, MaxAct, MaxOutcome)
	}
	request := n.Request
	if request == nil {
		request = n.Act
	}
	sum := sha256.Sum256(request)
	row := Act{Transcript: n.Transcript, N: n.N, At: n.At.UTC().Truncate(time.Microsecond), By: n.By, Retry: n.Retry,
		Act: append([]byte{}, n.Act...), Outcome: append(Hidden{}, n.Outcome...), request: sum[:16]}
	if n.At.IsZero() {
		row.At = now
	}
	return row, nil
}

const actColumns = `transcript, n, at, "by", retry, request, act, outcome`

// values are the columns of actColumns.
func (a Act) values() []any {
	return []any{a.Transcript, a.N, micros(a.At), a.By, a.Retry, a.request, a.Act, []byte(a.Outcome)}
}

// scanner is a *sql.Row or *sql.Rows.
type scanner interface{ Scan(...any) error }

func scanAct(from scanner) (a Act, err error) {
	var at int64
	err = from.Scan(&a.Transcript, &a.N, &at, &a.By, &a.Retry, &a.request, &a.Act, &a.Outcome)
	a.At = fromMicros(at)
	return a, err
}

// querier is a *sql.DB or *sql.Tx.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func actAt(ctx context.Context, q querier, d words, transcript int64, n int) (Act, error) {
	return scanAct(q.QueryRowContext(ctx, d.bind("SELECT "+actColumns+" FROM acts WHERE transcript = ? AND n = ?"), transcript, n))
}

// Act returns one act.
func (s *Store) Act(ctx context.Context, transcript int64, n int) (Act, error) {
	a, err := actAt(ctx, pool(s.read), s.words, transcript, n)
	return a, wrap("act", err)
}

// LastAct returns the newest act of a transcript; ErrNotFound: it has none.
func (s *Store) LastAct(ctx context.Context, transcript int64) (Act, error) {
	a, err := scanAct(s.queryRow(ctx, "SELECT "+actColumns+" FROM acts WHERE transcript = ? ORDER BY n DESC LIMIT 1", transcript))
	return a, wrap("last act", err)
}

// Acts returns the acts of a transcript with numbers above after, in order.
func (s *Store) Acts(ctx context.Context, transcript int64, after int) (acts []Act, err error) {
	rows, err := s.query(ctx, "SELECT "+actColumns+" FROM acts WHERE transcript = ? AND n > ? ORDER BY n", transcript, after)
	if err != nil {
		return nil, wrap("acts", err)
	}
	defer rows.Close()
	for rows.Next() {
		a, err := scanAct(rows)
		if err != nil {
			return nil, wrap("acts", err)
		}
		acts = append(acts, a)
	}
	return acts, wrap("acts", rows.Err())
}

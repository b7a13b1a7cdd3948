// Package storetest makes real stores for tests: a SQLite file in a temporary
// folder or a database on a PostgreSQL (the flag -postgres says which), a clock that stands still until it is told to move, and builders for
// the rows that most tests need.
package storetest

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
)

// Start is what a new Clock shows.
var Start = time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)

// Clock is a clock that only Add moves. It is safe for concurrent use.
type Clock struct {
	mu  sync.Mutex
	now time.Time
}

// Now returns the clock's time.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Add moves the clock.
func (c *Clock) Add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// Store is a store with what a test wants to reach besides.
type Store struct {
	*store.Store
	URL   string // of the database; with it what happens to the store can be seen from beside
	Path  string // its file; empty: it is on PostgreSQL
	Clock *Clock

	t      testing.TB
	change []func(*store.Config)
	logins int
}

// New opens a new store, with what a test would have otherwise. It is closed when
// the test ends.
func New(t testing.TB, change ...func(*store.Config)) *Store {
	t.Helper()
	s := &Store{URL: URL(t), Clock: &Clock{now: Start}, t: t, change: change}
	if s.URL == "" {
		s.Path = filepath.Join(t.TempDir(), "data", "dewclaw.db")
		s.URL = "sqlite:" + s.Path
	}
	s.open()
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func (s *Store) open() {
	s.t.Helper()
	c := store.Config{URL: s.URL, Now: s.Clock.Now, Writers: 2}
	for _, f := range s.change {
		f(&c)
	}
	opened, err := store.Open(context.Background(), c)
	require.NoError(s.t, err)
	s.Store = opened
}

// OneWriter gives a store one queue of acts, as SQLite has.
func OneWriter(c *store.Config) { c.Writers = 1 }

// Reopen closes the store and opens the same database again.
func (s *Store) Reopen() {
	s.t.Helper()
	require.NoError(s.t, s.Close())
	s.open()
}

// Raw is a connection beside the store, that keeps none of its rules.
func (s *Store) Raw() *sql.DB { return Raw(s.t, s.URL) }

// Exec says a statement beside the store; placeholders are ?.
func (s *Store) Exec(query string, args ...any) error { return Exec(s.t, s.URL, query, args...) }

// Tables are the names of all tables.
func (s *Store) Tables() []string { return Tables(s.t, s.Raw()) }

// Everything is all that the tables hold, bytes as texts.
func (s *Store) Everything() (all [][]string) {
	s.t.Helper()
	db := s.Raw()
	for _, table := range Tables(s.t, db) {
		rows, err := db.Query("SELECT * FROM " + table)
		require.NoError(s.t, err)
		defer rows.Close()
		columns, err := rows.Columns()
		require.NoError(s.t, err)
		for rows.Next() {
			row, dest := make([]string, len(columns)), make([]any, len(columns))
			for i := range row {
				dest[i] = &row[i]
			}
			require.NoError(s.t, rows.Scan(dest...))
			all = append(all, row)
		}
		require.NoError(s.t, rows.Err())
	}
	return all
}

// Refuse makes the database refuse an event, such as INSERT ON acts, that a
// condition over NEW holds for, until allow.
func (s *Store) Refuse(event, when string) (allow func()) {
	s.t.Helper()
	_, table, _ := strings.Cut(event, " ON ")
	text, drop := "CREATE TRIGGER refuse BEFORE "+event+" FOR EACH ROW WHEN ("+when+") ", "DROP TRIGGER refuse"
	if s.Path != "" {
		require.NoError(s.t, s.Exec(text+"BEGIN SELECT RAISE(ABORT, 'no'); END"))
	} else {
		require.NoError(s.t, s.Exec("CREATE OR REPLACE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RAISE EXCEPTION USING ERRCODE = ''check_violation''; END'"))
		require.NoError(s.t, s.Exec(text+"EXECUTE FUNCTION refuse()"))
		drop += " ON " + table
	}
	return func() { require.NoError(s.t, s.Exec(drop)) }
}

// HoldWrites keeps others from writing acts until release.
func (s *Store) HoldWrites() (release func()) {
	s.t.Helper()
	conn, err := s.Raw().Conn(context.Background())
	require.NoError(s.t, err)
	statements := []string{"BEGIN IMMEDIATE"}
	if s.Path == "" {
		statements = []string{"BEGIN", "LOCK TABLE attempts IN EXCLUSIVE MODE"}
	}
	for _, text := range statements {
		_, err = conn.ExecContext(context.Background(), text)
		require.NoError(s.t, err)
	}
	return func() {
		_, err := conn.ExecContext(context.Background(), "ROLLBACK")
		require.NoError(s.t, err)
		require.NoError(s.t, conn.Close())
	}
}

// MakePerson adds somebody of this role who has no password yet.
func (s *Store) MakePerson(role string) store.Person {
	s.t.Helper()
	s.logins++
	p, err := s.AddPerson(context.Background(), store.NewPerson{
		Login: fmt.Sprintf("%s%d", role, s.logins), Role: role, Name: fmt.Sprintf("A. %s %d", role, s.logins)})
	require.NoError(s.t, err)
	return p
}

// MakeAttempt begins an attempt of person at a made-up case.
func (s *Store) MakeAttempt(person, caseID string) store.Attempt {
	s.t.Helper()
	hash, err := s.PutContent(context.Background(), []byte("text of "+caseID))
	require.NoError(s.t, err)
	a, err := s.AddAttempt(context.Background(), store.NewAttempt{Person: person, Case: caseID, Track: "veterinary",
		CaseHash: hash, CatalogueHash: hash, RubricHash: hash, RangesHash: hash, Engine: "test",
		Seed: []byte("0123456789abcdef"), Key: []byte("key of " + caseID)})
	require.NoError(s.t, err)
	return a
}

// MakeAct returns the n-th act of an attempt, ready for Append.
func (s *Store) MakeAct(a store.Attempt, n int) store.NewAct {
	return store.NewAct{Transcript: a.Transcript, N: n, By: a.Person, Retry: fmt.Sprintf("retry-%d", n),
		Act:     fmt.Appendf(nil, `{"n":%d,"kind":"wait","seconds":1}`, n),
		Outcome: fmt.Appendf(nil, `{"clock":%d}`, n)}
}

// AppendActs appends acts 1 to n.
func (s *Store) AppendActs(a store.Attempt, n int) {
	s.t.Helper()
	for i := 1; i <= n; i++ {
		_, err := s.Append(context.Background(), s.MakeAct(a, i))
		require.NoError(s.t, err)
	}
}

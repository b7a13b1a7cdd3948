// Package storetest makes real stores for tests: a database in a temporary
// folder, a clock that stands still until it is told to move, and builders for
// the rows that most tests need.
package storetest

import (
	"context"
	"fmt"
	"path/filepath"
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
	Path  string
	Clock *Clock

	t      testing.TB
	logins int
}

// New opens a store in a temporary folder. It is closed when the test ends.
func New(t testing.TB) *Store {
	t.Helper()
	s := &Store{Path: filepath.Join(t.TempDir(), "data", "dewclaw.db"), Clock: &Clock{now: Start}, t: t}
	s.open()
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func (s *Store) open() {
	s.t.Helper()
	opened, err := store.Open(context.Background(), store.Config{Path: s.Path, Now: s.Clock.Now})
	require.NoError(s.t, err)
	s.Store = opened
}

// Reopen closes the store and opens the same file again.
func (s *Store) Reopen() {
	s.t.Helper()
	require.NoError(s.t, s.Close())
	s.open()
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

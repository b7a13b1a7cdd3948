package auth

import (
	"sync"
	"time"
)

// The waits after failed sign-ins. Our own figures, no source; NIST SP 800-63B-4
// asks that guessing be limited, and 60 s from the ninth on leaves 1,440 guesses
// a day against a password of 15 characters or more.
const (
	freeFailures = 3 // everybody mistypes
	firstWait    = time.Second
	longestWait  = time.Minute
	forgetAfter  = 24 * time.Hour
	mostAccounts = 50_000 // remembered at a time; about 100 bytes each
)

// Slowdown makes each further try at one account wait longer after failures in
// a row. It never locks an account, and it never looks at an address: a whole
// school sits behind one. It remembers in memory only and is safe for
// concurrent use.
type Slowdown struct {
	now      func() time.Time
	mu       sync.Mutex
	accounts map[string]*strikes
}

type strikes struct {
	failures int       // tries let through in a row and not known to be right
	last     time.Time // when the last try was let through
	next     time.Time // no try before
}

// NewSlowdown returns a Slowdown with this clock.
func NewSlowdown(now func() time.Time) *Slowdown {
	return &Slowdown{now: now, accounts: map[string]*strikes{}}
}

// Try asks whether a password for account may be looked at now. Zero: yes, and
// the try counts as a failure until Succeeded is told, so that a thousand at
// the same time do not slip through together. Otherwise nothing is counted and
// the caller should come back after that long. Whether such an account exists
// makes no difference.
func (s *Slowdown) Try(account string) time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	a := s.accounts[account]
	if a != nil && now.Sub(a.last) > forgetAfter {
		delete(s.accounts, account)
		a = nil
	}
	if a == nil {
		s.makeRoom(now)
		a = &strikes{}
		s.accounts[account] = a
	}
	if wait := a.next.Sub(now); wait > 0 {
		return wait
	}
	a.failures++
	a.last, a.next = now, now.Add(wait(a.failures))
	return 0
}

// Succeeded forgets the account's failures.
func (s *Slowdown) Succeeded(account string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.accounts, account)
}

// wait is how long the next try waits after so many failures in a row.
func wait(failures int) time.Duration {
	if failures < freeFailures {
		return 0
	}
	return min(firstWait<<min(failures-freeFailures, 16), longestWait)
}

// makeRoom forgets what is old and, where that does not suffice, the account
// with the fewest failures of a handful: guesses at many made-up accounts must
// not push out one that is under attack.
func (s *Slowdown) makeRoom(now time.Time) {
	if len(s.accounts) < mostAccounts {
		return
	}
	least, seen := "", 0
	for name, a := range s.accounts { // Go's map order is arbitrary: a sample
		if now.Sub(a.last) > forgetAfter {
			delete(s.accounts, name)
			return
		}
		if seen == 0 || a.failures < s.accounts[least].failures {
			least = name
		}
		if seen++; seen == 64 {
			break
		}
	}
	delete(s.accounts, least)
}

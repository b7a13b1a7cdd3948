package server

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// live is an attempt in memory: its patient and its acts. What it holds is
// only ever what the store holds too; the numbers of the acts tell whether it
// is behind another process.
type live struct {
	row     store.Attempt // as it was when read: its owner and texts never change, its state may be behind
	patient *cases.Patient
	cat     *cases.Catalogue
	face    face.Patient
	units   func() []string // those that the school puts first

	used time.Time // guarded by liveAttempts.mu

	mu      sync.Mutex // one act at a time; guards what follows
	entries rubric.Transcript
	at      []time.Time // when each act was stored
	retries map[string]int
	charted // what they come to
	pace    pace
}

// mostLive attempts are kept in memory; one holds about 200 KB at its end. One that
// nobody touched for liveFor goes as soon as another one comes.
const (
	mostLive = 6000
	liveFor  = 20 * time.Minute
)

// liveAttempts keeps the attempts in use.
type liveAttempts struct {
	mu     sync.Mutex
	byID   map[string]*live
	looked time.Time // when those that nobody touched were looked for
}

func newLiveAttempts() *liveAttempts { return &liveAttempts{byID: map[string]*live{}} }

func (m *liveAttempts) find(id string, now time.Time) *live {
	m.mu.Lock()
	defer m.mu.Unlock()
	l := m.byID[id]
	if l != nil {
		l.used = now
	}
	return l
}

// keep puts an attempt into memory, unless another request was faster; then
// that one is used by both.
func (m *liveAttempts) keep(l *live, now time.Time) *live {
	m.mu.Lock()
	defer m.mu.Unlock()
	if other := m.byID[l.row.ID]; other != nil {
		return other
	}
	l.used = now
	m.dropIdle(now)
	if len(m.byID) >= mostLive {
		m.dropOldest()
	}
	m.byID[l.row.ID] = l
	return l
}

func (m *liveAttempts) drop(id string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.byID, id)
}

// dropIdle drops what nobody touched lately; it looks once a minute.
func (m *liveAttempts) dropIdle(now time.Time) {
	if now.Sub(m.looked).Abs() < time.Minute {
		return
	}
	m.looked = now
	for id, l := range m.byID {
		if now.Sub(l.used) > liveFor {
			delete(m.byID, id)
		}
	}
}

func (m *liveAttempts) dropOldest() {
	var oldest string
	for id, l := range m.byID {
		if oldest == "" || l.used.Before(m.byID[oldest].used) {
			oldest = id
		}
	}
	delete(m.byID, oldest)
}

// openAttempt finds an attempt that this person works on. Somebody else's is as
// absent as one that never was.
func (s *Server) openAttempt(ctx context.Context, who face.Person, id string) (*live, error) {
	if l := s.live.find(id, s.now()); l != nil {
		if l.row.Person != who.ID {
			return nil, ErrMissing
		}
		return l, s.keptFor(ctx, l.row)
	}
	row, err := s.store.Attempt(ctx, id)
	if err != nil {
		return nil, missing("attempt", err)
	}
	if row.Person != who.ID {
		return nil, ErrMissing
	}
	if err := s.keptFor(ctx, row); err != nil {
		return nil, err
	}
	return s.liveOf(ctx, row)
}

// liveOf is an attempt in memory, read from the store where it is not there yet.
func (s *Server) liveOf(ctx context.Context, row store.Attempt) (*live, error) {
	if l := s.live.find(row.ID, s.now()); l != nil {
		return l, nil
	}
	l, err := s.revive(ctx, row)
	if err != nil {
		return nil, err
	}
	return s.live.keep(l, s.now()), nil
}

// revive builds a patient as it was when the attempt began, and reads its acts.
func (s *Server) revive(ctx context.Context, row store.Attempt) (*live, error) {
	lib, k, p, err := s.patientOf(ctx, row)
	if err != nil {
		return nil, err
	}
	cat := lib.Catalogue(k.Species)
	l := &live{row: row, patient: p, cat: cat, face: s.facePatient(k), units: func() []string { return s.school().units() }, retries: map[string]int{}}
	l.charted = newCharted(cat.Form())
	l.row.Seed, l.row.Key = nil, nil // the patient is drawn, and whoever marks reads them anew
	return l, s.catchUp(ctx, l)
}

// catchUp reads the acts that are stored and not yet here. The caller holds
// l.mu, or is the only one who knows l.
func (s *Server) catchUp(ctx context.Context, l *live) error {
	acts, err := s.store.Acts(ctx, l.row.Transcript, len(l.entries))
	if err != nil {
		return fmt.Errorf("acts: %w", err)
	}
	for _, a := range acts {
		if a.N != len(l.entries)+1 {
			return fmt.Errorf("acts: number %d follows %d", a.N, len(l.entries))
		}
		e, err := decodeEntry(a)
		if err != nil {
			return err
		}
		l.add(e, a.At, a.Retry)
	}
	return nil
}

// entriesMore is for how many acts more room is made.
const entriesMore = 40

// add takes an act that is stored.
func (l *live) add(e rubric.Entry, at time.Time, retry string) {
	// Of a state that is past, only what is heard and seen at an act is made afterwards,
	// and the second look at an animal that then died.
	if n := len(l.entries); n > 0 && l.entries[n-1].Act.Kind != rubric.Examine && e.Outcome.Ended == "" {
		l.entries[n-1].Outcome.State = nil
	}
	if len(l.entries) == cap(l.entries) { // a little at a time: one entry is half a kilobyte
		l.entries = append(make(rubric.Transcript, 0, len(l.entries)+entriesMore), l.entries...)
	}
	l.entries, l.at = append(l.entries, e), append(l.at, at)
	l.retries[retry] = e.Act.N
	l.follow(l.entries)
}

// contactAfter says which contact is open after an act.
func contactAfter(open int, e rubric.Entry) int {
	if c := e.Outcome.Closed; c != nil && c.Of == open {
		open = 0
	}
	if e.Act.Kind == rubric.Examine && !e.Outcome.Refused && e.Outcome.Ended == "" {
		open = e.Act.N
	}
	return open
}

// longestContact is the most seconds that one contact counts for, whatever the
// clock says: twice the longest window of a count. Who thinks, or whose network
// fails, with a hand on the animal must not wear it down meanwhile.
const longestContact = 120

// held is how long the open contact has lasted by the server's clock, in whole seconds.
func (l *live) held(now time.Time) int {
	if l.contact == 0 {
		return 0
	}
	return max(0, min(longestContact, int(now.Sub(l.at[l.contact-1]).Seconds())))
}

// state is the patient's private state after the last act; nil at the start.
func (l *live) state() []byte {
	if len(l.entries) == 0 {
		return nil
	}
	return l.entries[len(l.entries)-1].Outcome.State
}

// ended is why the visit ended; empty: it goes on.
func (l *live) ended() string {
	if len(l.entries) == 0 {
		return ""
	}
	return l.entries[len(l.entries)-1].Outcome.Ended
}

func (l *live) clock() int {
	if len(l.entries) == 0 {
		return 0
	}
	return l.entries[len(l.entries)-1].Outcome.Clock
}

// missing turns the store's not-found into ours and keeps any other error.
func missing(op string, err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return &Fault{Kind: ErrMissing, Cause: err}
	}
	return fmt.Errorf("%s: %w", op, err)
}

package server

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/store"
)

// What an attempt is for; empty: practice of one's own.
const (
	forSitting     = string(exam.Sitting)
	forOrientation = store.Orientation
)

// planned is one patient of a turn. It is hidden and travels as store.Hidden only.
type planned struct {
	Slot int    `json:"slot"`
	Case string `json:"case"`
	Seed []byte `json:"seed"`
}

// turn is one student's turn with all that its clock is reckoned from.
type turn struct {
	row        store.Turn
	assignment store.Assignment
	terms      exam.Terms
	beyond     exam.Accommodation
	deeds      []exam.Deed
	plan       []planned
}

// turnsFor is how long a turn that was read is believed: as long as an act may
// still be taken after a pause that another process called.
const turnsFor = time.Second

// turnCache keeps turns for a moment, so that an act does not read four tables.
type turnCache struct {
	mu   sync.Mutex
	byID map[string]cachedTurn
	lost int // how often all was forgotten: what was read before is older
}

type cachedTurn struct {
	turn  *turn
	until time.Time
}

func (m *turnCache) find(id string, now time.Time) *turn {
	m.mu.Lock()
	defer m.mu.Unlock()
	if c, ok := m.byID[id]; ok && now.Before(c.until) {
		return c.turn
	}
	return nil
}

// keep takes a turn, unless all was forgotten since the reading of it began.
func (m *turnCache) keep(t *turn, until time.Time, lost int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.lost != lost {
		return
	}
	if m.byID == nil || len(m.byID) >= mostLive {
		m.byID = map[string]cachedTurn{}
	}
	m.byID[t.row.ID] = cachedTurn{t, until}
}

// forget drops everything: a deed on all clocks touches every turn.
func (m *turnCache) forget() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.byID = nil
	m.lost++
}

// age says how often all was forgotten.
func (m *turnCache) age() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.lost
}

// turn reads a turn, at most turnsFor old.
func (s *Server) turn(ctx context.Context, id string) (*turn, error) {
	if t := s.turns.find(id, s.now()); t != nil {
		return t, nil
	}
	lost := s.turns.age()
	row, err := s.store.Turn(ctx, id)
	if err != nil {
		return nil, missing("turn", err)
	}
	a, err := s.store.Assignment(ctx, row.Assignment)
	if err != nil {
		return nil, missing("turn", err)
	}
	t, err := s.turnFrom(ctx, a, row)
	if err != nil {
		return nil, err
	}
	s.turns.keep(t, s.now().Add(turnsFor), lost)
	return t, nil
}

// turnFrom puts a turn together with its terms, deeds and plan.
func (s *Server) turnFrom(ctx context.Context, a store.Assignment, row store.Turn) (*turn, error) {
	t := &turn{row: row, assignment: a}
	if err := json.Unmarshal(row.Plan, &t.plan); err != nil {
		return nil, fmt.Errorf("turn: a plan that cannot be read") // the text of the error could tell what is in it
	}
	beyond, err := s.beyond(ctx, a.Cohort, row.Person)
	if err != nil {
		return nil, err
	}
	tried, deeds, _, err := s.timesOf(ctx, a, row.Person, row.Try)
	if err != nil {
		return nil, fmt.Errorf("turn: %w", err)
	}
	t.beyond, t.terms, t.deeds = beyond, planOf(tried).For(beyond), deedsOf(deeds, row.ID, row.Person)
	return t, nil
}

// beyond is what a student has beyond the others of a cohort.
func (s *Server) beyond(ctx context.Context, cohort, person string) (exam.Accommodation, error) {
	all, err := s.store.Accommodations(ctx, cohort)
	if err != nil {
		return exam.Accommodation{}, fmt.Errorf("beyond: %w", err)
	}
	for _, x := range all {
		if x.Person == person {
			return accommodation(x), nil
		}
	}
	return exam.Accommodation{}, nil
}

func accommodation(x store.Accommodation) exam.Accommodation {
	return exam.Accommodation{Extra: x.Extra, Later: minutes(x.Later), Pauses: minutes(x.Pauses)}
}

func minutes(n int) time.Duration { return time.Duration(n) * time.Minute }

// planOf is an assignment's time as it was set.
func planOf(a store.Assignment) exam.Plan {
	return exam.Plan{Kind: exam.Kind(a.Kind), Opens: a.Opens, Closes: a.Closes, Limit: minutes(a.Minutes)}
}

// deedsOf are the deeds that move the clock of a turn of a person: its own, the
// person's and everybody's. Without a turn it is one that has not begun.
func deedsOf(all []store.ClockDeed, turn, person string) (out []exam.Deed) {
	for _, d := range all {
		if (d.Turn == turn || d.Turn == "") && (d.Person == person || d.Person == "") {
			out = append(out, exam.Deed{Kind: exam.DeedKind(d.Kind), At: d.At, Minutes: d.Minutes, Own: d.Own})
		}
	}
	return out
}

// clock is the turn at a moment.
func (t *turn) clock(now time.Time) exam.Clock { return t.terms.At(now, t.deeds) }

// holder is what a session is called on a turn: nothing that could sign in.
func (s *Server) holder(session string) string { return s.opaque("holder " + session) }

// inTime says whether an act may be taken now from this session: the turn runs
// and the session is the one in the room. A visit without a turn always may.
func (s *Server) inTime(ctx context.Context, row store.Attempt, session string) error {
	if row.Turn == "" {
		return nil
	}
	t, err := s.turn(ctx, row.Turn)
	if err != nil {
		return err
	}
	switch t.clock(s.now()).Phase {
	case exam.Running:
		if t.row.Holder != s.holder(session) {
			return &Fault{Kind: ErrElsewhere}
		}
		return nil
	case exam.Paused:
		return &Fault{Kind: ErrPaused}
	}
	if !t.clock(s.now()).ByTime {
		return &Fault{Kind: ErrOver, Text: "Everything in this sitting was handed in. What was done and charted before is kept and will be marked."}
	}
	return &Fault{Kind: ErrOver, Text: "The time of this sitting has ended. What was done and charted before is kept and will be marked."}
}

// overdue is why an open visit must end: its patient's end, or the time of its
// turn; empty: it goes on. The caller holds l.mu.
func (s *Server) overdue(ctx context.Context, l *live) (string, error) {
	if l.ended() != "" || l.row.Turn == "" {
		return l.ended(), nil
	}
	t, err := s.turn(ctx, l.row.Turn)
	if err != nil {
		return "", err
	}
	switch c := t.clock(s.now()); {
	case c.Phase != exam.Over:
		return "", nil
	case c.ByTime:
		return endedByTime, nil
	}
	return endedWhole, nil
}

// Why a visit ended that was open as its turn ended: by the clock, or because
// everything was handed in.
const (
	endedByTime = "time"
	endedWhole  = "handed in"
)

// closeOverdue ends the visits of turns whose time is over, so that they are
// marked also where nobody comes back. The end itself follows from the clock:
// no act was taken after it, however late this runs.
func (s *Server) closeOverdue(ctx context.Context) error {
	rows, err := s.store.OpenTurnVisits(ctx)
	if err != nil {
		return fmt.Errorf("overdue: %w", err)
	}
	for _, row := range rows {
		t, err := s.turn(ctx, row.Turn)
		if err != nil {
			return err
		}
		if t.clock(s.now()).Phase != exam.Over {
			continue
		}
		if err := s.closeForTime(ctx, row); err != nil {
			return err
		}
	}
	return nil
}

// closeForTime ends one visit whose time is over.
func (s *Server) closeForTime(ctx context.Context, row store.Attempt) error {
	l, err := s.liveOf(ctx, row)
	if err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := s.catchUp(ctx, l); err != nil {
		return err
	}
	reason, err := s.overdue(ctx, l)
	if err != nil || reason == "" {
		return err
	}
	_, err = s.close(ctx, l, reason)
	return err
}

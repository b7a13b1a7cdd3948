package server

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// lostAfter is how long a browser is silent until it counts as gone: two and a
// half times the interval at which the room asks for the clock.
const lostAfter = 25 * time.Second

// sheetOf is all that a seating sheet is made of.
type sheetOf struct {
	a      store.Assignment
	now    time.Time
	people []store.Member
	beyond map[string]exam.Accommodation
	resits []store.Resit
	turns  map[string]store.Turn // the last try, by person
	doing  map[string][]store.Doing
	deeds  []store.ClockDeed
}

// watched is a sitting that a person may watch over. Another, and a practice, are absent.
func (s *Server) watched(ctx context.Context, who face.Person, id string) (store.Assignment, store.Cohort, error) {
	a, c, err := s.managed(ctx, who, id)
	if err == nil && exam.Kind(a.Kind) != exam.Sitting {
		err = ErrMissing
	}
	return a, c, err
}

// seats is the seating sheet of a sitting: its students in the order of their names.
func (s *Server) seats(ctx context.Context, a store.Assignment) (face.Seats, error) {
	sheet, err := s.readSheet(ctx, a)
	if err != nil {
		return face.Seats{}, err
	}
	out := face.Seats{Now: sheet.now.UTC(), Seats: []face.Seat{}}
	for _, m := range sheet.people {
		out.Seats = append(out.Seats, sheet.seat(m))
	}
	slices.SortFunc(out.Seats, func(x, y face.Seat) int {
		if c := strings.Compare(strings.ToLower(x.Name), strings.ToLower(y.Name)); c != 0 {
			return c
		}
		return strings.Compare(x.Person, y.Person)
	})
	return out, nil
}

func (s *Server) readSheet(ctx context.Context, a store.Assignment) (*sheetOf, error) {
	sheet := &sheetOf{a: a, now: s.now(), beyond: map[string]exam.Accommodation{}, turns: map[string]store.Turn{}, doing: map[string][]store.Doing{}}
	members, err := s.store.Members(ctx, a.Cohort)
	if err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	sheet.people = slices.DeleteFunc(members, func(m store.Member) bool { return m.Role != string(auth.Student) })
	more, err := s.store.Accommodations(ctx, a.Cohort)
	if err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	for _, x := range more {
		sheet.beyond[x.Person] = accommodation(x)
	}
	turns, err := s.store.Turns(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	for _, t := range turns {
		sheet.turns[t.Person] = t // by try: the last one stays
	}
	doing, err := s.store.DoingOf(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	for _, d := range doing {
		sheet.doing[d.Turn] = append(sheet.doing[d.Turn], d)
	}
	if sheet.deeds, err = s.store.ClockDeeds(ctx, a.ID); err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	sheet.resits, err = s.store.Resits(ctx, a.ID, "")
	return sheet, err
}

// seat is how one student stands.
func (sh *sheetOf) seat(m store.Member) face.Seat {
	more := sh.beyond[m.Person]
	out := face.Seat{Person: m.Person, Name: m.Name, Number: m.Number, Patients: len(sh.a.Slots),
		Extra: more.Extra, Later: int(more.Later.Minutes()), Pauses: int(more.Pauses.Minutes())}
	t, begun := sh.turns[m.Person]
	tried, deeds, _ := timesOf(sh.a, sh.deeds, sh.resits, m.Person, max(t.Try, 1))
	c := planOf(tried).For(more).At(sh.now, deedsOf(deeds, t.ID, m.Person))
	out.Phase = string(c.Phase)
	if !begun {
		return out
	}
	out.Turn, out.Try, out.Own, out.ByTime = t.ID, t.Try, c.Own, c.ByTime
	out.Left, out.PauseLeft = inSeconds(c.Left), inSeconds(c.PauseLeft)
	from, ends := c.Begun.UTC(), c.Ends.UTC()
	out.Begun, out.Ends = &from, &ends
	sh.patients(&out, t)
	if out.Done == out.Patients && c.Phase != exam.Over {
		out.Phase, out.Left = string(exam.Over), 0 // every patient was seen
	}
	return out
}

// patients tells which patient a student is with, the last act and the connection.
func (sh *sheetOf) patients(out *face.Seat, t store.Turn) {
	seen := t.Seen
	for i, d := range sh.doing[t.ID] {
		if d.State == store.StateOpen {
			out.Patient = i + 1
		} else {
			out.Done++
		}
		out.Acts = d.Acts
		if d.Last.After(seen) {
			seen = d.Last
		}
		if !d.Last.IsZero() {
			ago := inSeconds(sh.now.Sub(d.Last))
			out.Ago = &ago
		}
	}
	silent := sh.now.Sub(seen)
	out.Connected = silent < lostAfter
	unseen := inSeconds(silent)
	out.Unseen = &unseen
}

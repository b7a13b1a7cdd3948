package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"

	"dewclaw/server/bench"
)

// checked is what was read back after the server was killed.
type checked struct {
	Visits       int      `json:"visits"`
	Acknowledged int      `json:"acknowledged"` // acts whose answer came
	Stored       int      `json:"stored"`
	Lost         int      `json:"lost"`    // acknowledged and not there, or another act stands there
	Doubled      int      `json:"doubled"` // there and never sent, or more often than it was sent
	Unsure       int      `json:"unsure"`  // sent, not answered, and there all the same: no fault
	NotHandedIn  int      `json:"not_handed_in"`
	Words        []string `json:"words,omitempty"`
}

// storedVisit is what of a visit is read back.
type storedVisit struct {
	State string            `json:"state"`
	Acts  []json.RawMessage `json:"acts"`
}

// check reads every visit that was acted in and holds it against what was sent.
func (s *school) check(ctx context.Context, b *bar) (c checked, err error) {
	var mu sync.Mutex
	add := func(f func()) { mu.Lock(); defer mu.Unlock(); f() }
	err = each(ctx, len(s.students), s.o.checkAtATime, b.of("read back"), func(i int) error {
		one := s.students[i]
		for _, v := range one.visits {
			if v.taken == 0 && !v.unsure {
				continue
			}
			stored, err := readVisit(one.wire, v.id)
			if err != nil {
				return err
			}
			add(func() { err = c.hold(v, stored) })
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return c, err
	}
	return c, each(ctx, len(s.handed), s.o.checkAtATime, b.of("handed in"), func(i int) error {
		w := bench.NewWire(s.server.addr)
		defer w.Close()
		w.Cookie(s.handed[i].of.cookie)
		stored, err := readVisit(w, s.handed[i].id)
		if err == nil && stored.State == "open" {
			add(func() { c.NotHandedIn++ })
		}
		return err
	})
}

func readVisit(w *bench.Wire, id string) (v storedVisit, err error) {
	reply, err := w.Do(http.MethodGet, "/api/v1/attempts/"+id, nil)
	if err != nil {
		return v, err
	}
	if reply.Status != http.StatusOK {
		return v, fmt.Errorf("visit %s: %d %s", id, reply.Status, reply.Body)
	}
	return v, json.Unmarshal(reply.Body, &v)
}

// hold compares one visit with what was sent in it.
func (c *checked) hold(v *visit, stored storedVisit) error {
	c.Visits++
	c.Acknowledged += v.taken
	c.Stored += len(stored.Acts)
	for n := 1; n <= max(v.taken, len(stored.Acts)); n++ {
		switch {
		case n > len(stored.Acts):
			c.wrong(&c.Lost, "%s: act %d was acknowledged and is not there", v.id, n)
		case n == v.taken+1 && v.unsure:
			c.Unsure++
		case n > v.taken:
			c.wrong(&c.Doubled, "%s: act %d is there and was not sent", v.id, n)
		default:
			same, err := v.posts[n-1].Same(stored.Acts[n-1], n)
			if err != nil {
				return err
			}
			if !same {
				c.wrong(&c.Lost, "%s: another act stands at %d", v.id, n)
			}
		}
	}
	return nil
}

func (c *checked) wrong(count *int, format string, args ...any) {
	*count++
	if len(c.Words) < wordsMost {
		c.Words = append(c.Words, fmt.Sprintf(format, args...))
	}
}

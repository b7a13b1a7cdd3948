package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"dewclaw/server/bench"
)

// measured is what the students met, gathered from all of them.
type measured struct {
	began    time.Time
	took     time.Duration
	load     load
	mu       sync.Mutex
	acts     []bench.Series // by step of the load, from the moment each was due
	due      []int          // by step
	sounds   bench.Series
	pictures bench.Series
	signIns  bench.Series
	finishes bench.Series
	again    int      // acts that were sent more than once
	errors   int      // what was not done in the end
	words    []string // of the first of them
	idle     int      // students who had done everything before the end

	done atomic.Int64 // acts, for the bar
}

// wordsMost errors are told in the report; the others are counted.
const wordsMost = 5

func (m *measured) fail(err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.errors++
	if len(m.words) < wordsMost {
		m.words = append(m.words, err.Error())
	}
}

// measure lets everybody act for as long as was asked.
func (s *school) measure(ctx context.Context, b *bar) *measured {
	l := s.o.load
	m := &measured{began: time.Now(), load: l, acts: make([]bench.Series, l.steps), due: make([]int, l.steps)}
	ctx, stop := context.WithTimeout(ctx, s.o.For)
	defer stop()
	var all sync.WaitGroup
	for _, one := range s.students {
		all.Go(func() { s.study(ctx, m, one) })
	}
	all.Go(func() { s.arrive(ctx, m) })
	all.Go(func() { s.handIn(ctx, m) })
	ended := make(chan struct{})
	go func() { all.Wait(); close(ended) }()
	b.watch(ended, s.o.For, &m.done)
	m.took = time.Since(m.began)
	return m
}

// own is what one student met.
type own struct {
	acts             []bench.Series
	due              []int
	sounds, pictures bench.Series
	again            int
	fetching         sync.WaitGroup
}

// study lets one student act: think, act, sometimes listen and look.
func (s *school) study(ctx context.Context, m *measured, one *student) {
	mine := own{acts: make([]bench.Series, m.load.steps), due: make([]int, m.load.steps)}
	due := m.began
	idle := false
	for {
		if !m.load.most {
			_, rate := m.load.at(due.Sub(m.began))
			due = due.Add(time.Duration(one.rng.ExpFloat64() * float64(len(s.students)) / rate * float64(time.Second)))
		} else {
			due = time.Now()
		}
		if !sleepUntil(ctx, due) {
			break
		}
		v := one.visit()
		if v == nil {
			idle = true
			break
		}
		step, _ := m.load.at(due.Sub(m.began))
		mine.due[step]++
		again, err := one.act(v)
		if again > 0 {
			mine.again++
		}
		if err != nil {
			m.fail(err)
			continue
		}
		mine.acts[step] = append(mine.acts[step], time.Since(due))
		m.done.Add(1)
		s.senses(m, one, &mine)
	}
	mine.fetching.Wait()
	m.gather(&mine, idle)
}

// senses asks for a sound and a picture where it is time, over the second
// connection and one at a time.
func (s *school) senses(m *measured, one *student, mine *own) {
	for _, kind := range []struct {
		share   *share
		percent float64
		name    string
		into    *bench.Series
	}{{&one.sounds, s.o.Sound, "sound", &mine.sounds}, {&one.pictures, s.o.Picture, "picture", &mine.pictures}} {
		if one.listens.Load() {
			kind.share.owed += kind.percent / 100
			continue
		}
		path, yes := kind.share.wants(kind.percent, kind.name)
		if !yes {
			continue
		}
		one.listens.Store(true)
		began := time.Now()
		mine.fetching.Go(func() {
			reply, err := one.media.Do(http.MethodGet, path, nil)
			if err == nil && reply.Status != http.StatusOK {
				err = fmt.Errorf("%s: %d %s", path, reply.Status, reply.Body)
			}
			if err != nil {
				m.fail(err)
			} else {
				*kind.into = append(*kind.into, time.Since(began))
			}
			one.listens.Store(false)
		})
	}
}

// gather puts what one student met to the rest.
func (m *measured) gather(mine *own, idle bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range m.acts {
		m.acts[i] = append(m.acts[i], mine.acts[i]...)
		m.due[i] += mine.due[i]
	}
	m.sounds, m.pictures = append(m.sounds, mine.sounds...), append(m.pictures, mine.pictures...)
	m.again += mine.again
	if idle {
		m.idle++
	}
}

// arrive lets the others sign in, spread evenly.
func (s *school) arrive(ctx context.Context, m *measured) {
	m.signIns = spread(ctx, m, m.began, s.o.SignInsIn, len(s.late), func(i int) error {
		_, err := signIn(s.server.addr, s.late[i])
		return err
	})
}

// handIn lets whole visits be handed in from the middle of the run on.
func (s *school) handIn(ctx context.Context, m *measured) {
	m.finishes = spread(ctx, m, m.began.Add(s.o.For/2), s.o.FinishesIn, len(s.handed), func(i int) error {
		w := bench.NewWire(s.server.addr)
		defer w.Close()
		w.Cookie(s.handed[i].of.cookie)
		reply, err := w.Do(http.MethodPost, "/api/v1/attempts/"+s.handed[i].id+"/finish", nil)
		if err == nil && reply.Status != http.StatusAccepted {
			err = fmt.Errorf("finish: %d %s", reply.Status, reply.Body)
		}
		return err
	})
}

// spread does n things at even times within a while and returns how long each took
// from the moment at which it was due.
func spread(ctx context.Context, m *measured, from time.Time, within time.Duration, n int, do func(i int) error) bench.Series {
	var mu sync.Mutex
	var took bench.Series
	var all sync.WaitGroup
	rng := rand.New(rand.NewPCG(uint64(n), 1))
	for i := range n {
		due := from.Add(time.Duration((float64(i) + rng.Float64()) / float64(n) * float64(within)))
		if !sleepUntil(ctx, due) {
			break
		}
		all.Go(func() {
			err := do(i)
			if err != nil {
				m.fail(err)
				return
			}
			mu.Lock()
			defer mu.Unlock()
			took = append(took, time.Since(due))
		})
	}
	all.Wait()
	return took
}

// sleepUntil waits for a moment; false: ctx ended before.
func sleepUntil(ctx context.Context, at time.Time) bool {
	if ctx.Err() != nil {
		return false
	}
	wait := time.Until(at)
	if wait <= 0 {
		return true
	}
	t := time.NewTimer(wait)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}

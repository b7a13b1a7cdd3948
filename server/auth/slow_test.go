package auth

import (
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestEachFurtherGuessWaitsLonger(t *testing.T) {
	c := &clock{start}
	s := NewSlowdown(c.Now)
	var waits []time.Duration
	for range 12 {
		require.Zero(t, s.Try("ann"))
		w := s.Try("ann")
		if w == 0 { // a free one: it counted as another try
			waits = append(waits, 0)
			continue
		}
		waits = append(waits, w)
		c.add(w - time.Millisecond)
		require.Equal(t, time.Millisecond, s.Try("ann"), "asking too early changes nothing")
		c.add(time.Millisecond)
	}
	require.Equal(t, []time.Duration{0, time.Second, 2 * time.Second, 4 * time.Second, 8 * time.Second, 16 * time.Second, 32 * time.Second,
		time.Minute, time.Minute, time.Minute, time.Minute, time.Minute}, waits, "and never more than a minute: no lockout")
	require.Zero(t, s.Try("ben"), "nobody else waits")
}

func TestSuccessAndADayForgive(t *testing.T) {
	c := &clock{start}
	s := NewSlowdown(c.Now)
	fail := func() {
		for s.Try("ann") == 0 {
		}
	}
	fail()
	s.Succeeded("ann")
	require.Zero(t, s.Try("ann"))
	require.Zero(t, s.Try("ann"))
	fail()
	c.add(forgetAfter + time.Second)
	for range freeFailures {
		require.Zero(t, s.Try("ann"))
	}
	require.Equal(t, firstWait, s.Try("ann"))
}

func TestManyGuessesAtOnceDoNotSlipThrough(t *testing.T) {
	s := NewSlowdown((&clock{start}).Now)
	var through atomic.Int64
	var group sync.WaitGroup
	for range 1000 {
		group.Go(func() {
			if s.Try("ann") == 0 {
				through.Add(1)
			}
		})
	}
	group.Wait()
	require.EqualValues(t, freeFailures, through.Load())
}

func TestMadeUpAccountsDoNotPushOutOneUnderAttack(t *testing.T) {
	c := &clock{start}
	s := NewSlowdown(c.Now)
	for range 8 {
		for s.Try("ann") != 0 {
			c.add(time.Second)
		}
	}
	for i := range mostAccounts + 5000 {
		s.Try(fmt.Sprint("nobody", i))
	}
	require.LessOrEqual(t, len(s.accounts), mostAccounts)
	require.Positive(t, s.Try("ann"))
}

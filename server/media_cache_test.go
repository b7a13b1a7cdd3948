package server

import (
	"context"
	"errors"
	"fmt"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/stretchr/testify/require"
)

func clipOf(n int) clip { return clip{mediaWAV, make([]byte, n)} }

// figure is one of the cache's figures as the private address tells it.
func figure(t testing.TB, m *mediaCache, name string) string {
	t.Helper()
	registry := prometheus.NewRegistry()
	registry.MustRegister(m.meters.collectors()...)
	w := httptest.NewRecorder()
	promhttp.HandlerFor(registry, promhttp.HandlerOpts{DisableCompression: true}).ServeHTTP(w, httptest.NewRequest("GET", "/metrics", nil))
	for line := range strings.Lines(w.Body.String()) {
		if value, ok := strings.CutPrefix(line, name+" "); ok {
			return strings.TrimSpace(value)
		}
	}
	require.Fail(t, "no figure "+name)
	return ""
}

// gated is a rendering that waits until it is let go.
func gated(rendered *atomic.Int32, gate <-chan struct{}) func() (clip, error) {
	return func() (clip, error) {
		rendered.Add(1)
		<-gate
		return clipOf(7), nil
	}
}

// Fifty requests at once, and any number after them, are one rendering.
func TestAClipIsRenderedOnceForManyRequests(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m, key := newMediaCache(mostMedia), clipKey{"a", 1, "sound"}
		var rendered atomic.Int32
		gate := make(chan struct{})
		var all sync.WaitGroup
		for range 50 {
			all.Go(func() {
				c, err := m.get(t.Context(), key, gated(&rendered, gate))
				require.NoError(t, err)
				require.Len(t, c.body, 7)
			})
		}
		synctest.Wait() // all of them wait now
		close(gate)
		all.Wait()
		require.EqualValues(t, 1, rendered.Load())
		for range 10 {
			_, err := m.get(t.Context(), key, func() (clip, error) { panic("it is kept") })
			require.NoError(t, err)
		}
		for result, want := range map[string]string{"miss": "1", "joined": "49", "hit": "10"} {
			require.Equal(t, want, figure(t, m, `dewclaw_media_requests_total{result="`+result+`"}`))
		}
		require.Equal(t, fmt.Sprint(7+clipExtra), figure(t, m, "dewclaw_media_cache_bytes"))
		_, err := m.get(t.Context(), clipKey{"a", 1, "picture"}, func() (clip, error) { rendered.Add(1); return clipOf(1), nil })
		require.NoError(t, err)
		require.EqualValues(t, 2, rendered.Load(), "another medium of the same act is another clip")
	})
}

// The one who asked first gives up; the others get the clip all the same.
func TestWhoGivesUpPoisonsNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m, key := newMediaCache(mostMedia), clipKey{"a", 1, "sound"}
		var rendered atomic.Int32
		gate := make(chan struct{})
		first, giveUp := context.WithCancel(t.Context())
		errs := make(chan error, 2)
		go func() { _, err := m.get(first, key, gated(&rendered, gate)); errs <- err }()
		synctest.Wait()
		go func() { _, err := m.get(t.Context(), key, gated(&rendered, gate)); errs <- err }()
		synctest.Wait()
		giveUp()
		require.ErrorIs(t, <-errs, context.Canceled)
		close(gate)
		require.NoError(t, <-errs)
		require.EqualValues(t, 1, rendered.Load())

		// All give up while it is rendered: it is kept for the next one.
		other := clipKey{"a", 2, "sound"}
		gate2 := make(chan struct{})
		alone, leave := context.WithCancel(t.Context())
		go func() { _, err := m.get(alone, other, gated(&rendered, gate2)); errs <- err }()
		synctest.Wait()
		leave()
		require.ErrorIs(t, <-errs, context.Canceled)
		close(gate2)
		synctest.Wait()
		_, err := m.get(t.Context(), other, func() (clip, error) { return clip{}, errors.New("rendered again") })
		require.NoError(t, err)
	})
}

// One renders at a time; who gives up while waiting leaves the queue, and is
// never rendered for.
func TestRendersHoldOneCoreAndWaitersMayLeave(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMediaCache(mostMedia)
		var rendered, at, most atomic.Int32
		gate := make(chan struct{})
		one := func() (clip, error) {
			most.Store(max(most.Load(), at.Add(1)))
			defer at.Add(-1)
			return gated(&rendered, gate)()
		}
		var all sync.WaitGroup
		ctx, leave := context.WithCancel(t.Context())
		for n := range 20 {
			who := t.Context()
			if n >= 10 {
				who = ctx
			}
			all.Go(func() { _, _ = m.get(who, clipKey{"a", n, "sound"}, one) })
			synctest.Wait() // in this order
		}
		require.EqualValues(t, 1, at.Load())
		leave()
		synctest.Wait()
		require.Len(t, m.flights, 10, "those who left wait no longer")
		close(gate)
		all.Wait()
		synctest.Wait()
		require.EqualValues(t, 1, most.Load())
		require.EqualValues(t, 10, rendered.Load())
		require.Empty(t, m.flights)
	})
}

// A failed rendering is told to all who waited and is not kept; a panic is one.
func TestAFailedRenderingIsNotKept(t *testing.T) {
	m, key := newMediaCache(mostMedia), clipKey{"a", 1, "sound"}
	broken := errors.New("no clip")
	_, err := m.get(t.Context(), key, func() (clip, error) { return clip{}, broken })
	require.ErrorIs(t, err, broken)
	_, err = m.get(t.Context(), key, func() (clip, error) { panic("at the wrong moment") })
	require.ErrorContains(t, err, "panic")
	require.NotContains(t, err.Error(), "at the wrong moment", "the value may hold anything")
	_, err = m.get(t.Context(), key, func() (clip, error) { return clipOf(3), nil })
	require.NoError(t, err)
	require.Len(t, m.kept, 1)
}

// However many visits ask at once, no more bytes are kept than there may be;
// what was used last stays.
func TestTheCacheHoldsItsBytes(t *testing.T) {
	const size = 100_000
	m := newMediaCache(20 * (size + clipExtra))
	var all sync.WaitGroup
	for visit := range 40 {
		all.Go(func() {
			for n := range 10 {
				_, err := m.get(t.Context(), clipKey{fmt.Sprint(visit), n, "sound"}, func() (clip, error) { return clipOf(size - n), nil })
				require.NoError(t, err)
				m.mu.Lock()
				require.LessOrEqual(t, m.size, m.most)
				m.mu.Unlock()
			}
		})
	}
	all.Wait()
	sum := 0
	for e := m.order.Front(); e != nil; e = e.Next() {
		sum += len(e.Value.(keptClip).body) + clipExtra
	}
	require.Equal(t, sum, m.size, "what is counted is what is kept")
	require.Equal(t, m.order.Len(), len(m.kept))
	require.GreaterOrEqual(t, m.order.Len(), 20)
	require.Equal(t, fmt.Sprint(m.order.Len()), figure(t, m, "dewclaw_media_cache_clips"))

	first := m.order.Back().Value.(keptClip).key
	_, err := m.get(t.Context(), first, func() (clip, error) { return clip{}, errors.New("it was dropped") })
	require.NoError(t, err)
	for n := range 19 {
		_, err := m.get(t.Context(), clipKey{"later", n, "sound"}, func() (clip, error) { return clipOf(size), nil })
		require.NoError(t, err)
	}
	_, err = m.get(t.Context(), first, func() (clip, error) { return clip{}, errors.New("what was just used was dropped") })
	require.NoError(t, err)

	_, err = m.get(t.Context(), clipKey{"huge", 1, "sound"}, func() (clip, error) { return clipOf(m.most), nil })
	require.NoError(t, err)
	require.Nil(t, m.kept[clipKey{"huge", 1, "sound"}], "one that would drive all others out is not kept")
}

// BenchmarkMedium measures the first request for a sound against the next one,
// over the whole handler.
func BenchmarkMedium(b *testing.B) {
	sc := newSchool(b)
	v := sc.as("student").begin(sc.s.opaque("tansy"))
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	ask := func() time.Duration {
		r, w := httptest.NewRequest("GET", v.path("/acts/1/sound"), nil), httptest.NewRecorder()
		r.Header.Set("Authorization", "Bearer "+v.token)
		w.Body.Grow(1 << 20)
		began := time.Now()
		sc.s.Handler().ServeHTTP(w, r)
		took := time.Since(began)
		require.Equal(b, 200, w.Code)
		return took
	}
	var first, second time.Duration
	for b.Loop() {
		sc.s.media = newMediaCache(mostMedia)
		first += ask()
		second += ask()
	}
	n := float64(b.N)
	b.ReportMetric(float64(first.Microseconds())/n, "us/first")
	b.ReportMetric(float64(second.Microseconds())/n, "us/next")
	b.ReportMetric(float64(first)/float64(second), "first/next")
}

package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server"
	"dewclaw/server/store/storetest"
)

// front is one address before several servers, of which it takes another for
// every request; one that does not take the connection is passed over.
type front struct {
	servers []*program
	turn    atomic.Int64
	served  []atomic.Int64
}

func (f *front) pick(*http.Request) int { return int(f.turn.Add(1)) % len(f.servers) }

// ServeHTTP passes a request on.
func (f *front) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	first := f.pick(r)
	for i := range f.servers {
		at := (first + i) % len(f.servers)
		if f.servers[at].ready() != http.StatusOK {
			continue
		}
		to, err := url.Parse(f.servers[at].base)
		if err != nil {
			panic(err)
		}
		proxy := &httputil.ReverseProxy{Rewrite: func(p *httputil.ProxyRequest) { p.SetURL(to) },
			ErrorHandler: func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) }} // it may have been done: the client is told nothing
		f.served[at].Add(1)
		proxy.ServeHTTP(w, r)
		return
	}
	w.WriteHeader(http.StatusServiceUnavailable)
}

// TestTwoServersOnOneDatabase: two processes share nothing but a PostgreSQL, and
// every request goes to the other one than the last. One is killed in the
// middle; nobody signs in anew, no acknowledged act is lost and none is doubled.
// The killed one comes back and has caught up.
func TestTwoServersOnOneDatabase(t *testing.T) {
	t.Parallel()
	const many = 8
	database := storetest.Server(t)
	pupilsOf(t, server.Config{Data: t.TempDir(), Database: database}, many)
	f := &front{served: make([]atomic.Int64, 2)}
	for range 2 {
		f.servers = append(f.servers, serving(t, t.TempDir(), "--database", database))
	}
	one := httptest.NewServer(f)
	t.Cleanup(one.Close)
	p := &program{t: t, base: one.URL, said: f.servers[0].said}
	all := signedPupils(p, many)

	act := func(d time.Duration, during func()) {
		end := load(t, all)
		time.Sleep(d)
		during()
		end()
	}
	act(time.Second, func() {})
	both := acknowledged(all)
	require.Positive(t, f.served[0].Load())
	require.Positive(t, f.served[1].Load())
	for _, u := range all {
		u.whole()
	}

	act(500*time.Millisecond, f.servers[0].kill)
	require.Greater(t, acknowledged(all), both)
	for _, u := range all {
		u.whole()
		u.again()
	}
	alone := acknowledged(all)
	act(500*time.Millisecond, func() {})
	require.Greater(t, acknowledged(all), alone, "the other goes on by itself")

	f.servers[0].start()
	was := f.served[0].Load()
	act(500*time.Millisecond, func() {})
	require.Greater(t, f.served[0].Load(), was)
	for _, u := range all {
		u.whole()
		u.graded()
		for _, s := range f.servers { // and both say so
			require.Equal(t, http.StatusOK, call(t, "GET", s.base+"/api/v1/attempts/"+u.visit+"/report", u.token, "", nil))
		}
	}
	t.Logf("%d acts acknowledged by two servers in turn, one of them killed once; none lost or doubled", acknowledged(all))
	for _, s := range f.servers {
		require.Zero(t, s.terminate(), s)
	}
}

// TestTwoServersActInOneVisitAtOnce: the same act, and another one of the same
// number, sent to both servers at the same moment: one is stored, the other is told.
func TestTwoServersActInOneVisitAtOnce(t *testing.T) {
	t.Parallel()
	database := storetest.Server(t)
	pupilsOf(t, server.Config{Data: t.TempDir(), Database: database}, 1)
	here, there := serving(t, t.TempDir(), "--database", database), serving(t, t.TempDir(), "--database", database)
	mine := signedPupils(here, 1)[0]
	other := &pupil{p: there, token: mine.token, visit: mine.visit}
	for n := 1; n <= 30; n++ {
		codes := make(chan int, 2)
		for i, u := range []*pupil{mine, other} {
			go func() {
				retry := "same-request"
				if n%2 == 0 {
					retry = []string{"from-here", "from-there"}[i]
				}
				codes <- u.say(n, fmt.Sprintf("%s-%06d", retry, n))
			}()
		}
		a, b := <-codes, <-codes
		got := slices.Sorted(slices.Values([]int{a, b}))
		if n%2 == 0 {
			require.Equal(t, []int{http.StatusCreated, http.StatusConflict}, got, "act %d", n)
		} else {
			require.Equal(t, []int{http.StatusCreated, http.StatusCreated}, got, "act %d", n)
		}
	}
	mine.acked, mine.sent = 30, 30
	mine.whole()
}

// say sends act n under a word of one's own, as often as the server says that it
// is too fast.
func (u *pupil) say(n int, word string) int {
	for {
		code, err := u.post(n, word)
		if err != nil || code != http.StatusTooManyRequests {
			return code
		}
		time.Sleep(10 * time.Millisecond)
	}
}

package store_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// wire is the way to a PostgreSQL, that can be cut.
type wire struct {
	net.Listener
	network, server string

	mu    sync.Mutex
	wake  *sync.Cond
	cut   bool // whoever comes is turned away
	held  bool // nothing passes, and nobody is told
	lose  lost
	conns map[net.Conn]bool
}

// lost is what gets lost of the next commit.
type lost int

const (
	nothing lost = iota
	theAnswer
	theCommit
)

// wired gives a store that goes to its server over a wire.
func wired(t *testing.T, change ...func(*store.Config)) (*storetest.Store, *wire) {
	t.Helper()
	storetest.OnlyPostgres(t)
	w := &wire{conns: map[net.Conn]bool{}}
	w.wake = sync.NewCond(&w.mu)
	var err error
	w.Listener, err = net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go w.serve()
	t.Cleanup(func() { _ = w.Close(); w.set(func() { w.cut, w.held = true, false }) })
	s := storetest.New(t, append(change, func(c *store.Config) { c.URL = w.over(t, c.URL) })...)
	return s, w
}

// over is the address of a database over this wire.
func (w *wire) over(t *testing.T, address string) string {
	t.Helper()
	c, err := pgx.ParseConfig(address)
	require.NoError(t, err)
	w.network, w.server = "tcp", net.JoinHostPort(c.Host, strconv.Itoa(int(c.Port)))
	if strings.HasPrefix(c.Host, "/") {
		w.network, w.server = "unix", filepath.Join(c.Host, fmt.Sprint(".s.PGSQL.", c.Port))
	}
	u := url.URL{Scheme: "postgres", User: url.UserPassword(c.User, c.Password), Host: w.Addr().String(), Path: "/" + c.Database, RawQuery: "sslmode=disable"}
	return u.String()
}

// set changes what happens on the wire. Once it is cut all connections are gone.
func (w *wire) set(change func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	change()
	if w.cut {
		for c := range w.conns {
			_ = c.Close()
		}
	}
	w.wake.Broadcast()
}

// passes waits while nothing passes.
func (w *wire) passes() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for w.held {
		w.wake.Wait()
	}
}

func (w *wire) serve() {
	for {
		in, err := w.Accept()
		if err != nil {
			return
		}
		go w.join(in)
	}
}

// join connects a client with the server until either leaves.
func (w *wire) join(in net.Conn) {
	defer in.Close()
	w.passes()
	if !w.knows(in) {
		return
	}
	defer w.forgets(in)
	out, err := net.Dial(w.network, w.server)
	if err != nil {
		return
	}
	defer out.Close()
	if !w.knows(out) {
		return
	}
	defer w.forgets(out)
	ended := make(chan struct{}, 2)
	deaf := make(chan struct{})
	go func() { w.back(in, out, deaf); ended <- struct{}{} }()
	go func() { w.forth(out, in, deaf); ended <- struct{}{} }()
	<-ended
}

// knows takes a connection in; false: the wire is cut.
func (w *wire) knows(c net.Conn) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.cut {
		w.conns[c] = true
	}
	return !w.cut
}

func (w *wire) forgets(c net.Conn) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.conns, c)
}

// back carries what the server says, until deaf: then it hears one answer and leaves.
func (w *wire) back(in, out net.Conn, deaf chan struct{}) {
	buffer := make([]byte, 32<<10)
	for {
		n, err := out.Read(buffer)
		select {
		case <-deaf:
			return
		default:
		}
		w.passes()
		if n > 0 {
			if _, err := in.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// forth carries what the client says, and loses what is to be lost of a commit.
func (w *wire) forth(out, in net.Conn, deaf chan struct{}) {
	buffer := make([]byte, 32<<10)
	for {
		n, err := in.Read(buffer)
		w.passes()
		if n > 0 {
			lose := nothing
			if bytes.Contains(bytes.ToLower(buffer[:n]), []byte("commit")) {
				w.mu.Lock()
				lose, w.lose = w.lose, nothing
				w.mu.Unlock()
			}
			if lose == theCommit {
				return
			}
			if lose == theAnswer {
				close(deaf)
			}
			if _, err := out.Write(buffer[:n]); err != nil {
				return
			}
			if lose == theAnswer {
				_, _ = io.Copy(io.Discard, in) // it waits in vain; back ends this once the server has answered
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// TestALostCommitIsSettled: the connection breaks as acts are committed, before it comes to
// the server or after. The act is stored once, whichever it was, and whoever asked is told
// so or asks again.
func TestALostCommitIsSettled(t *testing.T) {
	s, w := wired(t, storetest.OneWriter)
	a := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	s.AppendActs(a, 1)
	for n := 2; n <= 20; n += 2 {
		w.set(func() { w.lose = theAnswer })
		got, err := s.Append(t.Context(), s.MakeAct(a, n))
		require.NoError(t, err, "it was committed, and reading tells so")
		require.True(t, got.Earlier)
		w.set(func() { w.lose = theCommit })
		_, err = s.Append(t.Context(), s.MakeAct(a, n+1))
		require.ErrorIs(t, err, store.ErrBusy, "%d %#v", n, err)
		got, err = s.Append(t.Context(), s.MakeAct(a, n+1))
		require.NoError(t, err)
		require.False(t, got.Earlier)
	}
	acts, err := s.Acts(t.Context(), a.Transcript, 0)
	require.NoError(t, err)
	require.Len(t, acts, 21)
}

// TestTheServerCannotBeReached: it is gone, or silent, while students act. Who is refused
// asks again; afterwards every act is there once.
func TestTheServerCannotBeReached(t *testing.T) {
	away := 2 * time.Second
	if *long {
		away = 30 * time.Second
	}
	for name, set := range map[string]func(w *wire, is bool){
		"gone":   func(w *wire, is bool) { w.set(func() { w.cut = is }) },
		"silent": func(w *wire, is bool) { w.set(func() { w.held = is }) },
	} {
		t.Run(name, func(t *testing.T) {
			s, w := wired(t)
			h := hammer(t, s, 20)
			time.Sleep(300 * time.Millisecond)
			set(w, true)
			time.Sleep(away)
			set(w, false)
			back := time.Now()
			require.Eventually(t, func() bool { return s.Ready(t.Context()) == nil }, time.Minute, 10*time.Millisecond)
			ready := time.Since(back)
			time.Sleep(300 * time.Millisecond)
			acts, refused := h.end()
			require.Greater(t, acts, 20)
			t.Logf("%s for %v: %d acts acknowledged, none lost or doubled, %d refusals; ready %v after it was back", name, away, acts, refused, ready.Round(time.Millisecond))
		})
	}
}

// hammering is students who act until the end, one act after the other, and ask again
// where they are refused.
type hammering struct {
	t        *testing.T
	s        *storetest.Store
	attempts []store.Attempt
	acked    []int
	refused  []int
	done     chan struct{}
	group    sync.WaitGroup
}

func hammer(t *testing.T, s *storetest.Store, students int) *hammering {
	t.Helper()
	h := &hammering{t: t, s: s, acked: make([]int, students), refused: make([]int, students), done: make(chan struct{})}
	p := s.MakePerson("student")
	for range students {
		h.attempts = append(h.attempts, s.MakeAttempt(p.ID, "stairs"))
	}
	for i := range students {
		h.group.Go(func() { h.act(i) })
	}
	return h
}

func (h *hammering) act(i int) {
	for {
		select {
		case <-h.done:
			return
		default:
		}
		if _, err := h.s.Append(h.t.Context(), h.s.MakeAct(h.attempts[i], h.acked[i]+1)); err != nil {
			h.refused[i]++
			time.Sleep(10 * time.Millisecond)
			continue
		}
		h.acked[i]++
	}
}

// end waits for the last answers, and holds what is stored against what was acknowledged.
func (h *hammering) end() (acts, refused int) {
	h.t.Helper()
	close(h.done)
	h.group.Wait()
	for i, a := range h.attempts {
		stored, err := h.s.Acts(h.t.Context(), a.Transcript, 0)
		require.NoError(h.t, err)
		require.GreaterOrEqual(h.t, len(stored), h.acked[i])
		require.LessOrEqual(h.t, len(stored), h.acked[i]+1)
		for k, act := range stored {
			require.Equal(h.t, k+1, act.N)
		}
		acts, refused = acts+h.acked[i], refused+h.refused[i]
	}
	return acts, refused
}

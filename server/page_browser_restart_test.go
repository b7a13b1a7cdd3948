package server

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// serving has the browser's server answer on an address of its own; stop ends it as the
// signal to end does, and closes its database.
func (b *browser) serving(address string) (stop func()) {
	b.t.Helper()
	l, err := net.Listen("tcp", address)
	require.NoError(b.t, err)
	b.base = "http://" + l.Addr().String()
	ctx, end := context.WithCancel(context.Background())
	b.t.Cleanup(end)
	ended := make(chan error, 1)
	go func() { ended <- b.server.Serve(ctx, l) }()
	return func() {
		b.t.Helper()
		end()
		require.NoError(b.t, <-ended)
		require.NoError(b.t, b.server.Close())
	}
}

// somebody is a person who has no window.
func (b *browser) somebody(login string, role auth.Role) *browser {
	b.t.Helper()
	p, err := b.server.AddPerson(b.t.Context(), login, "Somebody Else", role, secondPassword)
	require.NoError(b.t, err)
	return &browser{t: b.t, who: facePerson(p)}
}

// TestAPageOutlastsARestartInASitting: the server is told to end while a student sits an
// exam. What is done meanwhile is kept in the page and on the server once another is there,
// and the time ran on.
func TestAPageOutlastsARestartInASitting(t *testing.T) {
	t.Parallel()
	b := openBrowser(t)
	a := b.examDay(b.somebody("lee", auth.Student), b.somebody("robin", auth.Instructor), func(a *store.Assignment) { a.Cue = "full" })
	b.ahead.Add(int64(11 * time.Minute))
	stop := b.serving("127.0.0.1:0")
	b.signIn(browserLogin, browserPassword)
	b.open("/assignments/" + a.ID)
	b.sitDown()
	visit := b.value(`location.pathname.split("/")[2]`)
	b.line("weigh")
	b.says("[data-turn]", "39:")
	before := len(b.acts(visit))
	b.run(`document.querySelector('[data-places] [data-region="distance"]').click()`)
	b.until(`document.querySelector("[data-chart] select")`)

	stop()
	b.run(`{const s = document.querySelector("[data-chart] select"); s.value = s.options[1].value; s.dispatchEvent(new Event("change", {bubbles: true}))}`)
	b.says("[data-status]", "waiting for the connection, 1 act kept here")
	b.says("[data-turn]", "(no connection)")
	b.shot("sitting-restart")
	require.Zero(t, ready(b.base))

	s, err := New(b.server.cfg)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	b.server = s
	stop = b.serving(strings.TrimPrefix(b.base, "http://"))
	require.Equal(t, http.StatusOK, ready(b.base))
	b.saved() // by itself: nobody touches the page
	b.until(`!document.querySelector("[data-turn]").textContent.includes("no connection")`)
	require.Len(t, b.acts(visit), before+1)
	b.line("wait 5")
	require.Len(t, b.acts(visit), before+2)
	require.Contains(t, []string{"37", "38", "39"}, b.value(`document.querySelector("[data-turn]").textContent.split(":")[0]`), "the clock is the same")
	stop()
}

// ready is what a server says of its readiness; 0: nobody answers.
func ready(base string) int {
	got, err := http.Get(fmt.Sprint(base, "/readyz"))
	if err != nil {
		return 0
	}
	_ = got.Body.Close()
	return got.StatusCode
}

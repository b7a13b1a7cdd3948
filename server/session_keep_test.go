package server

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// inBrowser signs in as a browser.
func (sc *school) inBrowser(login string) *client {
	got := sc.anyone().send("POST", "/api/v1/session", signInForm{Login: login, Password: testPassword, Cookie: true}).is(http.StatusCreated)
	return &client{sc: sc, cookie: setCookie(sc.t, got, "dewclaw").Value}
}

// keep takes over a cookie that an answer renews; it reports whether one did.
func (c *client) keep(r *reply) bool {
	for _, k := range (&http.Response{Header: r.header}).Cookies() {
		if k.Name == c.sc.s.cookieName() && k.MaxAge > 0 {
			c.cookie = k.Value
			return true
		}
	}
	return false
}

// sitting sets a sitting of so many minutes that is open now.
func (sc *school) sitting(minutes int) store.Assignment {
	now := sc.clock.Now()
	a, err := sc.s.store.SaveAssignment(sc.t.Context(), store.Assignment{Cohort: sc.cohort, Title: "Finals", Kind: string(exam.Sitting), Track: "veterinary", Opens: now, Closes: now.Add(48 * time.Hour),
		Minutes: minutes, Tries: 1, Cue: "headings", Places: "unlabelled", State: store.AssignmentSet, Slots: [][]string{{sc.s.Practice()[0]}}}, store.Note{Deed: "test"})
	require.NoError(sc.t, err)
	return a
}

// run begins a student's turn without drawing anything.
func (sc *school) run(a store.Assignment, login string) store.Turn {
	plan, err := json.Marshal([]planned{{Case: a.Slots[0][0], Seed: cases.EncodeSeed(cases.NewSeed())}})
	require.NoError(sc.t, err)
	row, err := sc.s.store.BeginTurn(sc.t.Context(), store.Turn{Assignment: a.ID, Person: sc.idOf(login), Try: 1, Plan: plan}, sc.cohort)
	require.NoError(sc.t, err)
	return row
}

// A session is never shorter than an open sitting and a quarter of an hour.
func TestASessionOutlastsASitting(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c, plain := sc.inBrowser("student"), sc.inBrowser("student2")
	sc.clock.Pass(auth.SessionLife - time.Hour)
	a := sc.sitting(180)
	sc.run(a, "student")
	require.True(t, c.keep(c.get("/api/v1/session").is(http.StatusOK)), "the cookie lives longer now")
	require.False(t, plain.keep(plain.get("/api/v1/session").is(http.StatusOK)), "who sits no exam is signed out as ever")
	sc.clock.Pass(2 * time.Hour)
	plain.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
	require.False(t, c.keep(c.get("/api/v1/session").is(http.StatusOK)), "there is no need for another")
	sc.clock.Pass(time.Hour + 14*time.Minute)
	c.get("/api/v1/session").is(http.StatusOK)
	sc.clock.Pass(2 * time.Minute)
	c.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
}

// A sitting that stands still keeps its student signed in, however long.
func TestASessionOutlastsAPause(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.inBrowser("student")
	a := sc.sitting(60)
	turn := sc.run(a, "student")
	require.False(t, c.keep(c.get("/api/v1/session").is(http.StatusOK)), "an hour is less than a session")
	require.NoError(t, sc.s.store.MoveClock(t.Context(), store.ClockDeed{Assignment: a.ID, Turn: turn.ID, Kind: string(exam.Pause), Reason: "alarm"}, store.Note{Deed: "pause"}))
	sc.clock.Pass(3 * time.Hour)
	require.True(t, c.keep(c.get("/api/v1/session").is(http.StatusOK)))
	sc.clock.Pass(12 * time.Hour)
	c.get("/api/v1/session").is(http.StatusOK)
}

// What a session was last used for is noted, at most once a minute.
func TestASessionThatIsUsedIsTouched(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.inBrowser("student")
	id := func() string {
		text, err := sc.s.tokens.Read(auth.ForBrowser, c.cookie)
		require.NoError(t, err)
		return text
	}()
	before, err := sc.s.store.Session(t.Context(), id)
	require.NoError(t, err)
	sc.clock.Pass(5 * time.Minute)
	c.get("/api/v1/session").is(http.StatusOK)
	after, err := sc.s.store.Session(t.Context(), id)
	require.NoError(t, err)
	require.Equal(t, 5*time.Minute, after.LastSeen.Sub(before.LastSeen))
}

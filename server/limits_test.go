package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/rubric"

	"github.com/stretchr/testify/require"
)

// The pace over a minute: the burst at once, and after it ten a second.
func TestPaceOfActs(t *testing.T) {
	var p pace
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	taken := 0
	for range 60_000 { // a thousand tries a second for a minute
		if p.wait(now, actsBurst) == 0 {
			taken++
		}
		now = now.Add(time.Millisecond)
	}
	require.InDelta(t, actsBurst+60*actsSecond, taken, 2)
	now = now.Add(time.Minute)
	for range actsBurst {
		require.Zero(t, p.wait(now, actsBurst), "after a rest all of the burst is there again")
	}
	wait := p.wait(now, actsBurst)
	require.Positive(t, wait)
	require.LessOrEqual(t, wait, time.Second/actsSecond)
}

func TestTooManyActsASecond(t *testing.T) {
	sc := newSchool(t)
	v := sc.as("student").begin("")
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	l, err := sc.s.liveOf(t.Context(), row)
	require.NoError(t, err)
	l.mu.Lock()
	l.pace.next = time.Now().Add(time.Hour)
	l.mu.Unlock()
	r := v.try(sentAct{Kind: "wait", Seconds: 1})
	p := r.problem(http.StatusTooManyRequests, "slow")
	require.Contains(t, p.Detail, "was not taken")
	require.NotEmpty(t, r.header.Get("Retry-After"))
	require.Zero(t, v.state().Last)
	l.mu.Lock()
	l.pace.next = time.Time{}
	l.mu.Unlock()
	v.do(sentAct{Kind: "wait", Seconds: 1})
	v.last = 0
	v.send("POST", v.path("/acts"), actForm{After: 0, Retry: retryFor(1), Act: sentAct{Kind: "wait", Seconds: 1}}).is(http.StatusCreated) // a repeat is no new act
}

func TestTooManyActsAndTooLargeAnAct(t *testing.T) {
	sc := newSchool(t)
	v := sc.as("student").begin("")
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	l, err := sc.s.liveOf(t.Context(), row)
	require.NoError(t, err)
	require.NoError(t, l.mayAct(time.Now(), actsBurst))
	full := &live{entries: make(rubric.Transcript, mostActs)}
	err = full.mayAct(time.Now(), actsBurst)
	require.ErrorIs(t, err, ErrOver)
	told, f := tell(err)
	require.Equal(t, http.StatusConflict, told.status)
	require.Contains(t, f.Text, "2000 acts")
	full.entries = full.entries[:mostActs-1]
	require.NoError(t, full.mayAct(time.Now(), actsBurst))

	large := `{"after":0,"retry":"retry-000001","act":{"kind":"record","field":"heart.rate","value":"` + strings.Repeat("1", actBody) + `"}}`
	require.Contains(t, v.send("POST", v.path("/acts"), large).problem(http.StatusRequestEntityTooLarge, "too-large").Detail, "16384")
}

// 10,000 guesses at one login in a quarter of an hour: a few are looked at, nobody
// else waits, and the owner signs in a minute later. No address is ever looked at.
func TestTenThousandGuesses(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	looked := 0
	for i := range 10_000 {
		switch r := sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: "a guess"}); r.code {
		case http.StatusUnauthorized:
			looked++
		case http.StatusTooManyRequests:
			require.NotEmpty(t, r.header.Get("Retry-After"))
		default:
			r.is(http.StatusTooManyRequests)
		}
		if i%11 == 0 {
			sc.clock.Pass(time.Second)
		}
	}
	require.Less(t, looked, 30, "one a minute from the ninth on")
	sc.as("student2")
	sc.clock.Pass(time.Minute)
	sc.as("student")
}

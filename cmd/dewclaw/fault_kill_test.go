package main

import (
	"context"
	"math/rand/v2"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
)

// TestAServerIsKilledUnderLoad kills the server without warning while students act,
// starts it again on the same port and counts. Students sign in once; every second one
// sends everything twice.
func TestAServerIsKilledUnderLoad(t *testing.T) {
	t.Parallel()
	rounds, many := 3, 8
	if *long {
		rounds, many = 50, 40
	}
	data := t.TempDir()
	students(t, data, many)
	p := serving(t, data)
	all := signedPupils(p, many)
	var ups []time.Duration
	for round := range rounds {
		before, told := acknowledged(all), p.acts.Load()
		end := load(t, all)
		require.Eventually(t, func() bool { return p.acts.Load() > told+int64(many) }, patience, time.Millisecond)
		time.Sleep(time.Duration(100+rand.IntN(400)) * time.Millisecond) // when lightning strikes
		p.kill()
		end()
		require.Greater(t, acknowledged(all), before, "round %d", round)
		p.start()
		ups = append(ups, p.up)
		for _, u := range all {
			u.whole()
			u.again()
		}
	}
	for _, u := range all[:2] {
		u.graded()
	}
	require.Zero(t, p.terminate())
	sound(t, data, acknowledged(all))
	t.Logf("%d kills, %d acts acknowledged, none lost or doubled; ready again within %v, at most %v", rounds, acknowledged(all), middle(ups), slices.Max(ups).Round(time.Millisecond))
}

// TestAServerIsToldToEndInASitting: it says that it is not ready, goes on while the proxy
// turns away from it, answers what was asked and ends without a failure. Started again, with
// a clock that was set back by ten minutes meanwhile, the sitting goes on.
func TestAServerIsToldToEndInASitting(t *testing.T) {
	t.Parallel()
	const many = 4
	data := t.TempDir()
	exam := sitting(t, data, students(t, data, many))
	p := serving(t, data, "--behind-proxy")
	var all []*pupil
	for i := range many {
		u := p.pupil(i)
		var turn struct{ Turn, Visit string }
		require.Equal(t, http.StatusCreated, call(t, "POST", p.base+"/api/v1/assigned/"+exam+"/begin", u.token, "", &turn))
		require.Equal(t, http.StatusOK, call(t, "POST", p.base+"/api/v1/turns/"+turn.Turn+"/next", u.token, "", &turn))
		u.visit = turn.Visit
		all = append(all, u)
	}
	end := load(t, all[1:])
	told := make(chan int)
	go func() { told <- p.terminate() }()
	require.Eventually(t, func() bool { return p.ready() == http.StatusServiceUnavailable }, time.Minute, time.Millisecond, "readiness says no")
	code, err := all[0].next()
	require.NoError(t, err)
	require.Equal(t, http.StatusCreated, code, "and whoever comes all the same is answered")
	require.Zero(t, <-told)
	end()
	require.GreaterOrEqual(t, acknowledged(all), many)
	sound(t, data, acknowledged(all)) // nobody was cut off in the middle of an act
	postdated(t, data, 10*time.Minute)
	p.start()
	for _, u := range all {
		u.whole()
		u.again()
	}
	require.Equal(t, http.StatusAccepted, call(t, "POST", all[0].address("/finish"), all[0].token, "", nil))
	require.Zero(t, p.terminate())
	sound(t, data, acknowledged(all))
}

// postdated makes all that a sitting is reckoned from as much later, which comes to the same
// as a clock that was set back.
func postdated(t *testing.T, data string, by time.Duration) {
	t.Helper()
	db := beside(t, data)
	for _, column := range []string{"acts.at", "clock_deeds.at", "turns.seen", "sessions.created", "sessions.last_seen", "sessions.expires", "assignments.opens", "assignments.closes"} {
		table, column, _ := strings.Cut(column, ".")
		done, err := db.Exec("UPDATE "+table+" SET "+column+" = "+column+" + ? WHERE "+column+" > 0", by.Microseconds())
		require.NoError(t, err, table)
		rows, err := done.RowsAffected()
		require.NoError(t, err)
		require.Positive(t, rows, table)
	}
}

// sitting sets a sitting that is open now for everybody.
func sitting(t *testing.T, data string, people []string) (id string) {
	t.Helper()
	s, err := store.Open(t.Context(), store.Config{Path: filepath.Join(data, "dewclaw.db")})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	ctx := context.Background()
	c, err := s.AddCohort(ctx, "Second year", "", false)
	require.NoError(t, err)
	for _, p := range people {
		require.NoError(t, s.SetMember(ctx, c.ID, p, "student", store.Note{Deed: "add member"}))
	}
	a, err := s.SaveAssignment(ctx, store.Assignment{Cohort: c.ID, Title: "Finals", Kind: "sitting", Track: "veterinary", Opens: s.Now().Add(-time.Minute), Closes: s.Now().Add(2 * time.Hour),
		Minutes: 40, Tries: 1, Cue: "headings", Places: "unlabelled", State: store.AssignmentSet, Slots: [][]string{{"tansy"}, {"nettle"}}}, store.Note{Deed: "make assignment"})
	require.NoError(t, err)
	return a.ID
}

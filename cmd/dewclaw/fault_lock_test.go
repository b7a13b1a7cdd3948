package main

import (
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// How long a test waits for what must come, and how often it looks.
const (
	patience = time.Minute
	tick     = 20 * time.Millisecond
)

// someone is the first patient that a student may take.
func someone(t *testing.T, u *pupil) (id string) {
	t.Helper()
	var list struct{ Cases []struct{ ID string } }
	require.Equal(t, http.StatusOK, call(t, "GET", u.p.base+"/api/v1/cases", u.token, "", &list))
	return list.Cases[0].ID
}

// TestTheDatabaseIsLocked: another program holds the file while students act. Acts wait for
// it, those that wait too long are refused and sent again, and what is stored can be read all
// the while.
func TestTheDatabaseIsLocked(t *testing.T) {
	t.Parallel()
	hold := 2 * time.Second
	if *long {
		hold = 30 * time.Second
	}
	data := t.TempDir()
	students(t, data, 4)
	p := serving(t, data)
	all := signedPupils(p, 4)
	for _, u := range all {
		_, err := u.next()
		require.NoError(t, err)
	}
	conn, err := beside(t, data).Conn(t.Context())
	require.NoError(t, err)
	_, err = conn.ExecContext(t.Context(), "BEGIN IMMEDIATE")
	require.NoError(t, err)
	before, begun := acknowledged(all), time.Now()
	end := load(t, all)
	var group sync.WaitGroup
	slowest := time.Duration(0)
	group.Go(func() {
		for time.Since(begun) < hold {
			asked := time.Now()
			if p.ready() == http.StatusOK {
				slowest = max(slowest, time.Since(asked))
			}
			time.Sleep(tick)
		}
	})
	group.Wait()
	_, err = conn.ExecContext(t.Context(), "ROLLBACK")
	require.NoError(t, err)
	held := time.Since(begun)
	require.NoError(t, conn.Close())
	time.Sleep(hold / 4) // they act on
	end()
	require.Greater(t, acknowledged(all), before)
	refused := 0
	for _, u := range all {
		u.whole()
		u.again()
		refused += u.busy
	}
	require.Equal(t, hold > 5*time.Second, refused > 0, "the server waits five seconds for a lock before it says that it is busy; %v", p)
	require.Zero(t, p.terminate())
	sound(t, data, acknowledged(all))
	t.Logf("locked for %v: %d acts acknowledged, none lost or doubled, %d refusals; readiness answered within %v", held.Round(time.Millisecond), acknowledged(all), refused, slowest.Round(time.Millisecond))
}

// TestEverythingIsSentTwice: a client that sends each request twice at the same moment has
// done everything once.
func TestEverythingIsSentTwice(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	students(t, data, 1)
	p := serving(t, data)
	u := signedPupils(p, 1)[0]
	for n := 1; n <= 30; n++ {
		var group sync.WaitGroup
		other := *u
		codes, errs := [2]int{}, [2]error{}
		group.Go(func() { codes[0], errs[0] = u.send(n) })
		group.Go(func() { codes[1], errs[1] = other.send(n) })
		group.Wait()
		require.Equal(t, [2]error{}, errs)
		require.Equal(t, [2]int{http.StatusCreated, http.StatusCreated}, codes)
	}
	u.whole()
	u.twice = true
	u.graded()
	require.Zero(t, p.terminate())
	sound(t, data, 30)
	var reports int
	require.NoError(t, beside(t, data).QueryRow("SELECT COUNT(*) FROM reports").Scan(&reports))
	require.Equal(t, 1, reports)
}

package server

import (
	"context"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// beside opens another server of the same school, as a second process would be:
// it has the database and nothing else.
func (sc *school) beside() *school {
	sc.t.Helper()
	cfg := sc.cfg
	cfg.Data, cfg.Database = sc.t.TempDir(), sc.url()
	other := &school{t: sc.t, clock: sc.clock, cfg: cfg, cohort: sc.cohort}
	other.open()
	return other
}

// at is the same client at another server.
func (c *client) at(sc *school) *client {
	other := *c
	other.sc = sc
	return &other
}

// TestServersOfASchoolShareWhatWaits: what one server has taken, another does;
// what one does, another tells of and does not begin a second time.
func TestServersOfASchoolShareWhatWaits(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	there := sc.beside()
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"

	c.upload(sc.cohort, []byte("number,name\n60,New One\n")).is(http.StatusSeeOther)
	_, seen := c.at(there).look(path)
	hold := make(chan struct{})
	require.NoError(t, sc.s.startTask(t.Context(), taskRoster, sc.cohort, sc.idOf("coordinator"), 300, func(_ context.Context, task *task) (string, error) {
		task.change(func(st *taskState) { st.Done = 100 })
		<-hold
		return "", nil
	}))
	require.Eventually(t, func() bool { return there.task(taskRoster).Done == 100 }, 10*time.Second, 10*time.Millisecond)
	require.Contains(t, string(c.at(there).form(path+"/do", "seen="+seen).is(http.StatusConflict).body), "100 of 300 done. Wait until it has ended")
	close(hold)
	there.ended(taskRoster)
	_, seen = c.at(there).look(path)
	c.at(there).form(path+"/do", "seen="+seen).is(http.StatusSeeOther)
	sc.ended(taskRoster)
	require.Contains(t, sc.logins(), "60")
	require.NotRegexp(t, seenShape, string(c.get(path).body), "it is done, here too")
}

// TestATaskOfAServerThatIsGone is told as broken off, and can be begun anew.
func TestATaskOfAServerThatIsGone(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	run, err := sc.s.store.BeginTask(t.Context(), taskRoster, sc.cohort, []byte(`{"Began":"2026-11-25T09:00:00Z","Done":3,"Total":9}`))
	require.NoError(t, err)
	require.True(t, sc.task(taskRoster).Running())
	_, err = sc.s.store.BeginTask(t.Context(), taskRoster, sc.cohort, nil)
	require.ErrorIs(t, err, store.ErrDuplicate)
	sc.clock.Pass(store.TaskGone)
	is := sc.task(taskRoster)
	require.False(t, is.Running())
	require.Contains(t, is.Wrong, "do the same again for the rest")
	_, err = sc.s.store.BeginTask(t.Context(), taskRoster, sc.cohort, []byte("{}"))
	require.NoError(t, err)
	require.ErrorIs(t, sc.s.store.KeepTask(t.Context(), run, []byte("{}"), true), store.ErrNotFound, "the first comes too late")
}

// TestServersThatStartTogetherAreOneSchool: the first start makes keys and the
// link once, and of two who follow it at the same moment one coordinates.
func TestServersThatStartTogetherAreOneSchool(t *testing.T) {
	t.Parallel()
	sc := &school{t: t, clock: newTestClock(), cfg: Config{Data: t.TempDir(), Database: storetest.URL(t), Hash: cheap}}
	var servers [4]*Server
	var errs [4]error
	var group sync.WaitGroup
	for i := range servers {
		cfg := sc.cfg
		cfg.Data, cfg.Database = t.TempDir(), sc.url()
		group.Go(func() { servers[i], errs[i] = New(cfg) })
	}
	group.Wait()
	links := map[string]bool{}
	var codes [4]int
	for i, s := range servers {
		require.NoError(t, errs[i])
		defer func() { require.NoError(t, s.Close()) }()
		link, err := s.SetupLink(t.Context())
		require.NoError(t, err)
		links[link] = true
	}
	require.Len(t, links, 1)
	for link := range links {
		for i, s := range servers {
			group.Go(func() {
				c := (&school{t: t, s: s, clock: sc.clock}).anyone()
				c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
				login := string(rune('a'+i)) + "head"
				codes[i] = c.send("POST", "/setup", link[len("/setup?"):]+"&login="+login+"&name=Head&password=walnut+ferry+lantern&again=walnut+ferry+lantern").code
			})
		}
	}
	group.Wait()
	made := 0
	for _, code := range codes {
		if code == http.StatusSeeOther {
			made++
		}
	}
	require.Equal(t, 1, made, "%v", codes)
	all, err := servers[0].store.People(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 1)
}

// TestWhoSignsOutIsOutEverywhere within the moment that a server remembers.
func TestWhoSignsOutIsOutEverywhere(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	there := sc.beside()
	me := sc.as("student")
	me.at(there).get("/api/v1/attempts").is(http.StatusOK)
	me.send("DELETE", "/api/v1/session", nil)
	sc.clock.Pass(trustFor)
	me.at(there).get("/api/v1/attempts").problem(http.StatusUnauthorized, "token")
}

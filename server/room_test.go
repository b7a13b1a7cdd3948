package server

import (
	"log/slog"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store/storetest"
)

// TestALittleRoomRefusesOnlyWhatIsNew: acts, the sheet and the end of a visit that
// has begun go on, and so does all else once there is room.
func TestALittleRoomRefusesOnlyWhatIsNew(t *testing.T) {
	t.Parallel()
	storetest.OnlySQLite(t, "PostgreSQL's disk is its server's")
	logged := new(syncBuffer)
	sc := planted(t, func(c *Config) { c.Log, c.DiskFloor = slog.New(slog.NewJSONHandler(logged, nil)), 1000 })
	var free atomic.Uint64
	free.Store(1000)
	sc.s.room.look = func() (uint64, bool) { return free.Load(), true }
	lookAgain := func() { sc.s.room.mu.Lock(); sc.s.room.at = time.Time{}; sc.s.room.mu.Unlock() }
	lookAgain()
	v := sc.as("student").begin(sc.plantedID())

	free.Store(999)
	lookAgain()
	p := v.send("POST", "/api/v1/attempts", attemptForm{Case: sc.plantedID()}).problem(http.StatusServiceUnavailable, "no-room")
	require.Contains(t, p.Detail, "What has begun goes on and is kept")
	v.send("POST", "/api/v1/drills", map[string]string{"kind": "heart rate"}).problem(http.StatusServiceUnavailable, "no-room")
	page := sc.browser("student2").post("/visits", "patient", sc.plantedID()).is(http.StatusServiceUnavailable)
	require.Contains(t, string(page.body), "No new visit can begin")
	body := newRecorder(sc.s.private(), "/metrics").Body.String()
	require.Contains(t, body, "dewclaw_disk_free_bytes 999\n")
	require.Contains(t, body, "dewclaw_disk_floor_bytes 1000\n")
	v.do(look)
	v.finish()
	require.Equal(t, 1, strings.Count(logged.String(), `"msg":"the disk is nearly full`), "said once")

	free.Store(2000)
	lookAgain()
	sc.as("student2").begin(sc.plantedID())
	require.Contains(t, logged.String(), "the disk has room again")
}

// TestASittingThatBeganGoesOnWithoutRoom: who is in it gets the next patient; who has
// not begun does not begin.
func TestASittingThatBeganGoesOnWithoutRoom(t *testing.T) {
	t.Parallel()
	storetest.OnlySQLite(t, "PostgreSQL's disk is its server's")
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	k, v := sc.begun(c, a)
	sc.s.room.mu.Lock()
	sc.s.room.floor, sc.s.room.at = 1<<62, time.Time{}
	sc.s.room.mu.Unlock()
	v.do(listen)
	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	require.NotEqual(t, v.id, c.next(k.Turn).id)
	late := sc.at("student2")
	late.send("POST", "/api/v1/assigned/"+a.ID+"/begin", nil).problem(http.StatusServiceUnavailable, "no-room")
	late.post("/orientation").is(http.StatusServiceUnavailable)
}

func TestTheDiskIsAsked(t *testing.T) {
	t.Parallel()
	free, known := freeOn(t.TempDir())
	if !known {
		t.Skip("this system does not say how much of a disk is free")
	}
	require.Positive(t, free)
	_, known = freeOn(t.TempDir() + "/none")
	require.False(t, known)
	for floor, want := range map[int64]uint64{0: enoughRoom, -1: 0, 7: 7} {
		require.Equal(t, want, newRoom("", floor, nil).floor)
	}
}

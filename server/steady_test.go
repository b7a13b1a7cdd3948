package server

import (
	"bytes"
	"log/slog"
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// machine is a computer whose clock can be set. Its ticks cannot.
type machine struct {
	set   atomic.Int64 // nanoseconds by which the clock was set
	run   atomic.Int64 // nanoseconds since it was started
	start time.Time
}

func (m *machine) wall() time.Time      { return m.start.Add(time.Duration(m.run.Load() + m.set.Load())) }
func (m *machine) ticks() time.Duration { return time.Duration(m.run.Load()) }
func (m *machine) runs(d time.Duration) { m.run.Add(int64(d)) }
func (m *machine) isSet(d time.Duration) {
	m.set.Add(int64(d))
}

// onMachine is a school whose server has a machine's clock.
func onMachine(t *testing.T, start time.Time) (*school, *machine) {
	m := &machine{start: start}
	clock := &steady{wall: m.wall, ticks: m.ticks, log: slog.New(slog.DiscardHandler)}
	sc := newSchool(t, func(c *Config) { c.Now = clock.now })
	return sc, m
}

// satAt is a sitting of 40 minutes that is open for two hours from now.
func (sc *school) satAt(now time.Time) store.Assignment {
	sc.t.Helper()
	return sc.sat(func(a *store.Assignment) { a.Opens, a.Closes = now, now.Add(2*time.Hour) })
}

func (c *client) minutesLeft(turn string) float64 {
	c.sc.t.Helper()
	return time.Duration(c.clock(turn).Left * int(time.Millisecond)).Minutes()
}

func (c *client) beginNow(a store.Assignment) (string, *visit) {
	c.sc.t.Helper()
	var k face.Clock
	c.send("POST", "/api/v1/assigned/"+a.ID+"/begin", nil).is(http.StatusCreated).into(&k)
	return k.Turn, c.next(k.Turn)
}

// TestTheClockIsSetBackInASitting: nobody is thrown out, signed out or given an hour
// more, and the acts stand in the order in which they were done.
func TestTheClockIsSetBackInASitting(t *testing.T) {
	t.Parallel()
	sc, m := onMachine(t, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	a := sc.satAt(m.start)
	c := sc.at("student")
	turn, v := c.beginNow(a)
	v.do(look)
	m.runs(10 * time.Minute)
	require.Equal(t, 30., c.minutesLeft(turn))
	m.isSet(-time.Hour)
	v.do(listen)
	require.Equal(t, 30., c.minutesLeft(turn), "not an hour more")
	m.runs(5 * time.Minute)
	v.do(sentAct{Kind: "lift"})
	require.Equal(t, 25., c.minutesLeft(turn), "nor does it stand still")
	acts := v.state().Acts
	require.Len(t, acts, 3)
	require.Equal(t, 5*time.Minute, acts[2].At.Sub(acts[1].At), "the stethoscope was held for five minutes, not for less than none")
	require.Equal(t, 10*time.Minute, acts[1].At.Sub(acts[0].At))
	m.isSet(time.Hour) // somebody sees to it
	require.Equal(t, 25., c.minutesLeft(turn))
	m.runs(25 * time.Minute)
	require.Equal(t, "urn:dewclaw:problem:over", v.try(look).problem(http.StatusConflict, "over").Type)
}

// TestSittingsOverTheChangeOfSummerTime: Europe/Berlin goes back on 2027-10-31 at 3:00 (1:00
// UTC) and forward on 2027-03-28 at 2:00 (1:00 UTC), as the IANA time zone database has it.
// Clocks of walls change and the time that is left does not.
func TestSittingsOverTheChangeOfSummerTime(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]time.Time{
		"back":    time.Date(2027, 10, 31, 1, 0, 0, 0, time.UTC),
		"forward": time.Date(2027, 3, 28, 1, 0, 0, 0, time.UTC),
	} {
		t.Run(name, func(t *testing.T) {
			sc, m := onMachine(t, change.Add(-20*time.Minute))
			require.NoError(t, sc.s.store.SetSetting(t.Context(), zoneSetting, "Europe/Berlin"))
			a := sc.satAt(m.start)
			c := sc.at("student")
			turn, v := c.beginNow(a)
			for left := 40.; left > 0; left -= 5 {
				require.Equal(t, left, c.minutesLeft(turn))
				v.do(sentAct{Kind: "ask", Topic: "diet"})
				m.runs(5 * time.Minute)
			}
			v.try(look).problem(http.StatusConflict, "over")
		})
	}
}

// TestSteadyClock: it follows the machine's clock ahead, as after a sleep, and never back.
func TestSteadyClock(t *testing.T) {
	t.Parallel()
	m := &machine{start: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)}
	var said bytes.Buffer
	c := &steady{wall: m.wall, ticks: m.ticks, log: slog.New(slog.NewJSONHandler(&said, nil))}
	require.Equal(t, m.start, c.now())
	for _, row := range []struct{ runs, set, want time.Duration }{
		{time.Minute, 0, time.Minute},
		{0, 8 * time.Hour, 8*time.Hour + time.Minute},                // a laptop that was shut
		{time.Minute, -time.Hour, 8*time.Hour + 2*time.Minute},       // set back
		{time.Minute, 0, 8*time.Hour + 3*time.Minute},                // and goes on
		{30 * time.Minute, 0, 8*time.Hour + 33*time.Minute},          //
		{0, 61 * time.Minute, 8*time.Hour + 34*time.Minute},          // it has caught up
		{time.Second, 0, 8*time.Hour + 34*time.Minute + time.Second}, //
	} {
		m.runs(row.runs)
		m.isSet(row.set)
		require.Equal(t, m.start.Add(row.want), c.now())
	}
	require.Equal(t, 1, bytes.Count(said.Bytes(), []byte("was set back")), said.String())
	require.Contains(t, said.String(), `"by":"1h0m0s"`)
}

// TestAStartGoesOnFromWhatIsStored: but not where that lies so far ahead that the clock must
// have been wrong then.
func TestAStartGoesOnFromWhatIsStored(t *testing.T) {
	t.Parallel()
	for ahead, want := range map[time.Duration]time.Duration{-time.Hour: 0, 0: 0, time.Millisecond: time.Millisecond, time.Hour: time.Hour, 24 * time.Hour: 0} {
		m := &machine{start: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)}
		var said bytes.Buffer
		c := &steady{wall: m.wall, ticks: m.ticks, log: slog.New(slog.NewJSONHandler(&said, nil))}
		c.notBefore(m.start.Add(ahead))
		m.runs(time.Minute)
		require.Equal(t, m.start.Add(want+time.Minute), c.now())
		require.Equal(t, ahead >= time.Hour, said.Len() > 0, said.String())
	}
}

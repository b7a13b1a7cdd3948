package exam

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var nine = time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)

func minutes(n int) time.Duration { return time.Duration(n) * time.Minute }

func after(n int) time.Time { return nine.Add(minutes(n)) }

// A morning: open from 9:00 to 10:00, 40 minutes each.
var morning = Plan{Kind: Sitting, Opens: nine, Closes: after(60), Limit: minutes(40)}

// Every row is worked out by hand.
func TestClock(t *testing.T) {
	begun := Deed{Kind: Begin, At: after(5)}
	for _, row := range []struct {
		name  string
		extra Accommodation
		now   time.Time
		deeds []Deed
		phase Phase
		left  int // minutes
	}{
		{"a microsecond early", Accommodation{}, nine.Add(-time.Microsecond), nil, Early, 0},
		{"on the stroke", Accommodation{}, nine, nil, Open, 0},
		{"the last moment to begin", Accommodation{}, after(60).Add(-time.Microsecond), nil, Open, 0},
		{"closed", Accommodation{}, after(60), nil, Missed, 0},
		{"a later window", Accommodation{Later: minutes(30)}, after(80), nil, Open, 0},
		{"running", Accommodation{}, after(15), []Deed{begun}, Running, 30},
		{"the time has ended", Accommodation{}, after(45), []Deed{begun}, Over, 0},
		{"begun late, it closes first", Accommodation{}, after(50), []Deed{{Kind: Begin, At: after(40)}}, Running, 10},
		{"a quarter more, begun late", Accommodation{Extra: 25}, after(50), []Deed{{Kind: Begin, At: after(40)}}, Running, 20},
		{"a quarter more", Accommodation{Extra: 25}, after(45), []Deed{begun}, Running, 10},
		{"minutes for one", Accommodation{}, after(45), []Deed{begun, {Kind: Add, At: after(30), Minutes: 7}}, Running, 7},
		{"let in late", Accommodation{}, after(70), []Deed{{Kind: Admit, At: after(65), Minutes: 60}}, Open, 0},
		{"let in late, has no more time than others", Accommodation{}, after(90), []Deed{{Kind: Admit, At: after(65), Minutes: 60}, {Kind: Begin, At: after(70)}}, Running, 20},
		{"let in late, and the longer window closes first", Accommodation{}, after(80), []Deed{{Kind: Admit, At: after(65), Minutes: 30}, {Kind: Begin, At: after(70)}}, Running, 10},
		{"minutes before beginning", Accommodation{}, after(62), []Deed{{Kind: Add, At: after(30), Minutes: 7}}, Open, 0},
		{"all stand still", Accommodation{}, after(25), []Deed{begun, {Kind: Pause, At: after(15)}}, Paused, 30},
		{"all go on", Accommodation{}, after(30), []Deed{begun, {Kind: Pause, At: after(15)}, {Kind: Resume, At: after(25)}}, Running, 25},
		{"an own pause within what is granted", Accommodation{Pauses: minutes(10)}, after(20), []Deed{begun, {Kind: Pause, At: after(15), Own: true}}, Paused, 30},
		{"an own pause that is used up runs on", Accommodation{Pauses: minutes(10)}, after(30), []Deed{begun, {Kind: Pause, At: after(15), Own: true}}, Running, 25},
		{"an own pause without any granted", Accommodation{}, after(20), []Deed{begun, {Kind: Pause, At: after(15), Own: true}}, Running, 25},
		{"the second own pause has what is left", Accommodation{Pauses: minutes(10)}, after(40), []Deed{begun,
			{Kind: Pause, At: after(10), Own: true}, {Kind: Resume, At: after(18)}, {Kind: Pause, At: after(20), Own: true}, {Kind: Resume, At: after(30)}}, Running, 15},
		{"all stand still while an own pause is used up", Accommodation{Pauses: minutes(10)}, after(40), []Deed{begun,
			{Kind: Pause, At: after(10), Own: true}, {Kind: Pause, At: after(25)}, {Kind: Resume, At: after(35)}}, Running, 25},
		{"finished", Accommodation{}, after(20), []Deed{begun, {Kind: Finish, At: after(18)}}, Over, 0},
		{"finished by mistake", Accommodation{}, after(20), []Deed{begun, {Kind: Finish, At: after(18)}, {Kind: Reopen, At: after(19)}}, Running, 25},
		{"a deed to come does not count", Accommodation{}, after(10), []Deed{begun, {Kind: Finish, At: after(18)}}, Running, 35},
		{"to resume what runs is nothing", Accommodation{}, after(15), []Deed{begun, {Kind: Resume, At: after(10)}}, Running, 30},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := morning.For(row.extra).At(row.now, row.deeds)
			require.Equal(t, row.phase, c.Phase)
			require.Equal(t, minutes(row.left), c.Left)
		})
	}
}

func TestEndedByTimeIsToldFromFinished(t *testing.T) {
	terms := morning.For(Accommodation{})
	require.True(t, terms.At(after(50), []Deed{{Kind: Begin, At: nine}}).ByTime)
	require.False(t, terms.At(after(50), []Deed{{Kind: Begin, At: nine}, {Kind: Finish, At: after(30)}}).ByTime)
}

// Whatever is done, time never flows back into a sitting while nothing is granted.
func TestLeftNeverGrowsWithoutAGrant(t *testing.T) {
	terms := morning.For(Accommodation{Pauses: minutes(6)})
	deeds := []Deed{{Kind: Begin, At: after(3)}, {Kind: Pause, At: after(9), Own: true}, {Kind: Resume, At: after(12)}, {Kind: Pause, At: after(20)}, {Kind: Resume, At: after(28)}}
	last := minutes(40)
	for s := range 70 * 60 {
		c := terms.At(after(3).Add(time.Duration(s)*time.Second), deeds)
		require.LessOrEqual(t, c.Left, last)
		last = c.Left
	}
	require.Zero(t, last)
}

// Transitions are facts of the IANA time zone database: Europe/Berlin went
// forward on 2027-03-28 at 2:00 and goes back on 2027-10-31 at 3:00; Lord Howe
// goes back half an hour on 2027-04-04 at 2:00.
func TestLocalTimes(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	howe, err := time.LoadLocation("Australia/Lord_Howe")
	require.NoError(t, err)
	yes, no := true, false
	for _, row := range []struct {
		text  string
		zone  *time.Location
		later *bool
		want  string
		err   error
	}{
		{"2027-03-01T09:00", berlin, nil, "2027-03-01T08:00", nil},
		{"2027-07-01T09:00", berlin, nil, "2027-07-01T07:00", nil},
		{"2027-03-28T01:59", berlin, nil, "2027-03-28T00:59", nil},
		{"2027-03-28T02:00", berlin, nil, "", ErrNoSuchTime},
		{"2027-03-28T02:30", berlin, nil, "", ErrNoSuchTime},
		{"2027-03-28T03:00", berlin, nil, "2027-03-28T01:00", nil},
		{"2027-10-31T02:30", berlin, nil, "", ErrTwice},
		{"2027-10-31T02:30", berlin, &no, "2027-10-31T00:30", nil},
		{"2027-10-31T02:30", berlin, &yes, "2027-10-31T01:30", nil},
		{"2027-10-31T03:00", berlin, nil, "2027-10-31T02:00", nil},
		{"2027-04-04T01:45", howe, nil, "", ErrTwice},
		{"2027-04-04T01:45", howe, &no, "2027-04-03T14:45", nil},
		{"2027-04-04T01:45", howe, &yes, "2027-04-03T15:15", nil},
		{"tomorrow", berlin, nil, "", ErrTimeFormat},
		{"2027-02-30T09:00", berlin, nil, "", ErrTimeFormat},
	} {
		at, err := Local(row.text, row.zone, row.later)
		require.ErrorIs(t, err, row.err, row.text)
		if row.err == nil {
			require.NoError(t, err)
			require.Equal(t, row.want, at.Format(localLayout), row.text)
		}
	}
}

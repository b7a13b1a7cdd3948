package server

import (
	"context"
	"net/http"
	"sync"
	"testing"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

func TestASittingOpensByTheServersClockAlone(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	begin := "/api/v1/assigned/" + a.ID + "/begin"
	for _, row := range []struct {
		name string
		pass time.Duration
		date time.Duration // by which the browser's clock is off
		code int
	}{
		{"ten minutes early", 0, 0, http.StatusConflict},
		{"one second early", 10*time.Minute - time.Second, 0, http.StatusConflict},
		{"one second early by a clock set forward", 0, time.Hour, http.StatusConflict},
		{"on the stroke by a clock set back", time.Second, -24 * time.Hour, http.StatusCreated},
	} {
		sc.clock.Pass(row.pass)
		c.header = map[string]string{"Date": sc.clock.Now().Add(row.date).Format(http.TimeFormat)}
		got := c.send("POST", begin, nil)
		require.Equal(t, row.code, got.code, "%s: %s", row.name, got.body)
		if row.code == http.StatusConflict {
			require.Contains(t, got.problem(row.code, "not-now").Detail, "not open yet", row.name)
		}
	}
	require.Equal(t, 40*60*1000, c.clock(c.turnOf(a)).Left, "the whole time begins with Begin")
}

// The end follows from the clock: an act is refused at that very moment, whether
// or not any job has run, and what was charted before is graded.
func TestActsAfterTheTimeAreRefusedAndWhatWasChartedIsMarked(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	k, v := sc.begun(sc.at("student"), a)
	v.do(look)
	v.do(sentAct{Kind: "record", Field: "mentation", Value: "bright"})
	sc.clock.Pass(40*time.Minute - time.Millisecond)
	v.do(sentAct{Kind: "wait", Seconds: 1})
	sc.clock.Pass(time.Millisecond)
	require.Contains(t, v.try(listen).problem(http.StatusConflict, "over").Detail, "is kept and will be marked")
	require.Equal(t, string(exam.Over), v.clock(k.Turn).Phase)

	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	require.NoError(t, sc.s.closeOverdue(t.Context()), "nobody came back")
	sc.s.wakeWorker()
	require.Eventually(t, func() bool { _, err := sc.s.store.Report(t.Context(), row.Transcript); return err == nil }, 10*time.Second, 5*time.Millisecond)
	row, err = sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	require.Equal(t, endedByTime, row.Ended)
	acts, err := sc.s.store.Acts(t.Context(), row.Transcript, 0)
	require.NoError(t, err)
	require.Len(t, acts, 3, "nothing was lost and nothing came late")
	require.Contains(t, sc.at("student").get("/turns/"+k.Turn).is(http.StatusOK).text(), "The time has ended. 1 of 2 patients were begun")
	require.Equal(t, "✓ ended by the time", sc.at("instructor").seat(a, "student").Words.State)
}

func TestTheSecondBrowserTakesOverAndTheFirstIsTold(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	first := sc.at("student")
	k, v := sc.begun(first, a)
	v.do(look)
	second := sc.at("student")
	w := &visit{client: second, id: v.id, last: v.last}
	w.try(listen).problem(http.StatusConflict, "elsewhere")
	require.False(t, second.clock(k.Turn).Here)
	require.Contains(t, second.get("/turns/"+k.Turn).text(), "Continue here")
	second.send("POST", "/api/v1/turns/"+k.Turn+"/finish", nil).problem(http.StatusConflict, "elsewhere")
	second.send("POST", "/api/v1/turns/"+k.Turn+"/here", nil).is(http.StatusOK)
	w.do(listen)
	require.False(t, first.clock(k.Turn).Here, "the first is told")
	v.last = w.last
	require.Contains(t, v.try(sentAct{Kind: "wait", Seconds: 5}).problem(http.StatusConflict, "elsewhere").Detail, "Take it back")
	first.send("POST", "/api/v1/turns/"+k.Turn+"/here", nil).is(http.StatusOK)
	v.do(sentAct{Kind: "wait", Seconds: 5})
	first.send("POST", "/api/v1/turns/"+k.Turn+"/finish", nil).is(http.StatusOK)
	require.Equal(t, string(exam.Over), second.clock(k.Turn).Phase)
}

func TestPausingAllStopsActsAndTime(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	k, v := sc.begun(sc.at("student"), a)
	k2, v2 := sc.begun(sc.at("student2"), a)
	staff := sc.at("instructor")
	sc.clock.Pass(10 * time.Minute)
	require.Contains(t, staff.post("/assignments/"+a.ID+"/seats", "deed", "pause", "for", "all", "reason", " ").is(http.StatusUnprocessableEntity).text(), "Nothing was done. A reason")
	v.do(look)
	staff.deed(a, "pause", "all", "").is(http.StatusSeeOther)
	for _, x := range []*visit{v, v2} {
		require.Contains(t, x.try(listen).problem(http.StatusConflict, "paused").Detail, "Nothing is lost")
	}
	v.send("POST", v.path("/finish"), nil).problem(http.StatusConflict, "paused")
	sc.clock.Pass(2 * time.Hour)
	require.Equal(t, 30*60*1000, v.clock(k.Turn).Left)
	v.send("POST", "/api/v1/turns/"+k.Turn+"/resume", nil).problem(http.StatusConflict, "not-now")
	staff.deed(a, "resume", "all", "").is(http.StatusSeeOther)
	sc.clock.Pass(10 * time.Minute)
	v.do(listen)
	require.Equal(t, 20*60*1000, v2.clock(k2.Turn).Left)

	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "assignment:" + a.ID})
	require.NoError(t, err)
	require.Equal(t, []string{"resume for all", "pause for all", "make assignment"}, []string{notes[0].Deed, notes[1].Deed, notes[2].Deed})
	require.Equal(t, "fire drill", notes[1].Reason)
	require.Equal(t, sc.personID("instructor"), notes[1].By)
	require.Contains(t, staff.get("/assignments/"+a.ID+"/seats").is(http.StatusOK).text(), "Person instructor paused everybody fire drill")
}

func TestMinutesForOneAreNobodyElses(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	k, v := sc.begun(sc.at("student"), a)
	k2, v2 := sc.begun(sc.at("student2"), a)
	v.do(look)
	v2.do(look)
	staff := sc.at("instructor")
	one := sc.personID("student")
	for _, wrong := range []string{"", "0", "-5", "5.5", "1000", "five"} {
		require.Contains(t, staff.deed(a, "minutes", one, wrong).is(http.StatusUnprocessableEntity).text(), "A whole number of minutes", wrong)
	}
	staff.deed(a, "minutes", one, "5").is(http.StatusSeeOther)
	require.Equal(t, 45*60*1000, v.clock(k.Turn).Left)
	require.Equal(t, 40*60*1000, v2.clock(k2.Turn).Left)
	sc.clock.Pass(42 * time.Minute)
	v.do(listen)
	v2.try(listen).problem(http.StatusConflict, "over")

	// Given after the end, the patient who was open goes on, marked or not.
	require.NoError(t, sc.s.closeOverdue(t.Context()))
	sc.s.wakeWorker()
	require.Eventually(t, func() bool { return sc.at("instructor").get(v2.path("/report")).code == http.StatusOK }, 10*time.Second, 5*time.Millisecond)
	staff.deed(a, "minutes", sc.personID("student2"), "10").is(http.StatusSeeOther)
	v2.do(listen)
	require.Equal(t, 8*60*1000, v2.clock(k2.Turn).Left)
	staff.get(v2.path("/report")).is(http.StatusNotFound)
}

func TestReconnectingGoesOnWhereOneWas(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	k, v := sc.begun(c, a)
	v.do(look)
	sc.clock.Pass(10 * time.Minute)
	sc.restart()
	require.Equal(t, 30*60*1000, c.clock(k.Turn).Left, "the clock ran on")
	require.Equal(t, v.id, c.clock(k.Turn).Visit)
	v.do(listen)
	require.Equal(t, "lost for 10 min", sc.lostFor(a, 10*time.Minute))
	var again face.Clock
	c.send("POST", "/api/v1/assigned/"+a.ID+"/begin", nil).is(http.StatusCreated).into(&again)
	require.Equal(t, k.Turn, again.Turn, "to begin again goes back to the turn that runs")
	require.Equal(t, 20*60*1000, again.Left)
	require.Equal(t, "connected", sc.at("instructor").seat(a, "student").Words.Here)
}

// lostFor is what the sheet says of the connection after a silence.
func (sc *school) lostFor(a store.Assignment, silent time.Duration) string {
	sc.clock.Pass(24 * time.Second)
	require.Equal(sc.t, "connected", sc.at("instructor").seat(a, "student").Words.Here)
	sc.clock.Pass(silent - 24*time.Second)
	return sc.at("instructor").seat(a, "student").Words.Here
}

// One patient at a time, however often and from how many tabs one asks.
func TestNextReturnsThePatientWhoIsOpen(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	k, v := sc.begun(c, a)
	require.Equal(t, v.id, c.next(k.Turn).id)
	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	var many sync.WaitGroup
	got := make([]string, 8)
	for i := range got {
		many.Go(func() {
			row, err := sc.s.nextPatient(context.Background(), face.Person{ID: sc.personID("student")}, k.Turn, sc.sessionOf(c))
			if err == nil {
				got[i] = row.ID
			}
		})
	}
	many.Wait()
	for _, id := range got {
		require.Equal(t, got[0], id)
		require.NotEqual(t, v.id, id)
	}
	rows, err := sc.s.store.VisitsOf(t.Context(), k.Turn)
	require.NoError(t, err)
	require.Len(t, rows, 2)
	w := &visit{client: c, id: got[0]}
	w.send("POST", w.path("/finish"), nil).is(http.StatusAccepted)
	require.Contains(t, c.send("POST", "/api/v1/turns/"+k.Turn+"/next", nil).problem(http.StatusConflict, "not-now").Detail, "every patient")
	require.Equal(t, string(exam.Over), c.clock(k.Turn).Phase)
}

func TestNoReturnToAPatientUntilTheRelease(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	k, v := sc.begun(c, a)
	v.do(look)
	v.do(listen)
	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	staff := sc.at("instructor")
	require.Eventually(t, func() bool { return staff.get(v.path("/report")).code == http.StatusOK }, 10*time.Second, 5*time.Millisecond)
	for _, path := range []string{v.path(""), v.path("/report"), v.path("/acts/2/sound"), v.path("/sweep/heart"), "/visits/" + v.id, "/visits/" + v.id + "/finish", "/visits/" + v.id + "/debrief"} {
		c.get(path).is(http.StatusNotFound)
	}
	v.try(sentAct{Kind: "wait", Seconds: 1}).problem(http.StatusConflict, "over")
	var list visitsAnswer
	c.get("/api/v1/attempts").is(http.StatusOK).into(&list)
	require.Nil(t, list.Attempts[0].Total)
	home := c.get("/").is(http.StatusOK)
	require.Contains(t, home.text(), "handed in, not released yet")
	require.NotContains(t, string(home.body), "/visits/"+v.id)

	require.NoError(t, sc.s.store.ChangeAssignment(t.Context(), a.ID, map[string]any{"released": sc.clock.Now()}, store.Note{Deed: "release", Cohort: sc.cohort}))
	sc.s.turns.forget()
	c.get(v.path("/report")).is(http.StatusOK)
	c.get("/visits/" + v.id + "/debrief").is(http.StatusOK)
	require.Contains(t, string(c.get("/turns/"+k.Turn).body), "/visits/"+v.id+"/debrief")
}

func TestTries(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat(func(a *store.Assignment) { a.Tries, a.Kind, a.Minutes = 2, string(exam.Practice), 0 })
	c := sc.at("student")
	for try := 1; try <= 2; try++ {
		k, _ := sc.begun(c, a)
		c.send("POST", "/api/v1/turns/"+k.Turn+"/finish", nil).is(http.StatusOK)
		c.send("POST", "/api/v1/turns/"+k.Turn+"/finish", nil).is(http.StatusOK)
	}
	require.Contains(t, c.send("POST", "/api/v1/assigned/"+a.ID+"/begin", nil).problem(http.StatusConflict, "not-now").Detail, "every try")
	require.Contains(t, c.post("/assignments/"+a.ID+"/begin").is(http.StatusConflict).text(), "every try")
	turns, err := sc.s.store.Turns(t.Context(), a.ID)
	require.NoError(t, err)
	require.Len(t, turns, 2)
}

func TestWhoHasMoreTimeAndPauses(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	require.NoError(t, sc.s.store.Accommodate(t.Context(), store.Accommodation{Cohort: sc.cohort, Person: sc.personID("student"), Extra: 25, Pauses: 10}, store.Note{Deed: "accommodate"}))
	a := sc.sat()
	c := sc.at("student")
	page := c.get("/assignments/" + a.ID).is(http.StatusOK).text()
	require.Contains(t, page, "Your own time is 50 minutes: 25 % more than the others have.")
	require.Contains(t, page, "You may pause for 10 minutes in all")
	require.NotContains(t, sc.at("student2").get("/assignments/"+a.ID).is(http.StatusOK).text(), "25 %")
	require.Contains(t, c.get("/").text(), "Assigned to you Finals sitting, Second year Wed 25 Nov 2026, 09:10 to 11:20 not open yet; it opens on Wed 25 Nov 2026, 09:10 Your own time is 50 minutes")

	k, v := sc.begun(c, a)
	require.Equal(t, 50*60*1000, v.clock(k.Turn).Left)
	deed := func(word string) *reply { return c.send("POST", "/api/v1/turns/"+k.Turn+"/"+word, nil) }
	deed("pause").is(http.StatusOK)
	v.try(look).problem(http.StatusConflict, "paused")
	sc.clock.Pass(4 * time.Minute)
	require.Equal(t, "‖ paused by the student", sc.at("instructor").seat(a, "student").Words.State)
	deed("resume").is(http.StatusOK)
	v.do(look)
	deed("pause").is(http.StatusOK)
	sc.clock.Pass(7 * time.Minute) // six were left: it has run on for one
	v.do(listen)
	require.Equal(t, 49*60*1000, v.clock(k.Turn).Left)
	require.Contains(t, deed("pause").problem(http.StatusConflict, "not-now").Detail, "No pause of your own is left")
	k2, _ := sc.begun(sc.at("student2"), a)
	sc.at("student2").send("POST", "/api/v1/turns/"+k2.Turn+"/pause", nil).problem(http.StatusConflict, "elsewhere")
}

func TestHandingInAndReopening(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	k, v := sc.begun(c, a)
	v.do(look)
	staff := sc.at("instructor")
	one := sc.personID("student")
	require.Contains(t, staff.deed(a, "reopen", one, "").is(http.StatusConflict).text(), "Only what was handed in")
	require.Contains(t, c.get("/turns/"+k.Turn+"/finish").is(http.StatusOK).text(), "1 not begun: it stays unexamined.")
	c.post("/turns/" + k.Turn + "/finish").is(http.StatusSeeOther)
	v.try(listen).problem(http.StatusConflict, "over")
	require.Equal(t, "✓ handed in", staff.seat(a, "student").Words.State)
	sc.clock.Pass(5 * time.Minute)
	staff.deed(a, "reopen", one, "").is(http.StatusSeeOther)
	v.do(listen)
	require.Equal(t, 35*60*1000, c.clock(k.Turn).Left, "the clock ran on")

	staff.deed(a, "end", one, "").is(http.StatusSeeOther)
	require.Equal(t, string(exam.Over), c.clock(k.Turn).Phase)
	require.Contains(t, staff.deed(a, "end", one, "").is(http.StatusConflict).text(), "Only what was begun")
	require.Contains(t, staff.deed(a, "end", "all", "").is(http.StatusUnprocessableEntity).text(), "one student at a time")
	require.Contains(t, staff.deed(a, "pause", one, "").is(http.StatusConflict).text(), "Only what runs")
	require.Contains(t, staff.deed(a, "resume", one, "").is(http.StatusConflict).text(), "does not stand still")
	require.Contains(t, staff.deed(a, "dance", one, "").is(http.StatusUnprocessableEntity).text(), "Choose what to do")
	require.Contains(t, staff.deed(a, "pause", sc.personID("coordinator"), "").is(http.StatusUnprocessableEntity).text(), "One of the students")
}

func TestLettingOneInLate(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	sc.clock.Pass(140 * time.Minute) // closed ten minutes ago
	c, staff := sc.at("student"), sc.at("instructor")
	begin := func(c *client) *reply { return c.send("POST", "/api/v1/assigned/"+a.ID+"/begin", nil) }
	require.Contains(t, begin(c).problem(http.StatusConflict, "not-now").Detail, "has closed")
	require.Equal(t, "did not begin", staff.seat(a, "student").Words.State)
	one := sc.personID("student")
	require.Contains(t, staff.deed(a, "minutes", one, "30").is(http.StatusConflict).text(), "let the student in late")
	require.Contains(t, staff.deed(a, "late", one, "10").is(http.StatusUnprocessableEntity).text(), "More than 10 minutes are needed")
	staff.deed(a, "late", one, "60").is(http.StatusSeeOther)
	begin(c).is(http.StatusCreated)
	require.Equal(t, 40*60*1000, c.clock(c.turnOf(a)).Left, "the time is that of the others")
	begin(sc.at("student2")).problem(http.StatusConflict, "not-now")
	require.Contains(t, staff.deed(a, "late", one, "60").is(http.StatusConflict).text(), "has begun already")
	require.Contains(t, staff.get("/assignments/"+a.ID+"/seats").text(), "let in late (60 min) Person student fire drill")
}

// Another's turn is absent; the sheet is for the instructors of the cohort alone.
func TestWhoSeesASitting(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	k, _ := sc.begun(sc.at("student"), a)
	other := sc.at("student2")
	for _, path := range []string{"/api/v1/turns/" + k.Turn, "/api/v1/turns/" + k.Turn + "/clock", "/turns/" + k.Turn, "/turns/" + k.Turn + "/finish"} {
		other.get(path).is(http.StatusNotFound)
	}
	for deed := range turnDeeds {
		other.send("POST", "/api/v1/turns/"+k.Turn+"/"+deed, nil).problem(http.StatusNotFound, "missing")
	}
	other.get("/assignments/" + a.ID + "/seats").is(http.StatusForbidden)
	_, err := sc.s.AddPerson(t.Context(), "elsewhere", "Person Elsewhere", "instructor", testPassword)
	require.NoError(t, err)
	stranger := sc.at("elsewhere")
	stranger.get("/assignments/" + a.ID + "/seats").is(http.StatusNotFound)
	stranger.get("/api/v1/assignments/" + a.ID + "/seats").is(http.StatusNotFound)
	stranger.deed(a, "pause", "all", "").is(http.StatusNotFound)
	stranger.get("/assignments/" + a.ID).is(http.StatusNotFound)
	sc.at("instructor").get("/assignments/" + a.ID).is(http.StatusOK)
	require.NotContains(t, string(sc.at("instructor").get("/assignments/"+a.ID+"/seats").is(http.StatusOK).body), "tansy")

	draft := sc.sat(func(a *store.Assignment) { a.State = store.AssignmentDraft })
	other.get("/assignments/" + draft.ID).is(http.StatusNotFound)
	other.send("POST", "/api/v1/assigned/"+draft.ID+"/begin", nil).problem(http.StatusNotFound, "missing")
}

func TestAProgramSitsThroughOneDoor(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat()
	sc.clock.Pass(10 * time.Minute)
	c := sc.at("student")
	var v face.Attempt
	c.send("POST", "/api/v1/attempts", attemptForm{Assignment: a.ID}).is(http.StatusCreated).into(&v)
	require.Equal(t, []string{"sitting", "headings", "unlabelled"}, []string{v.Purpose, v.Cue, v.Places})
	var again face.Attempt
	c.send("POST", "/api/v1/attempts", attemptForm{Assignment: a.ID}).is(http.StatusCreated).into(&again)
	require.Equal(t, v.ID, again.ID)
	c.send("POST", "/api/v1/attempts", attemptForm{Assignment: a.ID, Track: "technician"}).problem(http.StatusUnprocessableEntity, "invalid")
}

// A hint says where nothing was examined yet: help in practice, an answer in a sitting.
func TestNoHintsInASitting(t *testing.T) {
	sc := newSchool(t)
	_, v := sc.begun(sc.at("student"), sc.sat())
	v.try(sentAct{Kind: "hint"}).problem(http.StatusConflict, "not-now")
	require.Zero(t, v.state().Last)
	free := sc.at("student2").begin("")
	require.Contains(t, free.do(sentAct{Kind: "hint"}).Act.Answer, "Not examined yet")
}

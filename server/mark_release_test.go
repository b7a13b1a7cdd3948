package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// Who is released in which state, and who is left out by name and reason.
func TestReleaseOverEveryState(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	for _, login := range []string{"bites", "sits", "waits", "absent"} {
		p, err := sc.s.AddPerson(t.Context(), login, "Person "+login, "student", testPassword)
		require.NoError(t, err)
		sc.enrol(p.ID, "student")
	}
	a := sc.sat(func(a *store.Assignment) { a.Slots = [][]string{{"tinker"}} })
	turns := map[string]string{}
	visits := map[string]string{}
	for login, how := range map[string]plays{"student": typically(3, 1), "bites": robot.Reckless} {
		turn, all := sc.sitsThrough(login, a, how)
		turns[login], visits[login] = turn, all[0].ID
	}
	k, v := sc.begun(sc.at("sits"), a)
	v.do(look)
	turns["sits"], visits["sits"] = k.Turn, v.id
	staff := sc.as("instructor")
	path := "/api/v1/assignments/" + a.ID + "/release"

	// Others can still sit: nothing goes out unless that is said to be known.
	p := staff.send("POST", path, releaseForm{}).problem(http.StatusConflict, "not-now")
	for _, name := range []string{"Person sits", "Person waits", "Person absent", "Person student2"} {
		require.Contains(t, p.Detail, name)
	}
	var got face.Released
	staff.send("POST", path, releaseForm{Although: true}).is(http.StatusOK).into(&got)
	require.Equal(t, 1, got.Released)
	require.False(t, got.Whole)
	require.Equal(t, map[string]string{"Person sits": "is still sitting", "Person bites": got.LeftOut[0].Why}, map[string]string{got.LeftOut[0].Person.Name: got.LeftOut[0].Why, got.LeftOut[1].Person.Name: got.LeftOut[1].Why})
	require.Contains(t, got.LeftOut[0].Why, "had refused and was touched again")
	page := staff.get("/assignments/" + a.ID + "/marks").is(http.StatusOK).text()
	require.Contains(t, page, "Debriefs are released to 1 of 3 turns. Can still sit:")
	require.Contains(t, page, "2 cannot be released now:")
	for login, code := range map[string]int{"student": http.StatusOK, "bites": http.StatusNotFound, "sits": http.StatusNotFound} {
		require.Equal(t, code, sc.as(login).get("/api/v1/attempts/"+visits[login]+"/report").code, login)
	}
	assignment, err := sc.s.store.Assignment(t.Context(), a.ID)
	require.NoError(t, err)
	require.True(t, assignment.Released.IsZero(), "its patients stay sealed while somebody sits")

	// Everybody is through: whoever has nothing waiting is released, and then all.
	sc.clock.Pass(3 * time.Hour)
	require.NoError(t, sc.s.closeOverdue(t.Context()))
	sc.s.wakeWorker()
	sc.markedOf(turns["sits"])
	staff = sc.as("instructor")
	staff.send("POST", path, releaseForm{}).is(http.StatusOK).into(&got)
	require.Equal(t, []int{2, 1}, []int{got.Released, len(got.LeftOut)})
	staff.send("POST", "/api/v1/attempts/"+visits["bites"]+"/decisions", decisionBody{"bite", true, "Plain to see.", staff.toMark(visits["bites"]).Seen}).is(http.StatusOK)
	require.Equal(t, http.StatusNotFound, sc.as("bites").get("/api/v1/attempts/"+visits["bites"]+"/report").code, "to decide is not to release")
	staff.send("POST", path, releaseForm{}).is(http.StatusOK).into(&got)
	require.Equal(t, face.Released{Released: 3, Whole: true, LeftOut: []face.LeftOut{}}, got)
	for login, id := range visits {
		sc.as(login).get("/api/v1/attempts/" + id + "/report").is(http.StatusOK)
	}

	// Taken back from one, with a reason; the others keep theirs.
	staff.send("POST", path, releaseForm{Back: true, Turn: turns["student"]}).problem(http.StatusUnprocessableEntity, "invalid")
	staff.send("POST", path, releaseForm{Back: true, Turn: turns["student"], Reason: "The wrong patient."}).is(http.StatusOK)
	staff.send("POST", path, releaseForm{Back: true, Turn: turns["student"], Reason: "Twice."}).problem(http.StatusConflict, "not-now")
	require.Equal(t, http.StatusNotFound, sc.as("student").get("/api/v1/attempts/"+visits["student"]+"/report").code)
	require.Equal(t, http.StatusOK, sc.as("bites").get("/api/v1/attempts/"+visits["bites"]+"/report").code)
	staff.send("POST", path, releaseForm{Back: true, Reason: "All of it."}).is(http.StatusOK)
	for login, id := range visits {
		require.Equal(t, http.StatusNotFound, sc.as(login).get("/api/v1/attempts/"+id+"/report").code, login)
	}
	require.Subset(t, sc.deedWordsOf(), []string{deedRelease, deedTakeBack, deedDecide})
}

// A turn that was handed in before every patient was seen is released when what
// was seen is marked.
func TestReleaseOfATurnHandedInEarly(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat()
	turn, _ := sc.sitsThrough("student", a, typically(3, 1))
	staff := sc.as("instructor")
	require.Contains(t, staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusConflict).text(), "Person student. Is still sitting.")
	sc.handsIn(a, turn, "student")
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", "nothing", "although", "yes").is(http.StatusNotFound)
	staff.post("/assignments/"+a.ID+"/marks", "deed", "free").is(http.StatusUnprocessableEntity)
}

func TestExcusedDoesNotCount(t *testing.T) {
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	turn, visits := sc.sitsThrough("student", a, typically(3, 1))
	staff := sc.as("instructor")
	path := "/assignments/" + a.ID + "/marks"
	page := staff.post(path, "deed", "excuse", "turn", turn, "reason", " ").is(http.StatusUnprocessableEntity)
	require.Contains(t, page.text(), "Say why, in at most 2000 bytes")
	staff.post(path, "deed", "excuse", "turn", turn, "reason", "A <fire> alarm.").is(http.StatusSeeOther)
	require.Contains(t, string(staff.get(path+"?of="+turn).is(http.StatusOK).body), "A &lt;fire&gt; alarm.")
	row := lineOfCSV(t, staff, a, "student")
	require.Equal(t, "yes", row["excused"])
	require.Empty(t, row["total"]+row["computed"]+row["findings"]+row["pass"])
	require.True(t, staff.toMark(visits[0].ID).Total > 0, "the marks are kept")
	staff.post(path, "deed", "count", "turn", turn, "reason", "It was a drill.").is(http.StatusSeeOther)
	row = lineOfCSV(t, staff, a, "student")
	require.Equal(t, "no", row["excused"])
	require.NotEmpty(t, row["total"])
	require.Len(t, staff.toMark(visits[0].ID).History, 2)
}

// A resit is one more try in its own window, with other draws and, from a pool,
// another case.
func TestAResitMeetsOtherPatients(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat(func(a *store.Assignment) { a.Slots = [][]string{{"tansy", "nettle"}, {"teasel"}} })
	turn, first := sc.sitsThrough("student", a, typically(3, 1), typically(3, 2))
	path := "/assignments/" + a.ID + "/marks"
	who := sc.face("student")
	_, err := sc.s.beginTurn(t.Context(), who, a.ID, "again")
	require.ErrorContains(t, err, ErrNotNow.Error(), "there is one try")

	sc.clock.Pass(24 * time.Hour)
	staff := sc.as("instructor")
	staff.send("POST", "/api/v1/assignments/"+a.ID+"/release", releaseForm{}).is(http.StatusOK)
	for _, row := range []struct{ opens, closes, reason, says string }{
		{"", "2026-11-27T10:00", "x", "A date and a time are needed"},
		{"2026-11-27T10:00", "2026-11-27T09:00", "x", "It closes after it opens"},
		{"2026-11-24T10:00", "2026-11-24T11:00", "x", "It closes after it opens, in the future"},
		{"2026-11-27T10:00", "2027-11-27T10:00", "x", "for at most 31 days"},
		{"2026-11-27T10:00", "2026-11-27T11:00", "", "Say why"},
	} {
		page := staff.post(path, "deed", "resit", "person", who.ID, "opens", row.opens, "closes", row.closes, "reason", row.reason).is(http.StatusUnprocessableEntity)
		require.Contains(t, page.text(), row.says)
	}
	staff.post(path, "deed", "resit", "person", who.ID, "opens", "2026-11-27T10:00", "closes", "2026-11-27T11:00", "reason", "Was ill.").is(http.StatusSeeOther)
	require.Contains(t, staff.post(path, "deed", "resit", "person", who.ID, "opens", "2026-11-28T10:00", "closes", "2026-11-28T11:00", "reason", "Again.").is(http.StatusConflict).text(), "has a further try already")
	kept, err := sc.s.store.Assignment(t.Context(), a.ID)
	require.NoError(t, err)
	require.True(t, kept.Released.IsZero(), "the patients are sealed again")
	sc.as("student").get("/visits/" + first[0].ID + "/debrief").is(http.StatusOK)
	require.Contains(t, staff.get(path).text(), "Can still sit: Person student.")

	_, err = sc.s.beginTurn(t.Context(), who, a.ID, "again")
	require.ErrorContains(t, err, ErrNotNow.Error(), "not open yet")
	var f face.Assignment
	sc.as("student").get("/api/v1/assigned/" + a.ID).is(http.StatusOK).into(&f)
	require.Equal(t, "early", f.Phase)
	sc.clock.Pass(time.Date(2026, 11, 27, 10, 0, 0, 0, time.UTC).Sub(sc.clock.Now()))
	again, second := sc.sitsThrough("student", a, typically(3, 3), typically(3, 4))
	require.NotEqual(t, turn, again)
	pool := map[string]bool{"tansy": true, "nettle": true}
	met := map[string]bool{}
	for _, v := range append(first, second...) {
		if pool[v.Case] {
			require.False(t, met[v.Case], "another case of the pool")
		}
		met[v.Case] = true
		require.False(t, met[string(v.Seed)], "another draw")
		met[string(v.Seed)] = true
	}
	require.Len(t, second, 2)
	sc.as("student").get("/visits/" + second[0].ID + "/debrief").is(http.StatusNotFound)
	rows := sc.as("instructor").get("/api/v1/assignments/" + a.ID + "/marks").is(http.StatusOK)
	var out marksAnswer
	rows.into(&out)
	tries := map[int]int{}
	for _, m := range out.Marks {
		tries[m.Try]++
	}
	require.Equal(t, map[int]int{1: 2, 2: 2, 0: 1}, tries, "both tries, and who has had none")
}

// Who missed a sitting can be let sit at another time.
func TestWhoMissedASittingSitsLater(t *testing.T) {
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	sc.clock.Pass(24 * time.Hour)
	who := sc.face("student2")
	_, err := sc.s.beginTurn(t.Context(), who, a.ID, "s")
	require.ErrorContains(t, err, ErrNotNow.Error())
	staff := sc.as("instructor")
	page := staff.get("/assignments/" + a.ID + "/marks?of=" + who.ID).is(http.StatusOK).text()
	require.Contains(t, page, "Let this student sit at another time")
	staff.post("/assignments/"+a.ID+"/marks", "deed", "resit", "person", who.ID, "opens", "2026-11-26T10:00", "closes", "2026-11-26T11:00", "reason", "Was ill.").is(http.StatusSeeOther)
	sc.clock.Pass(90 * time.Minute)
	_, visits := sc.sitsThrough("student2", a, typically(3, 1))
	require.Len(t, visits, 1)
	require.True(t, strings.HasPrefix(visits[0].Purpose, "sitting"))
	staff = sc.as("instructor")
	staff.post("/assignments/"+a.ID+"/marks", "deed", "resit", "person", sc.personID("instructor"), "opens", "2026-11-26T10:00", "closes", "2026-11-26T11:00", "reason", "x").is(http.StatusNotFound)
	staff.post("/assignments/"+a.ID+"/marks", "deed", "resit", "person", "nobody", "opens", "2026-11-26T10:00", "closes", "2026-11-26T11:00", "reason", "x").is(http.StatusNotFound)
}

// A hundred rows a page, in order of name or of total.
func TestMarksInOrder(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	sc.sitsThrough("student", a, typically(1, 1))
	sc.sitsThrough("student2", a, typically(5, 1))
	staff := sc.as("instructor")
	at := func(query, name string) int {
		return strings.Index(staff.get("/assignments/"+a.ID+"/marks"+query).is(http.StatusOK).text(), name+" Tansy")
	}
	require.Less(t, at("", "Person student"), at("", "Person student2"))
	require.Greater(t, at("?sort=total", "Person student"), at("?sort=total", "Person student2"))
	require.Equal(t, -1, at("?find=student2", "Person student"))
	require.Positive(t, at("?find=STUDENT2", "Person student2"))
	staff.get("/assignments/" + a.ID + "/marks?page=999&of=nothing&sort=x").is(http.StatusOK)
}

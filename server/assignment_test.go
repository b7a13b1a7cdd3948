package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// asked is a good form: a sitting of one fixed case and one of two that are drawn.
func asked() url.Values {
	return url.Values{"do": {"save"}, "kind": {"sitting"}, "title": {"Finals"}, "track": {"veterinary"}, "cue": {"headings"}, "places": {"unlabelled"}, "order": {"drawn"},
		"opens": {"2026-12-01T09:00"}, "closes": {"2026-12-01T12:00"}, "minutes": {"60"}, "tries": {"1"}, "slots": {"2"},
		"s0-case": {"tansy"}, "s1-species": {"dog"}, "s1-case": {"biscuit", "fergus"}}
}

// practiceAsked is the same as practice, open now.
func practiceAsked() url.Values {
	f := asked()
	f.Set("kind", "practice")
	f.Set("cue", "full")
	f.Set("places", "labelled")
	f.Set("opens", "2026-11-25T08:00")
	f.Set("minutes", "")
	f.Set("tries", "")
	return f
}

// sends sends a form that may hold a name several times.
func (c *client) sends(path string, f url.Values) *reply {
	c.sc.t.Helper()
	c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	defer func() { c.header = nil }()
	return c.send("POST", path, f.Encode())
}

// draft makes an assignment of a form and gives its id.
func (c *client) draft(f url.Values) string {
	c.sc.t.Helper()
	got := c.sends("/cohorts/"+c.sc.cohort+"/assignments", f).is(http.StatusSeeOther)
	return strings.TrimPrefix(got.header.Get("Location"), "/assignments/")
}

func (sc *school) assignment(id string) store.Assignment {
	sc.t.Helper()
	a, err := sc.s.store.Assignment(sc.t.Context(), id)
	require.NoError(sc.t, err)
	return a
}

// sets sets a draft with a reason and a word on the draws.
func (c *client) sets(id string) *reply {
	c.sc.t.Helper()
	return c.post("/assignments/"+id+"/set", "edition", editionOf(c.sc.assignment(id)), "uneven", "yes", "reason", "The resit of last week")
}

// the names of the library's cases that these tests use.
func TestTheCasesOfTheseTestsAreThere(t *testing.T) {
	sc := newSchool(t)
	for _, id := range []string{"tansy", "biscuit", "fergus"} {
		require.NotNil(t, sc.s.library.Case(id), id)
	}
}

func TestAnAssignmentIsMadeChangedSetAndWithdrawn(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.browser("instructor")
	id := c.draft(asked())
	a := sc.assignment(id)
	require.Equal(t, [][]string{{"tansy"}, {"biscuit", "fergus"}}, a.Slots)
	require.True(t, a.Opens.Equal(time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)))
	require.Equal(t, []any{"sitting", 60, 1, true, "headings", "unlabelled", store.AssignmentDraft, ""}, []any{a.Kind, a.Minutes, a.Tries, a.Shuffled, a.Cue, a.Places, a.State, a.RubricHash})
	page := string(c.get("/assignments/" + id).is(200).body)
	for _, want := range []string{"Finals", "✎ draft", "All its cases come with the program", "Tansy", "2 students and 1 instructor"} {
		require.Contains(t, page, want)
	}

	f := asked()
	f.Set("title", "Finals of autumn")
	f.Set("edition", editionOf(a))
	c.sends("/assignments/"+id+"/change", f).is(303)
	f.Set("title", "From an old page")
	require.Contains(t, string(c.sends("/assignments/"+id+"/change", f).is(409).body), "From an old page", "what was typed stays")
	require.Equal(t, "Finals of autumn", sc.assignment(id).Title)

	require.Contains(t, string(c.post("/assignments/"+id+"/set", "edition", "old").is(409).body), "changed this assignment")
	c.sets(id).is(303)
	a = sc.assignment(id)
	require.Equal(t, store.AssignmentSet, a.State)
	text, err := sc.s.store.Content(t.Context(), a.RubricHash)
	require.NoError(t, err)
	require.Equal(t, sc.s.shelf.Load().current("veterinary").Text, text)
	require.Contains(t, string(c.get("/cohorts/"+sc.cohort+"/assignments").body), "○ set")
	sc.clock.Pass(6*24*time.Hour + time.Hour)
	require.Contains(t, string(sc.browser("instructor").get("/cohorts/"+sc.cohort+"/assignments").body), "● open")

	c = sc.browser("instructor")
	require.Contains(t, string(c.post("/assignments/"+id+"/withdraw", "why", " ").is(422).body), "A reason of 1 to")
	c.post("/assignments/"+id+"/withdraw", "why", "Fire drill").is(303)
	require.Equal(t, store.AssignmentWithdrawn, sc.assignment(id).State)
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "assignment:" + id})
	require.NoError(t, err)
	require.Len(t, notes, 4)
	require.Equal(t, []string{deedWithdraw, "Fire drill", sc.cohort}, []string{notes[0].Deed, notes[0].Reason, notes[0].Cohort})
	require.Contains(t, notes[1].Detail, "rubric veterinary version")
}

// Every bad input is told with what was typed, and nothing is kept of it.
func TestWrongAssignments(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("instructor")
	for _, row := range []struct {
		name, field, value, says string
	}{
		{"closes before it opens", "closes", "2026-12-01T08:00", "It must close after it opens."},
		{"closes as it opens", "closes", "2026-12-01T09:00", "It must close after it opens."},
		{"closed already", "closes", "2026-11-25T08:59", "close"},
		{"no date", "opens", "tomorrow", "A date and a time of day are needed"},
		{"no such day", "opens", "2026-02-30T09:00", "A date and a time of day are needed"},
		{"a far year", "closes", "9999-12-01T12:00", "At most two years after"},
		{"no minutes", "minutes", "0", "1 to 600 minutes"},
		{"10,000 minutes", "minutes", "10000", "1 to 600 minutes"},
		{"minutes in words", "minutes", "an hour", "A whole number in figures"},
		{"a huge number", "minutes", "99999999999999999999", "A whole number in figures"},
		{"longer than it is open", "minutes", "200", "open for 3 hours only"},
		{"no tries", "tries", "0", "1 to 20"},
		{"no title", "title", "  ", "A title of 1 to 100 characters."},
		{"a title of 100,000 characters", "title", strings.Repeat("x", 100_000), "A title of 1 to 100 characters."},
		{"a rubric that is gone", "track", "gone", "There is no such rubric"},
		{"an unknown cue", "cue", "everything", "One of full, headings, none."},
		{"another kind", "kind", "party", "practice or sitting."},
		{"no patients", "slots", "0", "1 to 20 patients."},
		{"patients that are no number", "slots", "many", "1 to 20 patients."},
		{"a patient without a case", "slots", "3", "Patient 3: none is chosen."},
		{"a case that is not there", "s0-case", "dragon", "Patient 1: there is no such case"},
	} {
		t.Run(row.name, func(t *testing.T) {
			f := asked()
			f.Set(row.field, row.value)
			body := string(c.sends("/cohorts/"+sc.cohort+"/assignments", f).is(422).body)
			require.Contains(t, body, row.says)
			require.Contains(t, body, `value="2026-12-01T`, "what was typed stays")
		})
	}
	f := asked()
	f["s1-case"] = []string{"tansy"}
	require.Contains(t, string(c.sends("/cohorts/"+sc.cohort+"/assignments", f).is(422).body), "meet the same patient twice")
	all, err := sc.s.store.Assignments(t.Context(), sc.cohort)
	require.NoError(t, err)
	require.Empty(t, all)
}

func TestAScriptInATitleIsText(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("instructor")
	f := asked()
	f.Set("title", `<script>alert(1)</script>"'`)
	id := c.draft(f)
	for _, path := range []string{"/assignments/" + id, "/assignments/" + id + "/change", "/cohorts/" + sc.cohort + "/assignments"} {
		body := string(c.get(path).is(200).body)
		require.NotContains(t, body, "<script>alert", path)
		require.Contains(t, body, "&lt;script&gt;alert", path)
	}
}

// An assignment of a cohort that one does not teach is as absent as none, whatever
// is asked of it.
func TestAssignmentsOfOthersAreAbsent(t *testing.T) {
	sc := newSchool(t)
	other, err := sc.s.store.AddCohort(t.Context(), "Elsewhere", "", false)
	require.NoError(t, err)
	co := sc.browser("coordinator")
	id := strings.TrimPrefix(co.sends("/cohorts/"+other.ID+"/assignments", asked()).is(303).header.Get("Location"), "/assignments/")
	c := sc.browser("instructor")
	for _, path := range []string{"/cohorts/" + other.ID + "/assignments", "/cohorts/" + other.ID + "/assignments/new", "/assignments/" + id, "/assignments/" + id + "/change", "/assignments/never"} {
		c.get(path).is(404)
	}
	c.sends("/cohorts/"+other.ID+"/assignments", asked()).is(404)
	for _, deed := range []string{"change", "set", "withdraw", "later", "copy", "delete", "putback"} {
		f := asked()
		f.Set("why", "x")
		c.sends("/assignments/"+id+"/"+deed, f).is(404)
	}
	p := sc.as("instructor")
	p.get("/api/v1/assignments/"+id).problem(404, "missing")
	p.get("/api/v1/cohorts/"+other.ID+"/assignments").problem(404, "missing")
	sc.browser("student").get("/cohorts/" + sc.cohort + "/assignments").is(403)
	sc.browser("student").get("/assignments/" + id).is(404)
	mine := c.draft(asked())
	require.Contains(t, string(c.post("/assignments/"+mine+"/copy", "cohort", other.ID).is(422).body), "Choose a cohort that you manage")
	copied := strings.TrimPrefix(co.post("/assignments/"+mine+"/copy", "cohort", other.ID).is(303).header.Get("Location"), "/assignments/")
	a := sc.assignment(copied)
	require.Equal(t, []any{other.ID, store.AssignmentDraft, sc.assignment(mine).Slots}, []any{a.Cohort, a.State, a.Slots})
}

// The form works on its list of patients without saving, and keeps what was typed.
func TestTheFormListsWhatMatches(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("instructor")
	path := "/cohorts/" + sc.cohort + "/assignments"
	require.Contains(t, string(c.get(path+"/new?kind=sitting").is(200).body), `name="cue" value="headings" checked`)
	require.Contains(t, string(c.get(path+"/new").is(200).body), `name="cue" value="full" checked`)
	f := asked()
	f.Set("do", "show-1")
	f.Set("s1-species", "rabbit")
	body := string(c.sends(path, f).is(200).body)
	rabbits := 0
	for _, k := range sc.s.library.Cases() {
		if k.Species == "rabbit" {
			rabbits++
			require.Contains(t, body, `name="s1-case" value="`+k.ID+`" checked`)
		}
	}
	require.Contains(t, body, fmt.Sprintf("%d are ticked: one of them is drawn for each student.", rabbits))
	require.NotContains(t, body, `name="s1-case" value="biscuit"`)
	require.Contains(t, body, `value="Finals"`)

	f.Set("s1-system", "mammary gland")
	require.Contains(t, string(c.sends(path, f).is(200).body), "No patient matches.")
	f.Set("do", "save")
	f.Del("s1-case")
	require.Contains(t, string(c.sends(path, f).is(422).body), "Patient 2: none is chosen.")
	f.Set("do", "add")
	require.Contains(t, string(c.sends(path, f).is(200).body), "Patient 3")
	f.Set("do", "remove-0")
	body = string(c.sends(path, f).is(200).body)
	require.NotContains(t, body, "Patient 2")
	for _, do := range []string{"", "remove-9", "show-x", "remove--1", "explode"} {
		f.Set("do", do)
		c.sends(path, f).is(200)
	}
}

// The school's own zone: a time in the spring gap is refused with the time that the
// clock shows instead, one that comes twice is asked about. The transitions are
// facts of the IANA database: Berlin 2027-03-28 and 2027-10-31.
func TestTimesAreTheSchools(t *testing.T) {
	sc := newSchool(t)
	co := sc.browser("coordinator")
	for _, wrong := range []string{"", "Local", "Mars/Olympus", "../../etc/passwd", strings.Repeat("x", 100)} {
		require.Contains(t, string(co.post("/settings", "zone", wrong).is(422).body), "no zone of the IANA database", wrong)
	}
	co.post("/settings", "zone", "Europe/Berlin").is(303)
	require.Contains(t, string(co.get("/settings").body), `value="Europe/Berlin"`)
	c := sc.browser("instructor")
	path := "/cohorts/" + sc.cohort + "/assignments"
	f := asked()
	f.Set("opens", "2027-03-28T02:30")
	f.Set("closes", "2027-03-28T05:00")
	body := string(c.sends(path, f).is(422).body)
	require.Contains(t, body, "put forward over 02:30")
	require.Contains(t, body, "the clock shows 03:30 instead")

	f.Set("opens", "2027-10-31T02:30")
	f.Set("closes", "2027-10-31T05:00")
	body = string(c.sends(path, f).is(422).body)
	require.Contains(t, body, "comes twice")
	require.Contains(t, body, `name="opens-which" value="first"`)
	require.Contains(t, body, "the second: 02:30 CET")
	for which, want := range map[string]time.Time{"first": time.Date(2027, 10, 31, 0, 30, 0, 0, time.UTC), "second": time.Date(2027, 10, 31, 1, 30, 0, 0, time.UTC)} {
		f.Set("opens-which", which)
		id := c.draft(f)
		require.True(t, want.Equal(sc.assignment(id).Opens), which)
		require.Contains(t, string(c.get("/assignments/"+id+"/change").body), `name="opens-which" value="`+which+`" checked`)
	}
	f = asked()
	require.True(t, time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC).Equal(sc.assignment(c.draft(f)).Opens), "Berlin in winter is UTC+1")
}

// Once somebody has begun nothing that is asked may change; it can close later, be
// withdrawn and be copied.
func TestNothingChangesOnceBegun(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("instructor")
	f := practiceAsked()
	id := c.draft(f)
	c.sets(id).is(303)
	me, err := sc.s.store.PersonByLogin(t.Context(), "student")
	require.NoError(t, err)
	_, err = sc.s.beginTurn(t.Context(), face.Person{ID: me.ID, Role: "student"}, id, "session")
	require.NoError(t, err)

	page := string(c.get("/assignments/" + id).is(200).body)
	require.Contains(t, page, "1 student has begun it")
	require.NotContains(t, page, "/change\"")
	c.get("/assignments/" + id + "/change").is(409)
	f.Set("edition", editionOf(sc.assignment(id)))
	require.Contains(t, string(c.sends("/assignments/"+id+"/change", f).is(409).body), "Somebody has begun this assignment")
	require.Contains(t, string(c.post("/assignments/"+id+"/delete").is(409).body), "Withdraw it instead")
	require.Contains(t, string(c.post("/assignments/"+id+"/later", "closes", "2026-12-01T11:00", "why", "snow").is(422).body), "never earlier")
	c.post("/assignments/"+id+"/later", "closes", "2026-12-02T11:00", "why", "").is(422)
	c.post("/assignments/"+id+"/later", "closes", "2026-12-02T11:00", "why", "snow").is(303)
	require.True(t, time.Date(2026, 12, 2, 11, 0, 0, 0, time.UTC).Equal(sc.assignment(id).Closes))
	c.post("/assignments/"+id+"/withdraw", "why", "wrong patients").is(303)
	_, err = sc.s.beginTurn(t.Context(), face.Person{ID: me.ID, Role: "student"}, id, "session")
	require.ErrorIs(t, err, ErrMissing, "nobody begins it any more")
}

// A change takes what is set back to a draft; deleted ones come back as drafts
// within 30 days.
func TestChangedAndDeletedAssignments(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.browser("instructor")
	id := c.draft(asked())
	c.sets(id).is(303)
	require.Contains(t, string(c.get("/assignments/"+id+"/change").is(200).body), "makes it a draft again")
	f := asked()
	f.Set("edition", editionOf(sc.assignment(id)))
	c.sends("/assignments/"+id+"/change", f).is(303)
	require.Equal(t, store.AssignmentDraft, sc.assignment(id).State)
	c.post("/assignments/"+id+"/withdraw", "why", "x").is(409)

	c.sets(id).is(303)
	c.post("/assignments/" + id + "/delete").is(303)
	c.get("/assignments/" + id).is(404)
	require.Contains(t, string(c.get("/cohorts/"+sc.cohort+"/assignments").body), "/assignments/"+id+"/putback")
	c.post("/assignments/" + id + "/putback").is(303)
	require.Equal(t, store.AssignmentDraft, sc.assignment(id).State)
	c.post("/assignments/" + id + "/delete").is(303)
	sc.clock.Pass(30*24*time.Hour + time.Second)
	c = sc.browser("instructor")
	require.NotContains(t, string(c.get("/cohorts/"+sc.cohort+"/assignments").body), "putback")
	c.post("/assignments/" + id + "/putback").is(404)
}

// A case that the cohort met in practice is refused for its exam, with how many met
// it; a reason overrides that, and the log keeps the reason.
func TestWhatWasMetInPracticeNeedsAReason(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.browser("student").begin(sc.s.opaque("tansy"))
	sc.browser("student").begin(sc.s.opaque("tansy"))
	sc.browser("student2").begin(sc.s.opaque("fergus"))
	c := sc.browser("instructor")
	require.Contains(t, string(c.get("/cohorts/"+sc.cohort+"/assignments/new").body), "met in practice by 1")
	id := c.draft(asked())
	page := string(c.get("/assignments/" + id).is(200).body)
	require.Contains(t, page, "Tansy was met in practice by 1 of 2 students of this cohort.")
	require.Contains(t, page, "Fergus was met in practice by 1 of 2 students of this cohort.")
	require.NotContains(t, page, "Biscuit was met")
	require.NotContains(t, page, "watched with an expert")
	edition := editionOf(sc.assignment(id))
	c.post("/assignments/"+id+"/set", "edition", edition, "uneven", "yes").is(422)
	require.Equal(t, store.AssignmentDraft, sc.assignment(id).State)
	c.post("/assignments/"+id+"/set", "edition", edition, "uneven", "yes", "reason", "Only a rehearsal").is(303)
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "assignment:" + id, Limit: 1})
	require.NoError(t, err)
	require.Equal(t, "Only a rehearsal", notes[0].Reason)
	require.Contains(t, notes[0].Detail, "although 2 cases speak against it")

	again := c.draft(asked())
	require.Contains(t, string(c.get("/assignments/"+again).body), "stands in a sitting “Finals” too")
	practise := c.draft(practiceAsked())
	require.Contains(t, string(c.sets(practise).is(422).body), "is kept from practice for this cohort")
}

// A rubric that is gone is said, and nothing is set by it; the version that was in
// force when it was set stays.
func TestARubricThatIsGone(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("instructor")
	id := c.draft(asked())
	a := sc.assignment(id)
	a.Track = "gone"
	_, err := sc.s.store.SaveAssignment(t.Context(), a, store.Note{Deed: deedChangeAssignment})
	require.NoError(t, err)
	require.Contains(t, string(c.get("/assignments/"+id).is(200).body), "The rubric gone is not among the rubrics any more.")
	require.Contains(t, string(c.sets(id).is(422).body), "It cannot be set.")
	require.NoError(t, sc.s.measureSome(t.Context(), map[string]bool{}))
}

func TestAssignmentsByProgram(t *testing.T) {
	sc := newSchool(t)
	p := sc.as("instructor")
	path := "/api/v1/cohorts/" + sc.cohort + "/assignments"
	var made setAnswer
	p.send("POST", path, map[string]any{"title": "Hearts", "kind": "sitting", "slots": [][]string{{"tansy"}}, "opens": "2026-12-01T09:00:00+01:00", "closes": "2026-12-01T12:00:00Z", "minutes": 60}).is(201).into(&made)
	require.Equal(t, []any{"draft", "headings", "unlabelled", 1, 60, "veterinary"}, []any{made.State, made.Cue, made.Places, made.Tries, made.Minutes, made.Track})
	require.True(t, time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC).Equal(made.Opens))
	var list setListAnswer
	p.get(path).is(200).into(&list)
	require.Len(t, list.Assignments, 1)
	var one setAnswer
	p.get("/api/v1/assignments/" + made.ID).is(200).into(&one)
	require.Equal(t, 2, one.Standing.Students)
	require.Len(t, one.Standing.Draws, 1)
	bad := p.send("POST", path, map[string]any{"title": "", "kind": "sitting", "slots": [][]string{}, "opens": "2026-12-01T09:00:00Z", "closes": "2026-12-01T08:00:00Z", "minutes": 0}).problem(422, "invalid")
	var at []string
	for _, e := range bad.Errors {
		at = append(at, e.Pointer)
	}
	require.ElementsMatch(t, []string{"/title", "/minutes", "/closes", "/slots"}, at)
	sc.as("student").get(path).problem(403, "forbidden")
}

// Nobody meets the same case twice, every case of a pool can come, and places that
// hold the same cases draw all choices alike.
func TestDrawApart(t *testing.T) {
	pool := []string{"a", "b", "c", "d"}
	seen := map[string]int{}
	for range 6000 {
		got, ok := drawApart([][]string{pool, pool}, atRandom)
		require.True(t, ok)
		require.NotEqual(t, got[0], got[1])
		seen[got[0]+got[1]]++
	}
	require.Len(t, seen, 12)
	var chi float64
	for _, n := range seen {
		chi += float64((n-500)*(n-500)) / 500
	}
	require.Less(t, chi, 40., "chi squared of 11 degrees of freedom passes 40 once in 30,000 runs (from memory)")
	for range 100 {
		got, ok := drawApart([][]string{{"x", "y"}, {"x"}}, atRandom)
		require.True(t, ok)
		require.Equal(t, []string{"y", "x"}, got)
	}
	_, ok := drawApart([][]string{{"x"}, {"x"}}, inOrder)
	require.False(t, ok)
	all, ok := drawApart(make([][]string, 0), inOrder)
	require.True(t, ok)
	require.Empty(t, all)
}

// What some have beyond the others is reckoned for the very assignment: 60 minutes
// and a quarter more are 75, which also closes 15 minutes later, and half an hour.
func TestWhatSomeHaveBeyondTheOthers(t *testing.T) {
	sc := newSchool(t)
	me, err := sc.s.store.PersonByLogin(t.Context(), "student2")
	require.NoError(t, err)
	require.NoError(t, sc.s.store.Accommodate(t.Context(), store.Accommodation{Cohort: sc.cohort, Person: me.ID, Extra: 25, Later: 30, Pauses: 10}, store.Note{Deed: "accommodate"}))
	c := sc.browser("instructor")
	page := string(c.get("/assignments/" + c.draft(asked())).is(200).body)
	for _, want := range []string{"Person student2", "75 minutes", "Tue 1 Dec 2026, 12:45", "10 minutes"} {
		require.Contains(t, page, want)
	}
}

// A patient that was watched with an expert is known as well as one that was met.
func TestWhatWasWatchedWithAnExpertNeedsAReason(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	for _, login := range []string{"student", "student2", "instructor"} {
		require.NoError(t, sc.s.store.Watch(t.Context(), store.Watched{Person: sc.personID(login), Species: "dog", CaseID: "tansy"}, login == "student"))
	}
	c := sc.browser("instructor")
	id := c.draft(asked())
	page := string(c.get("/assignments/" + id).is(200).body)
	require.Contains(t, page, "Tansy was watched with an expert, who told all there is, by 2 of 2 students of this cohort.")
	c.post("/assignments/"+id+"/set", "edition", editionOf(sc.assignment(id)), "uneven", "yes").is(422)
	require.Equal(t, store.AssignmentDraft, sc.assignment(id).State)
}

package server

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// learns puts an instructor of the school's cohort into another cohort as a student.
func (sc *school) learns(login string) (cohort string) {
	sc.t.Helper()
	p, err := sc.s.store.PersonByLogin(sc.t.Context(), login)
	require.NoError(sc.t, err)
	c, err := sc.s.store.AddCohort(sc.t.Context(), "Evening course", "", false)
	require.NoError(sc.t, err)
	require.NoError(sc.t, sc.s.store.SetMember(sc.t.Context(), c.ID, p.ID, "student", store.Note{Deed: "add member"}))
	return c.ID
}

// sitting sets a sitting of some cases, each met by everybody.
func (sc *school) seal(cohort string, ids ...string) store.Assignment {
	sc.t.Helper()
	a := store.Assignment{Cohort: cohort, Title: "Sealed", Kind: "sitting", Track: "veterinary", State: store.AssignmentSet, Tries: 1, Minutes: 60,
		Opens: sc.s.now().Add(24 * time.Hour), Closes: sc.s.now().Add(27 * time.Hour), Cue: "headings", Places: "unlabelled"}
	for _, id := range ids {
		a.Slots = append(a.Slots, []string{id})
	}
	a, err := sc.s.store.SaveAssignment(sc.t.Context(), a, store.Note{Deed: deedMakeAssignment})
	require.NoError(sc.t, err)
	return a
}

// shows says on which of a person's pages and lists a case can be found.
func (sc *school) shows(login, id string) (on []string) {
	sc.t.Helper()
	k, c := sc.s.library.Case(id), sc.browser(login)
	for _, path := range []string{"/", "/api/v1/cases", "/api/v1/attempts"} {
		body := string(c.get(path).is(200).body)
		if strings.Contains(body, sc.s.opaque(id)) || strings.Contains(body, k.Title) {
			on = append(on, path)
		}
	}
	return on
}

// starts says whether a person can begin a visit to a case, by page and by program.
func (sc *school) starts(login, id string) (page, api bool) {
	sc.t.Helper()
	started := sc.browser(login).post("/visits", "patient", sc.s.opaque(id)).code
	asked := sc.as(login).send("POST", "/api/v1/attempts", map[string]string{"case": sc.s.opaque(id)}).code
	require.Contains(sc.t, []int{303, 404}, started)
	require.Contains(sc.t, []int{201, 404}, asked)
	return started == 303, asked == 201
}

// From the moment a sitting is set until its debriefs are released its patients are
// nowhere for whoever is a student of its cohort, also for an instructor elsewhere;
// for everybody else they are where they were.
func TestASittingSealsItsPatients(t *testing.T) {
	sc := newSchool(t)
	both := []string{"/", "/api/v1/cases"}
	check := func(login, id string, open bool) {
		t.Helper()
		page, api := sc.starts(login, id)
		require.Equal(t, []bool{open, open}, []bool{page, api}, "%s starts %s", login, id)
		if open {
			require.NotEmpty(t, sc.shows(login, id), "%s sees %s", login, id)
		}
	}
	course := sc.learns("instructor")
	require.Equal(t, both, sc.shows("student", "tansy"))
	draft := sc.seal(sc.cohort, "tansy")
	require.NoError(t, sc.s.store.ChangeAssignment(t.Context(), draft.ID, map[string]any{"state": store.AssignmentDraft}, store.Note{Deed: "x"}))
	require.Equal(t, both, sc.shows("student", "tansy"), "a draft seals nothing")
	require.NoError(t, sc.s.store.ChangeAssignment(t.Context(), draft.ID, map[string]any{"state": store.AssignmentSet}, store.Note{Deed: "x"}))
	for _, login := range []string{"student", "student2"} {
		require.Empty(t, sc.shows(login, "tansy"), login)
		check(login, "tansy", false)
		check(login, "biscuit", true)
	}
	require.Equal(t, both, sc.shows("instructor", "tansy"), "who teaches the cohort sees it")
	check("instructor", "tansy", true)
	check("coordinator", "tansy", true)

	sc.seal(course, "fergus")
	require.Empty(t, sc.shows("instructor", "fergus"), "who learns in the cohort does not, instructor or not")
	check("instructor", "fergus", false)
	check("student", "fergus", true)

	sc.clock.Pass(28 * time.Hour) // closed, not released
	require.Empty(t, sc.shows("student", "tansy"))
	require.NoError(t, sc.s.store.ChangeAssignment(t.Context(), draft.ID, map[string]any{"released": sc.s.now()}, store.Note{Deed: "x"}))
	require.NotEmpty(t, sc.shows("student", "tansy"), "released to everybody")
}

// A sitting that is withdrawn while somebody sits it keeps its patients until it
// would be over.
func TestAWithdrawnSittingStillSeals(t *testing.T) {
	sc := newSchool(t)
	a := sc.seal(sc.cohort, "tansy")
	require.NoError(t, sc.s.store.ChangeAssignment(t.Context(), a.ID, map[string]any{"state": store.AssignmentWithdrawn}, store.Note{Deed: "x"}))
	require.Empty(t, sc.shows("student", "tansy"))
	sc.clock.Pass(27*time.Hour + sealedAfter)
	require.NotEmpty(t, sc.shows("student", "tansy"))
}

// An instructor who learns elsewhere finds the sealed patient on no page of staff:
// neither where assignments are made nor among rubrics, ranges and weighings.
func TestWhatIsSealedStandsOnNoPageOfStaff(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.browser("instructor")
	id := c.draft(asked()) // holds fergus, and was made before
	course := sc.learns("instructor")
	theirs := sc.as("student").begin(sc.s.opaque("fergus"))
	theirs.finish()
	sc.as("instructor").get("/api/v1/attempts/" + theirs.id + "/report").is(200)
	sc.seal(course, "fergus")
	k := sc.s.library.Case("fergus")
	rubrics := sc.s.shelf.Load()
	hash := rubrics.current("veterinary").Hash
	sc.s.weighings.done = map[string]*weighed{hash: {ready: true, Weighing: trial.Weighing{Misses: []string{"A bound does not hold for fergus.", "Another does not hold for tansy."}}}}
	sc.clock.Pass(3 * time.Second)
	c = sc.browser("instructor")
	for _, path := range []string{"/", "/rubrics", "/rubrics/veterinary", "/rubrics/veterinary/regrade", "/cohorts/" + sc.cohort + "/assignments", "/cohorts/" + sc.cohort + "/assignments/new",
		"/assignments/" + id, "/api/v1/assignments/" + id, "/api/v1/cohorts/" + sc.cohort + "/assignments", "/api/v1/cases", "/api/v1/attempts"} {
		body := string(c.get(path).is(200).body)
		require.NotContains(t, body, "fergus", path)
		require.NotContains(t, body, k.Title, path)
		require.NotContains(t, body, sc.s.opaque("fergus"), path)
	}
	for _, path := range []string{"/visits/" + theirs.id, "/visits/" + theirs.id + "/debrief", "/api/v1/attempts/" + theirs.id, "/api/v1/attempts/" + theirs.id + "/report"} {
		c.get(path).is(404)
		require.NotEqual(t, 404, sc.as("student").get(path).code, path)
	}
	require.Contains(t, string(c.get("/rubrics/veterinary").body), "does not hold for tansy")
	require.Contains(t, string(c.get("/assignments/"+id).body), "A patient that is kept from you")
	require.Contains(t, string(c.get("/assignments/"+id+"/change").is(409).body), "is kept from you")
	f := asked()
	f.Set("edition", editionOf(sc.assignment(id)))
	c.sends("/assignments/"+id+"/change", f).is(422)
	f["s1-case"] = []string{"biscuit"}
	require.Contains(t, string(c.sends("/assignments/"+id+"/change", f).is(409).body), "is kept from you")
	require.Contains(t, string(c.sends("/cohorts/"+sc.cohort+"/assignments", asked()).is(422).body), "there is no such case")
}

// A practice that was set earlier does not hand out what a later sitting seals: it
// is drawn from the rest, and what had been drawn waits.
func TestAPracticeKeepsBackWhatIsSealed(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("instructor")
	id := c.draft(practiceAsked())
	c.sets(id).is(303)
	ctx := t.Context()
	whoIs := func(login string) face.Person {
		p, err := sc.s.store.PersonByLogin(ctx, login)
		require.NoError(t, err)
		return face.Person{ID: p.ID, Role: p.Role}
	}
	one, two := whoIs("student"), whoIs("student2")
	early, err := sc.s.beginTurn(ctx, one, id, "s1")
	require.NoError(t, err)
	require.Len(t, early.plan, 2)
	sc.seal(sc.cohort, "tansy", "fergus")
	held := false
	for range early.plan {
		_, err := sc.s.nextPatient(ctx, one, early.row.ID, "s1")
		if err != nil {
			require.ErrorIs(t, err, ErrNotNow)
			held = true
			break
		}
		visits, err := sc.s.store.VisitsOf(ctx, early.row.ID)
		require.NoError(t, err)
		for _, v := range visits {
			require.Equal(t, "biscuit", v.Case)
			_, err := sc.s.store.Finish(ctx, v.Transcript, endedLeft)
			require.NoError(t, err)
		}
	}
	require.True(t, held)
	late, err := sc.s.beginTurn(ctx, two, id, "s2")
	require.NoError(t, err)
	require.Len(t, late.plan, 1)
	require.Equal(t, "biscuit", late.plan[0].Case)
	require.Equal(t, 1, late.plan[0].Slot)
}

// The draws of a sitting to come are measured by themselves; its page says how far
// that is and what came of it, and a student's patients come from what was measured.
func TestDrawsAreMeasuredBeforeASitting(t *testing.T) {
	t.Parallel()
	sc := newSchool(t, func(c *Config) { c.Draws = 24 })
	c := sc.browser("instructor")
	f := asked()
	f.Set("slots", "1")
	id := c.draft(f)
	require.Eventually(t, func() bool {
		return strings.Contains(string(sc.as("instructor").get("/api/v1/assignments/"+id).is(200).body), `"measured":true`)
	}, 2*time.Minute, 200*time.Millisecond)
	page := string(sc.browser("instructor").get("/assignments/" + id).is(200).body)
	require.NotContains(t, page, "cases measured.")
	require.Contains(t, page, "– not judged", "24 draws are too few to judge")
	require.Contains(t, page, "right would be at least 100")
	a := sc.assignment(id)
	tables, err := sc.s.tables(t.Context(), a)
	require.NoError(t, err)
	require.Len(t, tables["tansy"].Rows, 24)
	m, ok, err := sc.s.trySums(t.Context(), a)
	require.NoError(t, err)
	if ok && m.failed == 0 {
		require.LessOrEqual(t, m.most, trial.MostSum)
	}
	plan := []planned{{Case: "tansy"}}
	require.NoError(t, sc.s.drawSeeds(t.Context(), a, plan))
	seed, err := cases.DecodeSeed(plan[0].Seed)
	require.NoError(t, err)
	var known []cases.Seed
	table := tables["tansy"]
	for _, r := range table.Fit() {
		known = append(known, r.Seed)
	}
	require.Contains(t, known, seed, "only what was measured and fits is given")

	// Measured of another text of the rubric it is of no use.
	have, err := sc.s.store.Draws(t.Context(), id)
	require.NoError(t, err)
	have[0].MadeOf = "another"
	require.NoError(t, sc.s.store.SetDraw(t.Context(), have[0]))
	tables, err = sc.s.tables(t.Context(), a)
	require.NoError(t, err)
	require.Empty(t, tables)
}

// Figures that are known are shown with verdict and the field at fault; what is not
// equally hard is set only by who says so, and the log says it too.
func TestUnevenDrawsNeedAWord(t *testing.T) {
	sc := newSchool(t, func(c *Config) { c.Draws = 1 }) // none can be measured
	c := sc.browser("instructor")
	id := c.draft(asked())
	page := string(c.get("/assignments/" + id).is(200).body)
	require.Contains(t, page, "0 of 3 cases measured.")
	require.Contains(t, page, "waits to be measured")
	edition := editionOf(sc.assignment(id))
	require.Contains(t, string(c.post("/assignments/"+id+"/set", "edition", edition).is(422).body), "Tick that you know")
	a := sc.assignment(id)
	for _, d := range []trial.Draws{
		{Case: "tansy", Seeds: 500, SD: 2130, Width: 6450, Excluded: 210, Verdict: trial.SpreadAtFault, Reasons: []string{"heart.rate explains most: 41 % of it. Narrow its spread."}, Levels: []trial.Level{{Mean: 70000}}, Mean: 70040},
		{Case: "biscuit", Seeds: 500, SD: 400, Width: 1300, Excluded: 3, Verdict: trial.DrawsAccepted, Levels: []trial.Level{{Mean: 62000}}},
		{Case: "fergus", Seeds: 500, SD: 900, Width: 3200, Excluded: 31, Verdict: trial.SeedsExcluded, Levels: []trial.Level{{Mean: 66500}}},
	} {
		sc.keepDraws(a, d)
	}
	page = string(c.get("/assignments/" + id).is(200).body)
	for _, want := range []string{"2.13", "6.45", "210 of 500", "✕ the spread is at fault", "heart.rate explains most", "✓ equally hard without those left out", "✓ equally hard",
		"Which of them one draws would matter by 4.5 points.", "its spread is at fault"} {
		require.Contains(t, page, want)
	}
	require.NotContains(t, page, "cases measured.")
	c.post("/assignments/"+id+"/set", "edition", edition).is(422)
	c.post("/assignments/"+id+"/set", "edition", edition, "uneven", "yes").is(303)
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "assignment:" + id, Limit: 1})
	require.NoError(t, err)
	require.Contains(t, notes[0].Detail, "before the draws were known to be equally hard of 1 case")
}

// keepDraws stores figures as if they had been measured of the assignment.
func (sc *school) keepDraws(a store.Assignment, d trial.Draws) {
	sc.t.Helper()
	_, _, of, err := sc.s.drawsOf(sc.t.Context(), a, d.Case)
	require.NoError(sc.t, err)
	figures, err := json.Marshal(d)
	require.NoError(sc.t, err)
	d.Table = trial.Table{Mean: d.Mean, Rows: []trial.Row{{Seed: cases.NewSeed(), D: d.Mean}, {Seed: cases.NewSeed(), D: d.Mean + 300}}}
	require.NoError(sc.t, sc.s.store.SetDraw(sc.t.Context(), store.Draw{Assignment: a.ID, CaseID: d.Case, MadeOf: of, Seeds: trial.EncodeTable(d.Table), Figures: figures}))
}

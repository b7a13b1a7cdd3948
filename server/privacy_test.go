package server

import (
	"bytes"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/cohort"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// leaves marks somebody for erasure as a coordinator does.
func (sc *school) leaves(login string) string {
	sc.t.Helper()
	id := sc.idOf(login)
	sc.as("coordinator").post("/leaving/"+id, "deed", "leave", "reason", "Asked for it.", "confirm", login).is(http.StatusSeeOther)
	return id
}

func TestWhoLeavesIsGoneAndComesBack(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	student := sc.as("student")
	v := student.begin("")
	v.do(look)
	id := sc.leaves("student")
	student.get("/api/v1/session").problem(http.StatusUnauthorized, "token") // at once, not after what is remembered has run out
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: testPassword}).problem(http.StatusUnauthorized, "login")
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "leaving " + id, Password: testPassword}).problem(http.StatusUnauthorized, "login")

	coordinator, instructor := sc.as("coordinator"), sc.as("instructor")
	for _, path := range []string{"/people", "/cohorts/" + sc.cohort, "/", "/log", "/api/v1/people", "/api/v1/attempts", "/api/v1/cohorts/" + sc.cohort + "/members", v.path("")} {
		for _, c := range []*client{coordinator, instructor} {
			require.NotRegexp(t, `Person student\b`, string(c.get(path).is(http.StatusOK).body), path)
		}
	}
	page := string(coordinator.get("/leaving").is(http.StatusOK).body)
	require.Contains(t, page, "Person student")
	require.Contains(t, page, "Erased on Fri 25 Dec 2026, 09:00")
	coordinator.get("/leaving?of=" + id).is(http.StatusNotFound)

	coordinator.post("/leaving/"+id, "deed", "back", "reason", " ").is(http.StatusUnprocessableEntity)
	coordinator.post("/leaving/"+id, "deed", "back", "reason", "A mistake.").is(http.StatusSeeOther)
	back := sc.as("student")
	require.Equal(t, 1, (&visit{client: back, id: v.id}).state().Last)
	require.Contains(t, string(instructor.get("/cohorts/"+sc.cohort).body), "Person student")
}

func TestErasureIsRefused(t *testing.T) {
	sc := newSchool(t)
	c := sc.as("coordinator")
	me, student := sc.idOf("coordinator"), sc.idOf("student")
	for name, row := range map[string]struct {
		id   string
		form []string
		say  string
	}{
		"oneself":          {me, []string{"deed", "leave", "reason", "x", "confirm", "coordinator"}, "Nobody erases themselves"},
		"no reason":        {student, []string{"deed", "leave", "reason", " ", "confirm", "student"}, "A reason of 1 to"},
		"another login":    {student, []string{"deed", "leave", "reason", "x", "confirm", "student2"}, "Type the login just as it stands above: student"},
		"a hold without":   {student, []string{"deed", "hold", "why", "  "}, "A reason of 1 to"},
		"too long a hold":  {student, []string{"deed", "hold", "why", strings.Repeat("x", store.MaxReason+1)}, "A reason of 1 to"},
		"something else":   {student, []string{"deed", "vanish"}, "One of leave, back, hold, lift"},
		"too long, leaves": {student, []string{"deed", "leave", "reason", strings.Repeat("x", store.MaxReason+1), "confirm", "student"}, "A reason of 1 to"},
	} {
		require.Contains(t, string(c.post("/leaving/"+row.id, row.form...).is(http.StatusUnprocessableEntity).body), row.say, name)
	}
	require.Contains(t, string(c.post("/leaving/"+student, "deed", "leave", "reason", "Kept words.", "confirm", "x").body), "Kept words.", "what was typed is kept")
	for _, id := range []string{"nobody", "", "../../people"} {
		require.Equal(t, http.StatusNotFound, c.post("/leaving/"+id, "deed", "leave", "reason", "x", "confirm", "x").code, id)
	}
	c.post("/leaving/"+student, "deed", "lift").is(http.StatusNotFound)
	c.post("/leaving/"+student, "deed", "back", "reason", "x").is(http.StatusNotFound)

	// The last coordinator: another one who cannot sign in yet is none to rely on.
	_, err := sc.s.AddPerson(t.Context(), "second", "Person second", auth.Coordinator, testPassword)
	require.NoError(t, err)
	second := sc.as("second")
	require.NoError(t, sc.s.store.SetPassword(t.Context(), sc.idOf("second"), ""))
	require.Contains(t, string(second.post("/leaving/"+me, "deed", "leave", "reason", "x", "confirm", "coordinator").is(http.StatusConflict).body), "Nobody else coordinates")

	for _, login := range []string{"student", "instructor"} {
		sc.as(login).get("/leaving").is(http.StatusForbidden)
		sc.as(login).post("/leaving/"+student, "deed", "leave", "reason", "x", "confirm", "student").is(http.StatusForbidden)
	}
	// A role in a token is no role: a token says nothing but which session it is,
	// and one that is signed by another is none.
	forger, err := auth.NewTokens("dewclaw", []auth.Key{{ID: "k", Secret: bytes.Repeat([]byte("x"), 32)}}, sc.clock.Now)
	require.NoError(t, err)
	text, err := forger.Issue(auth.ForProgram, "coordinator", sc.clock.Now().Add(time.Hour))
	require.NoError(t, err)
	for _, token := range []string{text, "eyJhbGciOiJub25lIn0.eyJyb2xlIjoiY29vcmRpbmF0b3IifQ."} {
		(&client{sc: sc, token: token}).get("/api/v1/log").problem(http.StatusUnauthorized, "token")
	}
}

func TestAHoldKeepsAndSaysWhy(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c, id := sc.as("coordinator"), sc.idOf("student")
	c.post("/leaving/"+id, "deed", "hold", "why", "An appeal is open.").is(http.StatusSeeOther)
	for _, path := range []string{"/leaving", "/leaving?of=" + id} {
		body := string(c.get(path).is(http.StatusOK).body)
		for _, text := range []string{"An appeal is open.", "Person coordinator", "Wed 25 Nov 2026, 09:00"} {
			require.Contains(t, body, text, path)
		}
	}
	said := string(c.post("/leaving/"+id, "deed", "leave", "reason", "x", "confirm", "student").is(http.StatusConflict).body)
	require.Contains(t, said, "cannot be erased: held since Wed 25 Nov 2026, 09:00 by Person coordinator. Reason: An appeal is open. Lift the hold first.")
	require.Contains(t, string(sc.as("student").get("/me").body), "put a hold on your data")
	require.NotContains(t, string(sc.as("student").get("/me").body), "An appeal")
	mine := unzipped(t, sc.as("student").get("/me/data").is(http.StatusOK))
	require.Contains(t, string(mine["log.json"]), didWords(deedHold))
	for name, f := range mine {
		require.NotContains(t, string(f), "An appeal", name)
	}
	c.post("/leaving/"+id, "deed", "lift").is(http.StatusSeeOther)
	sc.leaves("student")

	// Held while leaving: past the day, and still there to be put back.
	c.post("/leaving/"+id, "deed", "hold", "why", "A lawsuit.").is(http.StatusSeeOther)
	sc.clock.Pass(90 * 24 * time.Hour)
	require.NoError(t, sc.s.sweepPeople(t.Context()))
	c = sc.as("coordinator")
	require.Contains(t, string(c.get("/leaving").body), "A lawsuit.")
	c.post("/leaving/"+id, "deed", "back", "reason", "They stay.").is(http.StatusSeeOther)
	sc.as("student")
}

// handover is a visit with words of one's own in every place that takes some.
func handover(v *visit) {
	v.sc.t.Helper()
	v.do(look)
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	v.sc.clock.Pass(30 * time.Second)
	v.do(sentAct{Kind: "lift"})
	v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "96", Over: 15, Interpretation: "normal"})
	v.do(sentAct{Kind: "record", Field: "temperature", Value: rubric.NotExamined, Reason: "zqshortzq"})
	v.do(sentAct{Kind: "record", Field: "temperature", Value: rubric.NotExamined, Reason: "zqwordszq it would not stand still for as long as that takes, I think"})
	v.do(sentAct{Kind: "conclude", Urgency: "routine", Reason: "zqearlyzq no time", Report: &face.Handover{Situation: "zqsituationzq", Background: "zqbackgroundzq",
		Assessment: " ", Request: "zqrequestzq", Fields: []face.Given{{Field: "heart.rate", Value: "96"}, {Field: "heart.murmur", Site: "left apex", Value: "zqgivenzq"}}}})
}

// The words go, and a grade of what is left is the same to the byte, apart from
// the words that it cites; the stored one is that grade.
func TestWordsGoAndTheGradeStays(t *testing.T) {
	t.Parallel()
	for _, track := range []string{"veterinary", "technician"} {
		t.Run(track, func(t *testing.T) {
			sc := newSchool(t)
			sc.clock.Pass(time.Second)
			c := sc.as("student")
			var list casesAnswer
			c.get("/api/v1/cases").into(&list)
			var a face.Attempt
			c.send("POST", "/api/v1/attempts", attemptForm{Case: dogOf(sc, list), Track: track}).is(http.StatusCreated).into(&a)
			v := &visit{client: c, id: a.ID}
			handover(v)
			v.awaitGrade()
			ctx := t.Context()
			row, err := sc.s.store.Attempt(ctx, v.id)
			require.NoError(t, err)
			before, err := sc.s.store.Report(ctx, row.Transcript)
			require.NoError(t, err)
			require.Contains(t, string(before.Packed), "zqwordszq", "the grade cites the student")
			was := string(before.Packed)

			sc.leaves("student")
			sc.clock.Pass(store.LeaveFor)
			require.NoError(t, sc.s.sweepPeople(ctx))
			acts, err := sc.s.store.Acts(ctx, row.Transcript, 0)
			require.NoError(t, err)
			for _, act := range acts {
				require.NotRegexp(t, "zq[a-z]+zq", string(act.Act))
			}
			after, err := sc.s.store.Report(ctx, row.Transcript)
			require.NoError(t, err)
			require.NotRegexp(t, "zq[a-z]+zq", string(after.Packed))
			require.Equal(t, before.Total, after.Total)
			require.Equal(t, before.Domains, after.Domains)

			fresh := sc.regradeOf(row)
			require.Equal(t, string(fresh), string(after.Packed), "the stored report is the one of the acts as they are now")
			require.Equal(t, 1, sc.verified().Equal)
			require.Equal(t, withoutArgs(t, []byte(was)), withoutArgs(t, after.Packed), "and differs from before in cited words only")
		})
	}
}

// dogOf is a patient that is a dog.
func dogOf(sc *school, list casesAnswer) string {
	for _, p := range list.Cases {
		if p.Species == "dog" {
			return p.ID
		}
	}
	sc.t.Fatal("no dog")
	return ""
}

// regradeOf grades a visit from what is stored now.
func (sc *school) regradeOf(row store.Attempt) []byte {
	sc.t.Helper()
	ctx := sc.t.Context()
	key, err := rubric.DecodeKey(row.Key)
	require.NoError(sc.t, err)
	scheme, err := sc.s.scheme(ctx, row)
	require.NoError(sc.t, err)
	acts, err := sc.s.transcript(ctx, row)
	require.NoError(sc.t, err)
	packed, err := rubric.EncodeReport(rubric.Grade(scheme, key, acts))
	require.NoError(sc.t, err)
	return packed
}

// withoutArgs is a report with every cited text taken out.
func withoutArgs(t *testing.T, raw []byte) rubric.Report {
	rep, err := rubric.DecodeReport(raw)
	require.NoError(t, err)
	for d := range rep.Domains {
		for l := range rep.Domains[d].Lines {
			for i := range rep.Domains[d].Lines[l].Args {
				if n := rep.Domains[d].Lines[l].Args[i].Name; n == "gap" || n == "given" {
					rep.Domains[d].Lines[l].Args[i].Value = ""
				}
			}
		}
	}
	return rep
}

func TestTakenWordsKeepTheirShape(t *testing.T) {
	a := rubric.Act{Kind: rubric.Conclude, Reason: "why", Report: &rubric.Handover{Situation: "a", Background: " ", Request: "b",
		Fields: []rubric.Given{{Field: "x", Value: "96"}, {Field: "x", Value: "mine"}, {Field: "x", Value: " "}}}}
	words := takeWords(&a, func(g rubric.Given) bool { return g.Value == "96" })
	require.Equal(t, []string{"why", "a", "b", "mine"}, words)
	require.Equal(t, store.Erased, a.Reason)
	require.Equal(t, rubric.Handover{Situation: store.Erased, Background: " ", Request: store.Erased,
		Fields: []rubric.Given{{Field: "x", Value: "96"}, {Field: "x", Value: store.Erased}, {Field: "x", Value: " "}}}, *a.Report)
	require.Empty(t, takeWords(&a, func(g rubric.Given) bool { return g.Value == "96" }), "once")
	require.True(t, cites("the first words...", "the first words and more"))
	require.False(t, cites("other", "the first words"))
	for _, k := range cases.Builtin().Cases() { // the mark can never be read as a value
		for _, f := range cases.Builtin().Catalogue(k.Species).RubricFields() {
			_, err := f.Read(store.Erased)
			require.Error(t, err, f.ID)
		}
	}
}

// Items and figures of a cohort are the same before, while and after one of its
// students goes.
func TestErasureChangesNoFigure(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.playVisits(8)
	ctx := t.Context()
	figures := func() (out string, items map[string]int64, met map[string]store.Met) {
		list, err := sc.s.store.Attempts(ctx, store.Filter{State: store.StateGraded})
		require.NoError(t, err)
		require.Len(t, list, 8)
		var reports []rubric.Report
		items = map[string]int64{}
		for _, l := range list {
			stored, err := sc.s.store.Report(ctx, l.Transcript)
			require.NoError(t, err)
			rep, err := rubric.DecodeReport(stored.Packed)
			require.NoError(t, err)
			reports = append(reports, rep)
			for _, d := range rep.Domains {
				for _, line := range d.Lines {
					items[line.ID] += int64(line.Points)
				}
			}
		}
		met, err = sc.s.store.MetBefore(ctx, sc.cohort, "")
		require.NoError(t, err)
		weights, err := cohort.Weigh(reports, rubric.Weights{})
		require.NoError(t, err)
		return string(rawBody(t, weights)), items, met
	}
	was, items, met := figures()
	require.NotEmpty(t, met)
	seen := string(sc.as("instructor").get("/api/v1/attempts").body)
	id := sc.leaves("student")
	for _, when := range []string{"leaving", "erased"} {
		now, lines, cases := figures()
		require.Equal(t, was, now, when)
		require.Equal(t, items, lines, when)
		require.Equal(t, met, cases, when)
		require.Equal(t, strings.Count(seen, `"state":"graded"`), strings.Count(string(sc.as("instructor").get("/api/v1/attempts").body), `"state":"graded"`), when)
		sc.clock.Pass(store.LeaveFor)
		require.NoError(t, sc.s.sweepPeople(ctx))
	}
	p, err := sc.s.store.Person(ctx, id)
	require.NoError(t, err)
	require.False(t, p.Erased.IsZero())
	require.Empty(t, p.Name)
	for _, path := range []string{"/", "/people", "/log", "/leaving", "/cohorts/" + sc.cohort} {
		require.NotRegexp(t, `Person student\b`, string(sc.as("coordinator").get(path).is(http.StatusOK).body), path)
	}
	for _, l := range sc.s.live.byID {
		require.NotEqual(t, id, l.row.Person, "nothing of it is in memory")
	}
}

// Students of archived cohorts fall due, with a month's notice and 30 days more.
func TestRetention(t *testing.T) {
	sc := newSchool(t)
	ctx := t.Context()
	require.NoError(t, sc.s.store.ChangeCohort(ctx, sc.cohort, "archived", sc.clock.Now(), store.Note{Deed: deedArchive}))
	sc.clock.Pass(3 * 365 * 24 * time.Hour)
	require.NoError(t, sc.s.sweepPeople(ctx))
	c := sc.as("coordinator")
	require.Contains(t, string(c.get("/leaving").body), "Nobody falls due.", "no term is set")
	c.post("/settings", retentionSetting, "24").is(http.StatusSeeOther)
	c.post("/settings", retentionSetting, "25").is(http.StatusUnprocessableEntity)

	page := string(c.get("/leaving").is(http.StatusOK).body)
	require.Contains(t, page, "Person student2")
	require.NotContains(t, page, "Person instructor")
	due := sc.clock.Now().AddDate(0, 1, 0)
	require.Contains(t, page, sc.s.moment(due), "long past, but nobody is surprised")
	require.Contains(t, page, "within a month")
	require.NoError(t, sc.s.sweepPeople(ctx))
	sc.as("student")
	c.post("/leaving/"+sc.idOf("student2"), "deed", "hold", "why", "An appeal.").is(http.StatusSeeOther)

	sc.clock.Pass(due.Sub(sc.clock.Now()) - time.Second)
	require.NoError(t, sc.s.sweepPeople(ctx))
	sc.as("student")
	sc.clock.Pass(time.Second)
	require.NoError(t, sc.s.sweepPeople(ctx))
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: testPassword}).problem(http.StatusUnauthorized, "login")
	sc.as("student2")
	page = string(sc.as("coordinator").get("/leaving").body)
	require.Contains(t, page, "by the school&#39;s retention")
	notes, err := sc.s.store.Notes(ctx, store.NoteFilter{Deeds: []string{deedLeave}})
	require.NoError(t, err)
	require.Len(t, notes, 1)
	require.Empty(t, notes[0].By)
	require.Contains(t, notes[0].Reason, "2026-11-25")
	sc.clock.Pass(store.LeaveFor)
	require.NoError(t, sc.s.sweepPeople(ctx))
	require.Equal(t, []string{deedErase}, sc.deeds()[:1])
}

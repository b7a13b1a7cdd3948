package server

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// unzipped are the files of a ZIP, by name.
func unzipped(t testing.TB, r *reply) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	if len(r.body) == 0 { // of a HEAD
		return out
	}
	z, err := zip.NewReader(bytes.NewReader(r.body), int64(len(r.body)))
	require.NoError(t, err)
	for _, f := range z.File {
		in, err := f.Open()
		require.NoError(t, err)
		out[f.Name], err = io.ReadAll(in)
		require.NoError(t, err)
	}
	return out
}

// sitExam has a student begin a set sitting of one patient; released: at once.
func (sc *school) sitExam(login, caseID string) (store.Assignment, *visit) {
	sc.t.Helper()
	ctx := sc.t.Context()
	a, err := sc.s.store.SaveAssignment(ctx, store.Assignment{Cohort: sc.cohort, Title: "Zqsittingzq", Kind: string(exam.Sitting), Track: defaultTrack, Opens: sc.clock.Now(),
		Closes: sc.clock.Now().Add(2 * time.Hour), Minutes: 60, Tries: 1, Cue: "full", Places: "labelled", State: store.AssignmentSet, MadeBy: sc.idOf("instructor"),
		Created: sc.clock.Now(), Slots: [][]string{{caseID}}}, store.Note{By: sc.idOf("instructor"), Deed: deedMakeAssignment})
	require.NoError(sc.t, err)
	c := sc.as(login)
	session, err := sc.s.tokens.Read(auth.ForProgram, c.token)
	require.NoError(sc.t, err)
	me, err := sc.s.store.Person(ctx, sc.idOf(login))
	require.NoError(sc.t, err)
	turn, err := sc.s.beginTurn(ctx, facePerson(me), a.ID, session)
	require.NoError(sc.t, err)
	row, err := sc.s.nextPatient(ctx, facePerson(me), turn.row.ID, session)
	require.NoError(sc.t, err)
	return a, &visit{client: c, id: row.ID}
}

// awaitGrade hands a visit in and waits for the grade, whoever may read it.
func (v *visit) awaitGrade() {
	v.sc.t.Helper()
	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	require.Eventually(v.sc.t, func() bool {
		row, err := v.sc.s.store.Attempt(v.sc.t.Context(), v.id)
		return err == nil && row.State == store.StateGraded
	}, 10*time.Second, 5*time.Millisecond)
}

func TestOwnDataHoldsEverythingOfOneself(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	playPlanted(v)
	v.do(sentAct{Kind: "record", Field: "heart.rate", Value: rubric.NotExamined, Reason: "<script>alert(1)</script> & ran away"})
	v.finish()
	var plans face.Plans
	v.get(v.path("/plans")).is(http.StatusOK).into(&plans)
	v.send("POST", v.path("/plans"), planForm{plans.Offered[0].ID}).is(http.StatusOK)
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	require.NoError(t, sc.s.store.SaveLook(t.Context(), store.Look{Transcript: row.Transcript, Place: "stifle.effusion@right", Value: "stifle.effusion@right=none"}))
	sc.grants("student", true, false)
	other := sc.as("student2").begin(sc.plantedID())
	other.do(look)
	d := sc.as("student").drill("murmurs", "dog")
	d.take(d.item("", drillAnswerForm{Value: d.truth()}))
	d.take(d.deed("next"))

	files := unzipped(t, sc.as("student").get("/api/v1/me/data").is(http.StatusOK))
	for _, name := range []string{"person.json", "cohorts.json", "sittings.json", "reviews.json", "sounds.json", "drills.json", "plans.json", "sessions.json", "log.json", "my-data.html",
		"visits/" + v.id + "/visit.json", "visits/" + v.id + "/transcript.jsonl", "visits/" + v.id + "/report.json", "visits/" + v.id + "/again.json"} {
		require.Contains(t, files, name)
		if strings.HasSuffix(name, ".json") {
			require.True(t, json.Valid(files[name]), name)
		}
	}
	for name := range files {
		require.NotContains(t, name, other.id)
		require.NotContains(t, string(files[name]), "Person student2", name)
	}
	require.Contains(t, string(files["person.json"]), "Person student")
	require.Contains(t, string(files["cohorts.json"]), "Second year")
	require.Contains(t, string(files["log.json"]), "handed all own data")
	require.Contains(t, string(files["plans.json"]), plans.Offered[0].Sentence)
	require.Contains(t, string(files["visits/"+v.id+"/again.json"]), "stifle.effusion@right=none")
	require.Equal(t, 1, strings.Count(string(files["drills.json"]), `"actual"`), "an item that waits tells nothing")
	require.Contains(t, string(files["report.json"])+string(files["visits/"+v.id+"/report.json"]), markTeaching)

	// The transcript is read as the command line reads it, and is what was done.
	read, err := rubric.ReadTranscript(bytes.NewReader(files["visits/"+v.id+"/transcript.jsonl"]))
	require.NoError(t, err)
	done, err := sc.s.transcript(t.Context(), row)
	require.NoError(t, err)
	require.Len(t, read, len(done))
	for i := range read {
		require.Equal(t, done[i].Act, read[i].Act)
		require.Equal(t, rubric.Outcome{}, read[i].Outcome, "no outcome: it holds what is hidden")
	}

	page := string(files["my-data.html"])
	require.NotContains(t, page, "<script>")
	require.Contains(t, page, "&lt;script&gt;alert(1)&lt;/script&gt; &amp; ran away")
	require.NotRegexp(t, `(?i)(src|href)\s*=|https?://|@import|url\(`, page, "the page needs nothing else")
	require.Contains(t, page, "prefers-color-scheme: dark")
	require.Contains(t, page, "@media print")
	require.Contains(t, page, "Heard: ", "a released visit tells the words of what was heard")
	require.True(t, strings.HasSuffix(strings.TrimSpace(page), "</html>"))

	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{Deeds: []string{deedOwnData}})
	require.NoError(t, err)
	require.Len(t, notes, 1)
	require.Equal(t, "person:"+sc.idOf("student"), notes[0].About)
}

// Of a sitting that is not released there is what the student did, and nothing of
// what was there, in no file.
func TestOwnDataOfASittingWaitsForItsRelease(t *testing.T) {
	sc := planted(t)
	a, v := sc.sitExam("student", markCase)
	v.do(look)
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	v.do(sentAct{Kind: "record", Field: "heart.murmur", Site: "left apex", Value: "none"})
	take := func() map[string][]byte { return unzipped(t, v.get("/me/data").is(http.StatusOK)) }
	secrets, rates := append(plantedMarks(), sc.innards(v.id)...), sc.rates(v.id)
	hidden := func(state string) {
		t.Helper()
		lookFor(t, state, v.get("/me/data").is(http.StatusOK), secrets, nil)
		for name, f := range take() {
			if strings.HasPrefix(name, "visits/") {
				require.NotRegexp(t, rates, string(f), "%s: %s", state, name)
			}
		}
	}
	hidden("in the room")
	v.awaitGrade()
	require.NoError(t, sc.s.store.Record(t.Context(), store.Note{By: sc.idOf("instructor"), Deed: "override", Detail: "findings/zqlinezq to 500", Cohort: sc.cohort,
		About: "transcript:" + itoa(sc.transcriptOf(v.id))}))
	hidden("handed in")
	files := take()
	require.NotContains(t, files, "visits/"+v.id+"/report.json")
	require.Contains(t, string(files["visits/"+v.id+"/visit.json"]), "Not released yet")
	require.NotContains(t, string(files["visits/"+v.id+"/visit.json"]), "percepts")
	require.Contains(t, string(files["visits/"+v.id+"/transcript.jsonl"]), `"heart.auscultate"`)
	require.NotContains(t, string(files["log.json"]), "zqlinezq", "what was done to the marks waits too")
	require.Contains(t, string(files["my-data.html"]), "heart.auscultate")

	require.NoError(t, sc.s.store.ChangeAssignment(t.Context(), a.ID, map[string]any{"released": sc.clock.Now()}, store.Note{Deed: "release"}))
	sc.s.turns.forget()
	files = take()
	require.Contains(t, string(files["visits/"+v.id+"/report.json"]), markTeaching)
	require.Contains(t, string(files["log.json"]), "zqlinezq")
	require.Contains(t, string(files["sittings.json"]), "Zqsittingzq")
}

func (sc *school) transcriptOf(attempt string) int {
	row, err := sc.s.store.Attempt(sc.t.Context(), attempt)
	require.NoError(sc.t, err)
	return int(row.Transcript)
}

func itoa(n int) string { raw, _ := json.Marshal(n); return string(raw) }

// There is no way to name whose data are asked for.
func TestOwnDataIsNobodyElses(t *testing.T) {
	sc := newSchool(t)
	theirs := sc.as("student2")
	for _, path := range []string{"/me/data?of=" + sc.idOf("student"), "/api/v1/me/data?person=" + sc.idOf("student"), "/api/v1/me/data?id=" + sc.idOf("student")} {
		var p ownPerson
		require.NoError(t, json.Unmarshal(unzipped(t, theirs.get(path).is(http.StatusOK))["person.json"], &p))
		require.Equal(t, sc.idOf("student2"), p.ID)
	}
	for _, path := range []string{"/me/" + sc.idOf("student"), "/api/v1/people/" + sc.idOf("student") + "/data", "/api/v1/me/" + sc.idOf("student") + "/data"} {
		theirs.get(path).is(http.StatusNotFound)
	}
	sc.anyone().get("/api/v1/me/data").problem(http.StatusUnauthorized, "sign-in")

	// Two at a time: the next is told to wait.
	require.True(t, sc.s.handing.take())
	require.True(t, sc.s.handing.take())
	theirs.get("/api/v1/me/data").problem(http.StatusServiceUnavailable, "busy")
	sc.s.handing.done()
	theirs.get("/api/v1/me/data").is(http.StatusOK)
	require.Empty(t, theirs.send("HEAD", "/me/data", nil).is(http.StatusOK).body)
}

// firstBytes is an answer that notes how many visits were in memory as its bytes
// came, and how many came at once.
type firstBytes struct {
	http.ResponseWriter
	sc      *school
	writes  int
	largest int
	live    int
}

func (w *firstBytes) Write(p []byte) (int, error) {
	w.writes++
	w.largest = max(w.largest, len(p))
	w.sc.s.live.mu.Lock()
	w.live = max(w.live, len(w.sc.s.live.byID))
	w.sc.s.live.mu.Unlock()
	return w.ResponseWriter.Write(p)
}

// Many visits need no more room than one: each is written as it is read and
// forgotten again.
func TestOwnDataIsWrittenAsItIsRead(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.playVisits(12)
	sc.s.live.forgetPerson(sc.idOf("student"))
	c := sc.as("student")
	r, w := newRequest(t, c, "/api/v1/me/data")
	counted := &firstBytes{ResponseWriter: w, sc: sc}
	sc.s.Handler().ServeHTTP(counted, r)
	require.Equal(t, http.StatusOK, w.Code)
	require.Greater(t, counted.writes, 12)
	require.LessOrEqual(t, counted.largest, 64<<10)
	require.LessOrEqual(t, counted.live, 1)
	require.Len(t, visitsIn(unzipped(t, &reply{t, w.Code, w.Header(), w.Body.Bytes()})), 12)
}

func visitsIn(files map[string][]byte) (out []face.Visit) {
	for name := range files {
		if strings.HasSuffix(name, "/visit.json") {
			out = append(out, face.Visit{ID: name})
		}
	}
	return out
}

func TestMePageSaysWhatIsKept(t *testing.T) {
	sc := newSchool(t)
	sc.as("student").begin("").do(look)
	body := string(sc.as("student").get("/me").is(http.StatusOK).body)
	for _, text := range []string{"What is kept of you", "Person student", "1 visit, 1 act", "/me/data", "The school has set no term"} {
		require.Contains(t, body, text)
	}
	require.Contains(t, body, `<a href="/me"`, "the name leads there from everywhere")
	require.NoError(t, sc.s.store.ChangeSetting(t.Context(), retentionSetting, "24", store.Note{Deed: deedSetting}))
	require.Contains(t, string(sc.as("student").get("/me").body), "24 months")
}

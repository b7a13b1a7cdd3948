package server

import (
	"bytes"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// idOf is a person's id.
func (sc *school) idOf(login string) string {
	p, err := sc.s.store.PersonByLogin(sc.t.Context(), login)
	require.NoError(sc.t, err)
	return p.ID
}

// grants gives somebody other ways of hearing, as the instructor.
func (sc *school) grants(login string, traced, described bool) face.Account {
	var a face.Account
	sc.as("instructor").send("POST", "/api/v1/people/"+sc.idOf(login)+"/alternatives",
		grantForm{Traced: traced, Described: described, Reason: "Decided by the board."}).is(http.StatusOK).into(&a)
	return a
}

func TestWhoMayGrantWhat(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	path := "/api/v1/people/" + sc.idOf("student") + "/alternatives"
	form := grantForm{Traced: true, Reason: "Decided by the board."}
	sc.anyone().send("POST", path, form).problem(http.StatusUnauthorized, "sign-in")
	sc.as("student").send("POST", path, form).problem(http.StatusForbidden, "forbidden")
	sc.as("student2").send("POST", path, form).problem(http.StatusForbidden, "forbidden")
	p := sc.as("instructor").send("POST", "/api/v1/people/"+sc.idOf("instructor")+"/alternatives", form).problem(http.StatusUnprocessableEntity, "invalid")
	require.Contains(t, p.Detail, "Nobody grants this to themselves")
	for reason, pointer := range map[string]string{"": "/reason", "   ": "/reason", strings.Repeat("x", store.MaxReason+1): "/reason"} {
		p := sc.as("coordinator").send("POST", path, grantForm{Traced: true, Reason: reason}).problem(http.StatusUnprocessableEntity, "invalid")
		require.Equal(t, pointer, p.Errors[0].Pointer)
	}
	sc.as("coordinator").send("POST", "/api/v1/people/nobody/alternatives", form).problem(http.StatusNotFound, "missing")
	sc.as("coordinator").send("POST", path, `{"traced":true,"described":false,"reason":"x","loud":true}`).problem(http.StatusBadRequest, "unreadable")
	a := sc.grants("student", true, false)
	require.True(t, a.Traced && !a.Described)
	require.Equal(t, "student", a.Login)

	var list peopleAnswer
	sc.as("instructor").get("/api/v1/people").is(http.StatusOK).into(&list)
	for _, row := range list.People {
		require.Equal(t, row.Login == "student", row.Traced, row.Login)
		require.Nil(t, row.SoundCheck)
	}
	log, err := sc.s.store.Grants(t.Context(), sc.idOf("student"))
	require.NoError(t, err)
	require.Len(t, log, 1, "what was refused is no deed")
	require.Equal(t, sc.idOf("instructor"), log[0].By)
	require.Equal(t, "Decided by the board.", log[0].Reason)
}

// heardWords are the words of sounds that an attempt shows.
func heardWords(a face.Attempt) []string {
	var out []string
	for _, act := range a.Acts {
		for _, p := range act.Percepts {
			if p.Sense == senseSound && p.Words != "" {
				out = append(out, p.Words)
			}
		}
	}
	return out
}

// What was granted as a visit began holds for that visit, whatever is granted
// and taken afterwards.
func TestAlternativesAreFrozenWithTheVisit(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	listen := sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"}
	plain := sc.as("student").begin(sc.s.opaque("tansy"))
	require.Empty(t, plain.do(listen).Act.Percepts[0].Words)
	sc.grants("student", true, true)
	granted := sc.as("student").begin(sc.s.opaque("tansy"))
	require.NotEmpty(t, granted.do(listen).Act.Percepts[0].Words, "heard as words at once")
	sc.grants("student", true, false)
	traced := sc.as("student").begin(sc.s.opaque("tansy"))
	require.Empty(t, traced.do(listen).Act.Percepts[0].Words)
	sc.grants("student", false, false)

	for range 2 {
		for _, row := range []struct {
			v                 *visit
			traced, described bool
		}{{plain, false, false}, {granted, true, true}, {traced, true, false}} {
			a := row.v.state()
			require.Equal(t, [2]bool{row.traced, row.described}, [2]bool{a.Traced, a.Described})
			require.Equal(t, row.described, len(heardWords(a)) > 0)
			raw := string(row.v.get(row.v.path("")).body)
			require.Equal(t, row.traced, strings.Contains(raw, `"traced":true`), "where it was not granted it is not named")
		}
		sc.restart() // from the store as from memory
		for _, v := range []*visit{plain, granted, traced} {
			v.client = sc.as("student")
		}
	}
	// The answer to an act that is sent again, and the newer acts of a conflict, tell no more.
	require.Empty(t, plain.send("POST", plain.path("/acts"), actForm{After: 0, Retry: retryFor(1), Act: listen}).is(http.StatusCreated).words())
	conflict := plain.send("POST", plain.path("/acts"), actForm{After: 0, Retry: "another-retry", Act: listen}).is(http.StatusConflict)
	require.NotContains(t, string(conflict.body), `"words"`)
}

// words are those of the act that was answered.
func (r *reply) words() string {
	var a face.Answer
	r.into(&a)
	return a.Act.Percepts[0].Words
}

// A murmur of 4 that was charted 1, by who hears and by who sees a trace: the
// grade's part of the mark is lost by the one only, and no reason claims that a
// loudness was marked by which the other was not judged.
func TestTheDebriefSaysHowSoundsWereGiven(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	wrong := func(p *cases.Patient, k rubric.Key) []rubric.Act {
		acts := robot.Ideal(p, k)
		for i := range acts {
			if a := &acts[i]; a.Kind == rubric.Record && a.Field == "heart.murmur" && a.Value != "none" && a.Value != "" {
				a.Value = map[bool]string{true: "6", false: "1"}[a.Value < "3"]
			}
		}
		return acts
	}
	marks := map[bool]face.Mark{}
	for _, traced := range []bool{false, true} {
		sc.grants("student", traced, false)
		require.NoError(t, sc.s.PlayVisit(t.Context(), sc.idOf("student"), murmurer(t, sc.s), "veterinary", wrong))
		var list visitsAnswer
		require.Eventually(t, func() bool {
			sc.as("student").get("/api/v1/attempts").into(&list)
			return list.Attempts[0].State == "graded"
		}, 10*time.Second, 5*time.Millisecond)
		id := list.Attempts[0].ID
		require.Equal(t, traced, list.Attempts[0].Traced)
		var r face.Report
		sc.as("student").get("/api/v1/attempts/" + id + "/report").is(http.StatusOK).into(&r)
		require.Equal(t, traced, r.Traced)
		require.Equal(t, traced, r.Sounds != "")
		marks[traced] = murmurMark(t, r)

		page := string(sc.browser("instructor").get("/visits/" + id + "/debrief").is(http.StatusOK).body)
		const said = "Sounds were also given as a trace. How loud something was is not marked; whether it was there, and where and when, is."
		require.Equal(t, traced, strings.Contains(page, said))
		require.Equal(t, traced, strings.Contains(string(sc.browser("instructor").get("/").body), "sounds also as a trace"))
		require.Contains(t, page, "Heard: ", "what was heard is told to everybody once the visit is over")
	}
	heard, seen := marks[false], marks[true]
	require.Equal(t, heard.Max, seen.Max)
	require.Less(t, heard.Points, seen.Points)
	require.Equal(t, seen.Max, seen.Points)
	require.Contains(t, heard.Reason, "grade")
	require.Contains(t, seen.Reason, "How loud it was is not marked, for sounds were also given as a trace.")
	require.NotContains(t, seen.Reason, "grade is part")
}

func murmurMark(t *testing.T, r face.Report) face.Mark {
	for _, d := range r.Domains {
		for _, m := range d.Lines {
			if strings.HasPrefix(m.ID, "findings/heart.murmur") {
				return m
			}
		}
	}
	t.Fatal("no mark for the murmur")
	return face.Mark{}
}

// murmurer is a practice case whose murmur is always the same and no fragile one's.
func murmurer(t *testing.T, s *Server) string {
	for _, k := range s.library.Cases() {
		for _, tr := range k.Truth {
			if k.Use == practice && k.Fragile == "" && tr.Field == "heart.murmur" && len(tr.Values) == 1 && tr.Values[0] != "none" {
				return k.ID
			}
		}
	}
	t.Fatal("no case with a murmur")
	return ""
}

// Once a visit is over its words of sounds are told, to nobody but who may read it.
func TestWordsOfSoundsAreToldAfterwards(t *testing.T) {
	sc := newSchool(t)
	v := sc.heardOnce("student")
	require.Empty(t, heardWords(v.state()))
	v.finish()
	words := heardWords(v.state())
	require.NotEmpty(t, words)
	page := sc.browser("student").get("/visits/" + v.onward().id + "/debrief").is(http.StatusOK).body
	require.Contains(t, string(page), "Heard: "+words[0])
	sc.as("student2").get(v.path("")).problem(http.StatusNotFound, "missing")
	require.NotContains(t, string(v.get("/api/v1/attempts").body), words[0])
	require.False(t, bytes.Contains(page, []byte("<script>")))
}

// The people page shows who has what, changes it with a reason, keeps what was
// typed where it is refused, and lists the deeds.
func TestPeoplePageGrants(t *testing.T) {
	sc := newSchool(t)
	of := sc.idOf("student")
	instructor := sc.browser("instructor")
	list := string(instructor.get("/people").is(http.StatusOK).body)
	require.Contains(t, list, `href="/people?of=`+of+`#sounds"`)
	require.NotContains(t, list, `href="/people?of=`+sc.idOf("instructor"), "not to oneself")
	require.NotContains(t, list, `id="sounds"`)
	instructor.get("/people?of=nobody").is(http.StatusNotFound)
	form := string(instructor.get("/people?of=" + of).is(http.StatusOK).body)
	require.Contains(t, form, "How Person student is given sounds")
	require.NotContains(t, form, "What was done before")

	refused := string(instructor.post("/people/"+of+"/alternatives", "traced", "yes", "reason", " ").is(http.StatusUnprocessableEntity).body)
	require.Contains(t, refused, "Say by whose decision")
	require.Contains(t, refused, `name="traced" value="yes" checked`)
	instructor.post("/people/nobody/alternatives", "traced", "yes", "reason", "x").is(http.StatusNotFound)
	sc.browser("student").post("/people/"+of+"/alternatives", "traced", "yes", "reason", "me").is(http.StatusForbidden)

	instructor.post("/people/"+of+"/alternatives", "traced", "yes", "described", "yes", "reason", `The <board> & "me"`).is(http.StatusSeeOther)
	page := string(instructor.get("/people?of=" + of).is(http.StatusOK).body)
	require.Contains(t, page, "also as a trace and in words")
	require.Contains(t, page, "The &lt;board&gt; &amp; &#34;me&#34;")
	require.Contains(t, page, "<td>Person instructor</td><td>heard only</td><td>as a trace and in words</td>")
	p, err := sc.s.store.Person(t.Context(), of)
	require.NoError(t, err)
	require.Equal(t, store.Alternatives{Traced: true, Described: true}, p.Alternatives)
}

// Marked anew, a visit is still not marked by loudness, and is no other patient's.
func TestAlternativesHoldWhereMarksAreMadeAnew(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.grants("student", false, true)
	require.NoError(t, sc.s.PlayVisit(t.Context(), sc.idOf("student"), murmurer(t, sc.s), "veterinary", robot.Ideal))
	a := sc.graded(1)[0]
	require.True(t, a.Alternatives.Described)
	scheme, err := sc.s.scheme(t.Context(), a)
	require.NoError(t, err)
	key, _, err := sc.s.anew(t.Context(), a, rekey{to: &scheme})
	require.NoError(t, err)
	for _, f := range key.Fields {
		if f.ID == "heart.murmur" {
			require.GreaterOrEqual(t, f.Tolerance, len(f.Of))
		}
	}
}

// An instructor sees and changes how sounds are given to the own students only:
// it may tell of somebody's health.
func TestSoundsOfOthersStudentsAreAbsent(t *testing.T) {
	sc := newSchool(t)
	_, err := sc.s.AddPerson(t.Context(), "stranger", "Person stranger", auth.Instructor, testPassword)
	require.NoError(t, err)
	sc.grants("student", true, true)
	of := sc.idOf("student")
	stranger := sc.as("stranger")
	var list peopleAnswer
	stranger.get("/api/v1/people").is(http.StatusOK).into(&list)
	for _, row := range list.People {
		require.False(t, row.Traced || row.Described || row.SoundCheck != nil, row.Login)
	}
	stranger.send("POST", "/api/v1/people/"+of+"/alternatives", grantForm{Reason: "x"}).problem(http.StatusNotFound, "missing")
	page := sc.browser("stranger")
	page.get("/people?of=" + of).is(http.StatusNotFound)
	page.post("/people/"+of+"/alternatives", "reason", "x").is(http.StatusNotFound)
	require.NotContains(t, string(page.get("/people").body), "as a trace")
	p, err := sc.s.store.Person(t.Context(), of)
	require.NoError(t, err)
	require.Equal(t, store.Alternatives{Traced: true, Described: true}, p.Alternatives)
}

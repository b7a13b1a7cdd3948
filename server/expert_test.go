package server

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// scriptsOf are the examinations with every patient of the table.
func scriptsOf(t testing.TB, sc *school) []*script {
	var out []*script
	for species, ids := range expertPatients {
		for _, id := range ids {
			require.NotNil(t, sc.s.library.Case(id), id)
			require.Equal(t, species, sc.s.library.Case(id).Species, id)
			k := sc.s.library.Case(id)
			x, err := sc.s.scriptFor(k)
			require.NoError(t, err, id)
			out = append(out, x)
		}
	}
	return out
}

// What is shown as an example has to earn what it teaches: nothing is lost in
// order, handling and completeness, and every species has its patients.
func TestWhatAnExpertDoesEarnsTheMarks(t *testing.T) {
	sc := newSchool(t)
	for _, species := range sc.s.library.Species() {
		require.NotEmpty(t, expertPatients[species], species)
	}
	for _, x := range scriptsOf(t, sc) {
		require.True(t, x.report.Pass, x.of)
		require.Empty(t, x.report.Critical, x.of)
		for _, d := range x.report.Domains {
			require.GreaterOrEqual(t, d.Points*100, d.Max*95, "%s: %s", x.of, d.ID)
		}
		for _, e := range x.entries {
			require.Empty(t, e.Outcome.Events, "%s: act %d brings harm", x.of, e.Act.N)
		}
	}
}

// Every step of every expert has a reason of one or two sentences, something that
// it brings, and its acts once and in order.
func TestEveryStepOfAnExpertHasItsReason(t *testing.T) {
	sc := newSchool(t)
	sources := 0
	for _, x := range scriptsOf(t, sc) {
		cat, err := sc.s.catalogue(x.face.Species)
		require.NoError(t, err)
		e := sc.s.expert(x, cat)
		last, asks := 0, 0
		for _, m := range e.Moments {
			where := x.of + ": " + m.Title
			require.NotEmpty(t, m.Title, where)
			require.NotEmpty(t, m.Why, where)
			require.LessOrEqual(t, len(m.Why), 330, "%s is a wall of text: %s", where, m.Why)
			require.NotEmpty(t, m.Beats, where)
			require.False(t, strings.Contains(m.Why, "  ") || strings.Contains(m.Why, ".."), "%s: %s", where, m.Why)
			for _, b := range m.Beats {
				require.Greater(t, b.Act, last, where)
				last = b.Act
				require.LessOrEqual(t, b.Lead, readAtOnce)
				require.True(t, m.Kind != "examine" || len(b.Words) > 0 || b.Heard || b.Seen, "%s, %s brings nothing", where, b.Label)
			}
			if m.Asks {
				asks++
			}
			if m.Source != "" {
				sources++
			}
		}
		require.True(t, asks >= 3 && asks <= mostAsks, "%s asks %d times", x.of, asks)
		require.Equal(t, "conclude", e.Moments[len(e.Moments)-1].Kind)
		body, err := json.Marshal(e)
		require.NoError(t, err)
		require.NotContains(t, string(body), `"shown"`)
	}
	require.Greater(t, sources, 30, "reasons come from the rubric's rules, with their sources")
}

// A guess is held to the rules: what the expert does, what would do as well, and
// what has to wait with the reason of the rule that says so.
func TestGuessesAtTheNextAct(t *testing.T) {
	sc := newSchool(t)
	x, err := sc.s.scriptFor(sc.s.library.Case("dibs"))
	require.NoError(t, err)
	first := slices.IndexFunc(x.scenes, func(s scene) bool { return s.asks })
	require.Equal(t, "distance.observe", item(x.head(first)))
	chest := slices.IndexFunc(x.scenes, func(s scene) bool { return s.asks && x.entries[s.from].Act.Step == "head.inspect" })
	require.Positive(t, chest)
	for _, row := range []struct {
		at            int
		do, want, why string
	}{
		{first, "distance.observe", guessSame, "That is what the expert does."},
		{first, "breathing.count", guessFits, "would do as well"},
		{first, "heart.auscultate", guessClashes, "only undisturbed before the first touch"}, // look-first weighs most
		{first, "handle:settle", guessDone, "was done before"},
		{first, "conclude", guessClashes, "concludes from half of it"},
		{chest, "distance.observe", guessDone, "was done before"},
		{chest, "heart.auscultate", guessFits, "would do as well"}, // the chest may come first on an accepted way
		{chest, "rectum.palpate", guessClashes, ""},
	} {
		got := x.answerOf(row.at, row.do, x.cat.Words())
		require.Equal(t, row.want, got.Verdict, "%s: %s", row.do, got.Words)
		require.Contains(t, got.Words, row.why)
	}
	for i, s := range x.scenes {
		if s.asks {
			require.Contains(t, x.choices(i), item(x.head(i)))
			require.Len(t, x.choices(i), mostChoices)
		}
	}
}

func TestAnExpertThroughTheAPI(t *testing.T) {
	sc := newSchool(t)
	c := sc.as("student")
	var all expertsAnswer
	c.get("/api/v1/experts").is(http.StatusOK).into(&all)
	require.Len(t, all.Experts, len(sc.s.library.Species()))
	var e face.Expert
	c.get("/api/v1/experts/dog").is(http.StatusOK).into(&e)
	require.Equal(t, "Dibs", e.Name)
	heard := 0
	for _, m := range e.Moments {
		for _, b := range m.Beats {
			if b.Heard && heard < 2 {
				heard++
				require.Equal(t, mediaWAV, c.get(actPath(b.Act)+"/sound").is(http.StatusOK).header.Get("Content-Type"))
			}
			if m.Kind == "ask" {
				c.get(actPath(b.Act)+"/sound").problem(http.StatusNotFound, "missing")
				c.get(actPath(b.Act)+"/picture").problem(http.StatusNotFound, "missing")
			}
		}
	}
	require.Equal(t, 2, heard)
	at := asking(t, e)
	var got face.ExpertAnswer
	c.get("/api/v1/experts/dog/next?at=" + at + "&text=weigh").is(http.StatusOK).into(&got)
	require.Equal(t, guessClashes, got.Verdict, got.Words)
	for _, bad := range []string{"&do=nothing", "", "&text=HR+24x4", "&text=qwertz"} {
		c.get("/api/v1/experts/dog/next?at="+at+bad).problem(http.StatusUnprocessableEntity, "invalid")
	}
	for _, absent := range []string{"/api/v1/experts/unicorn", "/api/v1/experts/dog/next?at=1&do=ask", "/api/v1/experts/dog/next?at=9999&do=ask",
		"/api/v1/experts/dog/next?at=x", "/api/v1/experts/dog/acts/0/sound", "/api/v1/experts/dog/acts/9999/sound", "/api/v1/experts/dog/acts/x/picture"} {
		c.get(absent).problem(http.StatusNotFound, "missing")
	}
	c.send("POST", "/api/v1/experts/dog/watched", watchedForm{}).is(http.StatusNoContent)
	c.get("/api/v1/experts").into(&all)
	require.Equal(t, watchedBegun, all.Experts[slices.IndexFunc(all.Experts, func(l face.ExpertLine) bool { return l.Species == "dog" })].Watched)
}

func actPath(n int) string { return "/api/v1/experts/dog/acts/" + itoa(n) }

// asking is the number of the first scene that asks.
func asking(t testing.TB, e face.Expert) string {
	i := slices.IndexFunc(e.Moments, func(m face.ExpertScene) bool { return m.Asks })
	require.GreaterOrEqual(t, i, 0)
	return itoa(e.Moments[i].N)
}

// The page is a list without scripts: every step with its links, and a guess is
// answered by a page of its own.
func TestAnExpertWithoutScripts(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("student")
	require.Contains(t, string(c.get("/").is(http.StatusOK).body), `href="/experts/dog"`, "offered before the first dog")
	v := c.begin(sc.s.opaque("nettle"))
	room := string(c.get("/visits/" + v.id).is(http.StatusOK).body)
	require.Contains(t, room, `href="/experts/dog"`, "and at the start of the visit")
	page := string(c.get("/experts/dog").is(http.StatusOK).body)
	x, err := sc.s.scriptFor(sc.s.library.Case("dibs"))
	require.NoError(t, err)
	require.Equal(t, len(x.scenes), strings.Count(page, "data-scene="))
	require.Contains(t, page, `<audio controls preload="none" src="/api/v1/experts/dog/acts/`)
	i := slices.IndexFunc(x.scenes, func(s scene) bool { return s.asks })
	answer := string(c.get("/experts/dog/next?at=" + itoa(i+1) + "&do=breathing.count").is(http.StatusOK).body)
	require.Contains(t, answer, "would do as well")
	require.Contains(t, answer, `href="/experts/dog#m`+itoa(i+1)+`"`)
	c.get("/experts/unicorn").is(http.StatusNotFound)
	c.form("/experts/dog", "").is(http.StatusSeeOther)
	rows, err := sc.s.store.WatchedBy(t.Context(), sc.personID("student"))
	require.NoError(t, err)
	require.Len(t, rows, 1)
	require.False(t, rows[0].Done.IsZero())
	require.NotContains(t, string(c.get("/").body), `href="/experts/dog"`, "not offered again")
	require.NotContains(t, string(c.get("/visits/"+v.id).body), `href="/experts/dog"`)
	var own []ownWatched
	require.NoError(t, json.Unmarshal(unzipped(t, c.get("/me/data").is(http.StatusOK))["watched.json"], &own))
	require.Equal(t, "Dibs", own[0].Patient)
}

// A patient that is kept for a sitting of one's own is not shown: another takes its
// place. In a sitting that runs nobody is watched, and nothing is offered.
func TestExpertsAndSittings(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat(func(a *store.Assignment) { a.Slots = [][]string{{"dibs"}, {"wicket"}} })
	var e face.Expert
	c := sc.as("student")
	c.get("/api/v1/experts/dog").is(http.StatusOK).into(&e)
	require.Equal(t, "Tansy", e.Name)
	heard := e.Moments[slices.IndexFunc(e.Moments, func(m face.ExpertScene) bool { return m.Beats[0].Heard })].Beats[0].Act
	require.Contains(t, string(sc.browser("student").get("/experts/dog").body), actPath(heard)+"/sound?of="+e.Patient.ID)
	c.get(actPath(heard) + "/sound?of=" + e.Patient.ID).is(http.StatusOK)
	c.get(actPath(heard)+"/sound?of="+sc.s.opaque("dibs")).problem(http.StatusNotFound, "missing") // of a page that was opened before
	sc.as("coordinator").get("/api/v1/experts/dog").is(http.StatusOK).into(&e)
	require.Equal(t, "Dibs", e.Name)
	_, v := sc.begun(sc.at("student"), a)
	for _, path := range []string{"", "/dog", "/dog/next?at=6&do=ask", "/dog/acts/8/picture"} {
		c.get("/api/v1/experts"+path).problem(http.StatusConflict, "not-now")
	}
	require.NotContains(t, string(sc.browser("student").get("/").is(http.StatusOK).body), `href="/experts/`)
	require.NotContains(t, string(sc.browser("student").get("/visits/"+v.id).body), `/experts/`)
}

// A visit is marked the same, to the byte, whether or not an expert was watched.
func TestWatchingChangesNoMark(t *testing.T) {
	sc := newSchool(t)
	x, err := sc.s.scriptFor(sc.s.library.Case("tansy"))
	require.NoError(t, err)
	var marks [][]byte
	for range 2 {
		raw, err := json.Marshal(rubric.Grade(x.scheme, x.key, x.entries))
		require.NoError(t, err)
		marks = append(marks, raw)
		sc.as("student").send("POST", "/api/v1/experts/dog/watched", watchedForm{Whole: true}).is(http.StatusNoContent)
	}
	require.Equal(t, marks[0], marks[1])
}

// What was kept is bounded: the patient that nobody asked for longest is worked out anew.
func TestScriptsAreBounded(t *testing.T) {
	t.Parallel()
	var m scripts
	worked := map[string]int{}
	get := func(key string) {
		_, err := m.get(key, func() (*script, error) { worked[key]++; return &script{of: key}, nil })
		require.NoError(t, err)
	}
	for range 2 {
		for i := range mostScripts {
			get(itoa(i))
		}
	}
	require.Equal(t, 1, worked["0"])
	get("0")
	get("one more")
	require.Len(t, m.kept, mostScripts)
	get("0")
	require.Equal(t, 1, worked["0"], "used last")
	get("1")
	require.Equal(t, 2, worked["1"], "used longest ago")
}

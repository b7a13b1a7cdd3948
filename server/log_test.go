package server

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

func newRequest(t *testing.T, c *client, path string) (*http.Request, *httptest.ResponseRecorder) {
	t.Helper()
	r := httptest.NewRequest("GET", path, http.NoBody)
	r.Header.Set("Authorization", "Bearer "+c.token)
	return r, httptest.NewRecorder()
}

// record writes notes past any deed.
func (sc *school) record(notes ...store.Note) {
	sc.t.Helper()
	for _, n := range notes {
		require.NoError(sc.t, sc.s.store.Record(sc.t.Context(), n))
	}
}

func TestTheLogIsReadAsFarAsOneMay(t *testing.T) {
	sc := newSchool(t)
	other, err := sc.s.store.AddCohort(t.Context(), "Zqothercohortzq", "", false)
	require.NoError(t, err)
	sc.record(store.Note{By: sc.idOf("coordinator"), Deed: deedAddMember, About: "person:" + sc.idOf("student"), Cohort: other.ID, Detail: "zqotherzq"},
		store.Note{By: sc.idOf("instructor"), Deed: deedAccommodate, About: "person:" + sc.idOf("student"), Cohort: sc.cohort, Detail: "zqminezq", Reason: "A letter."},
		store.Note{Deed: deedForgetCo, About: "cohort:" + other.ID, Detail: "zqschoolzq"})
	whole := string(sc.as("coordinator").get("/log").is(http.StatusOK).body)
	for _, text := range []string{"zqotherzq", "zqminezq", "zqschoolzq", "Zqothercohortzq", "Person instructor</span> changed what the student has beyond the others", "Reason: A letter.", "the program</span>"} {
		require.Contains(t, whole, text)
	}
	own := string(sc.as("instructor").get("/log").is(http.StatusOK).body)
	require.Contains(t, own, "zqminezq")
	for _, text := range []string{"zqotherzq", "zqschoolzq", "Zqothercohortzq"} {
		require.NotContains(t, own, text)
		require.NotContains(t, string(sc.as("instructor").get("/log/csv").is(http.StatusOK).body), text)
	}
	for _, path := range []string{"/log", "/log/csv", "/api/v1/log"} {
		sc.as("student").get(path).is(http.StatusForbidden)
	}

	// Who is erased has no name there.
	require.NoError(t, sc.s.store.ErasePerson(t.Context(), sc.idOf("student"), blank))
	whole = string(sc.as("coordinator").get("/log").is(http.StatusOK).body)
	require.NotContains(t, whole, "Person student<")
	require.Contains(t, whole, nobodyLeft)
	require.NotContains(t, whole, "A letter.")
}

func TestTheLogIsSearched(t *testing.T) {
	sc := newSchool(t)
	require.NoError(t, sc.s.store.SetSetting(t.Context(), zoneSetting, "America/Halifax"))
	sc.clock.Pass(72 * time.Hour) // 28 November, 09:00 UTC
	sc.record(store.Note{By: sc.idOf("instructor"), Deed: deedLink, About: "person:" + sc.idOf("student2"), Cohort: sc.cohort})
	sc.clock.Pass(18*time.Hour + 30*time.Minute) // 29 November, 03:30 UTC; the evening before in Halifax
	sc.record(store.Note{By: sc.idOf("coordinator"), Deed: deedSetting, About: "setting:weight", Detail: "lb"})
	var got logAnswer
	find := func(query string) string {
		got = logAnswer{}
		sc.as("coordinator").get("/api/v1/log?" + query).is(http.StatusOK).into(&got)
		var deeds []string
		for _, n := range got.Notes {
			deeds = append(deeds, n.Deed)
		}
		return strings.Join(deeds, ", ")
	}
	require.Equal(t, deedLink+", add member", find("who=STUDENT2"))
	require.Equal(t, deedLink+", add member", find("who="+sc.idOf("student2")))
	require.Equal(t, "", find("who=nobody-of-that-name"))
	require.Equal(t, deedSetting, find("about=setting"))
	require.Equal(t, "Weight", got.Notes[0].What)
	require.Equal(t, deedLink, find("deed=make+one-time+link"))
	require.Equal(t, deedLink+", add member", find("of=person:"+sc.idOf("student2")))
	require.Equal(t, deedSetting+", "+deedLink, find("from=2026-11-28"), "days are those of the school")
	require.Equal(t, "", find("from=2026-11-29"))
	require.Equal(t, deedSetting+", "+deedLink, find("from=2026-11-28&to=2026-11-28"))
	require.Equal(t, "", find("deed=never+done"))

	for query, pointer := range map[string]string{"from=yesterday": "/from", "to=2026-02-30": "/to", "about=unicorn": "/about", "limit=0": "/limit", "limit=10000": "/limit", "limit=x": "/limit", "before=-1": "/before"} {
		p := sc.as("coordinator").get("/api/v1/log?"+query).problem(http.StatusUnprocessableEntity, "invalid")
		require.Equal(t, pointer, p.Errors[0].Pointer, query)
	}
	page := string(sc.as("coordinator").get("/log?from=yesterday&who=kim").is(http.StatusUnprocessableEntity).body)
	require.Contains(t, page, "A day such as 2026-11-25.")
	require.Contains(t, page, `value="kim"`, "what was typed is kept")
}

// A log of ten thousand lines is read page by page and handed out whole.
func TestALongLog(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	const many = 10_000
	note := store.Note{By: sc.idOf("instructor"), Deed: deedEnrol, About: "cohort:" + sc.cohort, Cohort: sc.cohort}
	invites := make([]store.NewInvite, 0, many)
	for i := range many {
		invites = append(invites, store.NewInvite{Token: fmt.Sprint("token", i), Person: sc.idOf("student"), By: note.By, Expires: sc.clock.Now().Add(time.Hour)})
	}
	require.NoError(t, sc.s.store.AddInvites(t.Context(), invites, store.Note{Deed: deedLink, Cohort: sc.cohort})) // many notes in one transaction
	c := sc.as("coordinator")
	seen, before := map[int64]bool{}, ""
	for pages := 0; ; pages++ {
		require.Less(t, pages, 20)
		var got logAnswer
		c.get("/api/v1/log?limit=1000" + before).is(http.StatusOK).into(&got)
		for _, n := range got.Notes {
			require.False(t, seen[n.N])
			seen[n.N] = true
		}
		if got.Next == 0 {
			break
		}
		before = fmt.Sprint("&before=", got.Next)
	}
	require.GreaterOrEqual(t, len(seen), many)
	body := string(c.get("/log?limit=10000").is(http.StatusOK).body)
	require.Equal(t, perPage, strings.Count(body, "<li value="), "a page is a page, whatever is asked for")
	require.Contains(t, body, "Older ones")
	older := regexp.MustCompile(`href="(/log\?before=\d+)"`).FindStringSubmatch(body)[1]
	require.Contains(t, string(c.get(older).is(http.StatusOK).body), "The newest")

	rows, err := csv.NewReader(strings.NewReader(string(c.get("/log/csv").is(http.StatusOK).body))).ReadAll()
	require.NoError(t, err)
	require.Equal(t, logColumns, rows[0])
	require.Len(t, rows, len(seen)+1+1, "every note, and that of the download")
	require.Equal(t, deedLogFile, rows[1][8])
}

// A name or reason that a program for sheets would run is plain text in the file.
func TestTheFileOfTheLogHoldsNoFormula(t *testing.T) {
	sc := newSchool(t)
	evil := `=HYPERLINK("http://x","y")`
	_, err := sc.s.store.AddPerson(t.Context(), store.NewPerson{Login: "evil", Role: "instructor", Name: evil})
	require.NoError(t, err)
	for _, reason := range []string{evil, "+1", "-1", "@x", "\t=1", " =1", "＝1", "|x", "plain, with \"quotes\"\nand a line"} {
		sc.record(store.Note{By: sc.idOf("evil"), Deed: deedRename, About: "cohort:" + sc.cohort, Cohort: sc.cohort, Reason: reason})
	}
	r := sc.as("coordinator").get("/log/csv").is(http.StatusOK)
	require.Contains(t, r.header.Get("Content-Disposition"), "attachment")
	rows, err := csv.NewReader(strings.NewReader(string(r.body))).ReadAll()
	require.NoError(t, err)
	for _, row := range rows {
		for _, cell := range row {
			require.NotRegexp(t, `^[ \t]*[=+@|＝-]`, cell)
		}
	}
	require.Contains(t, string(r.body), `'=HYPERLINK`)
	require.Contains(t, string(r.body), "and a line")
}

// written finds the words of deeds where they are written down.
var written = regexp.MustCompile(`(?:Deed:\s*|\bdeed[A-Z]\w*\s*=\s*)"([^"]+)"`)

// Every deed that this program writes down has a sentence.
func TestEveryDeedIsInTheTable(t *testing.T) {
	known := map[string]bool{}
	for _, d := range logDeeds {
		require.False(t, known[d.Word], "%s stands twice", d.Word)
		require.NotEqual(t, d.Word, didWords(d.Word))
		known[d.Word] = true
	}
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	more, err := filepath.Glob("store/*.go")
	require.NoError(t, err)
	found := 0
	for _, name := range append(files, more...) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		raw, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, m := range written.FindAllStringSubmatch(string(raw), -1) {
			found++
			require.True(t, known[m[1]], "%s writes the deed %q, which is not in the table", name, m[1])
		}
	}
	require.Greater(t, found, 30)
	for _, d := range seatDeeds {
		require.True(t, known[d.note], d.note)
		if d.all {
			require.True(t, known[d.note+" for all"], d.note)
		}
	}
	for _, verb := range []string{"propose", "accept", "undo", "withdraw"} { // put together in the store
		require.True(t, known[verb+" marking anew"] && known[verb+" change of key"], verb)
	}
	require.Equal(t, "something new", didWords("something new"), "an unknown word says itself")
}

// deedsAreKnown holds that every note which a test of the school wrote has a
// sentence; tests may make up none.
func (sc *school) deedsAreKnown() {
	for _, d := range sc.deeds() {
		require.NotEqual(sc.t, d, didWords(d), "the deed %q is not in the table", d)
	}
}

func (sc *school) deeds() []string {
	var out []string
	f := store.NoteFilter{Limit: mostLogged}
	for {
		notes, err := sc.s.store.Notes(sc.t.Context(), f)
		require.NoError(sc.t, err)
		for _, n := range notes {
			out = append(out, n.Deed)
			f.Before = n.N
		}
		if len(notes) < mostLogged {
			return out
		}
	}
}

// What the pages and the API do is noted under words of the table.
func TestDeedsOfADayAreKnown(t *testing.T) {
	sc := newSchool(t)
	c := sc.as("coordinator")
	sc.grants("student", true, false)
	c.post("/settings", "weight", "lb")
	c.post("/settings", "weight", "lb")
	c.get("/log/csv").is(http.StatusOK)
	sc.as("student").get("/me/data").is(http.StatusOK)
	id := sc.idOf("student2")
	c.post("/leaving/"+id, "deed", "hold", "why", "An appeal.").is(http.StatusSeeOther)
	c.post("/leaving/"+id, "deed", "lift").is(http.StatusSeeOther)
	c.post("/leaving/"+id, "deed", "leave", "reason", "Asked.", "confirm", "student2").is(http.StatusSeeOther)
	c.post("/leaving/"+id, "deed", "back", "reason", "A mistake.").is(http.StatusSeeOther)
	sc.deedsAreKnown()
	all := strings.Join(sc.deeds(), ", ")
	for _, d := range []string{"grant sounds", deedLogFile, deedOwnData, deedHold, deedLift, deedLeave, deedReturn} {
		require.Contains(t, all, d)
	}
	require.Equal(t, 1, strings.Count(all, deedSetting), "what stands so already is no deed")
	require.True(t, auth.May(auth.Coordinator, auth.ErasePeople))
}

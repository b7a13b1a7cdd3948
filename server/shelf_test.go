package server

import (
	"html"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric/file"
	"dewclaw/server/face"
)

// TestOwnRubrics: a school's file marks new visits, old visits keep theirs, and
// nothing in the folder keeps the server from starting.
func TestOwnRubrics(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	old := sc.as("student").begin("")
	sc.layRubric("ours.yaml", version2(t, "title: ", "title: \"<b>Ours</b>\" # "))
	sc.layRubric("copy.yaml", mustSource(t, "veterinary"))
	sc.layRubric("clash.yaml", strings.Replace(mustSource(t, "veterinary"), "pass: 70", "pass: 50", 1))
	sc.layRubric("track.yaml", strings.Replace(version2(t), "track: veterinary", "track: technician", 1))
	sc.layRubric("steps.yaml", strings.Replace(version2(t, "{step: mouth.refill,", "{step: mouth.refil,"), "rubric: veterinary", "rubric: steps", 1))
	sc.layRubric("bomb.yaml", "a: &a [x,x,x]\nb: &b [*a,*a,*a]\nc: [*b,*b,*b]\n")
	sc.layRubric("binary.yml", "\x00\x01\xff")
	sc.layRubric("huge.yaml", "# "+strings.Repeat("x", 3<<20))
	sc.layRubric("notes.txt", "not a rubric")
	sc.layRubric("<script>.yaml", "rubric: [")
	sc.layRubric("short.yaml", strings.NewReplacer("rubric: veterinary", "rubric: short").Replace(mustSource(t, "veterinary")))
	dir := filepath.Join(sc.cfg.Data, rubricFolder)
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.yaml"), 0o700))
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "pipe.yaml"), 0o600))
	require.NoError(t, os.Symlink("/nowhere", filepath.Join(dir, "link.yaml")))
	sc.restart()

	page := html.UnescapeString(string(sc.as("instructor").get("/rubrics").is(http.StatusOK).body))
	for _, want := range []string{
		"rubrics/clash.yaml:6:1 there is another text of veterinary with version 1 (comes with the program); right would be a higher version",
		"rubrics/track.yaml", "right would be track: veterinary",
		`no catalogue has the step "mouth.refil"`, `"mouth.refill"`,
		"rubrics/bomb.yaml", "anchors and aliases are not used here", "rubrics/binary.yml", "rubrics/huge.yaml", "a rubric is at most",
		"rubrics/folder.yaml The file cannot be read: it is no plain file.", "rubrics/pipe.yaml", "rubrics/link.yaml",
	} {
		require.Contains(t, strings.Join(strings.Fields(tags.ReplaceAllString(page, " ")), " "), want)
	}
	raw := string(sc.as("instructor").get("/rubrics").body)
	require.NotContains(t, raw, "<script>.yaml")
	require.NotContains(t, raw, "<b>Ours</b>")
	require.NotContains(t, raw, "notes.txt")
	require.NotContains(t, raw, sc.cfg.Data, "where the data lie is nobody's business")
	require.NotContains(t, raw, "rubrics/copy.yaml", "a copy is no problem and no second rubric")

	// New visits have the new version, also by an id of the school's own; the old one keeps its own.
	hash := func(id string) string {
		a, err := sc.s.store.Attempt(t.Context(), id)
		require.NoError(t, err)
		return a.RubricHash
	}
	fresh := sc.as("student").begin("")
	require.Equal(t, sc.s.shelf.Load().current("veterinary").Hash, hash(fresh.id))
	require.NotEqual(t, hash(old.id), hash(fresh.id))
	still := &visit{client: sc.as("student"), id: old.id}
	still.do(look)
	require.NotEqual(t, "<b>Ours</b>", still.finish().Rubric)
	require.Equal(t, "<b>Ours</b>", fresh.finish().Rubric)
	var a face.Attempt
	sc.as("student").send("POST", "/api/v1/attempts", attemptForm{Case: sc.s.opaque(sc.s.Practice()[0]), Track: "short"}).is(http.StatusCreated).into(&a)
	require.Equal(t, "veterinary", a.Track)
	require.Equal(t, sc.s.shelf.Load().current("short").Hash, hash(a.ID))
	require.Contains(t, string(sc.as("instructor").get("/rubrics/veterinary?version="+hash(old.id)[:16]).is(http.StatusOK).body), "Version 1, comes with the program")

	require.Contains(t, string(sc.as("student").get("/").body), `<option value="short">by “Whole examination, veterinary student”</option>`)

	// The file goes, its text stays with the visits that it marked.
	require.NoError(t, os.Remove(filepath.Join(dir, "ours.yaml")))
	require.NoError(t, os.RemoveAll(filepath.Join(dir, "pipe.yaml")))
	sc.as("instructor").post("/rubrics").is(http.StatusSeeOther)
	raw = string(sc.as("instructor").get("/rubrics").body)
	require.Contains(t, raw, "Earlier versions, kept with the visits")
	require.Contains(t, string(sc.as("instructor").get("/rubrics/veterinary?version="+hash(fresh.id)[:16]).is(http.StatusOK).body), "kept with its visits")
}

var tags = regexp.MustCompile(`<[^>]*>`)

func mustSource(t testing.TB, id string) string {
	raw, err := file.Source(id)
	require.NoError(t, err)
	return string(raw)
}

// TestRubricPagesAreNothingToStudents: the one 404, whether the rubric exists or not.
func TestRubricPagesAreNothingToStudents(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.as("student")
	plain := func(r *reply) string {
		return regexp.MustCompile(`[A-Z0-9]{16}`).ReplaceAllString(string(r.is(http.StatusNotFound).body), "ID")
	}
	nowhere := plain(c.get("/nothing-of-the-kind"))
	for _, path := range []string{"/rubrics", "/rubrics/veterinary", "/rubrics/nothing", "/rubrics/veterinary/regrade"} {
		require.Equal(t, nowhere, plain(c.get(path)), path)
	}
	for _, path := range []string{"/rubrics", "/rubrics/veterinary/regrade"} {
		require.Equal(t, nowhere, plain(c.post(path, "deed", "propose")), path)
	}
	sc.anyone().get("/rubrics").is(http.StatusSeeOther)
	require.NotContains(t, string(c.get("/").body), "/rubrics")
	i := sc.as("instructor")
	for _, path := range []string{"/rubrics/nothing", "/rubrics/nothing/regrade", "/rubrics/veterinary?version=x", "/rubrics/veterinary?species=unicorn",
		"/rubrics/veterinary?when=never", "/rubrics/veterinary/regrade?of=x"} {
		i.get(path).is(http.StatusNotFound)
	}
}

// TestARubricIsReadInWords: labels, not ids; and the effective weights once
// they are worked out.
func TestARubricIsReadInWords(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.as("instructor")
	first := string(c.get("/rubrics/veterinary").is(http.StatusOK).body)
	require.Contains(t, first, "being worked out")
	text := html.UnescapeString(tags.ReplaceAllString(first, " "))
	for _, want := range []string{"A visit passes with 70 of 100 points, at least 50\u00a0% of the points of Findings, at least 60\u00a0% of the points of Handling and no critical event",
		"Heart: at least 15 s.", "Breathing: at least 30 s; above 40 breaths a minute 15 s.", "“Watch from a distance” before any touch.", "Source: Defarges", "essential", "head to tail", "first, in place or last"} {
		require.Contains(t, text, want)
	}
	for _, id := range []string{"mouth.refill", "heart.auscultate", "handle:", "head_nodes", "mandibular_"} {
		require.NotContains(t, text, id, "an id where a label belongs")
	}
	triage := html.UnescapeString(tags.ReplaceAllString(string(c.get("/rubrics/veterinary?when=triage").is(http.StatusOK).body), " "))
	require.Contains(t, triage, "critical when left out")
	require.NotContains(t, text, "critical when left out")
	require.Eventually(t, func() bool {
		return strings.Contains(string(c.get("/rubrics/veterinary").body), "Effective: the share of the spread")
	}, 60*time.Second, 100*time.Millisecond)
	require.Regexp(t, `<td class="n">25</td><td class="n">\d+\x{a0}%</td>`, string(c.get("/rubrics/veterinary").body))
}

package server

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"testing/fstest"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// version2 is the veterinary rubric that comes with the program, one version
// on, with some texts replaced.
func version2(t testing.TB, pairs ...string) string {
	t.Helper()
	raw, err := file.Source("veterinary")
	require.NoError(t, err)
	text := string(raw)
	for i := 0; i < len(pairs); i += 2 {
		require.Contains(t, text, pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	require.Contains(t, text, "\nversion: 1\n")
	return strings.Replace(text, "\nversion: 1\n", "\nversion: 2\n", 1)
}

// layRubric puts a file into the school's own folder.
func (sc *school) layRubric(name, text string) {
	sc.t.Helper()
	dir := filepath.Join(sc.cfg.Data, rubricFolder)
	require.NoError(sc.t, os.MkdirAll(dir, 0o700))
	require.NoError(sc.t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
}

// post sends a form as a page does.
func (c *client) post(path string, pairs ...string) *reply {
	c.sc.t.Helper()
	f := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	defer func() { c.header = nil }()
	return c.send("POST", path, f.Encode())
}

// playVisits has students of different skill examine every patient, and waits
// for the grades.
func (sc *school) playVisits(n int) []store.Attempt {
	sc.t.Helper()
	ctx := context.Background()
	me, err := sc.s.store.PersonByLogin(ctx, "student")
	require.NoError(sc.t, err)
	ids := sc.s.Practice()
	for i := range n {
		acts := func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, 1+i%4, uint64(i)) }
		require.NoError(sc.t, sc.s.PlayVisit(ctx, me.ID, ids[i%len(ids)], "veterinary", acts))
	}
	return sc.graded(n)
}

func (sc *school) graded(n int) []store.Attempt {
	sc.t.Helper()
	ctx := context.Background()
	var out []store.Attempt
	require.Eventually(sc.t, func() bool {
		list, err := sc.s.store.Attempts(ctx, store.Filter{State: store.StateGraded, Limit: 1000})
		return err == nil && len(list) == n
	}, 30*time.Second, 5*time.Millisecond)
	list, err := sc.s.store.Attempts(ctx, store.Filter{Limit: 1000})
	require.NoError(sc.t, err)
	for _, l := range list {
		a, err := sc.s.store.Attempt(ctx, l.ID)
		require.NoError(sc.t, err)
		out = append(out, a)
	}
	return out
}

// reports are the encoded reports, with what the store holds beside them.
func (sc *school) reports() map[string]store.Report {
	sc.t.Helper()
	out := map[string]store.Report{}
	list, err := sc.s.store.Attempts(context.Background(), store.Filter{State: store.StateGraded, Limit: 1000})
	require.NoError(sc.t, err)
	for _, l := range list {
		r, err := sc.s.store.Report(context.Background(), l.Transcript)
		require.NoError(sc.t, err)
		out[l.ID] = r
	}
	return out
}

// versionKeys are the keys of the two versions on the page.
func (sc *school) versionKeys(id string) (from, to string) {
	sc.t.Helper()
	all, _, err := sc.s.versions(context.Background(), id)
	require.NoError(sc.t, err)
	require.Len(sc.t, all, 2)
	return all[1].key(), all[0].key()
}

// proposal works a regrading out through the pages and returns its id.
func (sc *school) proposal(c *client) string {
	sc.t.Helper()
	from, to := sc.versionKeys("veterinary")
	r := c.post("/rubrics/veterinary/regrade", "deed", "propose", "from", from, "to", to).is(http.StatusSeeOther)
	_, of, ok := strings.Cut(r.header.Get("Location"), "?of=")
	require.True(sc.t, ok)
	sc.worked(of)
	return of
}

func (sc *school) worked(of string) {
	sc.t.Helper()
	require.Eventually(sc.t, func() bool {
		g, err := sc.s.store.Regrading(context.Background(), of)
		return err == nil && g.State == store.RegradeProposed
	}, 30*time.Second, 5*time.Millisecond)
}

// byHand marks a visit by another rubric without the code under test: from
// today's case and the stored seed. It returns old and new points line by line.
func (sc *school) byHand(a store.Attempt, r rubric.Rubric) (rubric.Report, []string) {
	sc.t.Helper()
	seed, err := cases.DecodeSeed(a.Seed)
	require.NoError(sc.t, err)
	p, err := cases.NewPatient(sc.s.library, sc.s.library.Case(a.Case), seed)
	require.NoError(sc.t, err)
	k, err := p.Key(r)
	require.NoError(sc.t, err)
	tr, err := sc.s.transcript(context.Background(), a)
	require.NoError(sc.t, err)
	later := rubric.Grade(r, k, tr)
	stored, err := sc.s.store.Report(context.Background(), a.Transcript)
	require.NoError(sc.t, err)
	earlier, err := rubric.DecodeReport(stored.Packed)
	require.NoError(sc.t, err)
	return later, handDiff(earlier, later)
}

// handDiff lists changed marks as text, sorted.
func handDiff(earlier, later rubric.Report) []string {
	lines := func(r rubric.Report) map[string][2]rubric.Points {
		out := map[string][2]rubric.Points{}
		for _, d := range r.Domains {
			for i, l := range d.Lines {
				id := l.ID
				for n := 2; ; n++ {
					if _, taken := out[id]; !taken {
						break
					}
					id = fmt.Sprintf("%s#%d", l.ID, n)
				}
				_ = i
				out[id] = [2]rubric.Points{l.Points, l.Max}
			}
		}
		return out
	}
	a, b := lines(earlier), lines(later)
	var out []string
	for id := range b {
		if a[id] != b[id] {
			out = append(out, fmt.Sprintf("%s %v %v", id, a[id], b[id]))
		}
	}
	for id := range a {
		if _, ok := b[id]; !ok && a[id] != [2]rubric.Points{} {
			out = append(out, fmt.Sprintf("%s %v %v", id, a[id], [2]rubric.Points{}))
		}
	}
	slices.Sort(out)
	return out
}

// shown are the changed marks as the program lists them.
func shown(marks []changedMark) []string {
	var out []string
	seen := map[string]int{}
	points := func(l *rubric.Line) [2]rubric.Points {
		if l == nil {
			return [2]rubric.Points{}
		}
		return [2]rubric.Points{l.Points, l.Max}
	}
	for _, m := range marks {
		id := m.Old
		if m.Later != nil {
			id = m.Later
		}
		name := id.ID
		if seen[name]++; seen[name] > 1 {
			name = fmt.Sprintf("%s#%d", id.ID, seen[id.ID])
		}
		out = append(out, fmt.Sprintf("%s %v %v", name, points(m.Old), points(m.Later)))
	}
	slices.Sort(out)
	return out
}

const addedRule = `rules:
  - id: weigh-before-touch
    kind: before-first
    before: [weight.measure]
    after: [mouth.inspect]
    weight: 3
    tag: safety
    why: "A scale is calmest before the mouth is opened."
    source: "common practice, no source"
`

// TestRegradingShowsExactlyTheChangedMarks: what the pages show before anybody
// accepts is what marking by hand gives, line by line.
func TestRegradingShowsExactlyTheChangedMarks(t *testing.T) {
	for name, row := range map[string]struct {
		change []string
		look   string // on the page
	}{
		"other weights":  {[]string{"order: 10, completeness: 25", "order: 25, completeness: 10"}, "It counts for more than before."},
		"a step dropped": {[]string{"  - {step: mouth.refill, weight: essential, when: [routine, focused]}\n", ""}, "No longer marked."},
		"a rule added":   {[]string{"rules:\n", addedRule}, "Not marked before."},
		"other pass":     {[]string{"pass: 70", "pass: 99.9"}, "no longer passes"},
	} {
		t.Run(name, func(t *testing.T) {
			sc := newSchool(t)
			visits := sc.playVisits(6)
			text := version2(t, row.change...)
			sc.layRubric("ours.yaml", text)
			c := sc.as("instructor")
			c.post("/rubrics").is(http.StatusSeeOther)
			before := sc.reports()
			of := sc.proposal(c)
			require.Equal(t, before, sc.reports(), "a proposal changes nothing")

			r, err := file.Parse("ours.yaml", []byte(text))
			require.NoError(t, err)
			listed, err := sc.s.store.ChangedVisits(t.Context(), of, 0, 100)
			require.NoError(t, err)
			byID := map[string]store.RegradedVisit{}
			for _, v := range listed {
				byID[v.ID] = v
			}
			page := string(c.get("/rubrics/veterinary/regrade?of=" + of).is(http.StatusOK).body)
			total, toPass, toFail := 0, 0, 0
			for _, a := range visits {
				later, want := sc.byHand(a, r)
				old := before[a.ID]
				total += len(want)
				if old.Pass && !later.Pass {
					toFail++
				}
				if later.Pass && !old.Pass {
					toPass++
				}
				v, ok := byID[a.ID]
				require.Equal(t, len(want) > 0 || old.Pass != later.Pass, ok, "visits without a changed mark are not listed")
				if !ok {
					continue
				}
				earlier, err := rubric.DecodeReport(v.Earlier.Packed)
				require.NoError(t, err)
				anew, err := rubric.DecodeReport(v.Later.Packed)
				require.NoError(t, err)
				require.Equal(t, later, anew)
				require.Equal(t, want, shown(changedMarks(earlier, anew)))
				require.Contains(t, page, fmt.Sprintf("%s → %s", pts(face.Points(earlier.Total)), pts(face.Points(later.Total))))
			}
			require.Equal(t, total, len(regexp.MustCompile(`<li><span>[^<]*</span> <span class="figures small">`).FindAllString(page, -1)), "every changed mark has its row, and no other")
			require.Contains(t, page, row.look)
			if toPass+toFail > 0 {
				require.Contains(t, page, fmt.Sprintf("From passed to not passed: %d. From not passed to passed: %d.", toFail, toPass))
			}
			if name == "other pass" {
				require.Positive(t, toFail)
				require.Zero(t, total, "the pass mark moves no mark")
			} else {
				require.Positive(t, total)
			}
		})
	}
}

// TestAcceptAndPutBack goes the whole way through the pages.
func TestAcceptAndPutBack(t *testing.T) {
	sc := newSchool(t)
	visits := sc.playVisits(4)
	before := sc.reports()
	sc.layRubric("ours.yaml", version2(t, "vitals: 20, handling: 10", "vitals: 10, handling: 20", "pass: 70", "pass: 75"))
	sc.restart()
	c := sc.as("instructor")
	of := sc.proposal(c)
	path := "/rubrics/veterinary/regrade"

	require.Contains(t, string(c.post(path, "deed", "accept", "of", of, "reason", " ").is(http.StatusUnprocessableEntity).body), "Say why")
	c.post(path, "deed", "undo", "of", of, "reason", "x").is(http.StatusConflict)
	c.post(path, "deed", "overthrow", "of", of).is(http.StatusUnprocessableEntity)
	c.post(path, "deed", "accept", "of", "nothing", "reason", "x").is(http.StatusNotFound)
	c.post("/rubrics/technician/regrade", "deed", "accept", "of", of, "reason", "x").is(http.StatusNotFound)
	require.Equal(t, before, sc.reports())

	c.post(path, "deed", "accept", "of", of, "reason", "Handling <counts> for more.").is(http.StatusSeeOther)
	after := sc.reports()
	for _, a := range visits {
		row, err := sc.s.store.Attempt(t.Context(), a.ID)
		require.NoError(t, err)
		require.NotEqual(t, a.RubricHash, row.RubricHash)
		r, err := sc.s.scheme(t.Context(), row)
		require.NoError(t, err)
		later, _ := sc.byHand(row, r)
		packed, err := rubric.EncodeReport(later)
		require.NoError(t, err)
		require.Equal(t, string(packed), string(after[a.ID].Packed))
		key, err := rubric.DecodeKey(row.Key)
		require.NoError(t, err)
		t2, err := sc.s.transcript(t.Context(), row)
		require.NoError(t, err)
		require.Equal(t, later, rubric.Grade(r, key, t2), "the stored key is the new one")
		var got face.Report // the owner reads it
		sc.as("student").get("/api/v1/attempts/" + a.ID + "/report").is(http.StatusOK).into(&got)
		require.Equal(t, face.Points(later.Total), got.Total)
		require.Equal(t, face.Points(75000), got.PassMark)
	}
	c.post(path, "deed", "accept", "of", of, "reason", "twice").is(http.StatusConflict)
	page := string(c.get(path + "?of=" + of).is(http.StatusOK).body)
	require.Contains(t, page, "accepted by Person instructor: Handling &lt;counts&gt; for more.")
	require.Contains(t, page, "There is nothing to mark anew")

	sc.restart()
	c = sc.as("coordinator")
	c.post(path, "deed", "undo", "of", of, "reason", "Back to what was announced.").is(http.StatusSeeOther)
	require.Equal(t, before, sc.reports(), "byte for byte")
	for _, a := range visits {
		row, err := sc.s.store.Attempt(t.Context(), a.ID)
		require.NoError(t, err)
		require.Equal(t, a, row)
	}
	c.post(path, "deed", "undo", "of", of, "reason", "twice").is(http.StatusConflict)
	require.Contains(t, string(c.get(path+"?of="+of).body), "put back by Person coordinator: Back to what was announced.")
}

// TestAVisitChangedMeanwhileIsTold: somebody marks one visit between proposal
// and acceptance.
func TestAVisitChangedMeanwhileIsTold(t *testing.T) {
	sc := newSchool(t)
	visits := sc.playVisits(3)
	sc.layRubric("ours.yaml", version2(t, "vitals: 20, handling: 10", "vitals: 10, handling: 20"))
	c := sc.as("instructor")
	c.post("/rubrics").is(http.StatusSeeOther)
	of := sc.proposal(c)
	over := sc.reports()[visits[0].ID]
	over.Total = 12345
	require.NoError(t, sc.s.store.SaveReport(t.Context(), visits[0].Transcript, over))
	before := sc.reports()
	page := string(c.post("/rubrics/veterinary/regrade", "deed", "accept", "of", of, "reason", "more care").is(http.StatusConflict).body)
	require.Contains(t, page, "1 visit was marked anew or changed by somebody else meanwhile")
	require.Contains(t, page, "/visits/"+visits[0].ID+"/debrief")
	require.Contains(t, page, ">more care</textarea>", "what was typed is kept")
	require.Equal(t, before, sc.reports())
	c.post("/rubrics/veterinary/regrade", "deed", "accept", "of", of, "reason", "more care", "leave", "yes").is(http.StatusSeeOther)
	after := sc.reports()
	require.Equal(t, before[visits[0].ID], after[visits[0].ID])
	require.NotEqual(t, before[visits[1].ID], after[visits[1].ID])
	require.Contains(t, string(c.get("/rubrics/veterinary/regrade?of="+of).body), "In force for 2 visits; the others were changed meanwhile")
}

// TestRegradingGoesOnAfterARestart: a proposal that the process died over is
// worked out by the next one, from where it was.
func TestRegradingGoesOnAfterARestart(t *testing.T) {
	sc := newSchool(t)
	visits := sc.playVisits(5)
	sc.layRubric("ours.yaml", version2(t, "vitals: 20, handling: 10", "vitals: 10, handling: 20"))
	sc.restart()
	sc.s.stop()
	sc.s.workers.Wait()
	all, _, err := sc.s.versions(t.Context(), "veterinary")
	require.NoError(t, err)
	g, err := sc.s.propose(t.Context(), visits[0].Person, all[1], all[0], "")
	require.NoError(t, err)
	rows, err := sc.s.store.ToRegrade(t.Context(), g, 2)
	require.NoError(t, err)
	for _, row := range rows {
		one, err := sc.s.markAnew(t.Context(), row, all[0].Rubric)
		require.NoError(t, err)
		require.NoError(t, sc.s.store.KeepRegraded(t.Context(), g.ID, []store.Regraded{one}))
	}
	page := string(sc.as("instructor").get("/rubrics/veterinary/regrade?of=" + g.ID).is(http.StatusOK).body)
	require.Contains(t, page, "2 done so far.")
	sc.as("instructor").post("/rubrics/veterinary/regrade", "deed", "accept", "of", g.ID, "reason", "early").is(http.StatusConflict)
	sc.restart()
	sc.worked(g.ID)
	sum, err := sc.s.store.RegradeSummary(t.Context(), g.ID)
	require.NoError(t, err)
	require.Equal(t, 5, sum.Visits)
}

// TestRegradingUsesWhatIsStored: the library has moved on, the visit has not;
// and a visit whose patient cannot be made again keeps its marks, with the reason.
func TestRegradingUsesWhatIsStored(t *testing.T) {
	sc := planted(t)
	me, err := sc.s.store.PersonByLogin(t.Context(), "student")
	require.NoError(t, err)
	require.NoError(t, sc.s.PlayVisit(t.Context(), me.ID, markCase, "veterinary", robot.Ideal))
	a := sc.graded(1)[0]
	other, err := sc.s.drawAttempt(t.Context(), me.ID, sc.s.library.Case(markCase), "veterinary", cases.SeedOf(7))
	require.NoError(t, err)
	foreign := store.NewAttempt{Person: me.ID, Case: markCase, Track: "veterinary", CaseHash: a.CaseHash, CatalogueHash: a.CatalogueHash,
		RubricHash: a.RubricHash, RangesHash: a.RangesHash, Engine: a.Engine, Seed: a.Seed, Key: other.Key} // the key of another patient
	key, err := rubric.DecodeKey(other.Key)
	require.NoError(t, err)
	key.Findings[0].Value = "severe"
	foreign.Key, err = rubric.EncodeKey(key)
	require.NoError(t, err)
	odd, err := sc.s.store.AddAttempt(t.Context(), foreign)
	require.NoError(t, err)
	_, err = sc.s.store.Finish(t.Context(), odd.Transcript, endedLeft)
	require.NoError(t, err)
	sc.s.wakeWorker()
	require.Eventually(t, func() bool { _, err := sc.s.store.Report(t.Context(), odd.Transcript); return err == nil }, 10*time.Second, 5*time.Millisecond)

	sc.layRubric("ours.yaml", version2(t, "vitals: 20, handling: 10", "vitals: 10, handling: 20"))
	changed := strings.ReplaceAll(plantedCase, "heart.rate: "+markHeart, "heart.rate: 99")
	withFiles(t, fstest.MapFS{"cases/" + markFile + ".yaml": {Data: []byte(changed)}})(&sc.cfg)
	sc.restart()
	of := sc.proposal(sc.as("instructor"))
	refused, err := sc.s.store.RefusedVisits(t.Context(), of, 10)
	require.NoError(t, err)
	require.Len(t, refused, 1)
	require.Equal(t, odd.ID, refused[0].ID)
	require.Contains(t, refused[0].Refused, "another patient")
	listed, err := sc.s.store.ChangedVisits(t.Context(), of, 0, 10)
	require.NoError(t, err)
	require.Len(t, listed, 1)
	later, err := rubric.DecodeReport(listed[0].Later.Packed)
	require.NoError(t, err)
	earlier, err := rubric.DecodeReport(listed[0].Earlier.Packed)
	require.NoError(t, err)
	for i := range earlier.Vitals {
		require.Equal(t, earlier.Vitals[i].Truth, later.Vitals[i].Truth, "the patient as it was met")
	}
	require.Contains(t, string(sc.as("instructor").get("/rubrics/veterinary/regrade?of="+of).body), "Not marked anew")
}

// TestOwnRubrics: a school's file marks new visits, old visits keep theirs, and
// nothing in the folder keeps the server from starting.
func TestOwnRubrics(t *testing.T) {
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

// BenchmarkMarkAnew measures marking one visit anew: the engine alone beside
// all that is read from the store for it, and the whole way.
func BenchmarkMarkAnew(b *testing.B) {
	sc := newSchool(b)
	a := sc.playVisits(1)[0]
	r, err := file.Parse("ours.yaml", []byte(version2(b, "vitals: 20, handling: 10", "vitals: 10, handling: 20")))
	require.NoError(b, err)
	_, _, p, err := sc.s.patientOf(b.Context(), a)
	require.NoError(b, err)
	t, err := sc.s.transcript(b.Context(), a)
	require.NoError(b, err)
	var read, engine, whole time.Duration
	n := 0
	for b.Loop() {
		began := time.Now()
		_, err := sc.s.store.Acts(b.Context(), a.Transcript, 0)
		require.NoError(b, err)
		_, err = sc.s.store.Report(b.Context(), a.Transcript)
		require.NoError(b, err)
		loaded := time.Now()
		k, err := p.Key(r)
		require.NoError(b, err)
		rubric.Grade(r, k, t)
		marked := time.Now()
		_, err = sc.s.markAnew(b.Context(), a, r)
		require.NoError(b, err)
		read, engine, whole = read+loaded.Sub(began), engine+marked.Sub(loaded), whole+time.Since(marked)
		n++
	}
	b.ReportMetric(float64(read.Microseconds())/float64(n), "us/read")
	b.ReportMetric(float64(engine.Microseconds())/float64(n), "us/engine")
	b.ReportMetric(float64(whole.Microseconds())/float64(n), "us/visit")
	b.ReportMetric(float64(engine)/float64(read), "engine/read")
	b.ReportMetric(float64(len(t)), "acts")
}

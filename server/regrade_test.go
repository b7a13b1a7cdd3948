package server

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
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
	t.Parallel()
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
	t.Parallel()
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
	require.Equal(t, 3*len(visits), sc.verified().Equal, "in force, before and after")
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
	t.Parallel()
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
	t.Parallel()
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
		one, err := sc.s.markAnew(t.Context(), row, rekey{to: &all[0].Rubric})
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
	t.Parallel()
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
		_, err = sc.s.markAnew(b.Context(), a, rekey{to: &r})
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

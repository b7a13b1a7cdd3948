package server

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/face"
	"dewclaw/server/store"
)

// What a student began or finished for practice before its patient was set in a
// sitting is closed until the debriefs of that are released: else an unfinished
// visit could be finished in the middle of the exam, and its debrief read.
func TestPracticeOfASealedPatientIsClosed(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.as("student")
	done := c.begin(sc.s.opaque("tansy"))
	done.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	done.finish()
	open := c.begin(sc.s.opaque("tansy"))
	open.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	other := sc.as("student2").begin(sc.s.opaque("biscuit"))
	a := sc.seal(sc.cohort, "tansy")
	sc.clock.Pass(3 * time.Second)

	reads := func(v *visit) []string {
		return []string{v.path(""), v.path("/acts/1/sound"), v.path("/report")}
	}
	for _, v := range []*visit{done, open} {
		for _, path := range reads(v) {
			p := c.get(path).problem(http.StatusConflict, "not-now")
			require.Contains(t, p.Detail, "kept for a sitting", path)
		}
		require.Equal(t, http.StatusConflict, sc.browser("student").get("/visits/"+v.id).code)
		require.Equal(t, http.StatusConflict, sc.browser("student").get("/visits/"+v.id+"/debrief").code)
	}
	open.try(sentAct{Kind: "wait", Seconds: 5}).problem(http.StatusConflict, "not-now")
	c.send("POST", open.path("/finish"), nil).problem(http.StatusConflict, "not-now")
	var list struct{ Attempts []face.Visit }
	c.get("/api/v1/attempts").is(http.StatusOK).into(&list)
	require.Len(t, list.Attempts, 2)
	for _, v := range list.Attempts {
		require.True(t, v.Kept)
		require.Nil(t, v.Total)
	}
	require.Contains(t, string(sc.browser("student").get("/").is(http.StatusOK).body), "kept for a sitting")
	other.do(sentAct{Kind: "wait", Seconds: 5})
	require.Equal(t, http.StatusOK, sc.as("instructor").get(done.path("/report")).code, "staff read on")

	require.NoError(t, sc.s.store.Release(t.Context(), store.Release{Assignment: a.ID, Whole: true}, store.Note{Deed: "release"}))
	sc.clock.Pass(3 * time.Second)
	for _, path := range reads(done) {
		c.get(path).is(http.StatusOK)
	}
	open.do(sentAct{Kind: "wait", Seconds: 5})
	open.finish()
}

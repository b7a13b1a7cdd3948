package server

import (
	"net/http"
	"net/url"
	"slices"
	"testing"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// Every way of acting is told apart, nothing of it is marked, and no list of
// staff's holds it.
func TestOrientationUsesEveryKindOfActAndIsNeverMarked(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	r := c.post("/orientation", "assignment", a.ID).is(http.StatusSeeOther)
	v := &visit{client: c, id: r.header.Get("Location")[len("/visits/"):]}
	s := v.state()
	require.Equal(t, []string{"orientation", "headings", "unlabelled"}, []string{s.Purpose, s.Cue, s.Places}, "with the sheet as it will be")
	require.NotContains(t, []string{sc.s.opaque("tansy"), sc.s.opaque("nettle")}, s.Patient.ID, "nobody of a sitting is met beforehand")
	require.Equal(t, r.header.Get("Location"), c.post("/orientation", "assignment", a.ID).header.Get("Location"), "one that is open is gone on with")
	require.Contains(t, c.get("/visits/"+v.id).is(http.StatusOK).text(), "Getting to know the room")

	for _, row := range []struct {
		kind string
		act  sentAct
	}{
		{"look", look}, {"listen", listen}, {"measure", sentAct{Kind: "examine", Step: "weight.measure"}},
		{"gentle", sentAct{Kind: "examine", Step: "abdomen.palpate", Site: "cranial", Manner: "gentle"}}, {"ask", sentAct{Kind: "ask", Topic: "appetite"}},
		{"hold", sentAct{Kind: "handle", How: heldBy(t, sc)}}, {"chart", sentAct{Kind: "record", Field: "mentation", Value: "bright"}},
		{"rest", sentAct{Kind: "record", Region: "heart", Value: "normal"}},
	} {
		require.NotContains(t, v.state().Used, row.kind)
		require.Contains(t, v.do(row.act).Used, row.kind)
	}
	var got face.Answer
	v.send("POST", v.path("/acts"), actForm{After: v.last, Retry: typedRetry + "1-2-3-4", Act: sentAct{Kind: "wait", Seconds: 1}}).is(http.StatusCreated).into(&got)
	require.Contains(t, got.Used, "typed")
	v.last = got.Last
	require.Len(t, v.do(sentAct{Kind: "conclude", Urgency: "routine"}).Used, len(actKinds))

	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	page := c.get("/visits/" + v.id).is(http.StatusOK).text()
	require.Contains(t, page, "you used 10 of 10 ways of acting")
	require.Contains(t, page, "Nothing of it is marked")
	waiting, err := sc.s.store.ToGrade(t.Context(), 10)
	require.NoError(t, err)
	require.Empty(t, waiting)
	c.get(v.path("/report")).is(http.StatusNotFound)
	require.Contains(t, c.get("/").text(), "orientation, not marked")
	require.Contains(t, c.get("/assignments/"+a.ID).text(), "✓ Done on")
	for _, login := range []string{"instructor", "coordinator"} {
		var list visitsAnswer
		sc.at(login).get("/api/v1/attempts").is(http.StatusOK).into(&list)
		require.Empty(t, list.Attempts, login)
		require.NotContains(t, string(sc.at(login).get("/").body), v.id, login)
	}
}

// heldBy is a hold of the catalogue.
func heldBy(t *testing.T, sc *school) string {
	t.Helper()
	for _, h := range sc.s.library.Catalogue("dog").Handling {
		if h.Hold {
			return h.ID
		}
	}
	t.Fatal("no hold")
	return ""
}

// What comes after the last stage that was entered was not reached; what lies
// before it was left out. The marks are the same as if all had been left out.
func TestNotReachedIsToldFromLeftOut(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat(func(a *store.Assignment) { a.Slots = a.Slots[:1]; a.Tries = 2 })
	report := func(end func(c *client, turn string, v *visit)) face.Report {
		c := sc.at("student")
		k, v := sc.begun(c, a)
		v.do(look)
		v.do(listen)
		end(c, k.Turn, v)
		require.NoError(t, sc.s.closeOverdue(t.Context()))
		sc.s.wakeWorker()
		var r face.Report
		staff := sc.at("instructor")
		require.Eventually(t, func() bool { return staff.get("/visits/"+v.id+"/debrief").code == http.StatusOK }, 10*time.Second, 5*time.Millisecond)
		r, err := sc.s.report(t.Context(), face.Person{ID: sc.personID("instructor"), Role: "instructor"}, v.id)
		require.NoError(t, err)
		return r
	}
	inTime := report(func(c *client, turn string, _ *visit) {
		c.send("POST", "/api/v1/turns/"+turn+"/finish", nil).is(http.StatusOK)
	})
	late := report(func(*client, string, *visit) { sc.clock.Pass(41 * time.Minute) })
	require.Equal(t, endedWhole, inTime.Ended)
	require.Equal(t, endedByTime, late.Ended)

	line := func(r face.Report, id string) face.Mark {
		for _, d := range r.Domains {
			for _, m := range d.Lines {
				if m.ID == id {
					return m
				}
			}
		}
		require.Fail(t, "no line "+id)
		return face.Mark{}
	}
	for id, beyond := range map[string]bool{"completeness/mouth.inspect": false, "completeness/abdomen.palpate": true} {
		require.False(t, line(inTime, id).Beyond, id)
		require.Equal(t, beyond, line(late, id).Beyond, id)
		require.Equal(t, line(inTime, id).Points, line(late, id).Points, id)
	}
	require.Equal(t, "– not reached", markWord(line(late, "completeness/abdomen.palpate")))
	require.True(t, line(late, "conclusions/conclude").Beyond)
	vital := func(r face.Report, field string) face.Vital {
		return r.Vitals[slices.IndexFunc(r.Vitals, func(v face.Vital) bool { return v.Field == field })]
	}
	require.Contains(t, vitalText(vital(late, "temperature")), "Not reached: the time ended")
	require.NotContains(t, vitalText(vital(inTime, "temperature")), "Not reached")
	require.Equal(t, inTime.Total, late.Total)
}

// How much a refusal says is asked for by the page; without it nothing changes.
func TestARefusedLineNamesNoMoreThanIsAskedFor(t *testing.T) {
	sc := newSchool(t)
	c := sc.at("student")
	const asked = "/api/v1/catalogue/dog/line?"
	detail := func(text, near, places string) string {
		q := url.Values{"text": {text}, "near": {near}, "places": {places}}
		p := c.get(asked+q.Encode()).problem(http.StatusUnprocessableEntity, "invalid")
		return p.Errors[0].Detail
	}
	require.Contains(t, detail("auscultate heart", "", ""), "left apex")
	require.Contains(t, detail("auscultate heart", "", "labelled"), "left apex")
	require.NotContains(t, detail("auscultate heart", nearNone, ""), "left apex")
	require.NotContains(t, detail("murmur 3", "", unlabelled), "left apex")
	require.Contains(t, detail("mentation loud", "", unlabelled), "perhaps")
	require.NotContains(t, detail("mentation loud", nearNone, ""), "perhaps")
	require.Contains(t, detail("mentation loud", nearNone, ""), "loud")
	c.get(asked+"text=HR+80&near=far").problem(http.StatusUnprocessableEntity, "invalid")
	c.get(asked+"text=HR+80&places=hidden").problem(http.StatusUnprocessableEntity, "invalid")

	// A place without a name is shown, whatever the refusal may say.
	for _, near := range []string{nearAll, nearNone} {
		require.Equal(t, "Listen to the heart: its places have no names here; type it without one, then show the place on the drawing by pointer or by arrow keys",
			detail("auscultate left apex", near, unlabelled))
	}
	var got lineAnswer
	c.get(asked + "text=auscultate+heart&places=unlabelled").is(http.StatusOK).into(&got)
	require.Equal(t, []sentAct{{Kind: "examine", Step: "heart.auscultate"}}, got.Acts)
}

// The room is told what its sheet may show; it has no list of open lines then.
func TestTheRoomOfASittingShowsWhatItMay(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat()
	k, v := sc.begun(sc.at("student"), a)
	page := string(v.get("/visits/" + v.id).is(http.StatusOK).body)
	for _, has := range []string{`data-cue="headings"`, `data-sites="unlabelled"`, `data-turn="` + k.Turn + `"`} {
		require.Contains(t, page, has)
	}
	require.NotContains(t, page, "Open lines")
	v.do(look)
	require.NotContains(t, v.get("/visits/"+v.id+"/finish").text(), "not charted", "how much is not charted is not told")
	free := sc.at("student2").begin("")
	page = string(free.get("/visits/" + free.id).body)
	require.Contains(t, page, "Open lines")
	require.NotContains(t, page, "data-turn=")
}

// An assessment that comes when it cannot be taken comes back as it was written,
// or, after the end, is said not to count.
func TestAnAssessmentThatCannotBeTakenIsNotLost(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sat()
	c := sc.at("student")
	k, v := sc.begun(c, a)
	v.do(look)
	send := func() *reply {
		return c.post("/visits/"+v.id+"/finish", "step", "submit", "urgency", "routine", "situation", "A dog that limps.", "retry", "retry-assess")
	}
	staff := sc.at("instructor")
	staff.deed(a, "pause", "all", "").is(http.StatusSeeOther)
	page := send().is(http.StatusConflict).text()
	require.Contains(t, page, "What you wrote stands here")
	require.Contains(t, string(send().body), "A dog that limps.")
	staff.deed(a, "resume", "all", "").is(http.StatusSeeOther)
	sc.clock.Pass(41 * time.Minute)
	late := send().is(http.StatusSeeOther)
	require.Equal(t, "/turns/"+k.Turn, late.header.Get("Location"))
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	require.Equal(t, endedByTime, row.Ended)
	acts, err := sc.s.store.Acts(t.Context(), row.Transcript, 0)
	require.NoError(t, err)
	require.Len(t, acts, 1)
}

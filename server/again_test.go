package server

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/study"

	"github.com/stretchr/testify/require"
)

// misses examines a patient with a murmur, calls it normal, and goes no further
// than the belly.
func (sc *school) misses(login, id, site string) *visit {
	v := sc.as(login).begin(sc.s.opaque(id))
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: site})
	v.do(sentAct{Kind: "record", Field: "heart.murmur", Site: site, Value: "none"})
	v.do(sentAct{Kind: "examine", Step: "abdomen.palpate", Site: "caudal"})
	return v
}

// TestAMissedFindingIsLookedAtAgain: it is said where something was; the student
// senses it as it was at the end, commits, and sees what it was.
func TestAMissedFindingIsLookedAtAgain(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.misses("student", "dibs", "left base")
	v.get(v.path("/again")).problem(http.StatusNotFound, "missing")
	before := v.finish()
	raw := v.get(v.path("/report")).body

	got := v.get(v.path("/again")).is(http.StatusOK)
	var all face.Again
	got.into(&all)
	require.False(t, all.Done)
	require.NotEmpty(t, all.Findings)
	require.LessOrEqual(t, len(all.Findings), mostAgain)
	first := all.Findings[0]
	require.Equal(t, []any{"Heart", "left base", "normal", "open", true}, []any{first.Region, first.Site, first.How, first.State, first.Heard})
	require.Empty(t, first.Actual+first.Said)
	require.Empty(t, first.Words, "what is heard is heard")
	lines := map[string]bool{}
	for _, c := range first.Choices {
		lines[c.Line] = true
	}
	require.Greater(t, len(lines), 2, "which line it is stays open: %v", lines)
	require.Equal(t, "audio/wav", v.get(v.path("/again/1/sound")).is(http.StatusOK).header.Get("Content-Type"))
	require.Equal(t, v.get(v.path("/again/1/sound")).body, v.get(v.path("/again/1/sound")).body)
	v.get(v.path("/again/1/picture")).problem(http.StatusNotFound, "missing")
	v.get(v.path("/again/4/sound")).problem(http.StatusNotFound, "missing")

	v.send("POST", v.path("/again/1"), claimForm{"heart.murmur@left base=loud"}).problem(http.StatusUnprocessableEntity, "invalid")
	v.send("POST", v.path("/again/1"), claimForm{}).problem(http.StatusUnprocessableEntity, "invalid")
	v.send("POST", v.path("/again/7"), claimForm{"heart.murmur@left base=2"}).problem(http.StatusNotFound, "missing")
	var told face.Missed
	v.send("POST", v.path("/again/1"), claimForm{"heart.murmur@left base=2"}).is(http.StatusCreated).into(&told)
	require.Equal(t, "whole", told.Found)
	require.Contains(t, told.Said, "left base")
	require.Contains(t, told.Actual, told.Said, "beside the own")
	v.send("POST", v.path("/again/1"), claimForm{"heart.murmur@left base=none"}).problem(http.StatusConflict, "not-now")

	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	looks, err := sc.s.store.Looks(t.Context(), row.Transcript)
	require.NoError(t, err)
	require.Equal(t, []any{"heart.murmur@left base", "heart.murmur@left base=2"}, []any{looks[0].Place, looks[0].Value})
	require.Equal(t, 1000, looks[0].Mark)
	require.Equal(t, string(raw), string(v.get(v.path("/report")).body), "nothing of it is marked")
	require.Equal(t, before.Total, v.finish().Total)

	for _, other := range []string{"student2", "instructor", "coordinator"} {
		who := sc.as(other)
		for _, path := range []string{"/again", "/again/1/sound", "/plans"} {
			who.get(v.path(path)).problem(http.StatusNotFound, "missing")
		}
		who.send("POST", v.path("/again/1"), claimForm{"heart.murmur@left base=2"}).problem(http.StatusNotFound, "missing")
	}
}

// TestTheWayToADebriefLeadsOverTheSecondLook: forecast, second look, debrief; each
// is passed over by one button, and nobody but its student is led.
func TestTheWayToADebriefLeadsOverTheSecondLook(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.misses("student", "dibs", "left base")
	v.finish()
	me, visit := sc.at("student"), "/visits/"+v.id
	to := func(r *reply, path string) {
		t.Helper()
		require.Equal(t, path, r.is(http.StatusSeeOther).header.Get("Location"))
	}
	to(me.get(visit+"/debrief"), visit+"/forecast")
	to(me.get(visit+"/again"), visit+"/forecast")
	me.post(visit+"/forecast", "deed", "pass").is(http.StatusSeeOther)
	to(me.get(visit+"/debrief"), visit+"/again")
	body := string(me.get(visit + "/again").is(http.StatusOK).body)
	require.Contains(t, body, "Look again: Heart, left base")
	require.Contains(t, body, "called it normal")
	require.NotContains(t, body, "Actual finding")
	to(me.post(visit+"/again", "n", "1", "claim", ""), visit+"/again?wrong=1&n=1")
	require.Contains(t, string(me.get(visit+"/again?wrong=1&n=1").body), "Choose what you find from the list.")
	to(me.post(visit+"/again", "n", "1", "claim", "heart.sounds=gallop"), visit+"/again?n=1")
	body = string(me.get(visit + "/again?n=1").is(http.StatusOK).body)
	require.Contains(t, body, "Actual finding")
	require.Contains(t, body, "Not yet")
	to(me.post(visit+"/again", "n", "1", "claim", "heart.murmur@left base=2"), visit+"/again?n=1")
	require.Contains(t, string(me.get(visit+"/again?n=1").body), "Not yet", "the first answer stays, also from another tab")
	for _, q := range []string{"?n=99", "?n=-1", "?n=x", "?n=99999999999999999999"} {
		me.get(visit + "/again" + q).is(http.StatusOK)
	}
	to(me.post(visit+"/again", "deed", "pass"), visit+"/debrief")
	me.get(visit + "/debrief").is(http.StatusOK)
	require.Contains(t, string(me.get(visit+"/again").is(http.StatusOK).body), "Looked at again")
	sc.at("instructor").get(visit + "/debrief").is(http.StatusOK)
	sc.at("instructor").get(visit + "/again").is(http.StatusNotFound)
}

// TestNothingOfItInASitting: neither second look nor plan, before the release and after.
func TestNothingOfItInASitting(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.misses("student", "dibs", "left base")
	v.finish()
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	row.Purpose = forSitting
	require.NoError(t, sc.s.store.MakePlan(t.Context(), row.Person, 0, "watch-first"))
	v2, err := sc.s.planVisit(t.Context(), row)
	require.NoError(t, err)
	require.NoError(t, sc.s.checkPlan(t.Context(), row, v2))
	plan, err := sc.s.store.StandingPlan(t.Context(), row.Person)
	require.NoError(t, err)
	require.Zero(t, plan.Checked)
	way, err := sc.s.wayBefore(t.Context(), face.Person{ID: row.Person}, row)
	require.NoError(t, err)
	require.Empty(t, way)
}

// TestAPlanGoesAlong: chosen after one visit, over the next one, and at the
// beginning of its debrief.
func TestAPlanGoesAlong(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	early := sc.as("student").begin(sc.s.opaque("dibs")) // begun before there was a plan
	v := sc.misses("student", "dibs", "left base")
	v.finish()
	var all face.Plans
	v.get(v.path("/plans")).is(http.StatusOK).into(&all)
	require.NotEmpty(t, all.Offered)
	require.LessOrEqual(t, len(all.Offered), study.PlansOffered)
	require.Equal(t, "breaths-first", all.Offered[0].ID)
	v.send("POST", v.path("/plans"), planForm{"one-way"}).problem(http.StatusUnprocessableEntity, "invalid")
	v.send("POST", v.path("/plans"), planForm{"breaths-first"}).is(http.StatusOK).into(&all)
	require.Equal(t, "breaths-first", all.Chosen)

	me := sc.at("student")
	require.NotContains(t, string(me.get("/visits/"+early.id).is(http.StatusOK).body), "Your plan:")
	next := sc.as("student").begin(sc.s.opaque("dibs"))
	require.Contains(t, string(me.get("/visits/"+next.id).is(http.StatusOK).body), "Before I touch the animal I count its breaths for 30 s.")
	empty := sc.as("student").begin(sc.s.opaque("dibs"))
	empty.finish() // left at once: nothing could be kept in it
	early.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left base"})
	early.finish()
	next.do(sentAct{Kind: "examine", Step: "breathing.count"})
	sc.clock.Pass(31 * time.Second)
	next.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left base"})
	next.finish()
	next.get(next.path("/plans")).is(http.StatusOK).into(&all)
	require.Equal(t, &face.Plan{ID: "breaths-first", Sentence: "Before I touch the animal I count its breaths for 30 s.", Kept: study.Kept}, all.Checked)
	me.post("/visits/"+next.id+"/forecast", "deed", "pass").is(http.StatusSeeOther)
	me.post("/visits/"+next.id+"/again", "deed", "pass").is(http.StatusSeeOther)
	body := string(me.get("/visits/" + next.id + "/debrief").is(http.StatusOK).body)
	require.Less(t, strings.Index(body, "✓ Kept in this visit."), strings.Index(body, "In short"))
	require.Positive(t, strings.Index(body, "✓ Kept in this visit."))

	me.post("/visits/"+next.id+"/plan", "plan", all.Offered[0].ID).is(http.StatusSeeOther)
	me.post("/visits/"+next.id+"/plan", "plan", "").is(http.StatusSeeOther)
	me.post("/visits/"+next.id+"/plan", "plan", "nonsense").is(http.StatusUnprocessableEntity)
	_, err := sc.s.store.StandingPlan(t.Context(), sc.personID("student"))
	require.ErrorIs(t, err, store.ErrNotFound)
}

// TestAHintFades: who had a skill right twice running is given no hints about its
// places, and is told so.
func TestAHintFades(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	fresh := sc.as("student2").begin(sc.s.opaque("dibs"))
	whole := fresh.do(sentAct{Kind: "hint"}).Act.Answer
	require.True(t, strings.HasPrefix(whole, "Not examined yet: "), whole)
	require.NotContains(t, whole, "no hints any more")
	for range 2 {
		sc.practises("student", "dibs", robot.Ideal)
	}
	v := sc.as("student").begin(sc.s.opaque("dibs"))
	faded := v.do(sentAct{Kind: "hint"}).Act.Answer
	require.Contains(t, faded, "you are given no hints any more, for you had them right twice running: ")
	require.NotEqual(t, whole, faded)
	require.Equal(t, faded, v.state().Acts[0].Answer, "and that is what is stored")
}

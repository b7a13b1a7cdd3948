package server

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/study"

	"github.com/stretchr/testify/require"
)

// weakIn is a robot that is nearly there, but neither examines nor charts what is
// of one skill.
func weakIn(s *Server, skill string) plays {
	return func(p *cases.Patient, k rubric.Key) (rest []rubric.Act) {
		cat, now := s.library.Catalogue(k.Species), map[int]int{}
		for i, a := range robot.Typical(p, k, 4, 11) {
			g := cat.Region(a.Region)
			left := a.Kind == rubric.Examine && cat.SkillOfStep(a.Step) == skill ||
				a.Kind == rubric.Record && (cat.SkillOf(a.Field) == skill || g != nil && g.Skill == skill)
			if left || a.Of != 0 && now[a.Of] == 0 {
				continue
			}
			now[i+1] = len(rest) + 1
			a.N, a.Of = 0, now[a.Of]
			rest = append(rest, a)
		}
		return rest
	}
}

// practises plays a visit of practice and waits for its mark.
func (sc *school) practises(login, id string, play plays) {
	sc.t.Helper()
	ctx := context.Background()
	require.NoError(sc.t, sc.s.PlayVisit(ctx, sc.personID(login), id, defaultTrack, play))
	require.Eventually(sc.t, func() bool {
		rows, err := sc.s.store.Attempts(ctx, store.Filter{Person: sc.personID(login), State: store.StateGrading})
		return err == nil && len(rows) == 0
	}, 30*time.Second, 5*time.Millisecond)
}

// caseOfFace is the case behind an offered patient.
func (sc *school) caseOfFace(p *face.Patient) *cases.Case {
	sc.t.Helper()
	require.NotNil(sc.t, p)
	k, err := sc.s.caseOf(p.ID)
	require.NoError(sc.t, err)
	return k
}

func (c *client) next3() []face.Offer {
	c.sc.t.Helper()
	var n nextAnswer
	c.get("/api/v1/next").is(http.StatusOK).into(&n)
	return n.Offers
}

func (c *client) progress() (p face.Progress) {
	c.sc.t.Helper()
	c.get("/api/v1/progress").is(http.StatusOK).into(&p)
	return p
}

func skillIn(p face.Progress, id string) face.Skill {
	return p.Skills[slices.IndexFunc(p.Skills, func(s face.Skill) bool { return s.ID == id })]
}

// TestWhoIsWeakIsOfferedThat: a student in whom a weakness was planted meets what is
// offered, and is offered that skill within three visits, with the reason in words.
func TestWhoIsWeakIsOfferedThat(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	me := sc.as("student")
	before := me.next3()
	require.Len(t, before, 3)
	for _, o := range before {
		require.Equal(t, "mixed", o.Why)
		require.Contains(t, o.Reason, "nothing is known of you yet")
	}
	var found *face.Offer
	for n := 0; n < 3 && found == nil; n++ {
		offers := me.next3()
		require.Equal(t, offers, me.next3(), "they stay while nothing new is done")
		i := slices.IndexFunc(offers, func(o face.Offer) bool { return o.Patient != nil })
		require.GreaterOrEqual(t, i, 0)
		sc.practises("student", sc.caseOfFace(offers[i].Patient).ID, weakIn(sc.s, "limbs"))
		for _, o := range me.next3() {
			if o.Why == "weak" && o.Skill == "limbs" || strings.HasPrefix(o.Reason, "Not met yet: Limbs") {
				found = &o
			}
		}
	}
	require.NotNil(t, found, "%+v", me.progress().Skills)
	require.Contains(t, found.Reason, "imbs, spine and gait")
	require.Contains(t, sc.at("student").get("/").is(http.StatusOK).text(), found.Reason)
}

// TestProgressSaysWhatItRestsOn: after three patients the skill that was left out is
// told as such, with the steps; nothing of what is hidden is on the page.
func TestProgressSaysWhatItRestsOn(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	for _, id := range []string{"tansy", "nettle", "juniper"} {
		sc.practises("student", id, weakIn(sc.s, "limbs"))
		sc.clock.Pass(72 * time.Hour)
	}
	p := sc.as("student").progress()
	limbs, lungs := skillIn(p, "limbs"), skillIn(p, "lungs")
	require.Equal(t, 3, limbs.Patients)
	require.NotNil(t, limbs.Expect, limbs.Text)
	require.NotNil(t, lungs.Expect, lungs.Text)
	require.Less(t, *limbs.High, .5)
	require.Less(t, *limbs.Expect, *lungs.Expect)
	require.Contains(t, limbs.Text, "findings of limbs, spine and gait right")
	require.Contains(t, limbs.Text, "lines in 3 patients; last met 3 days ago.")
	require.Len(t, p.Forgotten, 1)
	require.Equal(t, "dog", p.Forgotten[0].Species)
	step := p.Forgotten[0].Steps[0]
	require.Equal(t, "limbs", sc.s.library.Catalogue("dog").SkillOfStep(step.Step))
	require.GreaterOrEqual(t, step.Left, 2)
	text := sc.at("student").get("/progress").is(http.StatusOK).text()
	require.Contains(t, text, limbs.Text)
	require.Contains(t, text, step.Label+": "+step.Text)
	for _, k := range sc.s.library.Cases() {
		require.NotContains(t, text, k.Title)
	}
}

// TestProgressIsOnesOwn: another has nothing of it, and staff have their own.
func TestProgressIsOnesOwn(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.practises("student", sc.s.Practice()[0], robot.Ideal)
	require.Equal(t, 1, skillIn(sc.as("student").progress(), "heart").Patients)
	for _, other := range []string{"student2", "instructor", "coordinator"} {
		for _, s := range sc.as(other).progress().Skills {
			require.Zero(t, s.Lines, other)
			require.Equal(t, "Not met yet.", s.Text)
		}
	}
	require.NotContains(t, sc.at("instructor").get("/").is(http.StatusOK).text(), "What next")
}

// TestASittingCountsOnceItIsReleased, and while it runs nothing of self-study is
// there; a mark by hand counts as the hand gave it.
func TestASittingCountsOnceItIsReleased(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	me := sc.at("student")
	_, v := sc.begun(me, a)
	me.get("/api/v1/next").problem(http.StatusConflict, "not-now")
	me.get("/api/v1/progress").problem(http.StatusConflict, "not-now")
	me.get("/progress").is(http.StatusConflict)
	require.NotContains(t, me.get("/").is(http.StatusOK).text(), "What next")
	me.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)

	turn, visits := sc.sitsThrough("student2", a, typically(2, 7))
	other := sc.as("student2")
	sc.handsIn(a, turn, "student2")
	require.Zero(t, skillIn(other.progress(), "heart").Lines, "not released")
	require.Empty(t, sc.judged("student2"))
	for _, o := range other.next3() {
		require.NotEqual(t, "tansy", sc.caseOfFace(o.Patient).ID, "its patient is kept for the sitting")
	}

	staff := sc.as("instructor")
	r := staff.toMark(visits[0].ID)
	line := lineLike(t, r.Report, func(l face.Mark) bool { return strings.HasPrefix(l.ID, "completeness/") && l.Points == 0 && l.Max > 0 })
	staff.send("POST", "/api/v1/attempts/"+visits[0].ID+"/marks", markBody{Line: line.ID, Points: line.Max, Reason: "It was done.", Seen: r.Seen}).is(http.StatusOK)
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	require.NotZero(t, skillIn(other.progress(), "heart").Lines)
	place := strings.TrimPrefix(line.ID, "completeness/")
	i := slices.IndexFunc(sc.judged("student2"), func(j study.Judgement) bool { return j.Place == place })
	require.GreaterOrEqual(t, i, 0)
	require.Equal(t, 1000, sc.judged("student2")[i].Mark, "as the hand gave it")
}

func (sc *school) judged(login string) []study.Judgement {
	sc.t.Helper()
	p, err := sc.s.store.Person(context.Background(), sc.personID(login))
	require.NoError(sc.t, err)
	list, err := sc.s.judgements(context.Background(), facePerson(p))
	require.NoError(sc.t, err)
	return list
}

// TestOffersKeepWhatIsKept: a patient for exams or in a sitting to come is never
// offered, whatever chance says.
func TestOffersKeepWhatIsKept(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	kept := []string{"tansy", "nettle"}
	sc.sat(func(a *store.Assignment) { a.Kind = string(exam.Sitting) })
	p, err := sc.s.store.Person(t.Context(), sc.personID("student"))
	require.NoError(t, err)
	pool, err := sc.s.poolFor(t.Context(), facePerson(p))
	require.NoError(t, err)
	require.NotEmpty(t, pool)
	for _, k := range pool {
		require.Equal(t, practice, k.Use)
		require.NotContains(t, kept, k.ID)
	}
}

// A patient that was watched with an expert is no offer: all there is was told.
func TestWhoWasWatchedIsNotOffered(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	who := face.Person{ID: sc.personID("student"), Role: "student"}
	before, err := sc.s.poolFor(t.Context(), who)
	require.NoError(t, err)
	require.NoError(t, sc.s.store.Watch(t.Context(), store.Watched{Person: who.ID, Species: before[0].Species, CaseID: before[0].ID}, false))
	after, err := sc.s.poolFor(t.Context(), who)
	require.NoError(t, err)
	require.Equal(t, before[1:], after)
}

// TestDrillsCountForTheirSkill: what was marked in a drill is told with it; what was
// void is not.
func TestDrillsCountForTheirSkill(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	ctx, me := t.Context(), sc.personID("student")
	item := store.DrillItem{Item: store.Hidden("x"), Acts: []byte{}, Told: []byte{}, Kind: "heart-rates", Species: "dog", Skill: "rates"}
	d, err := sc.s.store.BeginDrill(ctx, store.Drill{Person: me, Kind: "heart-rates", Species: "dog", Holder: "h"}, item)
	require.NoError(t, err)
	for n := 1; n <= 3; n++ {
		answered := item
		answered.N, answered.Mark = n, []int{1000, 0, 1000}[n-1]
		if n == 3 {
			require.NoError(t, sc.s.store.VoidItem(ctx, d, n, "slept"))
			break
		}
		require.NoError(t, sc.s.store.AnswerItem(ctx, d, answered))
		require.NoError(t, sc.s.store.AskNext(ctx, d, n, item))
	}
	p := sc.as("student").progress()
	require.Equal(t, "Too little seen to say: 2 lines in 1 drill; last met today.", skillIn(p, "rates").Text)
	require.Len(t, p.Drills, 1)
	require.Equal(t, "1 of the last 2 right; last done today.", p.Drills[0].Text)
	sc.clock.Pass(time.Minute) // of two at the same moment neither is the newer
	one := item
	one.N, one.Kind = 1, "refill"
	last, err := sc.s.store.BeginDrill(ctx, store.Drill{Person: me, Kind: "refill", Species: "dog", Holder: "h"}, one)
	require.NoError(t, err)
	require.NoError(t, sc.s.store.AnswerItem(ctx, last, one))
	require.Equal(t, "one answered, and not right; last done today.", sc.as("student").progress().Drills[0].Text)
	require.Zero(t, skillIn(sc.as("student2").progress(), "rates").Lines)
}

// BenchmarkWhatNext measures the three offers of a student who has met 40 patients.
func BenchmarkWhatNext(b *testing.B) {
	sc := newSchool(b)
	all := sc.s.Practice()
	for i := range 40 {
		require.NoError(b, sc.s.PlayVisit(b.Context(), sc.personID("student"), all[i%len(all)], defaultTrack, typically(3, uint64(i))))
	}
	require.Eventually(b, func() bool {
		rows, err := sc.s.store.Attempts(b.Context(), store.Filter{Person: sc.personID("student"), State: store.StateGraded})
		return err == nil && len(rows) == 40
	}, time.Minute, 10*time.Millisecond)
	p, err := sc.s.store.Person(b.Context(), sc.personID("student"))
	require.NoError(b, err)
	for b.Loop() {
		offers, err := sc.s.whatNext(b.Context(), facePerson(p))
		require.NoError(b, err)
		require.Len(b, offers, 3)
	}
}

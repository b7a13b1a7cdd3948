package server

import (
	"net/http"

	"strings"
	"testing"

	"dewclaw/rubric"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// struck is a sitting of two students and a line that one of them did not earn.
func (sc *school) struckSitting() (a store.Assignment, visits []store.Attempt, line string) {
	sc.t.Helper()
	a = sc.sitting1("tansy")
	_, one := sc.sitsThrough("student", a, typically(1, 3))
	_, two := sc.sitsThrough("student2", a, typically(5, 4))
	visits = append(one, two...)
	l := lineLike(sc.t, sc.as("instructor").toMark(one[0].ID).Report, func(l face.Mark) bool {
		return strings.HasPrefix(l.ID, "completeness/") && l.Max > 100 && l.Points == 0
	})
	return a, visits, l.ID
}

// proposed strikes a line as an instructor and waits until it is worked out.
func (sc *school) proposedStrike(c *client, a store.Assignment, lines ...string) string {
	sc.t.Helper()
	pairs := []string{"deed", "propose", "patient", sc.s.opaque("tansy"), "reason", "Nobody was <taught> this."}
	for _, l := range lines {
		pairs = append(pairs, "strike", l)
	}
	r := c.post("/assignments/"+a.ID+"/strike", pairs...).is(http.StatusSeeOther)
	_, of, ok := strings.Cut(r.header.Get("Location"), "?of=")
	require.True(sc.t, ok)
	sc.worked(of)
	return of
}

// bytesOf are the stored reports and keys of some visits.
func (sc *school) bytesOf(visits []store.Attempt) (out []string) {
	sc.t.Helper()
	for _, v := range visits {
		r, err := sc.s.store.Report(sc.t.Context(), v.Transcript)
		require.NoError(sc.t, err)
		row, err := sc.s.store.Attempt(sc.t.Context(), v.ID)
		require.NoError(sc.t, err)
		out = append(out, string(r.Packed)+string(row.Key)+row.RubricHash)
	}
	return out
}

// A line is struck for everybody: proposed, worked out from what is stored, signed
// by a second person, and put back byte for byte. The marks are those of the engine
// with the amended key, worked out here without the code under test.
func TestALineIsStruckForEverybody(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, visits, line := sc.struckSitting()
	first, second := sc.as("instructor"), sc.as("coordinator")
	before := sc.bytesOf(visits)
	require.Contains(t, first.get("/assignments/"+a.ID+"/strike?patient="+sc.s.opaque("tansy")).is(http.StatusOK).text(), "A line that is struck drops out for everybody")
	of := sc.proposedStrike(first, a, line)
	require.Equal(t, before, sc.bytesOf(visits), "a proposal changes nothing")
	page := first.get("/assignments/" + a.ID + "/strike?of=" + of).is(http.StatusOK)
	require.Contains(t, page.text(), "2 visits were marked anew")
	require.Contains(t, string(page.body), "Nobody was &lt;taught&gt; this.")

	want := map[string]rubric.Report{}
	for _, v := range visits {
		key, err := rubric.DecodeKey(v.Key)
		require.NoError(t, err)
		amended, err := key.Amend(rubric.Amendment{Strike: []string{line}})
		require.NoError(t, err)
		played, err := sc.s.transcript(t.Context(), v)
		require.NoError(t, err)
		scheme, err := sc.s.scheme(t.Context(), v)
		require.NoError(t, err)
		want[v.ID] = rubric.Grade(scheme, amended, played)
		require.Contains(t, page.text(), "→ "+pts(face.Points(want[v.ID].Total)))
	}

	// Never by who proposed it, as long as there is anybody else.
	refused := first.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "mine", "alone", "yes").is(http.StatusConflict)
	require.Contains(t, refused.text(), "somebody else has to sign it: Person coordinator")
	require.Contains(t, second.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", " ").is(http.StatusUnprocessableEntity).text(), "Say why")
	require.Equal(t, before, sc.bytesOf(visits))
	second.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "I agree.").is(http.StatusSeeOther)
	for _, v := range visits {
		r := first.toMark(v.ID)
		require.Equal(t, face.Points(want[v.ID].Total), r.Total)
		require.Nil(t, lineIn(&r.Report, line), "the line is gone")
		require.Len(t, r.Struck, 1)
		require.Contains(t, r.Struck[0].What, "struck")
		require.Contains(t, r.Struck[0].Because, "<taught>")
		require.Len(t, r.History, 2)
		require.Equal(t, []string{"Person instructor", "Person coordinator"}, []string{r.History[0].By, r.History[1].By})
	}
	second.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "twice").is(http.StatusConflict)

	first.post("/assignments/"+a.ID+"/strike", "deed", "undo", "of", of, "reason", "It was taught after all.").is(http.StatusSeeOther)
	require.Equal(t, before, sc.bytesOf(visits), "byte for byte")
	require.Empty(t, first.toMark(visits[0].ID).Struck)
	require.Subset(t, sc.deedWordsOf(), []string{"propose change of key", "accept change of key", "undo change of key"})
}

// People's marks hold under the new key; one of a struck line no longer counts
// and counts again when all is put back.
func TestStrikingALineThatSomebodyMarked(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, visits, line := sc.struckSitting()
	staff := sc.as("instructor")
	v := visits[0].ID
	r := staff.toMark(v)
	l := lineIn(&r.Report, line)
	staff.post("/visits/"+v+"/marks", "deed", "mark", "line", line, "points", pts(l.Max), "reason", "I saw it.", "seen", r.Seen).is(http.StatusSeeOther)
	marked := staff.toMark(v).Total
	of := sc.proposedStrike(staff, a, line)
	page := staff.get("/assignments/" + a.ID + "/strike?of=" + of).text()
	require.Contains(t, page, "the totals are with that")
	require.Contains(t, page, "1 mark by hand no longer count")
	sc.as("coordinator").post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "yes").is(http.StatusSeeOther)
	r = staff.toMark(v)
	require.Equal(t, []face.Changed{{Line: line, Points: l.Max, Reason: "I saw it."}}, r.Void)
	require.Contains(t, staff.get("/visits/"+v+"/marks").text(), "A mark by hand no longer counts")
	staff.post("/assignments/"+a.ID+"/strike", "deed", "undo", "of", of, "reason", "no").is(http.StatusSeeOther)
	require.Equal(t, marked, staff.toMark(v).Total)
}

// Only coordinators who have nobody else sign their own proposal, and say so.
func TestTheOnlyOneSignsAlone(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, _, line := sc.struckSitting()
	c := sc.as("coordinator")
	of := sc.proposedStrike(c, a, line)
	require.Contains(t, c.get("/assignments/"+a.ID+"/strike?of="+of).text(), "Somebody else signs it: Person instructor.")
	c.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "x", "alone", "yes").is(http.StatusConflict)
	require.NoError(t, sc.s.store.ChangeMember(t.Context(), sc.cohort, sc.personID("instructor"), "", true, store.Note{Deed: "take out of cohort"}))
	page := c.get("/assignments/" + a.ID + "/strike?of=" + of).text()
	require.Contains(t, page, "There is no other instructor in this cohort and no other coordinator")
	require.Contains(t, c.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "x").is(http.StatusUnprocessableEntity).text(), "Say that there is nobody else")
	c.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "x", "alone", "yes").is(http.StatusSeeOther)
	require.Contains(t, sc.deedWordsOf(), "sign alone")
}

// Whoever is marked later is marked by the key as it was, and that is told; the
// same change is then worked out for those only.
func TestAStrikeAndThoseWhoSitLater(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	_, one := sc.sitsThrough("student", a, typically(1, 3))
	staff, second := sc.as("instructor"), sc.as("coordinator")
	line := strikes(t, sc, a, "tansy").Strike[0]
	of := sc.proposedStrike(staff, a, line)
	second.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "yes").is(http.StatusSeeOther)
	require.NotContains(t, staff.get("/assignments/"+a.ID+"/marks").text(), "Further visits")
	_, two := sc.sitsThrough("student2", a, typically(1, 4))
	require.Contains(t, staff.get("/assignments/"+a.ID+"/marks").text(), "Further visits to Tansy were marked after something was changed for everybody")
	before := sc.bytesOf(one)
	again := sc.proposedStrike(staff, a, line)
	require.NotEqual(t, of, again)
	second.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", again, "reason", "yes").is(http.StatusSeeOther)
	require.Equal(t, before, sc.bytesOf(one))
	require.Len(t, staff.toMark(two[0].ID).Struck, 1)
	require.NotContains(t, staff.get("/assignments/"+a.ID+"/marks").text(), "Further visits")
}

// A newer version of the rubric keeps what was struck.
func TestMarkingAnewKeepsWhatWasStruck(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, visits, line := sc.struckSitting()
	staff := sc.as("instructor")
	of := sc.proposedStrike(staff, a, line)
	sc.as("coordinator").post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "yes").is(http.StatusSeeOther)
	sc.layRubric("ours.yaml", version2(t, "order: 10, completeness: 25", "order: 25, completeness: 10"))
	staff.post("/rubrics").is(http.StatusSeeOther)
	anew := sc.proposal(staff)
	require.Empty(t, refusedOf(t, sc, anew))
	staff.post("/rubrics/veterinary/regrade", "deed", "accept", "of", anew, "reason", "weights").is(http.StatusSeeOther)
	for _, v := range visits {
		r := staff.toMark(v.ID)
		require.Nil(t, lineIn(&r.Report, line))
		require.Len(t, r.Struck, 1)
	}
	require.Equal(t, 5*len(visits), sc.verified().Equal, "in force, before and after each of the two")
}

func refusedOf(t testing.TB, sc *school, of string) []store.RegradedVisit {
	t.Helper()
	all, err := sc.s.store.RefusedVisits(t.Context(), of, 100)
	require.NoError(t, err)
	return all
}

func TestWhatCannotBeStruckForEverybody(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, _, line := sc.struckSitting()
	staff := sc.as("instructor")
	tansy := sc.s.opaque("tansy")
	for _, row := range []struct {
		pairs []string
		says  string
	}{
		{[]string{"patient", tansy, "reason", "x"}, "Choose at least one line"},
		{[]string{"patient", tansy, "reason", "x", "strike", "findings/none"}, "is no line that can be struck here"},
		{[]string{"patient", tansy, "reason", "x", "strike", "order/route"}, "is no line that can be struck here"},
		{[]string{"patient", tansy, "reason", "", "strike", line}, "Say why"},
		{[]string{"patient", tansy, "reason", "x", "urgency", "soon"}, "One of routine, same day, emergency"},
		{[]string{"patient", tansy, "reason", "x", "accept", "boredom"}, "is no problem of the catalogue"},
		{[]string{"patient", sc.s.opaque("nettle"), "reason", "x", "strike", line}, "One of the patients of this assignment"},
		{[]string{"patient", "nobody", "reason", "x", "strike", line}, "One of the patients of this assignment"},
	} {
		page := staff.post("/assignments/"+a.ID+"/strike", append([]string{"deed", "propose"}, row.pairs...)...).is(http.StatusUnprocessableEntity)
		require.Contains(t, page.text(), row.says)
	}
	staff.post("/assignments/"+a.ID+"/strike", "deed", "overthrow").is(http.StatusUnprocessableEntity)
	staff.post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", "nothing", "reason", "x").is(http.StatusNotFound)
	all, err := sc.s.store.KeyChanges(t.Context(), a.ID)
	require.NoError(t, err)
	require.Empty(t, all)
}

// Another urgency and a problem that is neither for nor against count for everybody.
func TestAnotherAnswerCountsForEverybody(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a, visits, _ := sc.struckSitting()
	staff := sc.as("instructor")
	r := staff.post("/assignments/"+a.ID+"/strike", "deed", "propose", "patient", sc.s.opaque("tansy"), "urgency", "emergency", "accept", "osteoarthritis", "reason", "Both are right.").is(http.StatusSeeOther)
	_, of, _ := strings.Cut(r.header.Get("Location"), "?of=")
	sc.worked(of)
	require.Contains(t, staff.get("/assignments/"+a.ID+"/strike?of="+of).text(), "The urgency “emergency” counts as right;")
	sc.as("coordinator").post("/assignments/"+a.ID+"/strike", "deed", "accept", "of", of, "reason", "yes").is(http.StatusSeeOther)
	for _, v := range visits {
		row, err := sc.s.store.Attempt(t.Context(), v.ID)
		require.NoError(t, err)
		key, err := rubric.DecodeKey(row.Key)
		require.NoError(t, err)
		require.Equal(t, "emergency", key.Expected.Urgency)
		require.Contains(t, key.Expected.Accept, "osteoarthritis")
	}
	staff.post("/assignments/"+a.ID+"/strike", "deed", "withdraw", "of", of).is(http.StatusConflict)
}

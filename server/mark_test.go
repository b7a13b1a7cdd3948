package server

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

func TestPointsAreReadAsPeopleTypeThem(t *testing.T) {
	for text, want := range map[string]int64{"2": 2000, " 2.5 ": 2500, "2,5": 2500, "0.125": 125, "-1.5": -1500, "−1,5": -1500, "0": 0, "100": 100000, "007": 7000} {
		got, err := parsePoints(text)
		require.NoError(t, err, text)
		require.Equal(t, want, int64(got), text)
	}
	for _, text := range []string{"", "two", "1.2345", "1e3", "--1", "1.", ".5", "+2", "1 000", "1000", "0x10", "2;3", "NaN", "٢"} {
		_, err := parsePoints(text)
		require.Error(t, err, text)
	}
}

// What people decide stands in every place where a mark is read, with sums done
// here by hand: the computed total and the difference of one line.
func TestAMarkByHandStandsEverywhere(t *testing.T) {
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	turn, visits := sc.sitsThrough("student", a, typically(2, 7))
	v := visits[0].ID
	staff := sc.as("instructor")
	r := staff.toMark(v)
	line := lineLike(t, r.Report, func(l face.Mark) bool {
		return strings.HasPrefix(l.ID, "completeness/") && l.Max > l.Points && l.Max > 100
	})
	computed, points := r.Total, line.Max
	want := computed - line.Points + points

	var after face.MarkedReport
	staff.send("POST", "/api/v1/attempts/"+v+"/marks", markBody{Line: line.ID, Points: points, Reason: "It was <done> & heard.", Seen: r.Seen}).is(http.StatusOK).into(&after)
	require.Equal(t, want, after.Total)
	require.Equal(t, computed, *after.Computed)
	got := lineIn(&after.Report, line.ID)
	require.Equal(t, points, got.Points)
	require.Equal(t, line.Points, *got.Computed, "the computed mark stays")
	require.Equal(t, "It was <done> & heard.", got.Because)
	require.Len(t, after.History, 1)
	require.Equal(t, "Person instructor", after.History[0].By)

	text := pts(want)
	require.Contains(t, staff.get("/assignments/"+a.ID+"/marks").is(http.StatusOK).text(), text+" by hand "+pts(computed))
	require.Contains(t, string(staff.get("/visits/"+v+"/debrief").is(http.StatusOK).body), text)
	require.Contains(t, string(staff.get("/visits/"+v+"/marks").is(http.StatusOK).body), "It was &lt;done&gt; &amp; heard.")
	require.Contains(t, string(staff.get("/assignments/"+a.ID+"/gradebook.csv").is(http.StatusOK).body), ","+want.String()+","+computed.String()+",")
	var list visitsAnswer
	staff.get("/api/v1/attempts").into(&list)
	require.Equal(t, want, *list.Attempts[0].Total)

	// The student reads it once it is released, and no name.
	student := sc.as("student")
	student.get("/visits/" + v + "/debrief").is(http.StatusNotFound)
	student.get("/api/v1/attempts/"+v+"/report").problem(http.StatusNotFound, "missing")
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	page := student.get("/visits/" + v + "/debrief").is(http.StatusOK)
	require.Contains(t, page.text(), text+" of 100 points")
	require.Contains(t, string(page.body), fmt.Sprintf("Marked by an instructor: %s of %s; computed %s. It was &lt;done&gt; &amp; heard.", pts(points), pts(line.Max), pts(line.Points)))
	require.NotContains(t, string(page.body), "Person instructor")
	student.get("/api/v1/attempts").into(&list)
	require.Equal(t, want, *list.Attempts[0].Total)
	require.NotContains(t, string(student.get("/api/v1/attempts/"+v+"/report").is(http.StatusOK).body), "Person instructor")

	// Undone by a further mark; both stay in the history.
	staff.send("POST", "/api/v1/attempts/"+v+"/marks", markBody{Line: line.ID, Points: line.Points, Reason: "I misread it.", Seen: after.Seen}).is(http.StatusOK).into(&after)
	require.Equal(t, computed, after.Total)
	require.Len(t, after.History, 3, "two marks and a release")
	require.Contains(t, sc.deedWordsOf(), deedMark)
}

// Two instructors at once: the second is told what changed, and loses nothing.
func TestTheSecondToMarkIsTold(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	_, visits := sc.sitsThrough("student", a, typically(2, 7))
	v := visits[0].ID
	first, second := sc.as("instructor"), sc.as("coordinator")
	seen := first.toMark(v).Seen
	line := lineLike(t, first.toMark(v).Report, func(l face.Mark) bool { return l.Max > 0 && l.Points < l.Max })
	first.post("/visits/"+v+"/marks", "deed", "mark", "line", line.ID, "points", pts(line.Max), "reason", "mine", "seen", seen).is(http.StatusSeeOther)
	page := second.post("/visits/"+v+"/marks", "deed", "mark", "line", line.ID, "points", "0,123", "reason", "what I <typed>", "seen", seen).is(http.StatusConflict)
	require.Contains(t, page.text(), "something about this visit changed since you opened the page")
	require.Contains(t, string(page.body), `value="0,123"`)
	require.Contains(t, string(page.body), "what I &lt;typed&gt;</textarea>")
	require.Contains(t, page.text(), "Person instructor : Marked", "what the first did stands there")
	require.Len(t, first.toMark(v).History, 1, "nothing was done")
	second.send("POST", "/api/v1/attempts/"+v+"/marks", markBody{Line: line.ID, Points: 1, Reason: "x", Seen: seen}).problem(http.StatusConflict, "taken")
	second.send("POST", "/api/v1/attempts/"+v+"/marks", markBody{Line: line.ID, Points: 1, Reason: "x", Seen: first.toMark(v).Seen}).is(http.StatusOK)
}

func TestMarksThatCannotBe(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	_, visits := sc.sitsThrough("student", a, typically(2, 7))
	v := visits[0].ID
	staff := sc.as("instructor")
	r := staff.toMark(v)
	line := lineLike(t, r.Report, func(l face.Mark) bool { return l.Max > 0 && l.Points < l.Max })
	note := lineLike(t, r.Report, func(l face.Mark) bool { return l.Max == 0 && l.Points == 0 })
	for _, row := range []struct {
		line, points, reason, says string
	}{
		{line.ID, "", "x", "A number of at most three decimals"},
		{line.ID, "much", "x", "A number of at most three decimals"},
		{line.ID, "99", "x", "Outside what this line can earn: 0 to " + face.Points(line.Max).String() + " points"},
		{line.ID, "-1", "x", "Outside what this line can earn"},
		{line.ID, "0", "  ", "Say why, in at most 2000 bytes"},
		{line.ID, "0", strings.Repeat("x", 2001), "Say why, in at most 2000 bytes"},
		{"findings/none", "0", "x", "The report has no such line"},
		{note.ID, "0", "x", "earns and costs nothing of its own"},
	} {
		page := staff.post("/visits/"+v+"/marks", "deed", "mark", "line", row.line, "points", row.points, "reason", row.reason, "seen", r.Seen).is(http.StatusUnprocessableEntity)
		require.Contains(t, oneLine(strings.ReplaceAll(page.text(), "&#39;", "'")), row.says)
	}
	staff.post("/visits/"+v+"/marks", "deed", "mark", "line", line.ID, "points", "0", "reason", "x", "seen", "1.2").is(http.StatusUnprocessableEntity)
	staff.post("/visits/"+v+"/marks", "deed", "erase").is(http.StatusUnprocessableEntity)
	staff.post("/visits/"+v+"/marks", "deed", "decide", "what", "bite", "stands", "yes", "reason", "x", "seen", r.Seen).is(http.StatusUnprocessableEntity)
	staff.post("/visits/"+v+"/marks", "deed", "answer", "line", line.ID, "reason", "x", "seen", r.Seen).is(http.StatusNotFound)
	require.Empty(t, staff.toMark(v).History)
}

// A critical event waits for a person; what the person decides decides the pass.
func TestCriticalEventsAreDecided(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	a := sc.sitting1("tinker")
	turn, visits := sc.sitsThrough("student", a, robot.Reckless)
	v := visits[0].ID
	staff, student := sc.as("instructor"), sc.as("student")
	r := staff.toMark(v)
	require.Equal(t, []string{"bite"}, r.Waits)
	require.False(t, r.Pass)
	page := staff.get("/visits/" + v + "/marks").is(http.StatusOK).text()
	require.Contains(t, page, "Critical event: waits")
	require.Contains(t, page, "The animal had shown it at")

	// Not released while it waits, not even by a release to everybody.
	refused := staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusConflict).text()
	require.Contains(t, refused, "Not released: Person student.")
	student.get("/visits/" + v + "/debrief").is(http.StatusNotFound)

	for i, row := range []struct {
		stands string
		says   string
		why    string
		pass   bool
	}{{"yes", "stands", "a critical event stands", false}, {"no", "does not stand", "hurdle not met: handling", r.Total >= r.PassMark && handling(r) >= 600}} {
		staff.post("/visits/"+v+"/marks", "deed", "decide", "what", "bite", "stands", row.stands, "reason", "I looked at it.", "seen", staff.toMark(v).Seen).is(http.StatusSeeOther)
		now := staff.toMark(v)
		require.Empty(t, now.Waits)
		require.Equal(t, row.pass, now.Pass)
		require.Len(t, now.History, i+1)
		require.Contains(t, staff.get("/visits/"+v+"/marks").text(), "Critical event: "+row.says)
		list := staff.get("/assignments/" + a.ID + "/marks").text()
		require.Equal(t, !row.pass, strings.Contains(list, row.why), "the list says why it is not passed")
	}
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	debrief := student.get("/visits/" + v + "/debrief").is(http.StatusOK).text()
	require.Contains(t, debrief, "A person has looked at it: it does not decide the case.")
	require.Contains(t, debrief, "I looked at it.")
	require.NotContains(t, debrief, "A person confirms this before it counts")
}

// handling is the share of handling, per mille.
func handling(r face.MarkedReport) int {
	for _, d := range r.Domains {
		if d.ID == "handling" {
			return int(d.Points * 1000 / d.Max)
		}
	}
	return 0
}

// Whoever does not teach the cohort, and every student, finds nothing.
func TestMarksAreAbsentForOthers(t *testing.T) {
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	turn, visits := sc.sitsThrough("student", a, typically(2, 7))
	v := visits[0].ID
	seen := sc.as("instructor").toMark(v)
	line := lineLike(t, seen.Report, func(l face.Mark) bool { return l.Max > 0 })
	g, err := sc.s.proposeStrike(t.Context(), sc.face("instructor"), a.ID, strikeAsk{patient: sc.s.opaque("tansy"), change: strikes(t, sc, a, "tansy"), reason: "x"})
	require.NoError(t, err)
	for name, c := range map[string]*client{"another cohort's instructor": sc.elsewhere(), "its student": sc.as("student"), "another student": sc.as("student2")} {
		for _, path := range []string{"/assignments/" + a.ID + "/marks", "/assignments/" + a.ID + "/strike", "/assignments/" + a.ID + "/strike?of=" + g.ID, "/assignments/" + a.ID + "/gradebook.csv",
			"/cohorts/" + sc.cohort + "/gradebook.csv", "/visits/" + v + "/marks", "/visits/" + v + "/appeal.pdf", "/visits/" + v + "/appeal.zip", "/visits/" + v + "/debrief",
			"/api/v1/assignments/" + a.ID + "/marks", "/api/v1/attempts/" + v + "/marks", "/api/v1/attempts/" + v + "/report"} {
			require.Equal(t, http.StatusNotFound, c.get(path).code, "%s: %s", name, path)
		}
		for path, body := range map[string]any{
			"/api/v1/assignments/" + a.ID + "/release":  releaseForm{Although: true},
			"/api/v1/attempts/" + v + "/marks":          markBody{line.ID, 0, "x", seen.Seen},
			"/api/v1/attempts/" + v + "/decisions":      decisionBody{"bite", true, "x", seen.Seen},
			"/api/v1/attempts/" + v + "/reviews":        askBody{line.ID, "please"},
			"/api/v1/attempts/" + v + "/reviews/answer": answerBody{line.ID, nil, "x", seen.Seen},
		} {
			c.send("POST", path, body).problem(http.StatusNotFound, "missing")
		}
		for _, form := range [][]string{{"deed", "release", "although", "yes"}, {"deed", "back", "turn", turn, "reason", "x"}, {"deed", "excuse", "turn", turn, "reason", "x"},
			{"deed", "resit", "person", sc.personID("student"), "opens", "2026-12-01T09:00", "closes", "2026-12-01T10:00", "reason", "x"}} {
			require.Equal(t, http.StatusNotFound, c.post("/assignments/"+a.ID+"/marks", form...).code, "%s: %v", name, form)
		}
		for _, deed := range []string{"accept", "undo", "withdraw", "propose"} {
			require.Equal(t, http.StatusNotFound, c.post("/assignments/"+a.ID+"/strike", "deed", deed, "of", g.ID, "reason", "x", "patient", sc.s.opaque("tansy")).code, name)
		}
		c.post("/visits/"+v+"/marks", "deed", "mark", "line", line.ID, "points", "0", "reason", "x", "seen", seen.Seen).is(http.StatusNotFound)
		c.post("/visits/"+v+"/reviews", "line", line.ID, "words", "please").is(http.StatusNotFound)
	}
	require.Empty(t, sc.as("instructor").toMark(v).Void)
	turnRow, err := sc.s.store.Turn(t.Context(), turn)
	require.NoError(t, err)
	require.True(t, turnRow.Released.IsZero())
	require.Empty(t, turnRow.Excused)
}

// Nobody marks, releases or excuses what is their own.
func TestNobodyMarksTheirOwn(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.enrol(sc.personID("coordinator"), "student")
	a := sc.sitting1("tansy")
	turn, visits := sc.sitsThrough("coordinator", a, typically(2, 7))
	c := sc.as("coordinator")
	c.get("/visits/" + visits[0].ID + "/marks").is(http.StatusNotFound)
	c.get("/visits/" + visits[0].ID + "/appeal.pdf").is(http.StatusNotFound)
	c.post("/assignments/"+a.ID+"/marks", "deed", "excuse", "turn", turn, "reason", "x").is(http.StatusNotFound)
	require.Contains(t, c.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusConflict).text(), "Somebody else releases your own.")
	c.get("/visits/" + visits[0].ID + "/debrief").is(http.StatusNotFound)
	sc.as("instructor").post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	c.get("/visits/" + visits[0].ID + "/debrief").is(http.StatusOK)
}

// A practice is debriefed at once, is marked by hand like a sitting, and takes no reviews.
func TestPracticeHasMarksAndNoReviews(t *testing.T) {
	sc := newSchool(t)
	a := sc.sat(func(a *store.Assignment) { a.Kind, a.Slots, a.Tries = "practice", [][]string{{"tansy"}}, 0 })
	_, visits := sc.sitsThrough("student", a, typically(2, 7))
	v := visits[0].ID
	staff, student := sc.as("instructor"), sc.as("student")
	r := staff.toMark(v)
	line := lineLike(t, r.Report, func(l face.Mark) bool { return l.Max > 0 && l.Points < l.Max })
	staff.post("/visits/"+v+"/marks", "deed", "mark", "line", line.ID, "points", pts(line.Max), "reason", "seen", "seen", r.Seen).is(http.StatusSeeOther)
	(&visit{client: student, id: v}).onward()
	page := string(student.get("/visits/" + v + "/debrief").is(http.StatusOK).body)
	require.Contains(t, page, "Marked by an instructor")
	require.NotContains(t, page, "Ask for a review")
	student.post("/visits/"+v+"/reviews", "line", line.ID, "words", "please").is(http.StatusNotFound)
	require.Contains(t, staff.post("/assignments/"+a.ID+"/marks", "deed", "release").is(http.StatusConflict).text(), "there is nothing to release")
	sc.clock.Pass(time.Minute)
}

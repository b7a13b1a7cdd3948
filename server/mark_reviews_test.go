package server

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// released is a sitting of one student, marked and released.
func (sc *school) releasedSitting() (store.Assignment, store.Attempt) {
	sc.t.Helper()
	a := sc.sitting1("tansy")
	turn, visits := sc.sitsThrough("student", a, typically(2, 7))
	sc.as("instructor").post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	return a, visits[0]
}

// A student asks once a line, after release; an instructor answers; the student
// reads the answer. Nobody's words are ever markup.
func TestAReviewIsAskedAndAnswered(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	_, v := sc.releasedSitting()
	student, staff := sc.as("student"), sc.as("instructor")
	page := string(student.get("/visits/" + v.ID + "/debrief").is(http.StatusOK).body)
	require.Contains(t, page, "Ask for a review")
	r := staff.toMark(v.ID)
	line := lineLike(t, r.Report, func(l face.Mark) bool { return l.Max > 100 && l.Points < l.Max && len(l.Acts) > 0 })
	other := lineLike(t, r.Report, func(l face.Mark) bool { return l.Max > 100 && l.Points < l.Max && l.ID != line.ID })
	path := "/visits/" + v.ID + "/reviews"
	for _, row := range []struct {
		line, words, says string
		code              int
	}{
		{line.ID, "", "Say what to look at", http.StatusUnprocessableEntity},
		{line.ID, strings.Repeat("x", 2001), "in at most 2000 bytes", http.StatusUnprocessableEntity},
		{"findings/none", "please", "A line of this debrief", http.StatusUnprocessableEntity},
	} {
		require.Contains(t, student.post(path, "line", row.line, "words", row.words).is(row.code).text(), row.says)
	}
	words := `I did <b>hear</b> it & wrote "soft".`
	student.post(path, "line", line.ID, "words", words).is(http.StatusSeeOther)
	again := student.post(path, "line", line.ID, "words", "Again, please.").is(http.StatusConflict)
	require.Contains(t, again.text(), "Each line can be asked for once")
	page = string(student.get("/visits/" + v.ID + "/debrief").is(http.StatusOK).body)
	require.Contains(t, page, "I did &lt;b&gt;hear&lt;/b&gt; it &amp; wrote &#34;soft&#34;.")
	require.Contains(t, page, "It waits for an instructor.")

	sc.clock.Pass(time.Minute)
	student.send("POST", "/api/v1/attempts/"+v.ID+"/reviews", askBody{other.ID, "This one too."}).is(http.StatusCreated)
	queue := staff.get("/reviews").is(http.StatusOK)
	require.Contains(t, string(queue.body), "I did &lt;b&gt;hear&lt;/b&gt; it")
	require.Contains(t, queue.text(), "2 wait for an answer")
	var list reviewsAnswer
	staff.get("/api/v1/reviews").is(http.StatusOK).into(&list)
	require.Equal(t, []string{line.ID, other.ID}, []string{list.Reviews[0].Line, list.Reviews[1].Line}, "the longest waiting first")
	require.Equal(t, []string{line.Reason, words}, []string{list.Reviews[0].Reason, list.Reviews[0].Words})
	require.Equal(t, line.Acts, list.Reviews[0].Acts)
	staff.get("/api/v1/reviews?page=0").problem(http.StatusUnprocessableEntity, "invalid")

	// Answered with another mark, which needs a reason and fits the line.
	bad := staff.post("/reviews", "visit", v.ID, "line", line.ID, "points", "99", "reason", "typed <here>", "seen", list.Reviews[0].Seen).is(http.StatusUnprocessableEntity)
	require.Contains(t, bad.text(), "Outside what this line can earn")
	require.Contains(t, string(bad.body), "typed &lt;here&gt;</textarea>")
	staff.post("/reviews", "visit", v.ID, "line", line.ID, "points", "", "reason", "", "seen", list.Reviews[0].Seen).is(http.StatusUnprocessableEntity)
	staff.post("/reviews", "visit", v.ID, "line", line.ID, "points", pts(line.Max), "reason", "So you did.", "seen", list.Reviews[0].Seen).is(http.StatusSeeOther)
	staff.post("/reviews", "visit", v.ID, "line", line.ID, "points", "", "reason", "Twice.", "seen", staff.toMark(v.ID).Seen).is(http.StatusConflict)
	var got face.MarkedReport
	staff.send("POST", "/api/v1/attempts/"+v.ID+"/reviews/answer", answerBody{other.ID, nil, "It stays.", staff.toMark(v.ID).Seen}).is(http.StatusOK).into(&got)
	require.Equal(t, r.Total-line.Points+line.Max, got.Total)
	require.Contains(t, staff.get("/reviews").text(), "Nothing waits")

	report := new(face.Report)
	student.get("/api/v1/attempts/" + v.ID + "/report").is(http.StatusOK).into(report)
	require.Equal(t, got.Total, report.Total)
	require.Equal(t, []any{true, "So you did.", false, "It stays."},
		[]any{lineIn(report, line.ID).Asked.Changed, lineIn(report, line.ID).Asked.Answer, lineIn(report, other.ID).Asked.Changed, lineIn(report, other.ID).Asked.Answer})
	text := student.get("/visits/" + v.ID + "/debrief").text()
	require.Contains(t, text, "with another mark: So you did.")
	require.Contains(t, text, "the mark stays: It stays.")
	require.Subset(t, sc.deedWordsOf(), []string{deedAsk, deedAnswer})
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{Limit: 1000})
	require.NoError(t, err)
	for _, n := range notes {
		require.NotContains(t, n.Detail, "hear", "no words of a student's in the log")
	}
}

// Not before release, not for others, not twice by two at once.
func TestReviewsBeforeReleaseAndByOthers(t *testing.T) {
	sc := newSchool(t)
	a := sc.sitting1("tansy")
	turn, visits := sc.sitsThrough("student", a, typically(2, 7))
	v := visits[0].ID
	staff := sc.as("instructor")
	line := lineLike(t, staff.toMark(v).Report, func(l face.Mark) bool { return l.Max > 0 })
	ask := func(login string, code int) {
		t.Helper()
		sc.as(login).send("POST", "/api/v1/attempts/"+v+"/reviews", askBody{line.ID, "please"}).is(code)
	}
	ask("student", http.StatusNotFound)
	staff.post("/assignments/"+a.ID+"/marks", "deed", "release", "turn", turn, "although", "yes").is(http.StatusSeeOther)
	for _, login := range []string{"student2", "instructor", "coordinator"} {
		ask(login, http.StatusNotFound)
	}
	ask("student", http.StatusCreated)
	require.Contains(t, sc.elsewhere().get("/reviews").is(http.StatusOK).text(), "Nothing waits")
	require.Contains(t, sc.as("coordinator").get("/reviews").text(), "1 waits for an answer")
	sc.as("student").get("/reviews").is(http.StatusNotFound)

	seen := staff.toMark(v).Seen
	staff.post("/visits/"+v+"/marks", "deed", "mark", "line", line.ID, "points", "0", "reason", "x", "seen", seen).is(http.StatusSeeOther)
	sc.as("coordinator").post("/reviews", "visit", v, "line", line.ID, "points", pts(line.Max), "reason", "y", "seen", seen).is(http.StatusConflict)
	require.Contains(t, sc.as("coordinator").get("/reviews").text(), "1 waits for an answer", "neither the mark nor the answer")
	// Taken back, it can be asked no more.
	staff.post("/assignments/"+a.ID+"/marks", "deed", "back", "turn", turn, "reason", "Too early.").is(http.StatusSeeOther)
	ask("student", http.StatusNotFound)
}

// The queue is paged.
func TestManyReviews(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	_, v := sc.releasedSitting()
	staff, student := sc.as("instructor"), sc.as("student")
	n := 0
	for _, d := range staff.toMark(v.ID).Domains {
		for _, l := range d.Lines {
			if n < reviewsAPage+3 && student.post("/visits/"+v.ID+"/reviews", "line", l.ID, "words", fmt.Sprintf("look at %d.", n)).code == http.StatusSeeOther {
				n++
				sc.clock.Pass(time.Second)
			}
		}
	}
	require.Equal(t, reviewsAPage+3, n)
	first, second := staff.get("/reviews").text(), staff.get("/reviews?page=2").text()
	require.Contains(t, first, "look at 0.")
	require.Contains(t, first, "Page 1 of 2")
	require.NotContains(t, first, fmt.Sprintf("look at %d.", reviewsAPage+2))
	require.Contains(t, second, fmt.Sprintf("look at %d.", reviewsAPage+2))
}

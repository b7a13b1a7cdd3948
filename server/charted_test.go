package server

import (
	"net/http"
	"testing"

	"dewclaw/cases/robot"
	"dewclaw/server/bench"
	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

// A robot's whole visit over the API: what is answered at an act is what is
// answered when it is asked again at the end, and after the server was started
// again, which has then read the acts all at once.
func TestAnAnswerIsTheSameHoweverItIsReached(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	me, err := sc.s.store.PersonByLogin(t.Context(), "student")
	require.NoError(t, err)
	id, acts, err := sc.s.OpenVisit(t.Context(), me.ID, sc.s.Practice()[0], "veterinary", robot.Ideal)
	require.NoError(t, err)
	posts, err := bench.Posts(acts)
	require.NoError(t, err)
	c := sc.as("student")
	ask := func(n int) string {
		return string(c.send(http.MethodPost, "/api/v1/attempts/"+id+"/acts", posts[n-1].Body(nil, n, retryFor(n))).is(http.StatusCreated).body)
	}
	var first []string
	for n := range posts {
		first = append(first, ask(n+1))
	}
	var last face.Answer
	var whole face.Attempt
	c.send(http.MethodGet, "/api/v1/attempts/"+id, nil).is(http.StatusOK).into(&whole)
	for _, when := range []string{"asked again", "after a restart"} {
		for n := 1; n <= len(posts); n += 7 {
			require.Equal(t, first[n-1], ask(n), "%s, act %d", when, n)
		}
		sc.restart()
	}
	sheets := 0
	for n := range posts {
		var a face.Answer
		(&reply{t: t, body: []byte(first[n])}).into(&a)
		if a.Sheet != nil {
			last, sheets = a, sheets+1
		}
	}
	require.Greater(t, sheets, 20)
	require.Equal(t, whole.Sheet, last.Sheet)
}

package server

import (
	"testing"
	"time"

	"dewclaw/server/store"
	"dewclaw/server/study"

	"github.com/stretchr/testify/require"
)

// TestWhatIsKeptOfAVisitIsWhatItSaid: it comes back whole, not once the visit was
// marked anew, and however many come the last ones stay at hand.
func TestWhatIsKeptOfAVisitIsWhatItSaid(t *testing.T) {
	t.Parallel()
	var kept judgedVisits
	at := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	listed := func(n int64, graded time.Time) store.Listed {
		row := store.Listed{Mark: &store.Report{Graded: graded}}
		row.Transcript = n
		return row
	}
	like := study.Judgement{At: at, Visit: "v", Case: "c", Species: "dog", System: "heart", Difficulty: 2}
	one, two := like, like
	one.Skill, one.Place, one.Mark, one.Step = "heart", "heart.auscultate", 1000, true
	two.Place, two.Sure = "heart.murmur@left apex", 95
	kept.keep(listed(1, at), []study.Judgement{one, two})
	got, ok := kept.find(listed(1, at))
	require.True(t, ok)
	require.Equal(t, []study.Judgement{one, two}, got)
	_, ok = kept.find(listed(1, at.Add(time.Second)))
	require.False(t, ok, "it was marked anew")
	kept.keep(listed(1, at.Add(time.Second)), []study.Judgement{one})
	got, _ = kept.find(listed(1, at.Add(time.Second)))
	require.Len(t, got, 1)
	for n := range int64(mostJudged) {
		kept.keep(listed(n+2, at), []study.Judgement{one})
	}
	require.Len(t, kept.kept, mostJudged)
	_, ok = kept.find(listed(1, at.Add(time.Second)))
	require.False(t, ok, "the one that was kept first went")
	_, ok = kept.find(listed(2, at))
	require.True(t, ok, "and no other")
}

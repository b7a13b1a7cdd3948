package trial

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
)

// watched gathers numbers that tell by so much, over some places.
func watched(places, longer int) []Giveaway {
	w := newWatcher()
	for i := range places {
		place := fmt.Sprint("case", i)
		w.add("dog", byWords, "mm.colour", place, 60+i%7, false)
		w.add("dog", byWords, "mm.colour", place, 60+i%7+longer, true)
	}
	return w.giveaways()
}

func about(gives []Giveaway, species, what string) Giveaway {
	i := slices.IndexFunc(gives, func(g Giveaway) bool { return g.Species == species && g.What == what })
	return gives[i]
}

// What tells is said, whichever way it tells, and so is what cannot be judged.
func TestAGiveawayIsSeen(t *testing.T) {
	for longer, holds := range map[int]bool{0: true, 9: false, -9: false} {
		for _, species := range []string{"dog", overAll} {
			g := about(watched(40, longer), species, byWords)
			require.True(t, g.Judged)
			require.Equal(t, holds, g.Holds, "%+v", g)
			require.Equal(t, 40, g.Normal)
			require.Equal(t, 40, g.Abnormal)
		}
	}
	few := about(watched(LeastPlaces-1, 9), "dog", byWords)
	require.False(t, few.Judged)
	require.Equal(t, "too few that are abnormal to judge: 19 of the 20 places needed", few.Why)
	require.Equal(t, "too few that are abnormal to judge: 0 of the 20 places needed", about(watched(40, 0), "dog", bySound).Why)
}

// Seconds and bytes are known by the step: that one step finds something more
// often than another tells nothing of this patient, unless it is so in all
// species; that a step takes longer where it finds something does.
func TestANumberOfTheStep(t *testing.T) {
	gives := func(late int) (dog, all Giveaway) {
		w := newWatcher()
		for i := range 40 {
			place := fmt.Sprint("case", i)
			w.add("dog", bySeconds, "quick", place, 10, i < 5)
			w.add("dog", bySeconds, "slow", place, 30+late*(i%2), i%2 == 1)
		}
		all = about(w.giveaways(), overAll, bySeconds)
		return about(w.giveaways(), "dog", bySeconds), all
	}
	dog, all := gives(0)
	require.Greater(t, dog.Area, MostArea)
	require.Equal(t, .5, dog.Within)
	require.True(t, dog.Holds)
	require.False(t, all.Holds)
	dog, _ = gives(1)
	require.False(t, dog.Holds)
}

// A number may differ from field to field without telling: but where in each
// field the abnormal is the longer, it tells, however the fields hide it.
func TestAGiveawayWithinAField(t *testing.T) {
	w := newWatcher()
	for i := range 40 {
		place := fmt.Sprint("case", i)
		w.add("dog", byWords, "short", place, 55, false)
		w.add("dog", byWords, "short", place, 56, true)
		w.add("dog", byWords, "long", place, 75, false)
		w.add("dog", byWords, "long", place, 76, true)
	}
	g := about(w.giveaways(), "dog", byWords)
	require.Equal(t, .75, g.Area)
	require.Equal(t, 1.0, g.Within)
	require.False(t, g.Holds)
}

// A catalogue whose abnormal words are long gives itself away; and one of whose
// words are short too.
func TestLongOrShortWordsAreCaught(t *testing.T) {
	for change, holds := range map[string]bool{"": true, " and on": false, "cut": false} {
		l, err := cases.Load(cases.BuiltinFiles())
		require.NoError(t, err)
		fields := l.Catalogue("dog").Fields
		for i := range fields {
			for j := range fields[i].Of {
				ch := &fields[i].Of[j]
				for n := range ch.Cue {
					switch {
					case !fields[i].Abnormal(ch.ID):
					case change == "cut":
						ch.Cue[n] = ch.Cue[n][:len(ch.Cue[n])-6]
					default:
						ch.Cue[n] += change
					}
				}
			}
		}
		w := newWatcher()
		for _, id := range []string{"fergus", "monty", "dulcie"} {
			p, k, err := patient(l, builtin(t, "veterinary"), l.Case(id), 0)
			require.NoError(t, err)
			require.NoError(t, w.watch(l.Case(id), p, &k, false))
		}
		g := about(w.giveaways(), "dog", byWords)
		require.True(t, g.Judged)
		require.Equal(t, holds, g.Holds, "%q: %+v", change, g)
	}
}

// What one patient has gives nobody else's away: below three there is no verdict.
func TestAFewPatientsAreNotJudged(t *testing.T) {
	l := cases.Builtin()
	w := newWatcher()
	for _, id := range []string{"fergus", "monty"} {
		p, k, err := patient(l, builtin(t, "veterinary"), l.Case(id), 0)
		require.NoError(t, err)
		require.NoError(t, w.watch(l.Case(id), p, &k, false))
	}
	g := about(w.giveaways(), "dog", byWords)
	require.False(t, g.Judged)
	require.Equal(t, "too few patients to judge: 2 of the 3 needed", g.Why)
}

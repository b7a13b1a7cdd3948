package cases

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// TestLookAgainIsAsTheStepWas: what is sensed once more is what the step shows then,
// and nothing comes of it: no time, no strain, no hazard, no refusal.
func TestLookAgainIsAsTheStepWas(t *testing.T) {
	t.Parallel()
	p := smallPatient(t, 1)
	tr := play(t, p, examine("hip.move", "right", 0), examine("heart.auscultate", "left apex", 0), rubric.Act{Kind: rubric.Conclude, Urgency: "routine"})
	state := tr[2].Outcome.State
	_, err := p.Apply(state, examine("heart.auscultate", "left apex", 0))
	require.ErrorIs(t, err, ErrAct, "the visit is over")

	for _, at := range [][2]string{{"heart.auscultate", "left apex"}, {"hip.move", "right"}, {"abdomen.palpate", ""}, {"temperature.measure", "rectal"}} {
		e, err := p.LookAgain(state, at[0], at[1])
		require.NoError(t, err)
		again, err := p.LookAgain(e.Outcome.State, at[0], at[1])
		require.NoError(t, err)
		require.Equal(t, e.Outcome.Shown, again.Outcome.Shown, at)
		require.True(t, bytes.Equal(e.Outcome.State, again.Outcome.State), "%v changed the patient", at)
		require.Equal(t, tr[2].Outcome.Clock, e.Outcome.Clock)
		require.Empty(t, e.Outcome.Events)
		require.False(t, e.Outcome.Refused)
		require.NotEmpty(t, e.Outcome.Percepts)
	}
	e, err := p.LookAgain(state, "heart.auscultate", "left apex")
	require.NoError(t, err)
	require.Equal(t, shownAt(tr[1], "heart.murmur", "left apex"), shownAt(e, "heart.murmur", "left apex"))
	wav, err := p.Sound(e, 7)
	require.NoError(t, err)
	same, err := p.Sound(e, 7)
	require.NoError(t, err)
	require.True(t, bytes.Equal(wav, same))

	for _, wrong := range [][2]string{{"no.step", ""}, {"hip.move", "middle"}, {"testes.palpate", ""}} {
		_, err := p.LookAgain(state, wrong[0], wrong[1])
		require.ErrorIs(t, err, ErrAct, wrong)
	}
	_, err = p.LookAgain([]byte{9, 9}, "hip.move", "right")
	require.Error(t, err)
}

// TestLookAgainAtWhoDied: the heart is heard as before, for the dead show nothing.
func TestLookAgainAtWhoDied(t *testing.T) {
	t.Parallel()
	p := smallPatient(t, 1, fragile)
	tr, ended := wear(t, p)
	require.Equal(t, "arrest", ended)
	e, err := p.LookAgain(tr[len(tr)-2].Outcome.State, "heart.auscultate", "left apex")
	require.NoError(t, err)
	n, err := p.Count(e, "heart.rate", 0, 15)
	require.NoError(t, err)
	require.Positive(t, n)
}

func TestAHintIsHeldBackByRegion(t *testing.T) {
	t.Parallel()
	p := smallPatient(t, 1)
	tr := play(t, p, examine("distance.observe", "", 0))
	held := func(regions ...string) func(string) bool {
		return func(r string) bool {
			for _, x := range regions {
				if x == r || x == "*" {
					return true
				}
			}
			return false
		}
	}
	for _, row := range []struct {
		held []string
		want string
	}{
		{nil, "Not examined yet: Head, Chest, Abdomen, Hindlimbs, Rear."},
		{[]string{"heart"}, "Not examined yet: Head, Abdomen, Hindlimbs, Rear."},
		{[]string{"tail"}, "Not examined yet: Head, Chest, Abdomen, Hindlimbs, Rear."}, // the other region of its stage is still hinted at
		{[]string{"tail", "temperature"}, "Not examined yet: Head, Chest, Abdomen, Hindlimbs."},
		{[]string{"*"}, "Of the rest no hint is given."},
	} {
		got, err := p.Hint(tr[0].Outcome.State, held(row.held...))
		require.NoError(t, err)
		require.Equal(t, row.want, got)
	}
	out, err := p.Apply(tr[0].Outcome.State, rubric.Act{Kind: rubric.Hint})
	require.NoError(t, err)
	require.Equal(t, "Not examined yet: Head, Chest, Abdomen, Hindlimbs, Rear.", out.Answer)
	_, err = p.Hint([]byte{9, 9}, held())
	require.Error(t, err)
}

package cases

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// What is counted in the clip is the rate that was there at the act.
func TestClipsHoldTheRateOfTheAct(t *testing.T) {
	for seed := range uint64(40) {
		p := smallPatient(t, seed, func(c *Case) { c.Demeanour = "wary" })
		tr := play(t, p, examine("breathing.count", "", 30), examine("hip.move", "left", 15), examine("heart.auscultate", "left apex", 15))
		for _, row := range []struct {
			entry rubric.Entry
			field string
		}{{tr[0], "resp.rate"}, {tr[2], "heart.rate"}} {
			want, err := strconv.Atoi(shownAt(row.entry, row.field, ""))
			require.NoError(t, err)
			for phase := range uint64(5) {
				n, err := p.Count(row.entry, row.field, phase*7_777_777, 60)
				require.NoError(t, err)
				require.InDelta(t, want, n, 1)
				quarter, err := p.Count(row.entry, row.field, phase*7_777_777, 15)
				require.NoError(t, err)
				require.InDelta(t, float64(want)/4, quarter, 1)
			}
		}
	}
}

func TestClipsOnlyWhereThereIsSomething(t *testing.T) {
	p := smallPatient(t, 1)
	tr := play(t, p, examine("heart.auscultate", "left apex", 15), examine("mouth.refill", "", 5), examine("hip.move", "left", 5), rubric.Act{Kind: rubric.Wait, Seconds: 1}, examine("breathing.count", "", 30))
	wav, err := p.Sound(tr[0], 1)
	require.NoError(t, err)
	require.Equal(t, "RIFF", string(wav[:4]))
	_, err = p.Picture(tr[0], 1)
	require.ErrorIs(t, err, ErrNothingThere)
	for _, i := range []int{1, 4} {
		pic, err := p.Picture(tr[i], 1)
		require.NoError(t, err)
		require.Equal(t, "GIF89a", string(pic.Bytes[:6]))
		_, err = p.Sound(tr[i], 1)
		require.ErrorIs(t, err, ErrNothingThere)
	}
	for _, i := range []int{2, 3} {
		_, err = p.Sound(tr[i], 1)
		require.ErrorIs(t, err, ErrNothingThere)
		_, err = p.Picture(tr[i], 1)
		require.ErrorIs(t, err, ErrNothingThere)
		_, err = p.Count(tr[i], "heart.rate", 1, 15)
		require.ErrorIs(t, err, ErrNothingThere)
	}
	_, err = p.Sound(rubric.Entry{}, 1)
	require.ErrorIs(t, err, ErrNothingThere)
}

func TestRhythmAndMurmurAreHeard(t *testing.T) {
	p := smallPatient(t, 1, func(c *Case) { c.Truth = append(c.Truth, Truth{Field: "heart.rhythm", Values: []string{"irregular"}}) })
	tr := play(t, p, examine("heart.auscultate", "left apex", 15), examine("heart.auscultate", "right apex", 15))
	left, err := p.scene(tr[0], 1)
	require.NoError(t, err)
	right, err := p.scene(tr[1], 1)
	require.NoError(t, err)
	require.Equal(t, []senses.Murmur{{Timing: senses.Systolic, Grade: 4}}, left.Heart.Murmurs)
	require.Equal(t, []senses.Murmur{{Timing: senses.Systolic, Grade: 2}}, right.Heart.Murmurs)
	require.Equal(t, senses.Irregular, left.Heart.Rhythm)
}

package study_test

import (
	"testing"

	"dewclaw/server/study"

	"github.com/stretchr/testify/require"
)

// said are judgements of one confidence, so many of them right.
func said(sure, right, n int) (all []study.Judgement) {
	for i := range n {
		j := study.Judgement{Sure: sure}
		if i < right {
			j.Mark = 1000
		}
		all = append(all, j)
	}
	return all
}

// The intervals are Wilson's for 14 of 20 (.48 to .85), 3 of 6 (.19 to .81) and
// 4 of 10 (.17 to .69), computed apart in Python with z = 1.96.
func TestBandsSayHowOftenWhoWasSureWasRight(t *testing.T) {
	t.Parallel()
	all := append(append(said(95, 14, 20), said(50, 3, 6)...), said(0, 5, 9)...)
	bands := study.Bands(all)
	require.Len(t, bands, 3)
	require.Equal(t, []int{50, 75, 95}, []int{bands[0].Sure, bands[1].Sure, bands[2].Sure})
	require.Equal(t, "When you are sure: right 14 of 20, 48 to 85 %.", bands[2].Words())
	require.Equal(t, "When you guess: right 3 of 6, 19 to 81 %.", bands[0].Words())
	require.Equal(t, "When you are fairly sure: not yet.", bands[1].Words())
	require.Equal(t, 26, study.Said(bands), "what was said without a confidence is left out")
	require.Equal(t, "You are right less often than that claims.", bands[2].Against())
	require.Empty(t, bands[0].Against())
	require.Empty(t, bands[1].Against())
	require.Equal(t, "You know more than you say.", study.Bands(said(50, 20, 20))[0].Against())
	require.InDelta(t, .1682, study.Bands(said(75, 4, 10))[1].Low, 5e-5)
	require.InDelta(t, .6873, study.Bands(said(75, 4, 10))[1].High, 5e-5)
}

func TestBandsNeedTwenty(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]string{
		0:  "You have not said yet how sure you are of a line. From 20 on, it is shown here how often you were right.",
		1:  "You have said of one line how sure you are. From 20 on, it is shown here how often you were right.",
		19: "You have said of 19 lines how sure you are. From 20 on, it is shown here how often you were right.",
		20: "",
	} {
		require.Equal(t, want, study.TooFew(study.Bands(said(75, n, n))), n)
	}
}

// A part of a mark counts as right from .8 on, as everywhere in self-study.
func TestAPartOfAMarkIsRightFromFourFifthsOn(t *testing.T) {
	t.Parallel()
	bands := study.Bands([]study.Judgement{{Sure: 95, Mark: 799}, {Sure: 95, Mark: 800}})
	require.Equal(t, study.Band{Sure: 95, Right: 1, N: 2, Low: bands[2].Low, High: bands[2].High}, bands[2])
}

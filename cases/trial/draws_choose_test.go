package trial

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// tableOf is a table around 70 points whose seeds are numbered from a start.
func tableOf(start uint64, off ...rubric.Points) Table {
	t := Table{Mean: 70_000}
	for i, x := range off {
		t.Rows = append(t.Rows, Row{cases.SeedOf(start + uint64(i)), 70_000 + x})
	}
	return t
}

// By hand: of the seeds +1, -1, 0 and +1.6 of one case and +.9, -1.2 and .4 of
// another, +1.6 is not given, and only +1 with -1.2, -1 with +.9 and 0 with .4
// add to within half a point; each comes as often as the others (chi squared
// below its 99.99th of a hundred).
func TestChooseByHand(t *testing.T) {
	sitting := []Table{tableOf(10, 1000, -1000, 0, 1600), tableOf(20, 900, -1200, 400)}
	src := rand.NewPCG(1, 2)
	count := map[[2]cases.Seed]float64{}
	const n = 6000
	for range n {
		s, err := Choose(src, sitting)
		require.NoError(t, err)
		count[[2]cases.Seed{s[0], s[1]}]++
	}
	var got, want []float64
	for _, pair := range [][2]uint64{{10, 21}, {11, 20}, {12, 22}} {
		got = append(got, count[[2]cases.Seed{cases.SeedOf(pair[0]), cases.SeedOf(pair[1])}])
		want = append(want, n/3)
	}
	require.Len(t, count, 3)
	require.Less(t, stat.ChiSquare(got, want), distuv.ChiSquared{K: 2}.Quantile(.9999))
}

// Whatever the tables: every seed is one of its own table that fits, and the sum
// is within half a point.
func TestChooseKeepsToTheLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		sitting := make([]Table, rapid.IntRange(1, 10).Draw(t, "patients"))
		at := map[cases.Seed]Row{}
		for i := range sitting {
			off := make([]rubric.Points, 200)
			for j := range off {
				off[j] = rubric.Points(900 * draw.NormFloat64())
			}
			sitting[i] = tableOf(uint64(1000*i), off...)
			for _, r := range sitting[i].Rows {
				at[r.Seed] = r
			}
		}
		s, err := Choose(rand.NewPCG(7, 7), sitting)
		require.NoError(t, err)
		again, err := Choose(rand.NewPCG(7, 7), sitting)
		require.NoError(t, err)
		require.Equal(t, s, again)
		sum := 0
		for i := range s {
			require.Contains(t, sitting[i].Rows, at[s[i]])
			off := int(at[s[i]].D - sitting[i].Mean)
			require.LessOrEqual(t, off*off, 1500*1500)
			sum += off
		}
		require.LessOrEqual(t, sum*sum, 500*500)
	})
}

func TestChooseSaysWhyItCannot(t *testing.T) {
	src := rand.NewPCG(1, 1)
	_, err := Choose(src, nil)
	require.ErrorContains(t, err, "at least one patient")
	_, err = Choose(src, []Table{tableOf(0, 0), tableOf(5, 1501, -1600)})
	require.ErrorContains(t, err, "patient 2 of the sitting has no seed within 1.5 points of its mean")
	_, err = Choose(src, []Table{tableOf(0, 1000), tableOf(5, 600)})
	require.ErrorContains(t, err, "none adds up to within 0.5 points")
	s, err := Choose(src, []Table{tableOf(0, 1500), tableOf(5, -1500)})
	require.NoError(t, err)
	require.Len(t, s, 2)
}

// A table is hidden, and stored and read back byte by byte.
func TestTableIsHiddenAndStored(t *testing.T) {
	x := tableOf(3, 0, -1234, 567)
	x.Rows[0].Seed = cases.NewSeed()
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%d", "%x"} {
		require.Equal(t, "[hidden]", fmt.Sprintf(verb, x))
	}
	require.Equal(t, "[hidden]", x.LogValue().String())
	_, err := json.Marshal(x)
	require.ErrorIs(t, err, rubric.ErrHidden)
	b := EncodeTable(x)
	require.Len(t, b, 5+3*20)
	y, err := DecodeTable(b)
	require.NoError(t, err)
	require.Equal(t, x, y)
	for _, bad := range [][]byte{nil, b[:4], b[:len(b)-1], append([]byte{2}, b[1:]...)} {
		_, err = DecodeTable(bad)
		require.ErrorContains(t, err, "cannot be read")
	}
	empty, err := DecodeTable(EncodeTable(Table{Mean: -5}))
	require.NoError(t, err)
	require.Equal(t, Table{Mean: -5}, empty)
}

package cohort

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The first five are test cases of a code golf puzzle (read), which give z = 1.96
// exactly and all digits. The others are those of Newcombe, Stat Med
// 1998;17:857-872 (from memory, four digits), to all digits as recomputed
// independently in Python; z is the normal quantile of .975.
func TestWilsonOfPublishedExamples(t *testing.T) {
	t.Parallel()
	z := math.Sqrt2 * math.Erfinv(.95)
	for _, c := range []struct{ right, n, z, low, high float64 }{
		{0, 1, Z95, 0, .7934567085261071},
		{1, 1, Z95, .20654329147389294, 1},
		{1, 2, Z95, .09452865480086611, .905471345199134},
		{1, 11, Z95, .016231752262825982, .3773646254862038},
		{10, 100, Z95, .05522854161313612, .1743673043676654},
		{25, 100, Z95, .17545094003724265, .3430464637007583},
		{81, 263, z, .2552885198782742, .36620957698280004},
		{15, 148, z, .0623863995307363, .16048724172330803},
		{0, 20, z, 0, .16112515805281938},
		{1, 29, z, .006113214292762653, .17175521879320288},
	} {
		low, high, ok := Wilson(c.right, c.n, c.z)
		require.True(t, ok)
		require.InDelta(t, c.low, low, 1e-14, "%v of %v", c.right, c.n)
		require.InDelta(t, c.high, high, 1e-14, "%v of %v", c.right, c.n)
	}
}

// The ends are exact, not nearly so: a sentence that says 'up to 10 of 10' must not
// depend on a rounding.
func TestWilsonHasExactEnds(t *testing.T) {
	t.Parallel()
	for n := 1.0; n < 200; n++ {
		low, _, _ := Wilson(0, n, Z80)
		_, high, _ := Wilson(n, n, Z80)
		require.Zero(t, low)
		require.Equal(t, 1.0, high)
	}
}

// By hand: 3 of 4 with z = 2 has its middle at (3 + 2)/(4 + 4) = 5/8.
func TestWilsonMiddle(t *testing.T) {
	t.Parallel()
	middle, ok := WilsonMiddle(3, 4, 2)
	require.True(t, ok)
	require.Equal(t, .625, middle)
	for right := 0.0; right <= 12; right += .5 {
		low, high, _ := Wilson(right, 12, Z80)
		middle, _ := WilsonMiddle(right, 12, Z80)
		require.GreaterOrEqual(t, middle, low)
		require.LessOrEqual(t, middle, high)
	}
}

func TestWilsonOfWhatCannotBe(t *testing.T) {
	t.Parallel()
	for _, c := range [][3]float64{{0, 0, Z95}, {1, 0, Z95}, {-1, 5, Z95}, {6, 5, Z95}, {1, 5, -1}, {math.NaN(), 5, 1}, {1, math.NaN(), 1}, {1, 2, math.NaN()}, {1, math.Inf(1), 1}} {
		_, _, ok := Wilson(c[0], c[1], c[2])
		require.False(t, ok, "%v", c)
		_, ok = WilsonMiddle(c[0], c[1], c[2])
		require.False(t, ok, "%v", c)
	}
}

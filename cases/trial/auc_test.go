package trial

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate"
	"gonum.org/v1/gonum/stat"
)

// Hanley and McNeil, The meaning and use of the area under a receiver operating
// characteristic curve, Radiology 1982;143:29-36, Table I (from memory): 109 CT
// images rated from 1, definitely normal, to 5, definitely abnormal, by one
// reader; the area by the Wilcoxon statistic is .893.
func TestAreaOfHanleyAndMcNeil(t *testing.T) {
	normal, abnormal := []int{33, 6, 6, 11, 2}, []int{3, 2, 2, 11, 33}
	c := counts{}
	for i := range normal {
		for range normal[i] {
			c.add(i+1, false)
		}
		for range abnormal[i] {
			c.add(i+1, true)
		}
	}
	area, ok := c.area()
	require.True(t, ok)
	require.InDelta(t, .893, area, .0005)
}

// The same by another hand: gonum's ROC curve, integrated by trapezia, over
// random numbers with many ties.
func TestAreaAgreesWithGonum(t *testing.T) {
	draw := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		n := 4 + draw.IntN(60)
		values, abnormal := make([]float64, n), make([]bool, n)
		c := counts{}
		for i := range n {
			abnormal[i] = i == 0 || i > 1 && draw.IntN(3) == 0 // one of either kind at least
			x := draw.IntN(12)
			if abnormal[i] {
				x += draw.IntN(5)
			}
			values[i] = float64(x)
			c.add(x, abnormal[i])
		}
		stat.SortWeightedLabeled(values, abnormal, nil)
		hits, alarms, _ := stat.ROC(nil, values, abnormal, nil)
		area, ok := c.area()
		require.True(t, ok)
		require.InDelta(t, integrate.Trapezoidal(alarms, hits), area, 1e-12)
	}
}

func TestAreaAtItsEnds(t *testing.T) {
	c := counts{}
	_, ok := c.area()
	require.False(t, ok, "nothing")
	c.add(54, false)
	_, ok = c.area()
	require.False(t, ok, "one kind only")
	c.add(70, true)
	area, _ := c.area()
	require.Equal(t, 1.0, area)
	c.add(40, true)
	area, _ = c.area()
	require.Equal(t, .5, area)
	c.add(54, true)
	area, _ = c.area()
	require.Equal(t, .5, area, "a tie counts half")

	other := counts{}
	other.add(99, false)
	c.join(other)
	area, _ = c.area()
	require.InDelta(t, .25, area, 1e-12)
}

package trial

import (
	"maps"
	"slices"
)

// counts are how often each whole number was met: among what is normal and
// among what is abnormal.
type counts map[int]*[2]int

func (c counts) add(value int, abnormal bool) {
	n := c[value]
	if n == nil {
		n = new([2]int)
		c[value] = n
	}
	if abnormal {
		n[1]++
	} else {
		n[0]++
	}
}

func (c counts) join(other counts) {
	for value, n := range other {
		had := c[value]
		if had == nil {
			had = new([2]int)
			c[value] = had
		}
		had[0] += n[0]
		had[1] += n[1]
	}
}

// wins is the Mann-Whitney statistic: in how many pairs of an abnormal and a
// normal one the abnormal is the greater, with ties counted half; and how many
// pairs there are. The quotient is the area under the ROC curve.
func (c counts) wins() (wins float64, pairs float64) {
	below, normal, abnormal := 0, 0, 0
	for _, value := range slices.Sorted(maps.Keys(c)) {
		n := c[value]
		wins += float64(n[1]) * (float64(below) + float64(n[0])/2)
		below += n[0]
		normal += n[0]
		abnormal += n[1]
	}
	return wins, float64(normal) * float64(abnormal)
}

// area is the area under the ROC curve of the number as a sign of what is
// abnormal; not ok where there is only one kind.
func (c counts) area() (float64, bool) {
	wins, pairs := c.wins()
	if pairs == 0 {
		return 0, false
	}
	return wins / pairs, true
}

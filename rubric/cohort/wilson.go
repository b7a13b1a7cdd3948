package cohort

import "math"

// The two widths that are used: of 80 and of 95 in 100 such intervals the true
// share lies within.
const (
	Z80 = 1.2816
	Z95 = 1.96
)

// Wilson is the interval of a share of which right out of n were seen, z
// standard errors wide either way (Wilson, J Am Stat Assoc 1927;22:209-212, from
// memory). Right may be a part of one, for marks between nothing and all. It is
// exactly 0 below where none was right and exactly 1 above where all were. Not ok:
// nothing was seen, or more was right than seen.
func Wilson(right, n, z float64) (low, high float64, ok bool) {
	if !(n > 0) || !(right >= 0) || right > n || !(z >= 0) || math.IsInf(n, 1) || math.IsInf(z, 1) {
		return 0, 0, false
	}
	p := right / n
	middle, half := wilsonMiddle(right, n, z), z*math.Sqrt(p*(1-p)/n+z*z/(4*n*n))/(1+z*z/n)
	low, high = middle-half, middle+half
	if right == 0 {
		low = 0
	}
	if right == n {
		high = 1
	}
	return low, high, true
}

// wilsonMiddle is where the interval has its middle: the share drawn towards a
// half, the more the less was seen.
func wilsonMiddle(right, n, z float64) float64 { return (right + z*z/2) / (n + z*z) }

// WilsonMiddle is the middle of that interval, which is a share to expect of the
// next one. Not ok as with Wilson.
func WilsonMiddle(right, n, z float64) (middle float64, ok bool) {
	if _, _, ok := Wilson(right, n, z); !ok {
		return 0, false
	}
	return wilsonMiddle(right, n, z), true
}

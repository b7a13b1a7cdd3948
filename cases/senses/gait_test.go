package senses

import (
	"image"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// The stride is regular: of a sound animal every stride is the same picture, and
// the period of the area under the trunk, by gonum's Fourier transform, is that
// of a walk of about a second.
func TestStrideIsRegular(t *testing.T) {
	for _, kind := range kinds {
		frames, centis := watch(t, Gait{Species: kind}.Picture().Bytes)
		l := legs[kind][0]
		var x []float64
		for f := range l.frames * l.strides {
			require.Equal(t, frames[f%l.frames].pix, frames[f].pix, "%s frame %d", kind, f)
			x = append(x, float64(area(frames[f], image.Rect(0, gaitHigh*6/10, gaitWide*4/10, gaitHigh*9/10), notPlate)))
		}
		want := 6000 / float64(l.frames*centis)
		got := strongestPerMinute(x, 100/float64(centis))
		if got > 1.5*want { // two limbs of a pair may look alike
			got /= 2
		}
		require.InEpsilon(t, want, got, .1, kind)
	}
}

func TestEverySpeciesFillsTheClip(t *testing.T) {
	for kind, all := range legs {
		n := 0
		for _, l := range all {
			n += l.frames * l.strides
		}
		require.Equal(t, gaitFrames, n, kind)
	}
}

// A foot that stands goes with the ground, and no faster or slower.
func TestFeetDoNotSlide(t *testing.T) {
	for kind, all := range legs {
		for _, grade := range []int{0, 2, 3} {
			for _, l := range all {
				g := Gait{Species: kind, Lame: [4]int{grade}}
				for at := range 990 {
					a, b := g.stepping(l, 1, at), g.stepping(l, 1, at+10)
					for i := range a.feet {
						if a.feet[i].stands && b.feet[i].stands && a.feet[i].x < b.feet[i].x {
							require.InDelta(t, l.ground/100, b.feet[i].x-a.feet[i].x, 2, "%s limb %d", kind, i)
						}
					}
				}
			}
		}
	}
}

// The order of footfalls of a walk is hind, fore of the same side, then the
// other side; a trot goes by diagonals (common practice, no source).
func TestFootfalls(t *testing.T) {
	down := func(l leg) (order []int) {
		limbs := []int{nearFore, farForeLimb, nearHind, farHindLimb}
		slices.SortStableFunc(limbs, func(a, b int) int { return l.steps[a] - l.steps[b] })
		return limbs
	}
	for _, kind := range []string{"dog", "cat", "horse", "cattle"} {
		require.Equal(t, []int{nearHind, nearFore, farHindLimb, farForeLimb}, down(legs[kind][0]), kind)
		for _, l := range legs[kind][1:] {
			require.Equal(t, l.steps[nearFore], l.steps[farHindLimb], kind)
			require.Equal(t, l.steps[farForeLimb], l.steps[nearHind], kind)
		}
	}
	hop := legs["rabbit"][0].steps
	require.Equal(t, hop[nearHind], hop[farHindLimb])
}

// The head rises while a lame forelimb bears weight and sinks on the other; the
// rump rises over a lame hind limb; the foot stands for a shorter time.
func TestLamenessIsSeen(t *testing.T) {
	for kind, all := range legs {
		l := all[0]
		if kind == "dog" || kind == "horse" {
			l = all[1] // at the trot
		}
		for limb := range 4 {
			for _, grade := range []int{3, 4} {
				g := Gait{Species: kind}
				g.Lame[limb] = grade
				stands, sound, mine, other := 0, 0, 0, 0
				for at := range 1000 {
					s, n := g.stepping(l, 1, at), Gait{Species: kind}.stepping(l, 1, at)
					moved := s.head
					if limb >= nearHind {
						moved = s.rump - n.rump
					}
					if s.feet[limb].stands {
						stands++
						mine += moved
					} else if s.feet[limb^1].stands {
						other += moved
					}
					if n.feet[limb].stands {
						sound++
					}
				}
				require.Less(t, stands*10, sound*9, "%s limb %d", kind, limb)
				require.Greater(t, mine, 0, "%s limb %d", kind, limb)
				require.Greater(t, mine, other, "%s limb %d", kind, limb)
			}
		}
	}
}

// Each grade and each manner is another picture; a limb that is carried never
// comes down. What a horse spares on the circle only is even straight on.
func TestGradesDiffer(t *testing.T) {
	for _, kind := range kinds {
		seen := map[string]bool{}
		for grade := range 6 {
			seen[string(Gait{Species: kind, Lame: [4]int{grade}}.Picture().Bytes)] = true
		}
		for m := Swaying; m <= Climbing; m++ {
			if m != Climbing || kind == "cat" {
				seen[string(Gait{Species: kind, Manner: m}.Picture().Bytes)] = true
			}
		}
		require.GreaterOrEqual(t, len(seen), 10, kind)
	}
	frames := func(m Gaited) []byte { return Gait{Species: "cat", Manner: m}.Picture().Bytes }
	require.NotEqual(t, frames(Sure), frames(Climbing))
	for _, l := range legs["dog"] {
		for at := range 1000 {
			require.False(t, Gait{Species: "dog", Lame: [4]int{5}}.stepping(l, 0, at).feet[0].stands)
			for stride, trot := range legs["horse"][:2] {
				a, b := Gait{Species: "horse", Lame: [4]int{2}}.stepping(trot, stride, at), Gait{Species: "horse"}.stepping(trot, stride, at)
				require.Equal(t, b.shown, a.shown)
			}
		}
	}
}

// A limb's bones keep their lengths, whatever the foot does.
func TestBonesKeepTheirLength(t *testing.T) {
	for kind, w := range walkers {
		for _, l := range []limb{w.fore, w.hind} {
			for x := -110; x <= 110; x += 10 {
				for y := -110; y <= 0; y += 10 {
					joint, hinge, at := l.bent(l.root, dot{l.foot[0] + x, l.foot[1] + y})
					require.InDelta(t, apart(l.root, l.joint), apart(l.root, joint), 90, kind)
					require.InDelta(t, apart(l.joint, l.hinge), apart(joint, hinge), 90, kind)
					require.InDelta(t, apart(l.hinge, l.foot), apart(hinge, at), 90, kind)
				}
			}
		}
	}
}

func TestGaitFitsItsBytes(t *testing.T) {
	for _, kind := range kinds {
		for limb := range 4 {
			for grade := range 6 {
				g := Gait{Species: kind, Right: limb%2 == 0, Manner: []Gaited{Sure, Swaying, Knuckled, Swaying, Splayed, Swaying}[grade]}
				g.Lame[limb] = grade
				require.Len(t, g.Picture().Bytes, gaitSize, "%+v", g)
			}
		}
	}
}

// A cat comes down from the ledge to the floor, and spares a lame forefoot as it
// lands: the foot is in the air when the others bear the weight.
func TestCatJumpsDown(t *testing.T) {
	l := legs["cat"][1]
	for _, m := range []Gaited{Sure, Climbing} {
		g := Gait{Species: "cat", Manner: m}
		first, last := g.stepping(l, 0, 0), g.stepping(l, 0, 23*1000/24)
		for i := range 4 {
			require.Zero(t, first.feet[i].y)
			require.Equal(t, jumpDrop, last.feet[i].y)
		}
		lame := Gait{Species: "cat", Manner: m, Lame: [4]int{3}}.stepping(l, 0, 15*1000/24)
		require.Less(t, lame.feet[nearFore].y, lame.feet[farForeLimb].y-40)
	}
}

package senses

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// edge is how many pixels of an animal lie on the upper edge of a frame.
func edge(c *canvas) int {
	n := 0
	for _, p := range c.pix[:c.w] {
		if p != plate {
			n++
		}
	}
	return n
}

// No ear is cut off, whatever the effort of the breath.
func TestTheWholeHeadIsInThePictureOfABreath(t *testing.T) {
	for _, kind := range kinds {
		for effort := range 5 {
			p := Breath{Species: kind, Effort: effort, Rate: 20}.patient()
			require.Zero(t, edge(p.breathing(p.reach[0], p.reach[1])), "%s, effort %d", kind, effort)
		}
	}
}

// Nor however an animal nods as it goes.
func TestTheWholeHeadIsInThePictureOfAGait(t *testing.T) {
	for _, kind := range kinds {
		for grade := range 6 {
			r := Gait{Species: kind, Lame: [4]int{grade}}.reel()
			for f, c := range r.frames {
				require.Zero(t, edge(c), "%s, grade %d, frame %d", kind, grade, f)
			}
		}
	}
}

// A calf has no udder in any picture, and all else as a cow has it.
func TestACalfHasNoUdder(t *testing.T) {
	strokes := len(bodyOf("cattle", false).strokes)
	require.Equal(t, strokes-2, len(bodyOf("cattle", true).strokes), "the udder and the vein to it")
	require.Nil(t, bodyOf("newt", true))
	for _, sp := range []string{"dog", "cat", "horse", "rabbit"} {
		require.Equal(t, bodyOf(sp, false).strokes, bodyOf(sp, true).strokes, sp)
	}
	require.NotEqual(t, Posture{Species: "cattle"}.Picture(), Posture{Species: "cattle", Dry: true}.Picture())
	require.NotEqual(t, Condition{Species: "cattle"}.Picture(), Condition{Species: "cattle", Dry: true}.Picture())
	require.NotEqual(t, Breath{Species: "cattle", Rate: 30}.Picture(), Breath{Species: "cattle", Rate: 30, Dry: true}.Picture())
	require.NotEqual(t, Gait{Species: "cattle"}.Picture(), Gait{Species: "cattle", Dry: true}.Picture())
}

// A cat that is said to sit with its paws tucked in, or to crouch, does not stand.
func TestACatLiesOnItsBreast(t *testing.T) {
	back := func(p Posture) int { return highest(p.Picture()) }
	standing := back(Posture{Species: "cat", Manner: Friendly, Stance: OffLimb})
	for _, p := range []Posture{{Species: "cat"}, {Species: "cat", Manner: Wary}, {Species: "cat", Stance: NeckOut}, {Species: "cat", Stance: Hunched}} {
		require.Greater(t, back(p), standing+60, "%+v", p)
	}
}

// highest is the least height down the picture at which a curve of it begins.
func highest(p Picture) int {
	least := stillHigh
	for _, m := range begins.FindAllSubmatch(p.Bytes, -1) {
		y, err := strconv.Atoi(string(m[1]))
		if err == nil {
			least = min(least, y)
		}
	}
	return least
}

var begins = regexp.MustCompile(`d="M-?\d+ (-?\d+)`)

// The right eye is the left in a mirror, its inner corner to the other side.
func TestTheRightEyeIsTheLeftInAMirror(t *testing.T) {
	left, right := string(Eye{Species: "dog", Discharge: 2}.Picture().Bytes), string(Eye{Species: "dog", Discharge: 2, Right: true}.Picture().Bytes)
	plain := strings.NewReplacer(`<g transform="matrix(-1 0 0 1 744 0)">`+"\n", "", "</g>\n", "", " ", "")
	require.Contains(t, right, "matrix(-1 0 0 1 744 0)")
	require.Equal(t, plain.Replace(left), plain.Replace(right))
}

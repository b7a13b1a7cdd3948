package senses

import (
	"image"
	"image/color"
	"testing"

	"github.com/stretchr/testify/require"
)

// pupilArea is how much of an eye is pupil: what is dark or of the lens or the glow.
func pupilArea(f shot, right bool) int {
	x := 178
	if right {
		x = 62
	}
	return area(f, image.Rect(x-25, eyeLine-25, x+25, eyeLine+25), isColour(common[black]))
}

func TestPupilsAnswerTheLight(t *testing.T) {
	for _, kind := range kinds[:4] {
		for _, right := range []bool{false, true} {
			for _, how := range []Answer{AnswerBrisk, AnswerSlow, AnswerFixed} {
				for _, follows := range []bool{false, true} {
					frames, centis := watch(t, Pupils{Species: kind, Right: right, Direct: how, Follows: follows}.Picture().Bytes)
					require.Equal(t, 10, centis)
					rest, lit := float64(pupilArea(frames[0], !right)), float64(pupilArea(frames[pupilOff-1], !right))
					if follows {
						require.Less(t, lit, rest*.9, "%s: the fellow draws together", kind)
					} else {
						require.Equal(t, rest, lit, "%s: the fellow stays", kind)
					}
					require.Equal(t, rest, float64(pupilArea(frames[0], right)), "alike at rest")
				}
			}
		}
	}
}

// AnswerBrisk is at once and far, slow is late and not far, none is none. The width is
// that of the drawing, for the glow lies over the pupil in the light.
func TestAnswersDiffer(t *testing.T) {
	for _, kind := range kinds {
		p := Pupils{Species: kind}
		size := func(how Answer, f int) int {
			rx, ry := p.halves(p.drawn(f, how))
			return rx * ry
		}
		rest := size(AnswerBrisk, 0)
		require.Less(t, size(AnswerBrisk, pupilOn+6), rest*6/10)
		require.Equal(t, rest, size(AnswerSlow, pupilOn+6))
		require.Less(t, size(AnswerSlow, pupilOff-1), rest)
		require.Greater(t, size(AnswerSlow, pupilOff-1), size(AnswerBrisk, pupilOff-1)*12/10)
		require.Equal(t, rest, size(AnswerFixed, pupilOff-1))
		require.Equal(t, rest, size(AnswerBrisk, pupilFrames-1))
	}
}

// A cat's pupil stands, that of horse and cattle lies, others are round.
func TestShapeOfPupils(t *testing.T) {
	for kind, shape := range map[string]int{"cat": -1, "horse": 1, "cattle": 1, "dog": 0} {
		rx, ry := Pupils{Species: kind}.halves(0)
		switch shape {
		case 0:
			require.Equal(t, rx, ry, kind)
		case 1:
			require.Greater(t, rx, ry*3/2, kind)
		default:
			require.Greater(t, ry, rx*3/2, kind)
		}
	}
}

func TestLensAndSizeAreSeen(t *testing.T) {
	lens := func(l Lens) int {
		p := Pupils{Species: "dog", Lens: l, Size: PupilWide}
		frames, _ := watch(t, p.Picture().Bytes)
		return area(frames[0], frames[0].whole(), isColour(p.colours()[lensTint-own]))
	}
	require.Zero(t, lens(LensClear))
	require.Greater(t, lens(LensHaze), 800)
	require.Greater(t, lens(LensPatch), 200)
	require.Less(t, lens(LensPatch), lens(LensWhite)*2/3)
	// A glow comes back in the light, but not through a lens that is white.
	for l, glows := range map[Lens]bool{LensClear: true, LensHaze: true, LensPatch: true, LensWhite: false} {
		p := Pupils{Species: "dog", Lens: l, Size: PupilWide, Direct: AnswerFixed}
		frames, _ := watch(t, p.Picture().Bytes)
		require.Zero(t, area(frames[0], frames[0].whole(), isColour(p.colours()[1])))
		require.Equal(t, glows, area(frames[pupilOn], frames[0].whole(), isColour(p.colours()[1])) > 20)
	}
}

// A rabbit shows one eye, for the eyes stand at the sides of the head.
func TestRabbitShowsOneEye(t *testing.T) {
	frames, _ := watch(t, Pupils{Species: "rabbit"}.Picture().Bytes)
	for _, x := range []int{30, 210} {
		require.Equal(t, color.RGBA{common[pale][0], common[pale][1], common[pale][2], 255}, frames[0].at(x, eyeLine))
	}
}

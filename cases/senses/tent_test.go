package senses

import (
	"image"
	"testing"

	"github.com/stretchr/testify/require"
)

// standing is how high the coat stands in the middle of a frame, in pixels.
func standing(f shot) int {
	for y := range tentHigh {
		if area(f, image.Rect(118, y, 122, y+1), notPlate) > 0 {
			return coatLine - 1 - y
		}
	}
	return 0
}

// The fold is level again in its time, within a frame, and falls all the while.
func TestTentFallsInItsTime(t *testing.T) {
	for _, millis := range []int{0, 200, 1200, 3200, 6000} {
		frames, _ := watch(t, Tent{Millis: millis}.Picture().Bytes)
		require.InDelta(t, tentTop, standing(frames[tentRelease]), 3*float64(tentTop)*float64(min(1, 200/max(millis, 1)))+70*float64(min(1, 1/max(millis, 1)))+3)
		level := tentRelease
		for standing(frames[level]) > 2 {
			require.GreaterOrEqual(t, standing(frames[level]), standing(frames[level+1]))
			level++
		}
		told := Tent{Millis: millis}.Level()
		require.InDelta(t, millis/100, told, 1)
		require.LessOrEqual(t, level-tentRelease, told)
		require.GreaterOrEqual(t, float64(level-tentRelease), float64(told)*.75-1, "no hump is left that nobody sees")
	}
}

func TestTentThatStays(t *testing.T) {
	frames, _ := watch(t, Tent{Stays: true}.Picture().Bytes)
	require.Greater(t, standing(frames[len(frames)-1]), tentTop/2)
	require.Equal(t, -1, Tent{Stays: true}.Level())
}

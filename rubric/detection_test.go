package rubric_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

func TestDetectionCountsWhatWasExaminedAndCharted(t *testing.T) {
	w := sick(t, "veterinary")
	normals := 0
	for _, id := range w.required() {
		for _, a := range w.chart(id) {
			if w.field(a.Field).Vital == "" {
				normals++
			}
		}
	}
	normals -= 3 // the findings
	for name, row := range map[string]struct {
		change func(rubric.Act) []rubric.Act
		want   rubric.Detection
	}{
		"all right":              {func(a rubric.Act) []rubric.Act { return []rubric.Act{a} }, rubric.Detection{Hits: 3, TrueNormals: normals}},
		"called normal":          {rewrite("stifle.palpate.pain", "right", "none"), rubric.Detection{Hits: 2, Misses: 1, TrueNormals: normals}},
		"left blank":             {drop("stifle.palpate.pain", "right"), rubric.Detection{Hits: 2, Misses: 1, TrueNormals: normals}},
		"of another grade":       {rewrite("stifle.palpate.pain", "right", "1"), rubric.Detection{Hits: 3, TrueNormals: normals}},
		"on the other side":      {swapSide, rubric.Detection{Hits: 3, TrueNormals: normals - 1}},
		"a false alarm":          {rewrite("nose.inspect.look", "left", "bad"), rubric.Detection{Hits: 3, FalseAlarms: 1, TrueNormals: normals - 1}},
		"a variant is no alarm":  {rewrite("nose.inspect.look", "left", "other"), rubric.Detection{Hits: 3, TrueNormals: normals}},
		"a normal left open":     {drop("nose.inspect.look", "left"), rubric.Detection{Hits: 3, TrueNormals: normals - 1}},
		"a vital is not counted": {rewrite("heart.rate", "", "96"), rubric.Detection{Hits: 3, TrueNormals: normals}},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, row.want, w.grade(mended(w, row.change)).Detection) })
	}
	var blind []rubric.Act
	for _, id := range w.required() {
		blind = append(blind, w.chart(id)...)
	}
	require.Zero(t, w.grade(blind).Detection, "nothing was examined")
}

// 5 of 7 and 2 of 61, by hand: (5 + .5) / 8 = .6875 and (2 + .5) / 62 = .04032.
func TestDetectionSaysNothingWhereItIsUndefined(t *testing.T) {
	d := rubric.Detection{Hits: 5, Misses: 2, FalseAlarms: 2, TrueNormals: 59}
	s, ok := d.Sensitivity()
	require.True(t, ok)
	require.InDelta(t, 5.0/7, s, 1e-12)
	s, ok = d.Specificity()
	require.True(t, ok)
	require.InDelta(t, 59.0/61, s, 1e-12)
	for _, row := range []struct {
		d                    rubric.Detection
		sens, spec, prime, r bool
	}{
		{rubric.Detection{}, false, false, false, false},
		{rubric.Detection{Hits: 2}, true, false, false, false},
		{rubric.Detection{TrueNormals: 2}, false, true, false, false},
		{rubric.Detection{Hits: 2, FalseAlarms: 3}, true, true, true, false},
		{rubric.Detection{Hits: 2, TrueNormals: 3}, true, true, true, true},
		{rubric.Detection{Hits: -4, Misses: -1}, false, false, false, false},
	} {
		_, sens := row.d.Sensitivity()
		_, spec := row.d.Specificity()
		_, prime := row.d.DPrime()
		_, r := row.d.Matthews()
		require.Equal(t, []bool{row.sens, row.spec, row.prime, row.r}, []bool{sens, spec, prime, r}, row.d)
	}
}

// The figures of detection.go are floats: nothing else in the engine may use them.
func TestNoMarkRestsOnTheFiguresForDisplay(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") || name == "detection.go" {
			continue
		}
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		require.NotRegexp(t, `Sensitivity|Specificity|DPrime|Matthews|loglinear|probit|ratio\(|\.noise\(|\.signals\(`, string(text), name)
	}
}

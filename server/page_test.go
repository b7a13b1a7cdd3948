package server

import (
	"strings"
	"testing"

	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

func TestLocalPathStaysHere(t *testing.T) {
	for in, want := range map[string]string{
		"":                        "/",
		"/visits/a?b=c":           "/visits/a?b=c",
		"https://elsewhere.test/": "/",
		"//elsewhere.test/a":      "/",
		`/\elsewhere.test`:        "/",
		"/\\/elsewhere.test":      "/",
		"javascript:alert(1)":     "/",
		"relative":                "/",
		"/a\r\nSet-Cookie: b":     "/",
	} {
		require.Equal(t, want, localPath(in), in)
	}
}

func TestQuantityReadsTheNumberInFront(t *testing.T) {
	for in, want := range map[string]float64{"104 /min": 104, "38.5 °C": 38.5, "±0.2 °C": .2, "<2": 2, "≤ 1.5 s": 1.5, "-3": -3} {
		got, ok := quantity(in)
		require.True(t, ok, in)
		require.InDelta(t, want, got, 1e-9, in)
	}
	for _, in := range []string{"", "pink", "not examined"} {
		_, ok := quantity(in)
		require.False(t, ok, in)
	}
}

// The parts of a strip lie in the order of their values and inside the drawing.
func TestStripKeepsTheOrderOfValues(t *testing.T) {
	s := stripOf(face.Vital{Actual: "150 /min", Charted: "60", Tolerance: "8 /min", Low: "70", High: "120", GreyLow: "65", GreyHigh: "140"})
	require.True(t, s.Drawn && s.HasRange && s.OwnSet)
	order := []int{0, s.OwnX, s.GreyX, s.LowX, s.LowX + s.RangeW, s.GreyX + s.GreyW, s.TolX, s.ActualX, s.TolEnd, 1000}
	for i := 1; i < len(order); i++ {
		require.LessOrEqual(t, order[i-1], order[i], "%v", order)
	}
	require.False(t, stripOf(face.Vital{Charted: "60"}).Drawn, "without an actual finding there is nothing to compare with")
	one := stripOf(face.Vital{Actual: "5"})
	require.True(t, one.Drawn)
	require.Positive(t, one.ActualX, "a single value stands inside, not at the edge")
	require.False(t, one.HasRange)
}

func TestVitalTextSaysWhatTheStripShows(t *testing.T) {
	v := face.Vital{Actual: "104 /min", Reading: "normal", Low: "70 /min", High: "120 /min", GreyLow: "60 /min", GreyHigh: "140 /min", Charted: "96 /min", Interpretation: "normal", Tolerance: "5.2 /min"}
	require.Equal(t, "Actual finding 104 /min, which is normal. Reference range: 70 /min to 120 /min, borderline from 60 /min to 140 /min. You charted 96 /min and called it normal. Within 5.2 /min earns the whole mark.", vitalText(v))
	require.Empty(t, sourceText(v), "no row judged it")
	v.Of, v.Source, v.Confidence = "medium dog, over 16 weeks", "a table", "read in the source"
	require.Contains(t, vitalText(v), "Reference range (medium dog, over 16 weeks): 70 /min to 120 /min, borderline from 60 /min to 140 /min.")
	require.Equal(t, "Source of the range: a table. Confidence: read in the source.", sourceText(v))
	v.Own = true
	require.Equal(t, "The range is the school’s own. Source: a table. Confidence: read in the source.", sourceText(v))
	require.Equal(t, "You did not measure it.", vitalText(face.Vital{}))
	require.Equal(t, "You measured it and charted nothing.", vitalText(face.Vital{Measured: true}))
}

func TestAcceptedWalkPutsMovedStepsWhereTheyBelong(t *testing.T) {
	cat := &face.Catalogue{Stages: []face.Term{{ID: "distance"}, {ID: "head"}, {ID: "chest"}, {ID: "rear"}}}
	step := func(act int, stage string, move bool) face.Walked {
		return face.Walked{Step: stage, Label: stage, Stage: stage, Act: act, Move: move}
	}
	walk := acceptedWalk(face.Walk{Steps: []face.Walked{step(1, "head", false), step(2, "chest", false), step(3, "distance", true), step(4, "rear", false), step(5, "head", true)}}, cat)
	var acts []int
	for _, w := range walk {
		acts = append(acts, w.Act)
	}
	require.Equal(t, []int{3, 1, 5, 2, 4}, acts)
	require.Equal(t, "at the very beginning", placeIn(walk, walk[0]))
	require.Equal(t, "after: head", placeIn(walk, walk[2]))

	// From behind forwards, with the distance first: what moves goes by that route.
	back := face.Walk{Order: []string{"distance", "rear", "chest", "head"}, Steps: []face.Walked{step(1, "distance", false), step(2, "head", true), step(3, "rear", false), step(4, "chest", false)}}
	require.Equal(t, 2, acceptedWalk(back, cat)[3].Act)
}

// The first paragraph is about safety, whatever else there is to say.
func TestOpeningOfTheDebrief(t *testing.T) {
	p := exampleDebrief()
	require.True(t, strings.HasPrefix(p.Safety, "Safety:"), p.Safety)
	require.Contains(t, p.Safety, "The painful hip was moved without warning.")
	require.Equal(t, "The biggest loss: handling, 7.50 of 10 points. The painful hip was moved without warning.", p.Loss)
	require.Equal(t, "What went well: order, 9 of 10 points. One step stands out of place.", p.Well)

	critical := face.Report{Critical: []face.Event{{Why: "it stopped breathing"}}, Total: 90000, PassMark: 70000}
	require.Contains(t, safetyText(critical, face.Attempt{}), "It stopped breathing.")
	require.Contains(t, verdict(critical), "Not passed")
	require.Contains(t, safetyText(face.Report{}, face.Attempt{}), "did not examine")
	require.Contains(t, wellText(face.Report{}), "nothing could be credited")
	require.Contains(t, lossText(face.Report{}), "none")
	for want, d := range map[string]face.Detection{
		"": {},
		"Of what you examined, you called 5 of 7 abnormal findings abnormal, and 2 of 61 normal places abnormal.": {Hits: 5, Misses: 2, FalseAlarms: 2, TrueNormals: 59},
		"Of what you examined, you called 0 of 1 abnormal finding abnormal, and 0 of 1 normal place abnormal.":    {Misses: 1, TrueNormals: 1},
		"Of what you examined and charted, you called 0 of 12 normal places abnormal.":                            {TrueNormals: 12},
		"Of what you examined, you called 1 of 2 abnormal findings abnormal.":                                     {Hits: 1, Misses: 1},
	} {
		require.Equal(t, want, detectionText(d))
	}
}

func TestSentenceBeginsAnyAlphabet(t *testing.T) {
	require.Equal(t, "“Watch” lasted.", sentence("“Watch” lasted"))
	require.Equal(t, "Ä.", sentence(" ä. "))
	require.Empty(t, sentence("  "))
}

func TestMarksSayTheSameInWords(t *testing.T) {
	for _, row := range []struct {
		mark        face.Mark
		marks, word string
	}{
		{face.Mark{Points: 500, Max: 1000}, "0.50 of 1.00", "– part"},
		{face.Mark{Points: 1000, Max: 1000}, "1.00 of 1.00", "✓ all"},
		{face.Mark{Max: 1000}, "0.00 of 1.00", "✕ none"},
		{face.Mark{Points: -2500}, "−2.50", "− taken off"},
		{face.Mark{Points: 2500}, "2.50", "+ given"},
		{face.Mark{}, "", "note"},
	} {
		require.Equal(t, row.marks, marks(row.mark))
		require.Equal(t, row.word, markWord(row.mark))
	}
}

func TestAssessmentIsHeldAgainstTheLists(t *testing.T) {
	cat := exampleCatalogue()
	require.Empty(t, wrongIn(finishForm{Urgency: "routine", Problems: []string{"osteoarthritis"}}, cat))
	require.Len(t, wrongIn(finishForm{Urgency: "soon", Problems: []string{"dragon pox"}, Texts: map[string]string{"request": strings.Repeat("x", tooLong+1)}}, cat), 3)
	require.Nil(t, handoverOf(finishForm{}, nil))
	h := handoverOf(finishForm{Texts: map[string]string{"request": "Please look."}}, []givenRow{{Field: "heart.rate", Value: "104"}})
	require.Equal(t, &rubric.Handover{Request: "Please look.", Fields: []rubric.Given{{Field: "heart.rate", Value: "104"}}}, h)
}

// A line that was swept or is an honest gap is not something to report as found.
func TestOnlyChartedLinesCanBeReported(t *testing.T) {
	a := exampleAttempt()
	a.Sheet = append(a.Sheet, face.Line{Place: face.Place{Field: "heart.murmur"}, Value: rubric.NotExamined, Reason: "growled"})
	p := finishPageOf(a, exampleCatalogue(), finishForm{Fields: []string{"heart.rate", "heart.murmur"}})
	require.Len(t, p.Lines, 1)
	require.Len(t, p.Reported, 1)
	require.Equal(t, "104 /min, normal", p.Reported[0].Shown)
}

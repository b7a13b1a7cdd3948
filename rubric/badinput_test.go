package rubric_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// A figure that is none is refused with what would be right, and on the sheet
// it earns nothing and says so: it is never read as zero or as part of itself.
func TestFiguresThatAreNone(t *testing.T) {
	for _, text := range []string{"NaN", "nan", "Inf", "-Inf", "1e309", "1e3", "9.6e1", "-0", "-0.0", "-96", "+96", "0x10", "0X10", "0x60", "024x4", "24x0", "24x04", "９６", "٩٦", "96 96", "96..", ".5", "96,",
		"1_000", "96\u00a0/h", "九十六", "½", "1/2", "--96", "=96", "'96", "96%", "10000000000"} {
		for _, f := range []struct{ id, vital string }{{"heart.rate", "heart.auscultate"}, {"resp.rate", "breathing.count"}, {"temperature", "temperature.measure"}, {"weight", "weight.measure"}} {
			w := newWorld(t, "veterinary", "routine")
			rd, err := w.field(f.id).Read(text)
			require.ErrorIs(t, err, rubric.ErrValue, "%s for %s", text, f.id)
			require.Equal(t, rubric.Reading{}, rd)
			rep := w.grade(append(w.do(f.vital), rubric.Act{Kind: rubric.Record, Field: f.id, Value: text, Interpretation: "normal"}))
			requireSound(t, rep)
			l := line(t, rep, "vitals/"+f.id)
			require.Equal(t, "reading.unreadable", l.Code, text)
			require.Zero(t, l.Points)
			require.Len(t, codesOf(rep, "value.unreadable"), 1, text)
			say.Fill(&rep, spoken{})
			require.Contains(t, line(t, rep, "vitals/"+f.id).Reason, "Write a number with its unit", text)
		}
	}
	w := newWorld(t, "veterinary", "routine")
	rep := w.grade(append(w.do("heart.auscultate"), rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: " \t "}))
	require.Equal(t, "reading.blank", line(t, rep, "vitals/heart.rate").Code, "nothing written is nothing charted")
}

// lines is a visit as it is stored.
func lines(t *testing.T, w *world) []string {
	var text bytes.Buffer
	require.NoError(t, rubric.WriteTranscript(&text, w.play(w.visit(w.required()))))
	return strings.SplitAfter(strings.TrimSuffix(text.String(), "\n"), "\n")
}

// What is torn, out of order or twice is refused by the reader with its line;
// a transcript cut between two lines is a visit that ended early.
func TestTornReorderedAndDoubledTranscripts(t *testing.T) {
	w := sick(t, "veterinary")
	all := lines(t, w)
	join := func(parts ...[]string) string {
		var b strings.Builder
		for _, p := range parts {
			for _, l := range p {
				b.WriteString(strings.TrimSuffix(l, "\n") + "\n")
			}
		}
		return b.String()
	}
	for name, row := range map[string]struct{ text, want string }{
		"torn in the middle of a line": {join(all[:7]) + all[7][:len(all[7])/2], "line 8: the line ends in the middle; write one whole object a line"},
		"two lines exchanged":          {join(all[:4], all[5:6], all[4:5], all[6:]), "line 5: n is 6; write 5: acts count from 1 in order, each once"},
		"a line twice":                 {join(all[:6], all[5:]), "line 7: n is 6; write 7"},
		"the whole twice":              {join(all, all), "n is 1; write "},
		"the beginning lost":           {join(all[3:]), "line 1: n is 4; write 1"},
		"a line lost":                  {join(all[:3], all[4:]), "line 4: n is 5; write 4"},
		"two lines run together":       {join(all[:2]) + strings.TrimSuffix(all[2], "\n") + all[3], "line 3: more than one value; write one act a line"},
		"with a mark of byte order":    {"\ufeff" + join(all), "line 1: not JSON at byte"},
		"in another encoding":          {"\xff\xfe" + join(all), "line 1: not valid UTF-8"},
		"seconds in other digits":      {`{"n":1,"kind":"wait","seconds":６０}`, "line 1: not JSON at byte"},
		"seconds as 1e3":               {`{"n":1,"kind":"wait","seconds":1e3}`, "seconds: number 1e3 does not fit; write a whole number"},
		"seconds as 0x10":              {`{"n":1,"kind":"wait","seconds":0x10}`, "line 1: not JSON at byte"},
		"seconds as -0":                {`{"n":1,"kind":"wait","seconds":-0}`, "seconds: missing from an act of kind wait"},
		"seconds as 1e309":             {`{"n":1,"kind":"wait","seconds":1e309}`, "seconds: number 1e309 does not fit"},
		"seconds empty":                {`{"n":1,"kind":"wait","seconds":""}`, "seconds: string does not fit; write a whole number"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rubric.ReadTranscript(strings.NewReader(row.text))
			require.ErrorIs(t, err, rubric.ErrTranscript)
			require.ErrorContains(t, err, row.want)
		})
	}
	cut, err := rubric.ReadTranscript(strings.NewReader(join(all[:40])))
	require.NoError(t, err)
	require.Equal(t, rubric.Grade(w.r, w.key, w.play(w.visit(w.required()))[:40]), rubric.Grade(w.r, w.key, cut))
	require.Equal(t, "conclude.missing", line(t, rubric.Grade(w.r, w.key, cut), "conclusions/conclude").Code)
	none, err := rubric.ReadTranscript(strings.NewReader(""))
	require.NoError(t, err)
	rep := rubric.Grade(w.r, w.key, none)
	requireSound(t, rep)
	require.False(t, rep.Pass)
	require.Len(t, codesOf(rep, "step.missing"), len(w.required()), "an empty transcript is a visit in which nothing was done, line by line")
}

// The engine itself takes any list of acts; one that reached it in disorder, or
// twice, is graded as it stands, and no act counts twice.
func TestDisorderPastTheReaderIsGradedAsItStands(t *testing.T) {
	w := sick(t, "veterinary")
	list := w.play(w.visit(w.required()))
	twice := append(append(rubric.Transcript{}, list...), list...)
	rep := rubric.Grade(w.r, w.key, twice)
	requireSound(t, rep)
	once := rubric.Grade(w.r, w.key, list)
	for _, id := range []string{"completeness", "findings", "vitals", "handling", "conclusions"} {
		require.Equal(t, domain(t, once, id).Points, domain(t, rep, id).Points, id)
	}
	back := append(rubric.Transcript{}, list...)
	for i, j := 0, len(back)-1; i < j; i, j = i+1, j-1 {
		back[i], back[j] = back[j], back[i]
	}
	rep = rubric.Grade(w.r, w.key, back)
	requireSound(t, rep)
	require.Less(t, rep.Total, once.Total)
	require.NotEmpty(t, codesOf(rep, "charted.unexamined"), "what was written before it was looked at was charted without examining")
}

// A transcript of another animal names steps, sites, fields and regions that
// this one does not have: every one is a line, and none of them earns a point.
func TestATranscriptOfAnotherSpecies(t *testing.T) {
	w := sick(t, "veterinary")
	acts := []rubric.Act{
		{Kind: rubric.Examine, Step: "rumen.auscultate", Site: "left", Seconds: 60},
		{Kind: rubric.Examine, Step: "rumen.auscultate", Site: "left", Seconds: 60},
		{Kind: rubric.Examine, Step: "heart.auscultate", Site: "mitral", Seconds: 60},
		{Kind: rubric.Examine, Step: "hip.move"},
		{Kind: rubric.Record, Field: "rumen.rate", Value: "2", Over: 60},
		{Kind: rubric.Record, Field: "hip.move.pain", Site: "left hind", Value: "2"},
		{Kind: rubric.Record, Region: "rumen", Value: "normal"},
		{Kind: rubric.Record, Region: "hip", Value: "sore"},
		{Kind: rubric.Ask, Topic: "milk"}, {Kind: rubric.Handle, How: "headlock"},
		{Kind: rubric.Conclude, Problems: []string{"bloat"}, Urgency: "routine"},
	}
	rep := w.grade(acts)
	requireSound(t, rep)
	say.Fill(&rep, spoken{})
	for id, row := range map[string]struct{ code, text string }{
		"completeness/unknown/rumen.auscultate":        {"step.unknown", "There is no step “rumen.auscultate” with this patient"},
		"completeness/unknown/heart.auscultate@mitral": {"step.site", "has no site “mitral”"},
		"completeness/unknown/hip.move":                {"step.site", "without saying where"},
		"findings/unreadable/rumen.rate":               {"field.unknown", "no line “rumen.rate”"},
		"findings/unreadable/hip.move.pain":            {"site.unknown", "no site “left hind”"},
		"findings/unreadable/rumen":                    {"region.unknown", "no region “rumen”"},
		"findings/unreadable/hip":                      {"region.unknown", "“sore” for “hip” was written nowhere"},
		"conclusions/problem/bloat":                    {"problem.extra", "nothing that was there points to it"},
	} {
		l := line(t, rep, id)
		require.Equal(t, row.code, l.Code)
		require.Zero(t, l.Points)
		require.Contains(t, l.Reason, row.text)
	}
	require.Equal(t, []int{1, 2}, line(t, rep, "completeness/unknown/rumen.auscultate").Acts, "a step is named once, with all its acts")
	require.Equal(t, "step.partly", line(t, rep, "completeness/heart.auscultate").Code)
	require.Zero(t, line(t, rep, "completeness/heart.auscultate").Points)
	require.False(t, rep.Pass)
}

// A truth that cannot be read is nobody's fault: the term drops out.
func TestATruthThatCannotBeRead(t *testing.T) {
	for _, value := range []string{"NaN", "1e309", "-0", "", "９６", "unknown"} {
		w := sick(t, "veterinary")
		w.truth[rubric.Place{Field: "heart.rate"}] = value
		rep := w.grade(mended(w, rewrite("heart.rate", "", "168")))
		requireSound(t, rep)
		require.Equal(t, "reading.unknown", line(t, rep, "vitals/heart.rate").Code, value)
		require.Equal(t, rubric.Points(20_000), domain(t, rep, "vitals").Points)
	}
}

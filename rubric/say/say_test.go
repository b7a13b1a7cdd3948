package say

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// labels knows every id: an id is xx-something, its label Something of kind.
type labels struct{}

func label(kind, id string) string {
	return kind + " " + strings.ReplaceAll(strings.TrimPrefix(id, "xx-"), "-", " ")
}

func (labels) Units(string) []string     { return nil }
func (labels) Step(id string) string     { return label("Feel", id) }
func (labels) Field(id string) string    { return label("Size of", id) }
func (labels) Value(_, v string) string  { return label("Very", v) }
func (labels) Site(s string) string      { return label("the", s) }
func (labels) Stage(id string) string    { return label("stage", id) }
func (labels) Region(id string) string   { return label("region", id) }
func (labels) Problem(id string) string  { return label("Disease of", id) }
func (labels) Topic(id string) string    { return label("Topic", id) }
func (labels) Handling(id string) string { return label("Give", id) }

// full has every argument that any code uses.
func full(code string) *rubric.Line {
	l := &rubric.Line{ID: "d/x", Code: code}
	for name, value := range map[string]string{
		"before": "xx-a|handle:xx-b", "after": "touch|xx-c@xx-left", "right": "3", "pairs": "5", "why": "It matters.", "source": "A book, 2001",
		"route": "xx-r", "with": "7", "returns": "2", "stages": "9", "steps": "xx-s|xx-t@xx-right", "step": "xx-s", "site": "xx-left", "sites": "4", "done": "2",
		"seconds": "3", "least": "5", "how": "xx-oxygen", "topic": "xx-appetite", "field": "xx-f", "truth": "xx-bad", "charted": "xx-good", "as": "xx-f", "at": "xx-right",
		"places": "4", "seen": "40", "vital": "heart_rate", "tolerance": "4", "window": "15", "over": "15", "low": "70", "high": "120", "above": "4", "call": "high", "row": "xx-row",
		"measured": "2", "required": "6", "precaution": "xx-p", "kind": "before", "among": "touch", "sign": "4", "times": "2", "problem": "xx-p", "signs": "xx-f@xx-left|xx-g",
		"expected": "2", "extra": "1", "urgency": "routine", "given": "xx-bad", "gaps": "request", "part": "80", "term": "rules", "domain": "vitals", "other": "xx-g", "stands": "xx-mild", "otherwas": "xx-odd", "problems": "xx-p|xx-q",
	} {
		l.Args = append(l.Args, rubric.Arg{Name: name, Value: value})
	}
	return l
}

func TestEveryCodeHasOneRowAndASentence(t *testing.T) {
	known := map[string]int{}
	for _, table := range tables {
		for code := range table {
			known[code]++
			require.Contains(t, rubric.Codes(), code, "a row for a code that the engine does not have")
		}
	}
	for _, code := range rubric.Codes() {
		require.Equal(t, 1, known[code], code)
		for _, kind := range []string{"before", "last", "gentle", "done"} {
			l := full(code)
			if strings.HasPrefix(code, "term.") {
				set(l, "why", "no-pair")
			}
			set(l, "kind", kind)
			switch {
			case strings.HasPrefix(code, "precaution."):
				set(l, "done", "xx-d|wait")
			case strings.HasPrefix(code, "reading."):
				set(l, "charted", "96")
				set(l, "truth", "100.5")
			case code == "field.unknown", code == "value.unreadable", code == "site.unknown", code == "region.unknown", code == "step.unknown", code == "step.site":
				for _, name := range []string{"charted", "field", "step", "site"} {
					set(l, name, "as typed")
				}
			case strings.HasPrefix(code, "call."):
				set(l, "charted", "96")
				set(l, "right", "normal")
			case strings.HasPrefix(code, "urgency."):
				set(l, "right", "same day")
			}
			requireSentence(t, Sentence(l, labels{}), code)
		}
		require.NotPanics(t, func() { Sentence(&rubric.Line{Code: code}, labels{}) }, code)
	}
	for _, code := range rubric.HeldCodes() {
		require.NotContains(t, Held(code), "newer version")
	}
	require.Contains(t, Held("x"), "newer version")
	require.Contains(t, Sentence(&rubric.Line{Code: "x"}, labels{}), "newer version")
}

func set(l *rubric.Line, name, value string) {
	for i := range l.Args {
		if l.Args[i].Name == name {
			l.Args[i].Value = value
		}
	}
}

func requireSentence(t *testing.T, s, code string) {
	t.Helper()
	require.NotContains(t, s, "xx-", code)
	for _, bad := range []string{"{", "}", "|", "%!", "  ", "handle:", "..", " .", "()", "“”", "incorrect"} {
		require.NotContains(t, s, bad, "%s: %s", code, s)
	}
	require.True(t, strings.HasSuffix(s, "."), s)
	first, _ := utf8.DecodeRuneInString(strings.TrimPrefix(s, "“"))
	require.False(t, unicode.IsLower(first), s)
	require.GreaterOrEqual(t, len(strings.Fields(s)), 4, s)
}

// 38.5 degC is 101.3 degF; 40 is 104; 24 kg is 52.9 lb (1 lb = 0.45359237 kg).
func TestQuantity(t *testing.T) {
	for _, row := range []struct {
		vital string
		m     rubric.Milli
		unit  []string
		want  string
	}{
		{"heart_rate", 96000, nil, "96/min"}, {"resp_rate", 24400, nil, "24/min"},
		{"temperature", 38500, nil, "38.5 °C (101.3 °F)"}, {"temperature", 40000, []string{"degF"}, "104 °F (40 °C)"}, {"temperature", 38449, nil, "38.4 °C (101.2 °F)"},
		{"weight", 24000, nil, "24 kg (52.9 lb)"}, {"weight", 4536, []string{"lb"}, "10 lb (4.54 kg)"},
		{"weight", 1900, nil, "1.9 kg (4.19 lb)"}, {"weight", 850, nil, "0.85 kg (1.87 lb)"}, {"body_condition", 2500, []string{"of 5"}, "2.5 of 5"},
		{"crt", 1500, nil, "1.5 s"}, {"body_condition", 5000, nil, "5 of 9"}, {"body_condition", 4500, nil, "4.5 of 9"}, {"other", 1234, nil, "1.234"},
	} {
		require.Equal(t, row.want, Quantity(row.vital, row.m, row.unit...))
	}
}

func TestSentences(t *testing.T) {
	arg := func(pairs ...string) *rubric.Line {
		l := &rubric.Line{Code: pairs[0]}
		for i := 1; i < len(pairs); i += 2 {
			l.Args = append(l.Args, rubric.Arg{Name: pairs[i], Value: pairs[i+1]})
		}
		return l
	}
	for _, row := range []struct {
		l    *rubric.Line
		want string
	}{
		{arg("finding.normal", "field", "xx-stifle", "site", "xx-right", "truth", "xx-sore", "charted", "xx-calm", "as", "xx-stifle", "steps", "xx-stifle"),
			"You called a finding normal: size of stifle (the right), “very sore”. You examined it and charted “very calm”. That is worse than a gap, for nobody will look again. It is found by “feel stifle” (the right)."},
		{arg("reading.wrong", "field", "xx-heart", "vital", "heart_rate", "charted", "120", "truth", "96.4", "tolerance", "4.82", "steps", "xx-heart"),
			"Your size of heart of 120/min was off: it was 96/min, give or take 4.8/min. It is measured by “feel heart”."},
		{arg("call.carried", "vital", "temperature", "call", "high", "right", "normal", "low", "37.7", "high", "39.2"),
			"You called it high, which follows from your own figure; with the right figure it is normal (normal here: 37.7 °C (99.9 °F) to 39.2 °C (102.6 °F)). Half is given for sound reasoning."},
		{arg("rule.broken", "before", "xx-breath", "after", "touch", "why", "It rises.", "source", "A book"),
			"“Feel breath” belongs before touching the animal; you did it the other way round. It rises (A book)."},
		{arg("rule.broken", "before", "xx-breath", "after", "touch", "why", "It rises.", "source", "A book (second edition)"),
			"“Feel breath” belongs before touching the animal; you did it the other way round. It rises. Source: A book (second edition)."},
		{arg("reading.first", "vital", "heart_rate", "charted", "100", "truth", "96", "over", "15", "above", "4"),
			"Your 100/min lies 4/min above the 96/min that was there: about one beat of a count over 15 s. A sound count catches one more now and then; if yours often do, the first beat is being counted as one. Start the watch on a beat and call that one zero; the next is one. This note costs no marks."},
		{arg("call.wrong", "vital", "crt", "call", "high", "right", "normal", "charted", "2.1", "fits", "own"),
			"You called it high; for this patient it is normal. It fits the 2.1 s that you wrote down, but that figure was too far off to build on."},
		{arg("call.missing", "vital", "crt", "call", "", "right", "normal", "charted", ""),
			"No figure stands on your sheet, so nothing was called low, normal or high. For this patient it is normal."},
		{arg("call.wrong", "vital", "crt", "call", "high", "right", "normal", "charted", "2.1"), "You called it high; for this patient it is normal."},
		{arg("reading.arithmetic", "vital", "heart_rate", "charted", "98", "over", "15"),
			"98/min cannot come from a count over 15 s: each beat or breath counted there stands for 4/min. Check the multiplication."},
		{arg("finding.caught", "field", "xx-sounds", "site", "xx-left", "truth", "xx-harsh", "charted", "xx-harsh", "as", "xx-sounds", "at", "xx-left"),
			"You found it: size of sounds (the left), “very harsh”, and your sheet says so."},
		{arg("finding.caught", "field", "xx-murmur", "site", "xx-apex", "truth", "xx-2", "charted", "xx-1", "as", "xx-murmur", "at", "xx-base"),
			"You found it: size of murmur (the apex), “very 2”. You charted “very 1” (the base)."},
		{arg("finding.partly", "field", "xx-murmur", "site", "xx-apex", "truth", "xx-2", "charted", "xx-5", "as", "xx-murmur", "at", "xx-apex"),
			"You noticed it: size of murmur (the apex), “very 2”. You charted “very 5” (the apex); its kind or grade is part of a finding."},
		{arg("rule.share", "before", "xx-heart|xx-lungs", "after", "xx-belly", "right", "0", "pairs", "1", "why", "It stirs."),
			"“Feel heart” and “feel lungs” belong before “feel belly”; 0 of one pair of steps stood in that order. It stirs."},
		{arg("route.full", "pairs", "1"), "The only two steps in different stretches of the animal follow an accepted route. Keep to it with the next patient."},
		{arg("late.forgiven", "steps", "xx-gum"),
			"“Feel gum” came last. Late is better than not at all, so the order was marked as if it had not been out of place. Next time do it where it belongs."},
		{arg("step.partly", "step", "xx-belly", "done", "0", "sites", "3", "site", "xx-mid", "left", "xx-mid|xx-end", "short", "xx-front", "least", "5"),
			"“Feel belly” was done properly at 0 of 3 sites: “the mid” and “the end” were left out, and “the front” was shorter than the 5 s that it takes. What was not examined cannot be called normal."},
		{arg("step.partly", "step", "xx-belly", "done", "1", "sites", "2", "site", "xx-mid"),
			"“Feel belly” was done properly at 1 of 2 sites: “the mid” was left out. What was not examined cannot be called normal."},
		{arg("call.right", "vital", "body_condition", "call", "normal", "low", "4", "high", "5"), "You called it normal, which fits this patient (normal here: 4 to 5 of 9)."},
		{arg("call.right", "vital", "resp_rate", "call", "normal", "low", "15", "high", "34", "rest", "24"),
			"You called it normal (normal here: 15 to 34/min). At rest it was 24/min, which is normal: handling alone had moved it past the limit, so either call counts. Measure before you handle, or let the animal settle and measure again."},
		{arg("reading.right", "field", "xx-crt", "vital", "crt", "charted", "<2", "truth", "1.6", "tolerance", "0"),
			"Your size of crt of “<2” was right: it was 1.6 s; what counts is the class: under 1 s, 1 to 2 s, over 2 s."},
		{arg("reading.near", "field", "xx-heat", "vital", "temperature", "charted", "38.8", "truth", "38.5", "tolerance", "0.2"),
			"Your size of heat of 38.8 °C (101.8 °F) was near: it was 38.5 °C (101.3 °F), give or take 0.2 °C (0.36 °F). Count again, or read the instrument again, when a figure surprises you."},
		{arg("reading.unmeasured", "field", "xx-weight", "vital", "weight", "truth", "9.4", "steps", "xx-scales", "asked", "no"),
			"Size of weight was not measured, and need not be with this patient. It was 9.4 kg (20.7 lb), and is measured by “feel scales”."},
		{arg("hazard.major", "hazard", "withhold:xx-jaw", "why", "This step should wait.", "times", "1"),
			"“Feel jaw” should have waited until the patient was stable. It counts as a major harm."},
		{arg("report.unframed", "gaps", "background, request"),
			"Your report lacks background and request. With situation, background, assessment and request the listener can act at once."},
		{arg("report.given", "field", "xx-heat", "vital", "temperature", "given", "38.6"), "You reported size of heat: 38.6 °C (101.5 °F)."},
		{arg("report.side", "field", "xx-ear", "site", "xx-right", "at", "xx-left"),
			"You reported size of ear for “the left”; it is at “the right”. The veterinarian will look where you point."},
		{arg("problems.named", "right", "1", "expected", "6", "extra", "1"),
			"This patient has 6 problems; you named 1 with signs on your sheet to show for it. You also named one that does not fit this patient."},
		{arg("value.unreadable", "field", "xx-ear", "charted", "a bit waxy"),
			"What you wrote for size of ear, “a bit waxy”, could not be read, so it earned nothing. Choose one of the values offered, or write a number with its unit."},
	} {
		require.Equal(t, row.want, Sentence(row.l, labels{}))
	}
}

func TestFill(t *testing.T) {
	rep := rubric.Report{Domains: []rubric.Domain{{Lines: []rubric.Line{{Code: "floor"}}}},
		Critical: []rubric.Event{{ID: "omission/handle:xx-oxygen"}, {ID: "urgency"}, {ID: "bite", Why: "It bit."}, {ID: "other"}}}
	Fill(&rep, labels{})
	require.NotEmpty(t, rep.Domains[0].Lines[0].Reason)
	require.Equal(t, "“Give oxygen” was left out in a patient that can die without it.", rep.Critical[0].Why)
	require.Equal(t, "An emergency was called routine.", rep.Critical[1].Why)
	require.Equal(t, "It bit.", rep.Critical[2].Why)
	require.NotEmpty(t, rep.Critical[3].Why)
}

func TestDifferenceHasNoOffset(t *testing.T) {
	require.Equal(t, "0.2 °C (0.36 °F)", Difference("temperature", 200))
	require.Equal(t, "4/min", Difference("heart_rate", 4000))
}

func TestRangeNamesTheUnitOnce(t *testing.T) {
	require.Equal(t, "70 to 120/min", Range("heart_rate", 70000, 120000))
	require.Equal(t, "1 to 2 s", Range("crt", 1000, 2000))
	require.Equal(t, "37.7 °C (99.9 °F) to 39.2 °C (102.6 °F)", Range("temperature", 37700, 39200))
	require.Equal(t, "5 of 9", Range("body_condition", 5000, 5000))
}

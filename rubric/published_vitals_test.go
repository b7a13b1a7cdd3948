package rubric_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// oneVital measures one vital, charts it and grades that alone.
type oneVital struct {
	vital          rubric.Vital
	kind           string
	truth, charted rubric.Milli
	call           string
	seconds, over  int
}

func (o *oneVital) grade() rubric.Report {
	v := o.vital
	v.Field, v.Steps, v.Required = "field", []string{"step"}, true
	k := rubric.Key{
		Steps:  []rubric.Step{{ID: "step", Kind: rubric.Examine, Required: true, Weight: 1, Measure: true, Reveals: []string{"field"}}},
		Fields: []rubric.Field{{ID: "field", Kind: o.kind, Vital: v.Name}},
		Vitals: []rubric.Vital{v},
	}
	r := rubric.Rubric{Weights: rubric.Weights{Vitals: 100}, MarkShare: 500, Windows: rubric.Windows{Heart: 15, Breathing: 30, FastBreathing: 15, FastAbove: 40, Irregular: 60}}
	return rubric.Grade(r, k, rubric.Transcript{
		{Act: rubric.Act{N: 1, Kind: rubric.Examine, Step: "step", Seconds: o.seconds}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: "field", Value: o.truth.String()}}}},
		{Act: rubric.Act{N: 2, Kind: rubric.Record, Field: "field", Value: o.charted.String(), Over: o.over, Interpretation: o.call}},
	})
}

// mark is what the reading earned, in hundredths.
func (o *oneVital) mark(t testing.TB) int {
	l := line(t, o.grade(), "vitals/field")
	require.Positive(t, l.Max)
	return int(l.Points * 100 / l.Max)
}

// heartOver is a heart at a rate in thousandths, counted as so many beats over a
// window that is also the rubric's.
func heartOver(window int, rate rubric.Milli, beats int) *oneVital {
	return &oneVital{vital: rubric.Vital{Name: "heart_rate", Rest: rate, Window: window}, kind: "count", truth: rate,
		charted: rubric.Milli(beats * 60_000 / window), seconds: window, over: window}
}

// readings are the rates that a count of whole events over a window can give, by
// sweeping the moment in which the count begins through one event.
func readings(rate, window int) []string {
	const phases = 600
	var list []string
	for i := range phases {
		n := (rate*window*phases/60 + i) / phases
		if s := itoa(n * 60 / window); !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	slices.Sort(list)
	return list
}

// sweep is the largest and the root mean square error of a count over a window,
// over all parts of an event and all moments to begin.
func sweep(window float64) (worst, rms float64) {
	const n = 1000
	sum := 0.
	for i := range n {
		f := (float64(i) + .5) / n
		for j := range n {
			u := (float64(j) + .5) / n
			off := (math.Floor(7+f+u) - 7 - f) * 60 / window
			worst, sum = max(worst, math.Abs(off)), sum+off*off
		}
	}
	return worst, math.Sqrt(sum / n / n)
}

func countingChecks(t *testing.T) []check {
	source, rows := table(t, "counting.csv")
	var list []check
	for _, r := range rows {
		window := whole(t, r["window"])
		add := func(what, want, got string) {
			list = append(list, check{source, r["window"] + " s: " + what, want, got})
		}
		slow := heartOver(window, 12_000, 0).grade().Vitals[0]
		add("the engine's tolerance is one event", r["step"], strings.TrimSuffix(slow.Tolerance.String(), ".0"))
		worst, rms := sweep(float64(window))
		_, got := asPrinted(rms, r["rms"])
		add("root mean square error of a sweep", r["rms"], got)
		add("worst error of a sweep, below", r["worst"], itoa(int(math.Ceil(worst))))
		add("readings of 120", r["heart_120"], strings.Join(readings(120, window), " "))
		add("readings of 12", r["breaths_12"], strings.Join(readings(12, window), " "))
		add("readings of 24", r["breaths_24"], strings.Join(readings(24, window), " "))
		least, early := honest(t, window)
		add("least mark of any honest count", "100", itoa(least))
		add("least mark, the first event called one, at whole counts", "100", itoa(early))
	}
	return append(list, workedCounts(t)...)
}

// honest is the least mark in hundredths that a whole count over the full window
// earns at any rate and phase, and that of a count whose first event was called
// one where the rate gives a whole number of events: it is one event too many,
// which is just the tolerance.
func honest(t *testing.T, window int) (least, early int) {
	least, early = 100, 100
	for rate := 12; rate <= 240; rate += 6 {
		for _, reading := range readings(rate, window) {
			o := heartOver(window, rubric.Milli(rate*1000), 0)
			o.charted, _ = rubric.ParseMilli(reading)
			least = min(least, o.mark(t))
		}
		if rate*window%60 == 0 {
			early = min(early, heartOver(window, rubric.Milli(rate*1000), rate*window/60+1).mark(t))
		}
	}
	return least, early
}

// workedCounts are the two worked examples, by the sweep and by the clips that a
// student hears and sees.
func workedCounts(t *testing.T) []check {
	const source = "exact arithmetic: 130 a minute over 15 s are 32.5 events"
	const slow = "exact arithmetic: 14 a minute over 15 s are 3.5 events"
	heart, breath := map[int][]string{}, map[int][]string{}
	add := func(to map[int][]string, window, n int) {
		if s := itoa(n * 60 / window); !slices.Contains(to[window], s) {
			to[window] = append(to[window], s)
			slices.Sort(to[window])
		}
	}
	for i := range uint64(400) {
		beats := senses.Heart{Rate: 130, Phase: i * 48_611}.Beats()
		n, _ := slices.BinarySearch(beats, 15*senses.SampleRate)
		add(heart, 15, n)
		b := senses.Breath{Rate: 14, Phase: i * 1 << 16 / 400}
		add(breath, 15, b.Within(15))
		add(breath, 30, b.Within(30))
	}
	return []check{
		{source, "readings of 130 over 15 s", "128 132", strings.Join(readings(130, 15), " ")},
		{source, "readings of the sound of a heart at 130", "128 132", strings.Join(heart[15], " ")},
		{slow, "readings of 14 over 15 s", "12 16", strings.Join(readings(14, 15), " ")},
		{slow, "readings of the picture of a chest at 14", "12 16", strings.Join(breath[15], " ")},
		{slow, "readings of 14 over 30 s", "14", strings.Join(readings(14, 30), " ")},
		{slow, "readings of the picture over 30 s", "14", strings.Join(breath[30], " ")},
	}
}

// Where the limits of a reading come from.
const (
	fromTriage    = "Merck Veterinary Manual triage table (read): 1-2 s normal, > 2 poor perfusion, < 1 hyperdynamic"
	fromCondition = "WSAVA 9-point chart; one point either way is this project's"
	fromLimit     = "this project's limit, chosen wide: .2 degC of a rectal reading; 2 % of a weight"
)

// readingChecks: the mark of a reading at its limits, in hundredths. Within the
// tolerance it is whole, at twice the tolerance nothing is left.
func readingChecks(t *testing.T) []check {
	var list []check
	for _, r := range []struct{ source, name, kind, truth, charted, want string }{
		{fromTriage, "crt", "time", "0.5", "0.9", "100"}, {fromTriage, "crt", "time", "0.9", "1", "0"}, {fromTriage, "crt", "time", "1", "0.999", "0"},
		{fromTriage, "crt", "time", "1", "2", "100"}, {fromTriage, "crt", "time", "2", "2.001", "0"}, {fromTriage, "crt", "time", "2.001", "4", "100"},
		{fromTriage, "crt", "time", "2.001", "2", "0"},
		{fromCondition, "body_condition", "score", "5", "6", "100"}, {fromCondition, "body_condition", "score", "5", "4", "100"}, {fromCondition, "body_condition", "score", "5", "7", "0"},
		{fromLimit, "temperature", "number", "38.5", "38.7", "100"}, {fromLimit, "temperature", "number", "38.5", "38.3", "100"}, {fromLimit, "temperature", "number", "38.5", "38.8", "50"},
		{fromLimit, "temperature", "number", "38.5", "38.9", "0"}, {fromLimit, "temperature", "number", "38.5", "38.1", "0"},
		{fromLimit, "weight", "number", "20", "20.4", "100"}, {fromLimit, "weight", "number", "20", "19.6", "100"}, {fromLimit, "weight", "number", "20", "20.6", "50"},
		{fromLimit, "weight", "number", "20", "20.8", "0"},
	} {
		o := oneVital{vital: rubric.Vital{Name: r.name}, kind: r.kind, seconds: 60}
		var errs [2]error
		o.truth, errs[0] = rubric.ParseMilli(r.truth)
		o.charted, errs[1] = rubric.ParseMilli(r.charted)
		require.NoError(t, errs[0])
		require.NoError(t, errs[1])
		o.vital.Rest = o.truth
		list = append(list, check{r.source, r.name + ": " + r.truth + " charted as " + r.charted, r.want, itoa(o.mark(t))})
	}
	return list
}

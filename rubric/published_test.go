package rubric_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"dewclaw/rubric"
)

// check is one figure from outside the project beside the engine's.
type check struct {
	source, what, want, got string
}

// publishedChecks are the tables of checks, each against its own sources.
var publishedChecks = []struct {
	name string
	list func(t *testing.T) []check
}{
	{"order of a walk", kendallChecks},
	{"order of a walk at random", gonumChecks},
	{"rules of order", ruleChecks},
	{"fewest steps to move", riseChecks},
	{"telling abnormal from normal", detectionChecks},
	{"naming problems", matthewsChecks},
	{"counting a rate", countingChecks},
	{"reading a vital", readingChecks},
}

// TestPublishedChecks holds the engine to figures from outside. With -v it
// prints them: source, expected, got.
func TestPublishedChecks(t *testing.T) {
	for _, table := range publishedChecks {
		t.Run(table.name, func(t *testing.T) {
			list := table.list(t)
			require.NotEmpty(t, list)
			for _, c := range list {
				if testing.Verbose() {
					fmt.Printf("%-60.60s | %-60s | %-16s | %s\n", c.source, c.what, c.want, c.got)
				}
				require.NotEmpty(t, c.source, c.what)
				require.Equal(t, c.want, c.got, "%s: %s", c.source, c.what)
			}
		})
	}
}

// table reads a file of testdata/published: its source, which is its first
// line, and its rows by column.
func table(t testing.TB, name string) (source string, rows []map[string]string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "testdata", "published", name))
	require.NoError(t, err)
	first, rest, _ := strings.Cut(string(data), "\n")
	source, ok := strings.CutPrefix(first, "# ")
	require.True(t, ok, "%s must begin with its source", name)
	records, err := csv.NewReader(strings.NewReader(rest)).ReadAll()
	require.NoError(t, err)
	for _, rec := range records[1:] {
		row := map[string]string{}
		for i, column := range records[0] {
			row[column] = rec[i]
		}
		rows = append(rows, row)
	}
	return source, rows
}

func float(t testing.TB, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return f
}

func whole(t testing.TB, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

// digitsOf is how many digits a figure was printed with after the point.
func digitsOf(s string) int {
	_, after, _ := strings.Cut(s, ".")
	return len(after)
}

// asPrinted rounds to the digits of the printed figure, at most twelve.
func asPrinted(got float64, printed string) (want, have string) {
	n := min(digitsOf(printed), 12)
	want = printed
	if digitsOf(printed) > 12 {
		f, _ := strconv.ParseFloat(printed, 64)
		want = strconv.FormatFloat(f, 'f', n, 64)
	}
	return want, strconv.FormatFloat(got, 'f', n, 64)
}

// rankKey has one step a thing and one route that takes the things by rank,
// those of equal rank in any order.
func rankKey(rank []float64) rubric.Key {
	k := rubric.Key{Routes: []rubric.Route{{ID: "ranks"}}}
	things := make([]int, len(rank))
	for i := range rank {
		things[i] = i
	}
	slices.SortStableFunc(things, func(a, b int) int { return int(math.Copysign(1, rank[a]-rank[b])) })
	order, last := [][]string{}, math.Inf(-1)
	for _, i := range things {
		name := "thing " + itoa(i)
		k.Stages = append(k.Stages, name)
		k.Steps = append(k.Steps, rubric.Step{ID: name, Kind: rubric.Examine, Stage: name})
		if rank[i] != last {
			order = append(order, nil)
		}
		order[len(order)-1] = append(order[len(order)-1], name)
		last = rank[i]
	}
	k.Routes[0].Order = order
	return k
}

// walkOf does the things in the order of their ranks, which has no ties.
func walkOf(rank []float64) rubric.Transcript {
	things := make([]int, len(rank))
	for i := range rank {
		things[i] = i
	}
	slices.SortStableFunc(things, func(a, b int) int {
		if rank[a] < rank[b] {
			return -1
		}
		return 1
	})
	var list rubric.Transcript
	for n, i := range things {
		list = append(list, rubric.Entry{Act: rubric.Act{N: n + 1, Kind: rubric.Examine, Step: "thing " + itoa(i)}})
	}
	return list
}

func column(t *testing.T, rows []map[string]string, name string) []float64 {
	var list []float64
	for _, r := range rows {
		list = append(list, float(t, r[name]))
	}
	return list
}

// kendallChecks: concordant and discordant pairs of the published examples. A
// walk has no ties, so that a tie stands in the route: in the second example
// the things tied in the walk are tied in the route too, or in it alone.
func kendallChecks(t *testing.T) []check {
	source, rows := table(t, "kendall_tuna.csv")
	x, y := column(t, rows, "x"), column(t, rows, "y")
	with, against := rubric.Pairs(rankKey(y), walkOf(x))
	tau := float64(with-against) / float64(with+against)
	want, got := asPrinted(tau, "0.4444444")
	list := []check{
		{source, "T, pairs in order", "26", itoa(with)},
		{source, "Kendall distance, pairs out of order (36 - T)", "10", itoa(against)},
		{source, "tau", want, got},
		{"gonum stat.Kendall", "tau of the same", strconv.FormatFloat(stat.Kendall(x, y, nil), 'f', 12, 64), strconv.FormatFloat(tau, 'f', 12, 64)},
	}
	source, rows = table(t, "kendall_ties.csv")
	x, y = column(t, rows, "x"), column(t, rows, "y")
	with, against = rubric.Pairs(rankKey(x), walkOf(y))
	// tau-b puts the ties back: one pair tied in x alone, one in both.
	c, d := float64(with), float64(against)
	want, got = asPrinted((c-d)/math.Sqrt((c+d+1)*(c+d)), "-0.47140452079103173")
	list = append(list, check{source, "tau-b from the pairs compared", want, got})
	source, rows = table(t, "rank_ties.csv")
	a, b := column(t, rows, "rankA"), column(t, rows, "rankB")
	most, least := 0, 0
	for _, nudge := range []float64{-.1, .1} { // the tie of the walk, broken either way
		walk := slices.Clone(b)
		walk[1] += nudge
		with, against = rubric.Pairs(rankKey(a), walkOf(walk))
		most, least = max(most, with), max(least, against)
	}
	return append(list, check{source, "pairs in order, the tie broken kindly: 8 + 1", "9", itoa(most)},
		check{source, "pairs out of order, the tie broken unkindly: 0 + 1", "1", itoa(least)})
}

// gonumChecks: over random walks without ties the share of pairs in order is
// (1 + tau) / 2.
func gonumChecks(*testing.T) []check {
	rng := rand.New(rand.NewPCG(1, 1))
	most := 0.
	const walks = 400
	for i := range walks {
		n := 2 + i%59
		x, y := make([]float64, n), make([]float64, n)
		for i, p := range rng.Perm(n) {
			x[i] = float64(p)
		}
		for i, p := range rng.Perm(n) {
			y[i] = float64(p)
		}
		with, against := rubric.Pairs(rankKey(y), walkOf(x))
		most = max(most, math.Abs(stat.Kendall(x, y, nil)-float64(with-against)/float64(with+against)))
	}
	return []check{{"gonum stat.Kendall", "largest difference of tau over 400 walks of 2 to 60 steps", "0.000000000000", strconv.FormatFloat(most, 'f', 12, 64)}}
}

// ruleChecks: the weighted share of the constraints whose two sides were done.
func ruleChecks(t *testing.T) []check {
	_, rows := table(t, "precedence_rules.csv")
	k := rubric.Key{}
	for i, r := range rows {
		k.Rules = append(k.Rules, rubric.Rule{ID: itoa(i), Kind: "before-first", Before: []string{r["before"]}, After: []string{r["after"]}, Weight: whole(t, r["weight"]), Tag: "safety"})
		for _, id := range []string{r["before"], r["after"]} {
			if !slices.ContainsFunc(k.Steps, func(s rubric.Step) bool { return s.ID == id }) {
				k.Steps = append(k.Steps, rubric.Step{ID: id, Kind: rubric.Examine})
			}
		}
	}
	source, rows := table(t, "precedence_walks.csv")
	var list []check
	for _, r := range rows {
		var walk rubric.Transcript
		for _, id := range strings.Fields(r["sequence"]) {
			walk = append(walk, rubric.Entry{Act: rubric.Act{N: len(walk) + 1, Kind: rubric.Examine, Step: id}})
		}
		d := rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Order: 100}}, k, walk).Domains[0]
		want, got := asPrinted(float64(d.Points)/float64(d.Max), r["both"])
		list = append(list, check{source, "walk " + r["student"], want, got})
	}
	return list
}

func riseChecks(t *testing.T) []check {
	source, rows := table(t, "rises.csv")
	var list []check
	for _, r := range rows {
		var ranks []int32
		for _, s := range strings.Fields(r["sequence"]) {
			ranks = append(ranks, int32(whole(t, s)))
		}
		list = append(list, check{source, r["sequence"], r["length"], itoa(rubric.Rise(ranks))})
	}
	return list
}

// detected plays a visit with so many places called so, and returns what the
// report counted.
func detected(hits, misses, falseAlarms, trueNormals int) rubric.Detection {
	k := rubric.Key{}
	var list rubric.Transcript
	place := func(truth, charted string) {
		id := "place " + itoa(len(k.Steps))
		k.Steps = append(k.Steps, rubric.Step{ID: id, Kind: rubric.Examine, Required: true, Weight: 1, Reveals: []string{id}})
		k.Fields = append(k.Fields, rubric.Field{ID: id, Kind: "choice", Of: []string{"usual", "odd"}, Normal: []string{"usual"}})
		if truth == "odd" {
			k.Findings = append(k.Findings, rubric.Finding{Field: id, Value: "odd", Steps: []string{id}})
		}
		list = append(list, rubric.Entry{Act: rubric.Act{N: len(list) + 1, Kind: rubric.Examine, Step: id}, Outcome: rubric.Outcome{Shown: []rubric.Shown{{Field: id, Value: truth}}}},
			rubric.Entry{Act: rubric.Act{N: len(list) + 2, Kind: rubric.Record, Field: id, Value: charted}})
	}
	for _, cell := range []struct {
		n              int
		truth, charted string
	}{{hits, "odd", "odd"}, {misses, "odd", "usual"}, {falseAlarms, "usual", "odd"}, {trueNormals, "usual", "usual"}} {
		for range cell.n {
			place(cell.truth, cell.charted)
		}
	}
	slices.SortFunc(k.Fields, func(a, b rubric.Field) int { return strings.Compare(a.ID, b.ID) })
	return rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Findings: 100}}, k, list).Detection
}

func figure(value float64, ok bool, printed string) (want, got string) {
	if !ok {
		return printed, "undefined"
	}
	return asPrinted(value, printed)
}

func detectionChecks(t *testing.T) []check {
	source, rows := table(t, "detection_counts.csv")
	var list []check
	add := func(source, what string, value float64, ok bool, printed string) {
		want, got := figure(value, ok, printed)
		list = append(list, check{source, what, want, got})
	}
	for _, r := range rows {
		d := detected(whole(t, r["hits"]), whole(t, r["misses"]), whole(t, r["false_alarms"]), whole(t, r["correct_rejections"]))
		sens, ok := d.Sensitivity()
		add(source, r["case"]+" sensitivity", sens, ok, r["sensitivity"])
		spec, ok := d.Specificity()
		add(source, r["case"]+" specificity", spec, ok, r["specificity"])
		prime, ok := d.DPrime()
		add(source, r["case"]+" d', log-linear", prime, ok, r["d_loglinear"])
	}
	_, rows = table(t, "detection_rates.csv")
	for _, r := range rows {
		const trials = 1_000_000
		h, f := int(math.Round(float(t, r["hit_rate"])*trials)), int(math.Round(float(t, r["false_alarm_rate"])*trials))
		prime, ok := rubric.Detection{Hits: h, Misses: trials - h, FalseAlarms: f, TrueNormals: trials - f}.DPrime()
		add(r["source"], "d' of H "+r["hit_rate"]+", F "+r["false_alarm_rate"], prime, ok, r["d"])
	}
	return list
}

// matthewsChecks: Matthews from the counts of a report, the accuracy of the same
// counts, and F1 as the engine marks problems that were named and missed.
func matthewsChecks(t *testing.T) []check {
	source, rows := table(t, "matthews.csv")
	var list []check
	for _, r := range rows {
		tp, fn, tn, fp := whole(t, r["tp"]), whole(t, r["fn"]), whole(t, r["tn"]), whole(t, r["fp"])
		d := detected(tp, fn, fp, tn)
		mcc, ok := d.Matthews()
		want, got := figure(mcc, ok, r["mcc"])
		list = append(list, check{source, r["case"] + " Matthews", want, got})
		accuracy := float64(d.Hits+d.TrueNormals) / float64(d.Hits+d.Misses+d.FalseAlarms+d.TrueNormals)
		want, got = asPrinted(accuracy, r["accuracy"])
		list = append(list, check{source, r["case"] + " accuracy of the counts", want, got})
		want, got = asPrinted(conclusionsF1(tp, fn, fp), r["f1"])
		list = append(list, check{source, r["case"] + " F1 of the problems", want, got})
	}
	return list
}

// conclusionsF1 is the share of the mark for a conclusion with so many problems
// named rightly, missed and named wrongly.
func conclusionsF1(right, missed, wrong int) float64 {
	k := rubric.Key{Track: "veterinary"}
	act := rubric.Act{N: 1, Kind: rubric.Conclude}
	for i := range right + missed {
		k.Expected.Problems = append(k.Expected.Problems, rubric.Problem{ID: "problem " + itoa(i)})
		if i < right {
			act.Problems = append(act.Problems, "problem "+itoa(i))
		}
	}
	for i := range wrong {
		act.Problems = append(act.Problems, "another "+itoa(i))
	}
	for _, d := range rubric.Grade(rubric.Rubric{Weights: rubric.Weights{Conclusions: 100}}, k, rubric.Transcript{{Act: act}}).Domains {
		if d.ID == rubric.DomainConclusions && d.Max > 0 {
			return float64(d.Points) / float64(d.Max)
		}
	}
	return math.NaN()
}

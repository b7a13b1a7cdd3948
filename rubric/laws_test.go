package rubric_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"dewclaw/rubric"
)

// words is a pool that holds real ids beside nonsense.
var words = []string{"", "heart.auscultate", "stifle.palpate", "distance.observe", "left", "right", "left apex", "heart.rate", "touch", "ask", "handle:oxygen",
	"stifle.palpate@right", "chest", "rear", "no such thing", "é\x00", "3", "38,5", "-4", "normal", "not examined", "usual", "bad", "1e309", "１２", "low", "emergency", "unknown"}

func word() *rapid.Generator[string] { return rapid.SampledFrom(words) }

func wordList(n int) *rapid.Generator[[]string] { return rapid.SliceOfN(word(), 0, n) }

// anyAct draws any act at all, sense or nonsense.
func anyAct(t *rapid.T) rubric.Act {
	kinds := []rubric.Kind{rubric.Examine, rubric.Examine, rubric.Record, rubric.Record, rubric.Lift, rubric.Ask, rubric.Handle, rubric.Wait, rubric.Hint, rubric.Conclude, rubric.Rate, "dance"}
	number := rapid.IntRange(-3, 400)
	return rubric.Act{N: number.Draw(t, "n"), Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Step: word().Draw(t, "step"), Site: word().Draw(t, "site"),
		Seconds: rapid.SampledFrom([]int{0, 5, 20, math.MinInt, math.MaxInt}).Draw(t, "s"), Manner: word().Draw(t, "manner"), Of: number.Draw(t, "of"),
		Field: word().Draw(t, "field"), Region: word().Draw(t, "region"), Value: word().Draw(t, "value"), Over: number.Draw(t, "over"),
		Interpretation: word().Draw(t, "call"), Topic: word().Draw(t, "topic"), How: word().Draw(t, "how"), Problems: wordList(3).Draw(t, "problems"),
		Urgency: word().Draw(t, "urgency"), Report: rapid.SampledFrom([]*rubric.Handover{nil, {Situation: "x", Fields: []rubric.Given{{Field: "heart.rate", Value: "9"}, {Field: "é"}}}}).Draw(t, "report")}
}

func anyOutcome(t *rapid.T) rubric.Outcome {
	o := rubric.Outcome{Refused: rapid.Bool().Draw(t, "refused")}
	if rapid.Bool().Draw(t, "closed") {
		o.Closed = &rubric.Contact{Of: rapid.IntRange(-2, 50).Draw(t, "of"), Seconds: rapid.IntRange(-5, math.MaxInt).Draw(t, "secs")}
	}
	for range rapid.IntRange(0, 3).Draw(t, "shown") {
		o.Shown = append(o.Shown, rubric.Shown{Field: word().Draw(t, "f"), Site: word().Draw(t, "s"), Value: word().Draw(t, "v")})
	}
	if rapid.IntRange(0, 5).Draw(t, "event") == 0 {
		o.Events = append(o.Events, rubric.Event{ID: word().Draw(t, "id"), Severity: word().Draw(t, "sev"), Sign: rapid.IntRange(-1, 9).Draw(t, "sign")})
	}
	return o
}

func anyTranscript(t *rapid.T, most int) rubric.Transcript {
	var list rubric.Transcript
	for range rapid.IntRange(0, most).Draw(t, "acts") {
		list = append(list, rubric.Entry{Act: anyAct(t), Outcome: anyOutcome(t)})
	}
	return list
}

// anyKey draws a key that may make no sense at all.
func anyKey(t *rapid.T) rubric.Key {
	k := rubric.Key{Situation: word().Draw(t, "situation"), Track: rapid.SampledFrom([]string{"technician", "veterinary", ""}).Draw(t, "track"), Stages: wordList(4).Draw(t, "stages"), Topics: wordList(2).Draw(t, "topics")}
	small := rapid.IntRange(-2, math.MaxInt)
	milli := rapid.Map(rapid.Int64(), func(n int64) rubric.Milli { return rubric.Milli(n) })
	for range rapid.IntRange(0, 6).Draw(t, "steps") {
		k.Steps = append(k.Steps, rubric.Step{ID: word().Draw(t, "id"), Kind: rapid.SampledFrom([]rubric.Kind{rubric.Examine, rubric.Handle, ""}).Draw(t, "k"),
			Stage: word().Draw(t, "stage"), AlsoIn: wordList(2).Draw(t, "also"), Sites: wordList(2).Draw(t, "sites"), Least: small.Draw(t, "least"),
			Required: rapid.Bool().Draw(t, "req"), Weight: rubric.Weight(small.Draw(t, "w")), Touch: rapid.Bool().Draw(t, "touch"), Critical: rapid.Bool().Draw(t, "critical"), Reveals: wordList(2).Draw(t, "reveals")})
	}
	for range rapid.IntRange(0, 4).Draw(t, "fields") {
		k.Fields = append(k.Fields, rubric.Field{ID: word().Draw(t, "id"), Kind: rapid.SampledFrom([]string{"choice", "grade", "count", "number", "time", "score", ""}).Draw(t, "kind"),
			Region: word().Draw(t, "region"), PerSite: rapid.Bool().Draw(t, "per"), Sites: wordList(3).Draw(t, "sites"), Of: wordList(4).Draw(t, "of"), Normal: wordList(2).Draw(t, "normal"),
			Variants: wordList(1).Draw(t, "variants"), Tolerance: small.Draw(t, "tol"), AcceptAs: wordList(2).Draw(t, "as"), Each: rapid.Bool().Draw(t, "each"),
			Vital: rapid.SampledFrom([]string{"", "", "heart_rate", "temperature", "crt", "weight", "x"}).Draw(t, "vital"), Ranged: rapid.Bool().Draw(t, "ranged"), NormalLow: milli.Draw(t, "lo"), NormalHigh: milli.Draw(t, "hi")})
	}
	for range rapid.IntRange(0, 3).Draw(t, "more") {
		k.Rules = append(k.Rules, rubric.Rule{ID: word().Draw(t, "id"), Kind: rapid.SampledFrom([]string{"share", "before-first"}).Draw(t, "k"), Before: wordList(3).Draw(t, "b"), After: wordList(3).Draw(t, "a"), Weight: small.Draw(t, "w")})
		k.Routes = append(k.Routes, rubric.Route{ID: word().Draw(t, "id"), Order: [][]string{wordList(2).Draw(t, "g1"), wordList(2).Draw(t, "g2")},
			Floats: []rubric.Float{{Stages: wordList(2).Draw(t, "fs"), Steps: wordList(2).Draw(t, "ft"), Places: []string{rapid.SampledFrom([]string{"first", "in place", "last", "x"}).Draw(t, "p")}}}})
		k.Findings = append(k.Findings, rubric.Finding{Field: word().Draw(t, "f"), Site: word().Draw(t, "s"), Also: wordList(2).Draw(t, "also"), Value: word().Draw(t, "v"), Major: rapid.Bool().Draw(t, "m"), Steps: wordList(2).Draw(t, "st")})
		k.Negatives = append(k.Negatives, rubric.Place{Field: word().Draw(t, "f"), Site: word().Draw(t, "s")})
		k.Vitals = append(k.Vitals, rubric.Vital{Field: word().Draw(t, "f"), Name: rapid.SampledFrom([]string{"heart_rate", "resp_rate", "crt", "weight", "temperature", "body_condition", ""}).Draw(t, "n"), Rest: milli.Draw(t, "rest"),
			HasRange: rapid.Bool().Draw(t, "hr"), Low: milli.Draw(t, "low"), High: milli.Draw(t, "high"), GreyLow: milli.Draw(t, "gl"), GreyHigh: milli.Draw(t, "gh"), Window: small.Draw(t, "win"), Irregular: rapid.Bool().Draw(t, "irr"), Steps: wordList(2).Draw(t, "st"), Required: rapid.Bool().Draw(t, "req")})
		k.Precautions = append(k.Precautions, rubric.Precaution{ID: word().Draw(t, "id"), Kind: rapid.SampledFrom([]string{"before", "last", "gentle", "done", "x"}).Draw(t, "k"), Done: wordList(2).Draw(t, "d"), Steps: wordList(2).Draw(t, "s"), Among: wordList(2).Draw(t, "a")})
		k.Expected.Problems = append(k.Expected.Problems, rubric.Problem{ID: word().Draw(t, "id"), Signs: []rubric.Place{{Field: word().Draw(t, "f")}}})
		k.Expected.Report = append(k.Expected.Report, rubric.Place{Field: word().Draw(t, "f"), Site: word().Draw(t, "s")})
		k.Static = append(k.Static, rubric.Shown{Field: word().Draw(t, "f"), Site: word().Draw(t, "s"), Value: word().Draw(t, "v")})
	}
	k.Expected.Urgency, k.Expected.Accept = word().Draw(t, "urgency"), wordList(2).Draw(t, "accept")
	return k
}

func anyRubric(t *rapid.T, base rubric.Rubric) rubric.Rubric {
	if rapid.Bool().Draw(t, "sane") {
		return base
	}
	n := rapid.IntRange(-5, math.MaxInt)
	return rubric.Rubric{Weights: rubric.Weights{Order: n.Draw(t, "o"), Completeness: n.Draw(t, "c"), Findings: n.Draw(t, "f"), Vitals: n.Draw(t, "v")},
		MarkShare: n.Draw(t, "ms"), Windows: rubric.Windows{Heart: n.Draw(t, "h"), FastAbove: n.Draw(t, "fa")},
		Hurdles: []rubric.Hurdle{{Domain: "findings", Share: n.Draw(t, "hs")}}}
}

// requireSound holds a report to the laws that bind every report.
func requireSound(t require.TestingT, rep rubric.Report) {
	var total rubric.Points
	ids := []string{"order", "completeness", "findings", "vitals", "handling", "conclusions"}
	require.Len(t, rep.Domains, len(ids))
	for i, d := range rep.Domains {
		require.Equal(t, ids[i], d.ID)
		require.GreaterOrEqual(t, d.Points, rubric.Points(0), d.ID)
		require.LessOrEqual(t, d.Points, d.Max, d.ID)
		var sum rubric.Points
		for _, l := range d.Lines {
			sum += l.Points
			require.GreaterOrEqual(t, l.Max, rubric.Points(0), l.ID)
			if l.Max > 0 {
				require.LessOrEqual(t, l.Points, l.Max, l.ID)
			}
			require.True(t, strings.HasPrefix(l.ID, d.ID+"/"), l.ID)
			require.Contains(t, rubric.Codes(), l.Code)
			require.NotNil(t, l.Args)
			require.NotNil(t, l.Acts)
		}
		require.Equal(t, d.Points, sum, d.ID)
		total += d.Points
	}
	require.Equal(t, rep.Total, total)
	require.Equal(t, rubric.Engine, rep.Engine)
}

func TestAnyNonsenseGradesSoundlyAndTheSameTwice(t *testing.T) {
	w := sick(t, "veterinary")
	rapid.Check(t, func(t *rapid.T) {
		k := w.key
		if rapid.Bool().Draw(t, "odd key") {
			k = anyKey(t)
		}
		r, list := anyRubric(t, w.r), anyTranscript(t, 30)
		rep := rubric.Grade(r, k, list)
		requireSound(t, rep)
		one, err := rubric.EncodeReport(rep)
		require.NoError(t, err)
		two, err := rubric.EncodeReport(rubric.Grade(r, k, list))
		require.NoError(t, err)
		require.Equal(t, string(one), string(two))
	})
}

// imperfect is a visit by a student who leaves out steps, walks in a strange
// order, charts some things wrongly and some not at all.
func imperfect(t *rapid.T, w *world) (done, missing []string) {
	ids := w.required()
	if rapid.Bool().Draw(t, "shuffled") {
		ids = rapid.Permutation(ids).Draw(t, "order")
	}
	for _, id := range ids {
		if rapid.IntRange(0, 9).Draw(t, "skip "+id) == 0 {
			missing = append(missing, id)
		} else {
			done = append(done, id)
		}
	}
	return done, missing
}

// spoil changes some records.
func spoil(t *rapid.T, w *world, acts []rubric.Act) []rubric.Act {
	var out []rubric.Act
	for i, a := range acts {
		if a.Kind == rubric.Record {
			switch rapid.IntRange(0, 11).Draw(t, fmt.Sprint("spoil ", i)) {
			case 0:
				continue
			case 1:
				f := w.field(a.Field)
				if len(f.Of) > 0 {
					a.Value = rapid.SampledFrom(f.Of).Draw(t, "value")
				} else {
					a.Value = "41"
				}
			}
		}
		if a.Kind == rubric.Conclude && rapid.Bool().Draw(t, "half concluded") {
			a.Problems = a.Problems[:len(a.Problems)/2]
		}
		out = append(out, a)
	}
	return out
}

// beforeEnd puts acts in before the conclusion.
func beforeEnd(acts, more []rubric.Act) []rubric.Act {
	n := len(acts) - 1
	return slices.Concat(acts[:n], more, acts[n:])
}

func TestEveryPrefixGrades(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		list := w.play(w.visit(w.required()))
		for n := range list {
			requireSound(t, rubric.Grade(w.r, w.key, list[:n]))
		}
	}
}

// forgiven are the acts of the late steps that a report leaves out of Order.
func forgiven(rep rubric.Report) []int {
	for _, l := range rep.Domains[0].Lines {
		if l.Code == "late.forgiven" {
			return l.Acts
		}
	}
	return nil
}

// Doing a missing required step late and charting it rightly never lowers the
// total, up to three late in all.
func TestCatchingUpNeverLowersTheTotal(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		rapid.Check(t, func(t *rapid.T) {
			done, missing := imperfect(t, w)
			acts := spoil(t, w, w.visit(done))
			if w.key.Track == "technician" {
				acts[len(acts)-1].Report = w.conclusion().Report
			}
			before := w.grade(acts)
			for _, late := range missing[:min(3-len(forgiven(before)), len(missing))] {
				acts = beforeEnd(acts, append(w.do(late), w.chart(late)...))
				after := w.grade(acts)
				if after.Total < before.Total {
					t.Fatalf("catching up on %s: %s -> %s\n%s\n%s", late, before.Total, after.Total, dump(before), dump(after))
				}
				before = after
			}
		})
	}
}

func TestRemovingAFalseAlarmNeverLowersFindings(t *testing.T) {
	w := sick(t, "veterinary")
	rapid.Check(t, func(t *rapid.T) {
		done, _ := imperfect(t, w)
		acts := spoil(t, w, w.visit(done))
		rep := w.grade(acts)
		for _, l := range rep.Domains[2].Lines {
			if l.Code != "false.alarm" {
				continue
			}
			at := l.Acts[len(l.Acts)-1] - 1
			without := slices.Delete(slices.Clone(acts), at, at+1)
			require.GreaterOrEqual(t, w.grade(without).Domains[2].Points, rep.Domains[2].Points)
		}
	})
}

func TestTrueNormalsOffTheListNeverRaiseFindings(t *testing.T) {
	w := sick(t, "veterinary")
	off := []string{"ears.inspect", "nose.inspect", "teeth.inspect", "neck.palpate", "tail.palpate", "forepaw.inspect"}
	rapid.Check(t, func(t *rapid.T) {
		done, _ := imperfect(t, w)
		acts := spoil(t, w, w.visit(done))
		plain := slices.DeleteFunc(slices.Clone(acts), func(a rubric.Act) bool {
			f := strings.TrimSuffix(strings.TrimSuffix(a.Field, ".look"), ".pain")
			return a.Kind == rubric.Record && slices.Contains(off, f)
		})
		more := plain
		for _, id := range off {
			if slices.Contains(done, id) {
				more = beforeEnd(more, w.chart(id))
			}
		}
		require.Equal(t, w.grade(plain).Domains[2].Points, w.grade(more).Domains[2].Points)
	})
}

// touches is the table of doc.go: which domains an act of a kind can change by
// being there. Outcomes are another matter: any act may carry a hazard or end a
// contact.
var touches = map[rubric.Kind][]string{
	rubric.Examine:  {"order", "completeness", "findings", "vitals", "handling", "conclusions"},
	rubric.Lift:     {},
	rubric.Record:   {"findings", "vitals", "conclusions"},
	rubric.Ask:      {"order", "completeness", "handling"},
	rubric.Handle:   {"order", "completeness", "handling"},
	rubric.Wait:     {"handling"},
	rubric.Hint:     {},
	rubric.Conclude: {"conclusions"},
	rubric.Rate:     {},
}

func TestAnActTouchesOnlyItsDomains(t *testing.T) {
	w := sick(t, "veterinary")
	w.key.Precautions = append(w.key.Precautions, rubric.Precaution{ID: "settle", Kind: "done", Done: []string{"wait", "ask", "handle:settle"}})
	rapid.Check(t, func(t *rapid.T) {
		done, _ := imperfect(t, w)
		list := w.play(spoil(t, w, w.visit(done)))
		at := rapid.IntRange(0, len(list)).Draw(t, "at")
		extra := anyAct(t)
		rest := slices.Clone(list)
		if extra.Kind == rubric.Record && extra.Field == "heart.rate" {
			extra.Value = "96"
		}
		with := slices.Insert(rest, at, rubric.Entry{Act: extra})
		for i := range with {
			with[i].Act.N = i + 1
		}
		before, after := rubric.Grade(w.r, w.key, list), rubric.Grade(w.r, w.key, with)
		for i, d := range before.Domains {
			if !slices.Contains(touches[extra.Kind], d.ID) {
				require.Equal(t, d.Points, after.Domains[i].Points, "%s by %s", d.ID, extra.Kind)
			}
		}
	})
}

// accepted draws a walk that the rubric accepts: a route, a place for what
// floats, any order inside a group of stages taken stage by stage.
func accepted(t *rapid.T, w *world) []string {
	route := rapid.SampledFrom(w.key.Routes).Draw(t, "route")
	where := map[string]string{}
	for _, f := range route.Floats {
		for _, s := range f.Steps {
			where[s] = rapid.SampledFrom(f.Places).Draw(t, s)
		}
		for _, s := range f.Stages {
			place := rapid.SampledFrom(f.Places).Draw(t, s)
			for _, step := range w.key.Steps {
				if _, own := where[step.ID]; step.Stage == s && !own && !floats(&route, step.ID) {
					where[step.ID] = place
				}
			}
		}
	}
	var first, middle, last []string
	for _, group := range route.Order {
		for _, stage := range rapid.Permutation(group).Draw(t, "group") {
			for _, s := range w.key.Steps {
				if s.Stage != stage || !s.Required {
					continue
				}
				switch where[s.ID] {
				case "first":
					first = append(first, s.ID)
				case "last":
					last = append(last, s.ID)
				default:
					middle = append(middle, s.ID)
				}
			}
		}
	}
	return slices.Concat(first, middle, last)
}

func floats(r *rubric.Route, step string) bool {
	return slices.ContainsFunc(r.Floats, func(f rubric.Float) bool { return slices.Contains(f.Steps, step) })
}

// obey moves the steps that must come before the first touch to the front.
func obey(ids []string) []string {
	front := []string{"distance.observe", "breathing.count"}
	return append(front, slices.DeleteFunc(slices.Clone(ids), func(s string) bool { return slices.Contains(front, s) })...)
}

func TestEveryAcceptedOrderEarnsOrder(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		rapid.Check(t, func(t *rapid.T) {
			rep := w.grade(w.visit(obey(accepted(t, w))))
			d := rep.Domains[0]
			if d.Points*100 < d.Max*95 {
				t.Fatalf("%s of %s\n%s", d.Points, d.Max, dump(rep))
			}
		})
	}
}

func TestRandomOrderEarnsLittle(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		const runs = 400
		var sum, most rubric.Points
		rng := rand.New(rand.NewPCG(7, 7))
		for range runs {
			ids := w.required()
			rng.Shuffle(len(ids), func(a, b int) { ids[a], ids[b] = ids[b], ids[a] })
			d := w.grade(w.visit(ids)).Domains[0]
			sum, most = sum+d.Points, d.Max
		}
		t.Logf("%s: random order averages %.3f of Order", id, float64(sum)/runs/float64(most))
		require.Less(t, float64(sum)/runs, .15*float64(most))
	}
}

// Moving a step to its place never lowers Order: from an accepted walk, take
// up to three steps out of their places; each that is put back is no loss, and
// nothing beats the accepted walk. Where late steps are forgiven, what stands at
// the end decides which, so that moving a step may cost what was forgiven.
func TestPuttingAStepInItsPlaceNeverLowersOrder(t *testing.T) {
	w := sick(t, "veterinary")
	rapid.Check(t, func(t *rapid.T) {
		ids := obey(w.required())
		best := w.grade(w.visit(ids)).Domains[0].Points
		for range rapid.IntRange(1, 3).Draw(t, "moves") {
			from, to := rapid.IntRange(0, len(ids)-1).Draw(t, "from"), rapid.IntRange(0, len(ids)-1).Draw(t, "to")
			id := ids[from]
			ids = slices.Insert(slices.Delete(slices.Clone(ids), from, from+1), to, id)
			require.LessOrEqual(t, w.grade(w.visit(ids)).Domains[0].Points, best)
		}
		rep := w.grade(w.visit(ids))
		for _, step := range rep.Walk.Steps {
			if !step.Move || floats(&w.key.Routes[0], step.Step) || len(forgiven(rep)) > 0 {
				continue
			}
			rest := slices.DeleteFunc(slices.Clone(ids), func(s string) bool { return s == step.Step })
			var now rubric.Points
			for _, at := range w.placesOf(rest, step.Step) {
				back := slices.Insert(slices.Clone(rest), at, step.Step)
				now = max(now, w.grade(w.visit(back)).Domains[0].Points)
			}
			if then := rep.Domains[0].Points; now < then {
				t.Fatalf("putting %s back: %s -> %s\n%v", step.Step, then, now, ids)
			}
		}
	})
}

// placesOf is where a step belongs in a walk: beside a step of its own stage,
// or where most of the steps of other stages stand on their right side of it.
func (w *world) placesOf(walk []string, step string) []int {
	rank := func(id string) int { return slices.Index(w.key.Stages, w.step(id).Stage) }
	var at []int
	best, most := -1, 0
	for cut := 0; cut <= len(walk); cut++ {
		n := 0
		for i, s := range walk {
			if r := rank(s); r != rank(step) && (i < cut) == (r < rank(step)) {
				n++
			}
		}
		if n > best {
			best, most = n, cut
		}
		if cut > 0 && rank(walk[cut-1]) == rank(step) || cut < len(walk) && rank(walk[cut]) == rank(step) {
			at = append(at, cut)
		}
	}
	return append(at, most)
}

// robots that touch nothing.
func idle(w *world) map[string][]rubric.Act {
	all := func(value func(f *rubric.Field) string) []rubric.Act {
		var acts []rubric.Act
		for i := range w.key.Fields {
			f := &w.key.Fields[i]
			for _, p := range places(f) {
				acts = append(acts, rubric.Act{Kind: rubric.Record, Field: p.Field, Site: p.Site, Value: value(f), Interpretation: "normal"})
			}
		}
		return append(acts, rubric.Act{Kind: rubric.Conclude, Urgency: "routine"})
	}
	regions := []rubric.Act{}
	for i := range w.key.Fields {
		regions = append(regions, rubric.Act{Kind: rubric.Record, Region: w.key.Fields[i].Region, Value: "normal"})
	}
	return map[string][]rubric.Act{
		"empty":        nil,
		"concluded":    {w.conclusion()},
		"all normal":   all(func(f *rubric.Field) string { return pick(f, true) }),
		"all abnormal": all(func(f *rubric.Field) string { return pick(f, false) }),
		"regions":      append(regions, w.conclusion()),
	}
}

// pick is a normal or the worst value; for a vital the middle of its range.
func pick(f *rubric.Field, normal bool) string {
	for _, v := range signs {
		if v.field == f.ID {
			return ((v.low + v.high) / 2).String()
		}
	}
	if normal {
		return f.Normal[0]
	}
	return f.Of[len(f.Of)-1]
}

func TestRobotsThatTouchNothingTotalAtMostTen(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		for _, w := range []*world{sick(t, id), newWorld(t, id, "routine"), newWorld(t, id, "triage")} {
			for name, acts := range idle(w) {
				rep := w.grade(acts)
				require.LessOrEqual(t, rep.Total, rubric.Points(10_000), name+"\n"+dump(rep))
				require.False(t, rep.Pass, name)
			}
		}
	}
}

func TestRobotsWithoutSkillNeverPass(t *testing.T) {
	for _, id := range []string{"veterinary", "technician"} {
		w := sick(t, id)
		var normal, random []rubric.Act
		rng := rand.New(rand.NewPCG(3, 3))
		for _, step := range w.required() {
			normal, random = append(normal, w.do(step)...), append(random, w.do(step)...)
			for _, a := range w.chart(step) {
				f := w.field(a.Field)
				a.Value, a.Interpretation = pick(f, true), "normal"
				normal = append(normal, a)
				if len(f.Of) > 0 {
					a.Value = f.Of[rng.IntN(len(f.Of))]
				}
				random = append(random, a)
			}
		}
		for name, acts := range map[string][]rubric.Act{"all normal": normal, "random": random} {
			rep := w.grade(append(acts, rubric.Act{Kind: rubric.Conclude, Urgency: "routine"}))
			d := domain(t, rep, "findings")
			t.Logf("%s %s: total %s, findings %s of %s", id, name, rep.Total, d.Points, d.Max)
			require.False(t, rep.Pass, name)
			require.LessOrEqual(t, d.Points*100, d.Max*15, name+"\n"+dump(rep))
		}
	}
}

package cases

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

func TestContactIsClosedByLiftOrByTheNextAct(t *testing.T) {
	p := smallPatient(t, 1)
	tr := play(t, p,
		examine("heart.auscultate", "left apex", 0),
		rubric.Act{Kind: rubric.Lift, Of: 1, Seconds: 20},
		examine("heart.auscultate", "left base", 15),
		examine("heart.auscultate", "right apex", 0),
		rubric.Act{Kind: rubric.Record, Field: "mentation", Value: "alert", Held: 12},
	)
	require.Nil(t, tr[0].Outcome.Closed)
	require.Equal(t, &rubric.Contact{Of: 1, Seconds: 20}, tr[1].Outcome.Closed)
	require.Nil(t, tr[2].Outcome.Closed, "nothing is open")
	require.Equal(t, &rubric.Contact{Of: 3, Seconds: 0}, tr[3].Outcome.Closed, "its 15 seconds count with the act")
	require.Equal(t, &rubric.Contact{Of: 4, Seconds: 12}, tr[4].Outcome.Closed)
	require.Equal(t, 15, tr[0].Outcome.Clock)
	require.Equal(t, 20, tr[1].Outcome.Clock, "the contact lasted longer than the step")
	require.Equal(t, 35, tr[2].Outcome.Clock)
	require.Equal(t, 50, tr[4].Outcome.Clock, "12 seconds lie within the step's 15")
}

func TestServerClockBoundsAContact(t *testing.T) {
	p := smallPatient(t, 1)
	tr := play(t, p, examine("heart.auscultate", "left apex", 0), rubric.Act{Kind: rubric.Lift, Of: 1, Seconds: 600, Held: 7})
	require.Equal(t, 7, tr[1].Outcome.Closed.Seconds)
}

// Who thinks before the next act is not charged for it; who was called away is
// not either, and the patient is not worn down meanwhile.
func TestThinkingWithTheHandOnCostsNothing(t *testing.T) {
	p := smallPatient(t, 1, fragile)
	tr := play(t, p, examine("abdomen.palpate", "", 0), rubric.Act{Kind: rubric.Record, Field: "bladder.size", Value: "soft", Held: 100_000},
		examine("heart.auscultate", "left apex", 0), rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "100", Held: 100_000})
	require.Equal(t, &rubric.Contact{Of: 1, Seconds: 20}, tr[1].Outcome.Closed)
	require.Equal(t, 20, tr[1].Outcome.Clock)
	require.Equal(t, &rubric.Contact{Of: 3, Seconds: 60}, tr[3].Outcome.Closed, "a whole clip can have been listened to")
	require.Equal(t, 80, tr[3].Outcome.Clock)
}

func TestThinkingAndWritingCostNothing(t *testing.T) {
	p := smallPatient(t, 1)
	tr := play(t, p, examine("distance.observe", "", 30), rubric.Act{Kind: rubric.Record, Field: "mentation", Value: "alert"}, rubric.Act{Kind: rubric.Hint})
	require.Equal(t, 30, tr[2].Outcome.Clock)
	require.Contains(t, tr[2].Outcome.Answer, "Not examined yet: Head, Chest, Abdomen, Hindlimbs, Rear.")
	require.NotContains(t, tr[2].Outcome.Answer, "distance")
}

func TestOwnerAnswers(t *testing.T) {
	p := smallPatient(t, 1)
	tr := play(t, p, rubric.Act{Kind: rubric.Ask, Topic: "appetite"}, rubric.Act{Kind: rubric.Ask, Topic: "thirst"})
	require.Equal(t, "Eats well.", tr[0].Outcome.Answer)
	require.Equal(t, "I have not noticed.", tr[1].Outcome.Answer)
}

func TestPerceptsGiveCuesAndNeverACount(t *testing.T) {
	p := smallPatient(t, 3)
	tr := play(t, p, examine("heart.auscultate", "left base", 15), examine("breathing.count", "", 30), examine("mouth.refill", "", 5), examine("temperature.measure", "rectal", 30))
	byField := map[string]rubric.Percept{}
	for _, e := range tr {
		for _, pc := range e.Outcome.Percepts {
			byField[pc.Field] = pc
		}
	}
	require.Equal(t, rubric.Percept{Field: "heart.murmur", Site: "left base", Sense: "sound", Words: "c3"}, byField["heart.murmur"])
	require.Equal(t, "sound", byField["heart.rate"].Sense)
	require.Equal(t, "picture", byField["resp.rate"].Sense)
	require.Equal(t, "picture", byField["crt"].Sense)
	for _, f := range []string{"heart.rate", "resp.rate", "crt"} {
		require.NotRegexp(t, `[0-9]`, byField[f].Words)
	}
	require.Equal(t, "reading", byField["temperature"].Sense)
	require.Equal(t, shownAt(tr[3], "temperature", "")+" degC", byField["temperature"].Words)
	require.Equal(t, "3", shownAt(tr[0], "heart.murmur", "left base"))
}

func TestActErrorsSayWhatWouldBeRight(t *testing.T) {
	p := smallPatient(t, 1)
	for _, row := range []struct {
		act           rubric.Act
		member, right string
	}{
		{rubric.Act{Kind: "dance"}, "kind", "examine"},
		{rubric.Act{Kind: rubric.Rate}, "kind", "examine"},
		{examine("heart.auscultate", "", 5), "site", "left apex, left base, right apex"},
		{examine("heart.auscultate", "tail", 5), "site", "left apex"},
		{examine("mouth.refill", "left", 5), "site", "leave the site out"},
		{examine("heart.whistle", "", 5), "step", "heart.auscultate"},
		{examine("wing.palpate", "", 5), "step", "distance.observe"},
		{examine("testes.palpate", "", 5), "step", "another step"},
		{rubric.Act{Kind: rubric.Examine, Step: "mouth.refill", Manner: "wild"}, "manner", "gentle"},
		{rubric.Act{Kind: rubric.Examine, Step: "mouth.refill", Seconds: -1}, "seconds", "3600"},
		{rubric.Act{Kind: rubric.Examine, Step: "mouth.refill", N: 9}, "n", "1"},
		{rubric.Act{Kind: rubric.Lift, Of: 1}, "of", "examine first"},
		{rubric.Act{Kind: rubric.Wait}, "seconds", "1 to 3600"},
		{rubric.Act{Kind: rubric.Wait, Seconds: 4000}, "seconds", "3600"},
		{rubric.Act{Kind: rubric.Ask, Topic: "stars"}, "topic", "appetite, thirst"},
		{handling("tickle"), "how", "reassure"},
		{rubric.Act{Kind: rubric.Record, Field: "wings", Value: "2"}, "field", "field of the catalogue"},
		{rubric.Act{Kind: rubric.Record, Field: "mentation", Value: "sleepy"}, "value", "alert, dull"},
		{rubric.Act{Kind: rubric.Record, Field: "mentation", Site: "left", Value: "alert"}, "site", "leave the site out"},
		{rubric.Act{Kind: rubric.Record, Field: "hip.motion", Value: "free"}, "site", "left, right"},
		{rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "fast"}, "value", "beats a minute such as 96"},
		{rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "-4"}, "value", "beats a minute such as 96"},
		{rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "100", Over: -15}, "over", "600"},
		{rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "100", Interpretation: "odd"}, "interpretation", "low"},
		{rubric.Act{Kind: rubric.Record, Field: "crt", Value: rubric.NotExamined}, "reason", "words"},
		{rubric.Act{Kind: rubric.Record, Region: "wing", Value: "normal"}, "region", "catalogue"},
		{rubric.Act{Kind: rubric.Record, Region: "heart", Value: "fine"}, "value", "normal"},
		{rubric.Act{Kind: rubric.Record, Region: "heart", Field: "crt", Value: "normal"}, "region", "one of them"},
		{rubric.Act{Kind: rubric.Conclude}, "urgency", "routine, same day, emergency"},
		{rubric.Act{Kind: rubric.Conclude, Urgency: "routine", Problems: []string{"gout"}}, "problems", "catalogue"},
		{rubric.Act{Kind: rubric.Conclude, Urgency: "routine", Report: &rubric.Handover{Fields: []rubric.Given{{Field: "wings"}}}}, "report.fields", "catalogue"},
	} {
		_, err := p.Apply(nil, row.act)
		var bad *ActError
		require.ErrorAs(t, err, &bad, fmt.Sprint(row.act))
		require.ErrorIs(t, err, ErrAct)
		require.Equal(t, row.member, bad.Member)
		require.Contains(t, bad.Right, row.right)
		require.NotEmpty(t, bad.Problem)
	}
}

func TestSenselessStepCostsTimeAndYieldsNothing(t *testing.T) {
	tr := play(t, smallPatient(t, 1), examine("tail.auscultate", "", 0))
	require.Equal(t, 10, tr[0].Outcome.Clock)
	require.Empty(t, tr[0].Outcome.Percepts)
	require.Empty(t, tr[0].Outcome.Shown)
}

func TestNothingAfterTheEnd(t *testing.T) {
	p := smallPatient(t, 1)
	tr := play(t, p, rubric.Act{Kind: rubric.Conclude, Urgency: "routine"})
	require.Equal(t, "concluded", tr[0].Outcome.Ended)
	for kind := range plays {
		_, err := p.Apply(tr[0].Outcome.State, rubric.Act{Kind: kind, Step: "mouth.refill", Topic: "thirst", How: "stop", Seconds: 5, Urgency: "routine"})
		require.ErrorIs(t, err, ErrAct, string(kind))
	}
}

func TestPainIsSeenAndNeverNamed(t *testing.T) {
	sore := func(c *Case) { c.Pain = []Pain{{Region: "hip", Site: "right", Level: 2}} }
	p := smallPatient(t, 1, sore)
	require.Empty(t, play(t, p, examine("hip.move", "left", 5))[0].Outcome.Signs)
	signs := play(t, p, examine("hip.move", "right", 5))[0].Outcome.Signs
	require.Len(t, signs, 1)
	mild := smallPatient(t, 1, func(c *Case) { c.Pain = []Pain{{Region: "hip", Level: 1}} })
	gentle := rubric.Act{Kind: rubric.Examine, Step: "hip.move", Site: "right", Manner: "gentle"}
	require.Empty(t, play(t, mild, gentle)[0].Outcome.Signs, "a mild pain is not roused by a gentle hand")
	for _, kinds := range []signals{common, bySpecies["dog"], bySpecies["cat"], bySpecies["horse"]} {
		for _, words := range kinds {
			for _, w := range words {
				require.NotRegexp(t, `(?i)pain|sore|hurts\b.*\bit`, w)
			}
		}
	}
}

// A fearful animal shows signs before it refuses, refuses before it bites, and
// never bites where the student gives it time.
func TestPatienceRunsOutInStages(t *testing.T) {
	fearful := func(c *Case) { c.Demeanour = "fearful" }
	for seed := range uint64(20) {
		p := smallPatient(t, seed, fearful)
		firstSign, firstRefusal, bite := 0, 0, rubric.Event{}
		var state []byte
		for n := 1; n <= 60 && bite.ID == ""; n++ {
			out, err := p.Apply(state, rubric.Act{Kind: rubric.Examine, Step: "hip.move", Site: "left", Manner: "firm"})
			require.NoError(t, err)
			state = out.State
			if len(out.Signs) > 0 && firstSign == 0 {
				firstSign = n
			}
			if out.Refused {
				require.Empty(t, out.Shown)
				require.Empty(t, out.Percepts)
				if firstRefusal == 0 {
					firstRefusal = n
				}
			}
			for _, e := range out.Events {
				bite = e
				require.Greater(t, n, bite.Sign)
			}
		}
		require.Equal(t, "bite", bite.ID)
		require.Equal(t, "critical", bite.Severity)
		require.Positive(t, firstSign)
		require.Less(t, firstSign, firstRefusal)
		require.GreaterOrEqual(t, bite.Sign, firstRefusal)
	}
}

func TestMuzzleStopsTheBite(t *testing.T) {
	p := smallPatient(t, 1, func(c *Case) { c.Demeanour = "defensive" })
	acts := []rubric.Act{handling("muzzle")}
	for range 60 {
		acts = append(acts, rubric.Act{Kind: rubric.Examine, Step: "hip.move", Site: "left", Manner: "firm"})
	}
	require.NotContains(t, events(play(t, p, acts...)), "bite")
}

func TestTimeAndReassuranceCalm(t *testing.T) {
	p := smallPatient(t, 1, func(c *Case) { c.Demeanour = "fearful" })
	upset := play(t, p, examine("hip.move", "left", 5), examine("hip.move", "right", 5))
	last := upset[len(upset)-1].Outcome.State
	rate := func(state []byte) rubric.Milli {
		out, err := p.Apply(state, examine("heart.auscultate", "left apex", 15))
		require.NoError(t, err)
		require.False(t, out.Refused)
		m, err := rubric.ParseMilli(out.Shown[0].Value)
		require.NoError(t, err)
		return m
	}
	calmed, err := p.Apply(last, handling("settle"))
	require.NoError(t, err)
	waited, err := p.Apply(last, rubric.Act{Kind: rubric.Wait, Seconds: 600})
	require.NoError(t, err)
	require.Less(t, rate(calmed.State), rate(last))
	require.Less(t, rate(waited.State), rate(last))
}

func TestThermometerSitesDoNotConvert(t *testing.T) {
	seen := map[string]bool{}
	for seed := range uint64(300) {
		tr := play(t, smallPatient(t, seed), examine("temperature.measure", "rectal", 30), examine("temperature.measure", "axillary", 30), examine("temperature.measure", "ear", 30))
		at := func(i int) rubric.Milli {
			m, err := rubric.ParseMilli(shownAt(tr[i], "temperature", ""))
			require.NoError(t, err)
			return m
		}
		axillary, ear := at(0)-at(1), at(0)-at(2)
		require.InDelta(t, 600, int64(axillary), 800)
		require.InDelta(t, 200, int64(ear), 600)
		seen[axillary.String()] = true
	}
	require.Greater(t, len(seen), 8, "the difference varies from patient to patient")
}

// nonsense makes an act out of anything, most of it wrong.
func nonsense(r *rand.Rand) rubric.Act {
	words := []string{"", "heart.auscultate", "hip.move", "left", "left apex", "rectal", "gentle", "firm", "normal", "routine", "emergency", "hip", "heart.rate", "mentation", "alert", "appetite", "oxygen", "stop", "call", "hold lateral", "\x00\xff", "tail.auscultate", "mouth.refill", "temperature.measure", "abdomen.palpate", "104"}
	kinds := []rubric.Kind{rubric.Examine, rubric.Examine, rubric.Examine, rubric.Lift, rubric.Record, rubric.Ask, rubric.Handle, rubric.Wait, rubric.Hint, rubric.Conclude, rubric.Rate, ""}
	word := func() string { return words[r.IntN(len(words))] }
	number := func() int { return []int{0, 0, 1, 5, 30, 3600, -1, 1 << 30}[r.IntN(8)] }
	a := rubric.Act{Kind: kinds[r.IntN(len(kinds))], Step: word(), Seconds: number()}
	if a.Kind == rubric.Conclude && r.IntN(20) > 0 {
		a.Urgency = ""
		return a
	}
	if r.IntN(2) == 0 {
		a.Site, a.How, a.Topic, a.Field, a.Value, a.Urgency = word(), word(), word(), word(), word(), word()
	}
	if r.IntN(3) == 0 {
		a.Manner, a.Region, a.Of, a.Held, a.Over, a.N = word(), word(), number(), number(), number(), number()
	}
	return a
}

// Whatever is done: no panic, an *ActError or an outcome; the state stays
// small; the same act twice gives the same bytes; the patient does not change.
func TestApplyIsTotalPureAndSmall(t *testing.T) {
	played := 0
	for seed := range uint64(240) {
		r := rand.New(rand.NewPCG(seed, 1))
		change := []func(*Case){hazardous("critical", "gentle")}
		if seed%3 == 0 {
			change = append(change, fragile)
		}
		if seed%4 == 1 {
			change = append(change, func(c *Case) { c.Demeanour = "defensive" })
		}
		p, twin := smallPatient(t, seed, change...), smallPatient(t, seed, change...)
		var acts []rubric.Act
		var outs []rubric.Outcome
		var state []byte
		for range 80 {
			a := nonsense(r)
			out, err := p.Apply(state, a)
			again, err2 := p.Apply(state, a)
			require.Equal(t, out, again)
			require.Equal(t, err, err2)
			if err != nil {
				var bad *ActError
				require.ErrorAs(t, err, &bad)
				require.NotEmpty(t, bad.Member)
				continue
			}
			require.LessOrEqual(t, len(out.State), maxState)
			state = out.State
			a.N = 0
			acts, outs = append(acts, a), append(outs, out)
			if out.Ended != "" {
				break
			}
		}
		require.Equal(t, twin.truth, p.truth)
		tr, err := twin.Play(acts)
		require.NoError(t, err)
		require.Len(t, tr, len(outs))
		for i := range outs {
			require.Equal(t, outs[i], tr[i].Outcome, "Play is the fold of Apply")
			require.Equal(t, i+1, tr[i].Act.N)
		}
		played += len(acts)
	}
	require.Greater(t, played, 1000)
}

func TestDamagedStateIsRefused(t *testing.T) {
	p := smallPatient(t, 1)
	good := play(t, p, examine("hip.move", "left", 5))[0].Outcome.State
	wait := rubric.Act{Kind: rubric.Wait, Seconds: 1}
	for _, bad := range [][]byte{{0}, {9, 1, 2}, good[:len(good)-1], append(append([]byte{}, good...), 0), make([]byte, 600)} {
		_, err := p.Apply(bad, wait)
		require.Error(t, err)
		require.False(t, errors.Is(err, ErrAct), "not the student's fault")
	}
	for i := range good {
		for _, b := range []byte{0, 1, 0x7f, 0x80, 0xff} {
			mangled := append([]byte{}, good...)
			mangled[i] = b
			require.NotPanics(t, func() { _, _ = p.Apply(mangled, wait) })
		}
	}
}

func FuzzState(f *testing.F) {
	p := smallPatient(f, 1, fragile)
	f.Add(play(f, p, examine("hip.move", "left", 5))[0].Outcome.State)
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := p.opens(b)
		if err == nil && len(b) > 0 {
			back, err := p.opens(s.encode())
			require.NoError(t, err)
			require.True(t, fmt.Sprint(back.numbers()) != "" && len(s.encode()) <= maxState)
		}
	})
}

func TestLargestStateFits(t *testing.T) {
	s := state{n: maxActs, clock: maxClock, stress: 1e6, tension: 1e6, reserve: 1e6, hold: 200, handled: ^uint64(0),
		open: contact{of: maxActs, seconds: longest, charged: 2 * longest, touch: 1}, sign: maxActs, worse: maxActs, refused: maxActs, ended: 2}
	for i := range s.done {
		s.done[i] = ^uint64(0)
	}
	for range maxHazards {
		s.peril = append(s.peril, peril{seen: maxActs, fired: true})
	}
	require.LessOrEqual(t, len(s.encode()), maxState)
}

func BenchmarkPlay120Acts(b *testing.B) {
	p := smallPatient(b, 1)
	var acts []rubric.Act
	for len(acts) < 118 {
		acts = append(acts, examine("heart.auscultate", "left apex", 15), rubric.Act{Kind: rubric.Record, Field: "heart.rate", Value: "104", Over: 15},
			examine("mouth.refill", "", 5), handling("reassure"))
	}
	acts = append(acts[:119], rubric.Act{Kind: rubric.Conclude, Urgency: "routine"})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Play(acts); err != nil {
			b.Fatal(err)
		}
	}
}

package drill

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// everyDrill calls a test for each kind and species.
func everyDrill(t *testing.T, f func(t *testing.T, k Kind, species string)) {
	t.Helper()
	for _, k := range Kinds() {
		for _, species := range k.Species {
			t.Run(k.ID+" "+species, func(t *testing.T) { t.Parallel(); f(t, k, species) })
		}
	}
}

// whole draws a drill from its first item to its last.
func whole(t *testing.T, k Kind, species string, seed uint64) []Item {
	t.Helper()
	var items []Item
	var before []string
	for n := 1; n <= k.Items; n++ {
		it, err := Draw(cases.Builtin(), k.ID, species, n, before, cases.SeedOf(seed))
		require.NoError(t, err)
		items, before = append(items, it), append(before, it.Past())
	}
	return items
}

// right is the right answer.
func right(t *testing.T, it Item) Answer {
	t.Helper()
	a := Answer{Value: it.truth()}
	if it.form.choices == nil { // as it was when it was measured
		_, e, err := it.clip(0)
		require.NoError(t, err)
		for _, s := range e.Outcome.Shown {
			if s.Field == it.ask.Field {
				a.Value = s.Value
			}
		}
	}
	if it.ask.Form == "range" {
		v, err := it.reference()
		require.NoError(t, err)
		a.Low, a.High = v.Low.String(), v.High.String()
	}
	return a
}

// guesses are answers that somebody could give without sensing anything: each
// choice, or numbers over the whole span.
func guesses(t *testing.T, it Item) []Answer {
	t.Helper()
	var out []Answer
	for _, c := range it.Face().Choices {
		out = append(out, Answer{Value: c.ID})
	}
	if len(out) > 0 {
		return out
	}
	low, high, err := span(it.ask.Spread[it.r.Species])
	require.NoError(t, err)
	for i := range rubric.Milli(9) {
		a := right(t, it)
		a.Value = (low + (high-low)*(2*i+1)/18).String()
		out = append(out, a)
	}
	return out
}

// mark marks an answer and holds what every result has: what was there, and for
// a wrong answer what was said.
func mark(t *testing.T, it Item, a Answer) Result {
	t.Helper()
	r, err := it.Answer(a)
	require.NoError(t, err)
	require.NotEmpty(t, r.Actual)
	for _, slip := range []string{"  ", "..", "%!", "''", " ."} {
		require.NotContains(t, r.Reason, slip)
	}
	require.True(t, strings.HasSuffix(r.Reason, "."), r.Reason)
	if it.form.choices != nil && a.Value != it.truth() {
		require.Contains(t, r.Reason, "You said", it.ask.ID)
	}
	require.NotEmpty(t, r.Acts)
	require.True(t, r.Mark >= 0 && r.Mark <= full, "%d", r.Mark)
	require.Equal(t, r.Mark == full, r.Right)
	return r
}

func TestEverySpeciesHasEveryDrill(t *testing.T) {
	t.Parallel()
	for _, k := range Kinds() {
		require.Equal(t, cases.Builtin().Species(), k.Species, k.ID)
		require.NotEmpty(t, k.Label)
		require.NotEmpty(t, k.Hint)
	}
	_, ok := KindOf("horoscope")
	require.False(t, ok)
}

func TestTheFileSaysNothingThatIsNotThere(t *testing.T) {
	t.Parallel()
	for i := range shipped.Asks {
		a := &shipped.Asks[i]
		asked := 0
		for _, species := range cases.Builtin().Species() {
			c := cases.Builtin().Catalogue(species)
			if len(a.Species) > 0 && slices.Contains(a.Species, species) {
				require.True(t, a.suits(c), "%s cannot be asked of a %s", a.ID, species)
			}
			if !a.suits(c) {
				continue
			}
			asked++
			for _, site := range a.Sites {
				require.True(t, slices.Contains(c.Step(a.Step).Sites, site), "%s: %s", a.ID, site)
			}
			if f := c.Field(a.Field); a.Form == "class" {
				require.Equal(t, "", c.Step(a.Step).Instrument, a.ID)
				require.False(t, f.PerSite, a.ID)
			}
		}
		require.Positive(t, asked, "%s is asked of nobody", a.ID)
		for v := range a.Labels {
			require.Contains(t, a.Values, v, a.ID)
		}
		for _, w := range a.With {
			require.True(t, known(w), "%s: no species has %s of %v", a.ID, w.Field, w.Of)
		}
		require.NotContains(t, a.ID, "/", "Past is cut there")
		require.Positive(t, a.Seconds, a.ID)
	}
}

// Who the animals are: enough that the next is another, each in a row of the
// reference ranges.
func TestTheAnimalsAreMany(t *testing.T) {
	t.Parallel()
	require.Greater(t, len(shipped.Names), 10)
	for species, animals := range shipped.Patients {
		kinds := map[string]bool{}
		for _, a := range animals {
			kinds[a.kind()] = true
			days, err := normal.ParseAge(a.Age)
			require.NoError(t, err)
			grams, err := normal.ParseWeight(a.Weight)
			require.NoError(t, err)
			for _, vital := range []string{"heart_rate", "resp_rate", "temperature"} {
				_, ok := normal.Lookup(species, days, grams, vital)
				require.True(t, ok, "%s %s: %s", species, a.Breed, vital)
			}
		}
		require.Equal(t, len(animals), len(kinds), "%s: two alike", species)
		require.Greater(t, len(animals), 2)
	}
}

// known says that each value of a row is one of some species.
func known(w with) bool {
	for _, v := range w.Of {
		if !slices.ContainsFunc(cases.Builtin().Species(), func(s string) bool {
			f := cases.Builtin().Catalogue(s).Field(w.Field)
			return f != nil && f.Choice(v) != nil
		}) {
			return false
		}
	}
	return true
}

func TestADrillIsOfItsSkill(t *testing.T) {
	t.Parallel()
	everyDrill(t, func(t *testing.T, k Kind, species string) {
		for _, it := range whole(t, k, species, 1) {
			require.NotNil(t, cases.Builtin().Catalogue(species).Skill(it.Skill()))
			if k.Skill != "" {
				require.Equal(t, k.Skill, it.Skill(), it.ask.ID)
			}
			require.Equal(t, k.ID, it.Kind().ID)
			require.Equal(t, species, it.Species())
			require.True(t, strings.HasPrefix(it.Place(), it.ask.Field))
		}
	})
}

// Never two alike in a row: neither the answer nor the patient, nor the question
// where there is more than one.
func TestNeverTwoAlikeInARow(t *testing.T) {
	t.Parallel()
	everyDrill(t, func(t *testing.T, k Kind, species string) {
		for seed := range uint64(25) {
			var last Item
			for i, it := range whole(t, k, species, seed) {
				if i > 0 {
					require.NotEqual(t, last.truth(), it.truth(), it.ask.ID)
					require.NotEqual(t, last.r.Name, it.r.Name)
					require.NotEqual(t, last.r.Animal, it.r.Animal)
					if len(k.of(cases.Builtin().Catalogue(species))) > 1 {
						require.NotEqual(t, last.ask.ID, it.ask.ID)
					}
				}
				last = it
			}
		}
	})
}

// A number that was right for one item earns nothing at the next.
func TestALastNumberIsNotRightAgain(t *testing.T) {
	t.Parallel()
	everyDrill(t, func(t *testing.T, k Kind, species string) {
		for seed := range uint64(5) {
			items := whole(t, k, species, seed)
			for i, it := range items[1:] {
				if last := items[i]; it.ask.Form == "figure" && last.ask == it.ask {
					require.Less(t, mark(t, it, right(t, last)).Mark, full/2)
				}
			}
		}
	})
}

// The truth earns all, whatever is plainly wrong under half, and who says the
// same each time about what chance gives, whichever it is.
func TestWhatAnswersEarn(t *testing.T) {
	t.Parallel()
	everyDrill(t, func(t *testing.T, k Kind, species string) {
		earned, chance, asked := map[string][]rubric.Milli{}, map[string]float64{}, map[string]int{}
		for seed := range uint64(4) {
			for _, it := range whole(t, k, species, 1000+seed) {
				id, all := it.ask.ID, guesses(t, it)
				if earned[id] == nil {
					earned[id], chance[id] = make([]rubric.Milli, len(all)), chanceOf(it)
				}
				asked[id]++
				require.Equal(t, full, mark(t, it, right(t, it)).Mark, "%s: %s", id, it.truth())
				for i, a := range all {
					r := mark(t, it, a)
					earned[id][i] += r.Mark
					require.True(t, r.Mark < full/2 || near(t, it, a, r), "%s: %s, said %s: %s", id, it.truth(), a.Value, r.Mark)
				}
			}
		}
		for id, by := range earned {
			n, p := float64(asked[id]), chance[id]
			if n < 15 {
				continue // too few to tell: of the mixed drill, whose questions are asked in the others
			}
			for i, sum := range by {
				require.Less(t, float64(sum)/1000/n, p+3.5*math.Sqrt(p*(1-p)/n), "%s: always guess %d of %d in %.0f", id, i, len(by), n)
			}
		}
	})
}

// near says that an answer is the right one, or a number so near that it is not
// plainly wrong: within one and a half of its tolerance; where it is called as
// well, within two.
func near(t *testing.T, it Item, a Answer, r Result) bool {
	t.Helper()
	if it.form.choices != nil && it.ask.Form != "class" || a.Value == it.truth() {
		return a.Value == it.truth()
	}
	require.Len(t, r.Report.Vitals, 1)
	v := r.Report.Vitals[0]
	said, err := it.number("value", a.Value)
	require.NoError(t, err)
	far := 3 * v.Tolerance
	if it.ask.Form == "range" {
		far = 4 * v.Tolerance
	}
	return 2*max(said-v.Truth, v.Truth-said) <= far
}

func TestARangeThatIsWrongEarnsLittle(t *testing.T) {
	t.Parallel()
	for _, species := range cases.Builtin().Species() {
		k, _ := KindOf("ranges")
		for _, it := range whole(t, k, species, 5) {
			a := right(t, it)
			v, err := it.reference()
			require.NoError(t, err)
			wide := v.High - v.Low
			b := a
			b.Low, b.High = "0", (v.High + 2*max(wide, v.GreyHigh-v.High)).String()
			require.Less(t, mark(t, it, b).Mark, full/2, "a range that holds everything")
			b = a
			b.High = (v.High + 2*max(wide, v.GreyHigh-v.High)).String()
			require.Less(t, mark(t, it, b).Mark, full/2, "one end")
			b = a
			b.Low, b.High = v.GreyLow.String(), v.GreyHigh.String()
			require.Positive(t, mark(t, it, b).Mark, "a textbook's own range, which may end in the grey zone")
		}
	}
}

// chanceOf is what the best constant answer earns of a question at most, if every
// answer is as likely.
func chanceOf(it Item) float64 {
	switch n := len(it.Face().Choices); {
	case n == 9:
		return 3. / 9 // a score one off is right in an examination too
	case n > 0:
		return 1 / float64(n)
	case it.ask.Form == "range":
		return .25*.7 + .25 // whether it is high, and the number
	}
	return .25 // the tolerance twice, and half again beyond, in the span
}

func TestADrillTakesAMinuteOrTwo(t *testing.T) {
	t.Parallel()
	everyDrill(t, func(t *testing.T, k Kind, species string) {
		require.True(t, k.Seconds >= 60 && k.Seconds <= 120, "%d s", k.Seconds)
		for seed := range uint64(10) {
			all := 0
			for _, it := range whole(t, k, species, seed) {
				face := it.Face()
				all += face.Seconds * len(face.Clips)
			}
			require.True(t, all >= 60 && all <= 120, "%d s", all)
		}
	})
}

func TestAnItemIsHidden(t *testing.T) {
	t.Parallel()
	k, _ := KindOf("murmurs")
	it := whole(t, k, "dog", 1)[0]
	for _, format := range []string{"%v", "%+v", "%#v", "%s", "%d"} {
		require.Equal(t, hidden, fmt.Sprintf(format, it))
	}
	require.Equal(t, hidden, it.LogValue().String())
	_, err := json.Marshal(it)
	require.ErrorIs(t, err, rubric.ErrHidden)
	_, err = json.Marshal(&it)
	require.ErrorIs(t, err, rubric.ErrHidden)
}

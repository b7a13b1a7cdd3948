package study

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

var allSkills = []string{"rates", "ranges", "heart", "lungs", "head", "nodes", "abdomen", "limbs", Sequence, Conclusions}

// stable is a stable of made-up patients: three of each system and difficulty,
// some healthy.
func stable() (all []Patient) {
	skills := map[string]string{"cardiovascular": "heart", "respiratory": "lungs", "digestive": "abdomen", "skin": "nodes", "musculoskeletal": "limbs"}
	for _, species := range []string{"dog", "cat"} {
		for system, skill := range skills {
			for d := 1; d <= 5; d++ {
				id := fmt.Sprintf("%s %s %d", species, system, d)
				all = append(all, Patient{ID: id, Case: "case " + id, Species: species, System: system, Difficulty: d, Skills: []string{skill, "rates"}})
			}
		}
		for d := 1; d <= 3; d++ {
			id := fmt.Sprintf("%s healthy %d", species, d)
			all = append(all, Patient{ID: id, Case: "case " + id, Species: species, System: "whole animal", Healthy: true, Difficulty: d})
		}
	}
	slices.SortFunc(all, func(a, b Patient) int { return int(sum(a.ID)%1000) - int(sum(b.ID)%1000) })
	return all
}

func find(all []Patient, id string) Patient {
	return all[slices.IndexFunc(all, func(p Patient) bool { return p.ID == id })]
}

// term is somebody who has met three dogs: weak at the heart, good at the rest.
func term() World {
	var list []Judgement
	for i := range 3 {
		for _, skill := range allSkills {
			right, wrong := 5, 0
			if skill == "heart" {
				right, wrong = 3, 3
			}
			list = append(list, lines(skill, fmt.Sprint("v", i), noon(1+i), right, wrong)...)
		}
	}
	InTime(list)
	return World{Now: noon(20), Skills: allSkills, Judgements: list, Patients: stable(),
		Met: []Met{{"case dog skin 1", "dog", "skin", noon(1)}, {"case dog respiratory 1", "dog", "respiratory", noon(2)}, {"case dog digestive 2", "dog", "digestive", noon(3)}}}
}

func TestThreeOffers(t *testing.T) {
	t.Parallel()
	w := term()
	w.Drills = []Drill{{"rates", "Ten rates", "rates"}, {"range", "Say the range first", Ranges}}
	for draw := range uint64(200) {
		w.Draw = draw
		got := Offers(w)
		require.Len(t, got, 3)
		require.Equal(t, []Why{Due, Weak, Mixed}, []Why{got[0].Why, got[1].Why, got[2].Why})
		require.Equal(t, "heart", got[1].Skill.ID)
		require.NotEqual(t, "heart", got[0].Skill.ID)
		require.Equal(t, "rates", got[0].Drill, "what is due and has a drill takes two minutes")
		require.GreaterOrEqual(t, got[1].Forecast, hardest)
		require.LessOrEqual(t, got[1].Forecast, easiest)
		require.NotEqual(t, got[1].Patient, got[2].Patient)
		require.Equal(t, got, Offers(w), "the same chance, the same offers")
	}
}

// TestNeverTheLastTwoSystems: whatever chance says, and whatever is offered; of the
// three systems that were met only the first may come again.
func TestNeverTheLastTwoSystems(t *testing.T) {
	t.Parallel()
	w := term()
	seen := map[string]bool{}
	for draw := range uint64(500) {
		w.Draw = draw
		for _, o := range Offers(w) {
			if o.Patient != "" {
				seen[find(w.Patients, o.Patient).System] = true
			}
		}
	}
	require.False(t, seen["respiratory"])
	require.False(t, seen["digestive"])
	require.True(t, seen["skin"])
	require.True(t, seen["cardiovascular"])
}

// TestOneInFourIsHealthy: over many chances the share lies within four standard
// errors of a quarter, in each of the three offers.
func TestOneInFourIsHealthy(t *testing.T) {
	t.Parallel()
	w := term()
	healthy, n := map[Why]int{}, map[Why]int{}
	for draw := range uint64(2000) {
		w.Draw = mix(draw)
		for _, o := range Offers(w) {
			n[o.Why]++
			if find(w.Patients, o.Patient).Healthy {
				healthy[o.Why]++
			}
		}
	}
	for _, why := range []Why{Due, Weak, Mixed} {
		require.Equal(t, 2000, n[why])
		require.InDelta(t, .25, float64(healthy[why])/2000, .04, "%s: %d", why, healthy[why])
	}
}

// TestAnOfferDoesNotTellWhatThePatientHas: of the patients that are offered for a
// skill about half have something of it.
func TestAnOfferDoesNotTellWhatThePatientHas(t *testing.T) {
	t.Parallel()
	w := term()
	own := 0
	for draw := range uint64(2000) {
		w.Draw = mix(draw)
		if slices.Contains(find(w.Patients, Offers(w)[1].Patient).Skills, "heart") {
			own++
		}
	}
	require.InDelta(t, .5, float64(own)/2000, .05, "%d", own)
}

// TestWhoIsNew is offered easier patients, without a forecast.
func TestWhoIsNew(t *testing.T) {
	t.Parallel()
	w := World{Now: noon(1), Skills: allSkills, Patients: stable(), Drills: []Drill{{"rates", "Ten rates", "rates"}}}
	got := Offers(w)
	require.Len(t, got, 3)
	for _, o := range got {
		require.Equal(t, Mixed, o.Why)
		require.Zero(t, o.Forecast)
		require.LessOrEqual(t, find(w.Patients, o.Patient).Difficulty, 2)
		require.Contains(t, o.Reason("", Noun{}, noon(1)), "nothing is known of you yet")
	}
}

// TestWhatWasNeverMetIsOffered: whoever met only patients that ask for a part of the
// animal is offered what they did not ask for, in one that asks for all of it.
func TestWhatWasNeverMetIsOffered(t *testing.T) {
	t.Parallel()
	w := term()
	w.Judgements = slices.DeleteFunc(w.Judgements, func(j Judgement) bool { return j.Skill == "limbs" })
	for i := range w.Patients {
		w.Patients[i].Whole = w.Patients[i].Difficulty != 3
	}
	for draw := range uint64(100) {
		w.Draw = draw
		due := Offers(w)[0]
		p := find(w.Patients, due.Patient)
		require.Equal(t, "limbs", due.Skill.ID)
		require.True(t, p.Whole, "to be offered one of whom a part is asked for would tell what it has: %s", p.ID)
		require.Equal(t, "Not met yet: Limbs. This patient may have nothing of the kind.", due.Reason("Limbs", Noun{}, w.Now))
	}
}

// TestWhatIsTooHardIsDrilledFirst: who gets nearly nothing right is not sent to a
// patient where a drill is nearer to what can be learnt from.
func TestWhatIsTooHardIsDrilledFirst(t *testing.T) {
	t.Parallel()
	w := term()
	for i := range w.Judgements {
		if w.Judgements[i].Skill == "heart" && i%7 != 0 {
			w.Judgements[i].Mark = 0
		}
	}
	w.Patients = slices.DeleteFunc(w.Patients, func(p Patient) bool { return p.Difficulty < 4 })
	w.Drills = []Drill{{"murmur", "Murmurs", "heart"}}
	weak := Offers(w)[1]
	require.Equal(t, "murmur", weak.Drill)
	require.Contains(t, weak.Reason("Heart and pulse", Noun{"murmur", "murmurs"}, noon(20)), "of 10 murmurs right")
}

// TestNobodyLeftToMeet offers what there is, and does not fail.
func TestNobodyLeftToMeet(t *testing.T) {
	t.Parallel()
	w := term()
	w.Patients = w.Patients[:1]
	require.LessOrEqual(t, len(Offers(w)), 1)
	w.Patients = nil
	require.Empty(t, Offers(w))
	require.Empty(t, Offers(World{}))
}

// TestWhoMetAllBefore meets whom one met the longest ago.
func TestWhoMetAllBefore(t *testing.T) {
	t.Parallel()
	w := term()
	w.Met = nil
	for i, p := range w.Patients {
		w.Met = append(w.Met, Met{p.Case, p.Species, p.System, noon(1 + i/3)})
	}
	got := Offers(w)
	require.NotEmpty(t, got)
	for _, o := range got {
		p := find(w.Patients, o.Patient)
		i := slices.IndexFunc(w.Patients, func(q Patient) bool { return q.ID == p.ID })
		require.Less(t, i, len(w.Patients)*3/4, "one of those met long ago")
	}
}

// TestReasonsKeepWhatIsHidden: a reason names the skill and says that the
// patient may have nothing of it; it names neither system nor case.
func TestReasonsKeepWhatIsHidden(t *testing.T) {
	t.Parallel()
	w := term()
	for draw := range uint64(50) {
		w.Draw = draw
		for _, o := range Offers(w) {
			if o.Why == Mixed {
				continue
			}
			p := find(w.Patients, o.Patient)
			text := o.Reason("Heart and pulse", Noun{"murmur", "murmurs"}, w.Now)
			require.NotContains(t, text, p.System)
			require.NotContains(t, text, p.Case)
			require.Contains(t, text, "This patient may have nothing of the kind.")
		}
	}
}

package cases

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
	"github.com/stretchr/testify/require"
)

// everyField are the fields of all species.
func everyField() []Field {
	var out []Field
	for _, species := range Builtin().Species() {
		out = append(out, Builtin().Catalogue(species).Fields...)
	}
	return out
}

// A cue tells nothing by its length: within a field the longest is at most a
// fifth longer than the shortest, and all are about a line long.
func TestCuesAreEquallyLong(t *testing.T) {
	for _, f := range everyField() {
		shortest, longest := 1000, 0
		for _, ch := range f.Of {
			for _, cue := range ch.Cue {
				n := utf8.RuneCountInString(cue)
				shortest, longest = min(shortest, n), max(longest, n)
				require.GreaterOrEqual(t, n, 54, "%s %s", f.ID, ch.ID)
				require.LessOrEqual(t, n, 76, "%s %s", f.ID, ch.ID)
			}
		}
		if longest > 0 {
			require.LessOrEqual(t, longest*5, shortest*6, f.ID)
		}
	}
}

// A cue says what is sensed: no digits that would save counting, and none of
// the words that would name what the student is to conclude.
func TestCuesNameNoFinding(t *testing.T) {
	told := []string{"pain", "murmur", "normal", "abnormal", "crackle", "wheeze", "lymph", "node", "salivary", "lipoma", "tumour",
		"cataract", "fever", "arrhythmia", "oedema", "tartar", "calculus", "gingivitis", "seconds", "per minute", "ulcer", "infect", "inflam"}
	allowed := map[string]bool{"chest.wall crackling": true} // 'crackles' is what the finger feels there
	for _, f := range everyField() {
		for _, ch := range f.Of {
			for _, cue := range ch.Cue {
				require.NotRegexp(t, `[0-9]`, cue, "%s %s", f.ID, ch.ID)
				for _, word := range told {
					if !allowed[f.ID+" "+ch.ID] {
						require.NotContains(t, strings.ToLower(cue), word, "%s %s", f.ID, ch.ID)
					}
				}
			}
		}
	}
}

// Two choices of one field never share a cue, or they could not be told apart.
func TestCuesDiffer(t *testing.T) {
	for _, f := range everyField() {
		seen := map[string]string{}
		for _, ch := range f.Of {
			for _, cue := range ch.Cue {
				require.Empty(t, seen[cue], "%s: %s and %s", f.ID, ch.ID, seen[cue])
				seen[cue] = ch.ID
			}
		}
	}
}

// Whatever is paired is examined on both sides, heart and lungs at the fields
// of both sides (Defarges, Clinician's Brief 2015, and Spalla, Veterinary
// Ireland Journal 2019, ask for both sides of the chest).
func TestBothSides(t *testing.T) {
	for _, species := range Builtin().Species() {
		c := Builtin().Catalogue(species)
		for _, s := range c.Steps {
			heard := s.ID == "heart.auscultate" || s.ID == "lungs.auscultate"
			if r := c.Region(s.Region); !heard && (r == nil || !r.Paired) {
				continue
			}
			left := slices.ContainsFunc(s.Sites, func(x string) bool { return strings.HasPrefix(x, "left") })
			right := slices.ContainsFunc(s.Sites, func(x string) bool { return strings.HasPrefix(x, "right") })
			require.True(t, left && right, "%s %s", species, s.ID)
		}
	}
	c := dog(t)
	require.Equal(t, []string{"left apex", "left base", "right apex"}, c.Step("heart.auscultate").Sites)
	require.Len(t, c.Step("lungs.auscultate").Sites, 6)
}

// The catalogue covers an examination from the first look to the last.
func TestCatalogueIsComplete(t *testing.T) {
	c := dog(t)
	require.Equal(t, []string{"distance", "head", "neck", "forelimbs", "chest", "abdomen", "trunk", "hindlimbs", "rear", "gait"}, ids(c.Stages, stageID))
	require.GreaterOrEqual(t, len(c.Topics), 20)
	require.GreaterOrEqual(t, len(c.Problems), 50)
	for _, id := range []string{"heart_rate", "resp_rate", "temperature", "crt", "body_condition", "weight"} {
		require.True(t, slices.ContainsFunc(c.Fields, func(f Field) bool { return f.Vital == id }), id)
	}
	for _, id := range []string{"distance.observe", "mouth.refill", "eyes.ophthalmoscopy", "ears.otoscopy", "forepaw.inspect", "heart.auscultate",
		"lungs.auscultate", "pulse.palpate", "abdomen.palpate", "skin.tent", "popliteal_nodes.palpate", "rectum.palpate", "gait.observe"} {
		require.NotNil(t, c.Step(id), id)
	}
	require.True(t, c.Field("forepaw.dewclaw").PerSite)
	for _, s := range c.Steps {
		require.Equal(t, s.Touch, s.Touch || s.Instrument != "", "%s touches with its instrument", s.ID)
	}
}

// Every species is looked at from a distance, has its vitals measured, and is
// examined by steps in every stage.
func TestEverySpeciesIsExaminedFromEndToEnd(t *testing.T) {
	for _, species := range Builtin().Species() {
		c := Builtin().Catalogue(species)
		require.GreaterOrEqual(t, len(c.Topics), 15, species)
		require.GreaterOrEqual(t, len(c.Problems), 30, species)
		for _, id := range []string{"heart_rate", "resp_rate", "temperature", "crt", "body_condition", "weight"} {
			i := slices.IndexFunc(c.Fields, func(f Field) bool { return f.Vital == id })
			require.GreaterOrEqual(t, i, 0, "%s %s", species, id)
			require.True(t, slices.ContainsFunc(c.Steps, func(s Step) bool { return slices.Contains(s.Reveals, c.Fields[i].ID) }), "%s %s", species, id)
		}
		for _, stage := range c.Stages {
			require.True(t, slices.ContainsFunc(c.Steps, func(s Step) bool { return c.Region(s.Region).Stage == stage.ID }), "%s %s", species, stage.ID)
		}
		require.False(t, c.Step("distance.observe").Touch, species)
	}
}

// Steps that can hurt animal or student carry a caution.
func TestCautionsWhereItCanHurt(t *testing.T) {
	for _, species := range Builtin().Species() {
		c := Builtin().Catalogue(species)
		for _, s := range c.Steps {
			if s.Stress >= 25 {
				require.NotEmpty(t, s.Caution, "%s %s", species, s.ID)
			}
		}
		for _, h := range c.Handling {
			if h.Stress >= 40 {
				require.NotEmpty(t, h.Caution, "%s %s", species, h.ID)
			}
		}
		require.Contains(t, c.Caution, "veterinarian", species)
	}
	for _, id := range []string{"muzzle", "oxygen", "hold lateral", "hold head"} {
		require.NotEmpty(t, dog(t).HandlingRow(id).Caution, id)
	}
}

// Where a field has a reference range, what the catalogue calls the usual value
// lies inside it for grown animals of every size class.
func TestUsualVitalsAreNormal(t *testing.T) {
	grown := map[string][]int{"dog": {4000, 14000, 32000, 60000}, "cat": {3200, 4500, 6000}, "rabbit": {1200, 2500, 5000},
		"horse": {200_000, 500_000, 700_000}, "cattle": {350_000, 550_000, 750_000}}
	looked := 0
	for _, species := range Builtin().Species() {
		require.NotEmpty(t, grown[species], species)
		for _, f := range Builtin().Catalogue(species).Fields {
			for _, grams := range grown[species] {
				row, ok := normal.Lookup(species, 1500, grams, f.Vital)
				if f.Vital == "" || !ok {
					continue
				}
				low, high, err := rangeOf(f.NormalAt)
				require.NoError(t, err)
				require.GreaterOrEqual(t, low, row.Low, "%s %s %d g", species, f.ID, grams)
				require.LessOrEqual(t, high, row.High, "%s %s %d g", species, f.ID, grams)
				looked++
			}
		}
	}
	require.Greater(t, looked, 60)
}

// Lymph nodes: mandibular, prescapular and popliteal are felt in a normal dog
// and are under 1 cm; the others are not felt (Univ. Guelph, VETM 3430).
func TestNodesOfANormalDog(t *testing.T) {
	c := dog(t)
	for id, normal := range map[string]string{"mandibular": "pea", "prescapular": "pea", "popliteal": "pea",
		"parotid": "not felt", "retropharyngeal": "not felt", "axillary": "not felt", "inguinal": "not felt"} {
		f := c.Field("node." + id + ".size")
		require.Equal(t, []string{normal}, f.Normal, id)
		require.True(t, f.Abnormal("grape"), id)
		require.True(t, f.Abnormal("plum"), id)
	}
	require.True(t, c.Field("node.parotid.size").Abnormal("pea"))
}

// Murmurs are graded 1 to 6 and come within one grade (UK heart-screening
// scheme; Vet360); the refill classes part at 1 and 2 s (Merck, triage table).
func TestScales(t *testing.T) {
	c := dog(t)
	require.Equal(t, []string{"none", "1", "2", "3", "4", "5", "6"}, ids(c.Field("heart.murmur").Of, choiceID))
	crt := c.Field("crt")
	for value, band := range map[string]string{"0.5": "fast", "0.9": "fast", "1": "usual", "2": "usual", "2.1": "slow", "4": "slow"} {
		require.Equal(t, band, crt.Band(value).ID, value)
	}
	require.Equal(t, "7", c.Field("body.condition").Band("7").ID)
	require.Nil(t, c.Field("heart.rate").Band("90"))
	require.Nil(t, crt.Band("slowly"))
}

// The library is one that a course can run on: at least 24 patients, seven each
// of dog and cat and three of every other species; healthy ones and ones with
// several minor findings; whole examinations, focused ones and emergencies. All
// stand their checks, and no title holds what is to be concluded.
func TestShippedCases(t *testing.T) {
	l := Builtin()
	require.Empty(t, l.Broken())
	require.GreaterOrEqual(t, len(l.Cases()), 24)
	of, situations, healthy := map[string]int{}, map[string]int{}, map[string]int{}
	for _, k := range l.Cases() {
		require.Empty(t, CheckCase(l, k))
		sum := sha256.Sum256(k.Source)
		require.Equal(t, hex.EncodeToString(sum[:]), k.Hash)
		require.NotEmpty(t, k.Sources, k.ID)
		require.Contains(t, Confidences, k.Confidence, k.ID)
		of[k.Species]++
		situations[k.Situation]++
		if len(k.Conclusions.Problems) == 0 {
			healthy[k.Species]++
		}
	}
	for _, species := range l.Species() {
		least := 3
		if species == "dog" || species == "cat" {
			least = 7
		}
		require.GreaterOrEqual(t, of[species], least, species)
		require.Positive(t, healthy[species], "a healthy %s", species)
	}
	for _, s := range []string{"routine", "focused", "triage"} {
		require.GreaterOrEqual(t, situations[s], 3, s)
	}
	require.Empty(t, l.Case("tansy").Conclusions.Problems)
	require.Len(t, l.Case("monty").Conclusions.Problems, 6)
	require.Equal(t, "triage", l.Case("fergus").Situation)
}

func TestCatalogueHash(t *testing.T) {
	c := dog(t)
	sum := sha256.Sum256(c.Source)
	require.Equal(t, hex.EncodeToString(sum[:]), c.Hash)
	require.Contains(t, string(c.Source), "# catalogue/mammal.yaml\n")
	require.Contains(t, string(c.Source), "# catalogue/dog.yaml\n")
}

// What a case holds never leaves by JSON, a format or a log.
func TestCasesAreHidden(t *testing.T) {
	k := Builtin().Case("fergus")
	for _, v := range []any{k, *k, k.Truth, Builtin().Case("monty").Pain, k.Hazards, k.Conclusions} {
		_, err := json.Marshal(v)
		require.ErrorIs(t, err, rubric.ErrHidden)
		for _, verb := range []string{"%v", "%+v", "%#v", "%s"} {
			text := fmt.Sprintf(verb, v)
			require.Contains(t, text, "[hidden]")
			require.NotContains(t, text, "lateral")
			require.NotContains(t, text, "crackles")
		}
	}
}

func TestApplies(t *testing.T) {
	c := dog(t)
	dogs := map[string]Signalment{
		"man":   {Sex: "male entire", AgeDays: 900},
		"gelt":  {Sex: "male neutered", AgeDays: 900},
		"bitch": {Sex: "female entire", AgeDays: 900},
		"pup":   {Sex: "male entire", AgeDays: 70},
	}
	for step, want := range map[string][]string{
		"testes.palpate":   {"man", "pup"},
		"penis.inspect":    {"gelt", "man", "pup"},
		"vulva.inspect":    {"bitch"},
		"prostate.palpate": {"gelt", "man"},
		"rectum.palpate":   {"bitch", "gelt", "man"},
		"heart.auscultate": {"bitch", "gelt", "man", "pup"},
	} {
		var got []string
		for name, s := range dogs {
			if c.Step(step).Applies.Match(s) {
				got = append(got, name)
			}
		}
		slices.Sort(got)
		require.Equal(t, want, got, step)
	}
}

func TestWords(t *testing.T) {
	w := dog(t).Words()
	require.Equal(t, "Listen to the heart", w.Step("heart.auscultate"))
	require.Equal(t, "Give oxygen", w.Step("handle:oxygen"))
	require.Equal(t, "Heart rate", w.Field("heart.rate"))
	require.Equal(t, "Grape, about 2 cm", w.Value("node.popliteal.size", "grape"))
	require.Equal(t, "38.6 degC", w.Value("temperature", "38.6"))
	require.Equal(t, "left apex", w.Site("left apex"))
	require.Equal(t, "Hindlimbs", w.Stage("hindlimbs"))
	require.Equal(t, "Eyes", w.Region("eyes"))
	require.Equal(t, "Osteoarthritis", w.Problem("osteoarthritis"))
	require.Equal(t, "Appetite", w.Topic("appetite"))
	require.Equal(t, "Hold on the side", w.Handling("hold lateral"))
	for _, unknown := range []string{w.Step("x.y"), w.Field("x.y"), w.Stage("x.y"), w.Region("x.y"), w.Problem("x.y"), w.Topic("x.y"), w.Handling("x.y")} {
		require.Equal(t, "x.y", unknown)
	}
}

// A step and its place are read in one breath ("Take the temperature, rectal"):
// where there is but one place, the label does not say it as well.
func TestNoLabelSaysItsOnlyPlace(t *testing.T) {
	for _, species := range Builtin().Species() {
		for _, s := range Builtin().Catalogue(species).Steps {
			if len(s.Sites) != 1 {
				continue
			}
			for _, word := range wordsOf(s.Sites[0]) {
				stem := word[:min(len(word), 4)] // rectal and rectum
				require.NotContains(t, strings.ToLower(s.Label), stem, "%s %s, %s", species, s.ID, s.Sites[0])
			}
		}
	}
}

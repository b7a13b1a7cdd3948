package normal

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// apart are the pairs of a grading row and a figure, read in its source, that
// share no value, with the reason why the row stands.
var apart = map[string]string{
	"dog.giant.heart_rate S93 120 to 140":        "S93 is a weak source that speaks of puppies of 3 to 12 months without their weight",
	"guinea_pig.adult.heart_rate S11 130 to 190": "Provet's 130-190 conflicts with Merck (200-300) and the exotic texts (230-380) and is not used as truth",
}

// Each grading row shares some value with every figure of its vital and animals
// that was read in its source; else the pair stands in apart with a reason. A
// figure with one end, or with only a mean, is held where it can be: a limit
// must not leave the whole row beyond it.
func TestGradingRowsAgreeWithWhatWasRead(t *testing.T) {
	compared, used := 0, map[string]bool{}
	for _, r := range Rows() {
		for _, f := range figures {
			if f.Confidence != "read" || f.Species != r.Species || f.Vital != r.Vital || !f.Days.meets(r.Days) || !f.Grams.meets(r.Grams) || !f.HasLow && !f.HasHigh {
				continue
			}
			require.Equal(t, r.Unit, f.Unit, r.ID)
			compared++
			if (!f.HasLow || f.Low <= r.High) && (!f.HasHigh || f.High >= r.Low) {
				continue
			}
			pair := r.ID + " " + f.Key + " " + Between(f.Low, f.High, f.Unit)
			require.NotEmpty(t, apart[pair], "%s, %s, and %s of %s (%s) share nothing", pair, r, f.Text(), f.Class, f.Source)
			used[pair] = true
		}
	}
	require.Len(t, used, len(apart), "a pair that agrees by now")
	require.Greater(t, compared, 100)
	if testing.Verbose() {
		fmt.Printf("%d pairs of a grading row and a figure read in its source, %d apart\n", compared, len(apart))
	}
}

// Figures retyped by hand from their sources, so that a slip in the file shows.
//
// S01 Merck Veterinary Manual, triage table: cats 120-200, large dogs 60-120.
// S06 Dorn et al., Animals 2024;14:1970: dogs 37.7-39.5. S12 Small Animal
// Clinical Nutrition, 5th ed., Table 16-1. S17 Dijkstra et al., Vet J
// 2018;234:96-101: cats 32-135. S20 CVC San Diego proceedings. S22 newborn
// calves. S27 Di Girolamo et al., JAVMA 2016;248:288-97: rabbits 38.0-39.9. S32
// Cooranbong: horses 28-45. S36 International Llama Association. S24 Acta Vet
// Scand 2015. S05 Texas AgriLife 2009: goats 70-135.
func TestPublished(t *testing.T) {
	for _, row := range []struct {
		species     string
		days, grams int
		vital, key  string
		text        string
	}{
		{"cat", 1000, 4000, "heart_rate", "S01", "120 to 200; over 220 tachycardia, under 120 bradycardia and a feature of shock"},
		{"cat", 1000, 4000, "resp_rate", "S17", "32 to 135; median 64, extremes 28 and 176 (88 healthy cats)"},
		{"dog", 1000, 30000, "heart_rate", "S01", "60 to 120"},
		{"dog", 1000, 30000, "temperature", "S06", "37.7 to 39.5; mean 38.6, n = 9117"},
		{"dog", 70, 5200, "heart_rate", "S12", "165 to 175"},
		{"dog", 3, 300, "temperature", "S12", "34.5 to 37.2"},
		{"cattle", 1000, 500000, "resp_rate", "S20", "12 to 36"},
		{"cattle", 0, 40000, "crt", "S22", "up to 3"},
		{"cattle", 1000, 500000, "rumen", "S20", "1 to 1.5; 2 to 3 contractions in 2 minutes"},
		{"horse", 3000, 500000, "heart_rate", "S32", "28 to 45"},
		{"horse", 800, 400000, "heart_rate", "S33d", "40 to 50"},
		{"rabbit", 800, 2000, "temperature", "S27", "38.0 to 39.9; n = 316; 37.9 and below hypothermic"},
		{"alpaca", 1000, 65000, "temperature", "S36", "37.2 to 38.8"},
		{"pig", 1000, 200000, "temperature", "S24", "38.5 to 39.1; mean 38.8 +/- 0.3, resting, neither hot nor cold"},
		{"goat", 1000, 60000, "heart_rate", "S05", "70 to 135; mean 90"},
	} {
		var got []string
		for _, f := range Published(row.species, row.days, row.grams) {
			if f.Vital == row.vital && f.Key == row.key {
				got = append(got, f.Text())
			}
		}
		require.Contains(t, got, row.text, row)
	}
}

func TestPublishedKeepsToTheAnimal(t *testing.T) {
	for _, f := range Published("dog", 70, 5200) {
		require.True(t, f.Days.Holds(70) && f.Grams.Holds(5200), f)
		require.NotEqual(t, "adult", f.Class)
	}
	all := Published("dog", Any, Any)
	require.Greater(t, len(all), len(Published("dog", 1000, Any)))
	require.Greater(t, len(Published("dog", 1000, Any)), len(Published("dog", 1000, 5000)))
	require.Empty(t, Published("unicorn", Any, Any))
	total := 0
	for _, s := range Rows().Species() {
		total += len(Published(s, Any, Any))
	}
	require.Equal(t, len(figures), total, "every figure can be found")
	sources := map[string]string{}
	for _, f := range figures {
		if f.Key == "" || f.Key == "S88" { // S88 has figures of its own and relays Merck's
			continue
		}
		if s, ok := sources[f.Key]; ok {
			require.Equal(t, s, f.Source, f.Key)
		}
		sources[f.Key] = f.Source
	}
	require.Equal(t, []string{"alpaca", "cat", "cattle", "chicken", "dog", "donkey", "ferret", "goat", "guinea pig", "hamster", "horse", "llama", "mouse", "pig", "rabbit", "rat", "sheep"}, Rows().Species())
}

func TestForGivesOneRowAVital(t *testing.T) {
	var ids []string
	for _, r := range Rows().For("dog", 70, 5200) {
		ids = append(ids, r.ID)
	}
	require.Equal(t, []string{"dog.puppy.heart_rate", "dog.puppy.resp_rate", "dog.puppy.temperature", "dog.crt", "dog.puppy.body_condition"}, ids)
	all := Rows().For("dog", Any, Any)
	require.Len(t, all, 18)
	require.Len(t, Rows().For("dog", 1000, Any), 14)
	require.Empty(t, Rows().For("rat", Any, Any))
	for _, r := range Rows() {
		got, ok := Rows().Find(r.ID)
		require.True(t, ok)
		require.Equal(t, r, got)
	}
	_, ok := Rows().Find("nothing")
	require.False(t, ok)
}

func TestWords(t *testing.T) {
	for _, row := range []struct {
		id, animal, reach, words string
	}{
		{"dog.small.heart_rate", "small dog", "over 16 weeks, under 10 kg", "small dog, 70 to 140, borderline from 60 to 160 /min. Source: "},
		{"dog.medium.temperature", "medium dog", "over 16 weeks, 10 to under 25 kg", "medium dog, 37.7 to 39.2, borderline from 37.2 to 39.9 °C. Source: "},
		{"dog.large.resp_rate", "large dog", "over 16 weeks, 25 to 45 kg", ""},
		{"dog.giant.resp_rate", "giant dog", "over 16 weeks, over 45 kg", ""},
		{"dog.puppy.crt", "", "", ""},
		{"dog.crt", "dog", "from 8 weeks", "dog, 1 to 2 s. Source: Merck"},
		{"cat.kitten.heart_rate", "kitten", "8 to 16 weeks", ""},
		{"horse.foal.heart_rate", "foal", "1 to 7 days", ""},
		{"cattle.calf.heart_rate", "calf", "14 days to 12 weeks", ""},
		{"cattle.body_condition", "adult cattle", "from 1 year", "adult cattle, 3, borderline from 2.5 to 3.5 of 5. Source: "},
		{"horse.adult.heart_rate", "adult horse", "from 3 years", ""},
		{"guinea_pig.crt", "guinea pig", "from 8 weeks", ""},
	} {
		r, ok := Rows().Find(row.id)
		if row.animal == "" {
			require.False(t, ok, row.id)
			continue
		}
		require.Equal(t, row.animal, r.Animal())
		require.Equal(t, row.reach, Reach(r.Days, r.Grams), row.id)
		require.Contains(t, r.Words(), row.words)
	}
	require.Equal(t, "day of birth", Reach(Span{0, 0}, Span{0, Open}))
	require.Equal(t, "under 2 years", Reach(Span{0, 729}, Span{0, Open}))
	require.Equal(t, "", Reach(Span{0, Open}, Span{0, Open}))
	// 0 degC is 32 degF, a degC is 1.8 degF
	require.Equal(t, "99.9 to 102.6", Fahrenheit(37700, 39200))
	require.Equal(t, "101.5", Fahrenheit(38600, 38600))
	require.Equal(t, "heart rate", Label("heart_rate"))
	require.Equal(t, "some thing", Label("some_thing"))
}

// A year of 365.25 days; 1 lb = 453.59237 g by definition (international pound, 1959).
func TestAgeAndWeight(t *testing.T) {
	for text, want := range map[string]int{"10w": 70, "10 wk": 70, "10 weeks": 70, "8 y": 2922, "8 years": 2922, "1 yr": 365, "3 mo": 91, "5 d": 5, "0 d": 0, "1.5 y": 548, " 3 MO ": 91} {
		got, err := ParseAge(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "10", "w", "ten weeks", "10 lb", "-3 d", "3 ds", "99999 wks x", "3  d", "1e3 d", "3 s"} {
		_, err := ParseAge(text)
		require.ErrorContains(t, err, "right would be 5 d, 10 wk, 3 mo or 8 y", text)
	}
	for text, want := range map[string]int{"5.2": 5200, "5,2 kg": 5200, "5.2kg": 5200, "11 lb": 4990, "11 lbs": 4990, "850 g": 850, "600 kg": 600_000} {
		got, err := ParseWeight(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "0", "kg", "5 stone", "-5", "99999 kg 1", "5 s"} {
		_, err := ParseWeight(text)
		require.ErrorContains(t, err, "right would be 5.2 kg, 850 g or 11 lb", text)
	}
	require.Equal(t, rubric.Milli(38500), Rows().For("cattle", 42, 70_000)[2].Low)
}

package normal

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// The rows as written in clinical references: the classes with their sources
// stand in ranges.csv; the figures are repeated here by hand, so that a slip in
// the file shows. HR and RR a minute, temperature in degC.
//
// Dogs: Merck Veterinary Manual triage table (small 70-120, large 60-120),
// Provet UK 2013 (70-160; breaths 10-30), Dorn et al., Animals 2024;14:1970
// (37.7-39.5). Puppies: Small Animal Clinical Nutrition, 5th ed., Table 16-1.
// Cats: Merck triage table (120-200), Dijkstra et al., Vet J 2018;234:96-101
// (breaths 32-135), Levy et al., J Feline Med Surg 2015;17:950-2 (36.7-38.9).
// Kittens: technician handbooks, from memory. Horses: Cooranbong and Carlisle
// clinics (28-45, 30-44; 8-15, 12-20; 37-38.5, 37.2-38.6). Cattle: CVC San
// Diego proceedings (50-80, 12-36, 38-39; calf 90-112, 20-50, 38.5-39.5).
// Rabbits: Di Girolamo et al., JAVMA 2016;248:288-97 (38.0-39.9). Donkeys: The
// Donkey Sanctuary. The others: see ranges.csv.
func TestRows(t *testing.T) {
	const old, adult, young = 8 * 365, 3 * 365, 70
	seen := map[string]bool{}
	for _, row := range []struct {
		species       string
		days, grams   int
		vital, id     string
		low, high     string
		greyLo, greyH string
	}{
		{"dog", adult, 5_000, "heart_rate", "dog.small.heart_rate", "70", "140", "60", "160"},
		{"dog", adult, 5_000, "resp_rate", "dog.small.resp_rate", "15", "34", "10", "40"},
		{"dog", adult, 5_000, "temperature", "dog.small.temperature", "37.7", "39.2", "37.2", "39.9"},
		{"dog", adult, 18_000, "heart_rate", "dog.medium.heart_rate", "70", "120", "60", "150"},
		{"dog", adult, 18_000, "resp_rate", "dog.medium.resp_rate", "15", "34", "10", "40"},
		{"dog", adult, 18_000, "temperature", "dog.medium.temperature", "37.7", "39.2", "37.2", "39.9"},
		{"dog", adult, 32_000, "heart_rate", "dog.large.heart_rate", "60", "120", "50", "140"},
		{"dog", adult, 32_000, "resp_rate", "dog.large.resp_rate", "15", "34", "10", "40"},
		{"dog", adult, 32_000, "temperature", "dog.large.temperature", "37.7", "39.2", "37.2", "39.9"},
		{"dog", adult, 60_000, "heart_rate", "dog.giant.heart_rate", "60", "110", "50", "130"},
		{"dog", adult, 60_000, "resp_rate", "dog.giant.resp_rate", "12", "30", "10", "40"},
		{"dog", adult, 60_000, "temperature", "dog.giant.temperature", "37.7", "39.2", "37.2", "39.9"},
		{"dog", young, 6_000, "heart_rate", "dog.puppy.heart_rate", "120", "180", "100", "220"},
		{"dog", young, 6_000, "resp_rate", "dog.puppy.resp_rate", "20", "40", "15", "50"},
		{"dog", young, 6_000, "temperature", "dog.puppy.temperature", "37.8", "39.2", "37.5", "39.9"},
		{"cat", adult, 4_500, "heart_rate", "cat.adult.heart_rate", "120", "200", "116", "220"},
		{"cat", adult, 4_500, "resp_rate", "cat.adult.resp_rate", "20", "60", "16", "100"},
		{"cat", adult, 4_500, "temperature", "cat.adult.temperature", "37.5", "39.2", "36.7", "39.4"},
		{"cat", young, 1_200, "heart_rate", "cat.kitten.heart_rate", "160", "220", "140", "240"},
		{"cat", young, 1_200, "resp_rate", "cat.kitten.resp_rate", "20", "50", "20", "80"},
		{"cat", young, 1_200, "temperature", "cat.kitten.temperature", "37.8", "39.2", "37.5", "39.5"},
		{"dog", adult, 18_000, "crt", "dog.crt", "1", "2", "1", "2"},
		{"cat", young, 1_200, "crt", "cat.crt", "1", "2", "1", "2"},
		{"dog", adult, 18_000, "body_condition", "dog.body_condition", "4", "5", "4", "5"},
		{"cat", adult, 4_500, "body_condition", "cat.body_condition", "5", "5", "5", "5"},
		{"dog", young, 6_000, "body_condition", "dog.puppy.body_condition", "4", "5", "4", "5"},
		{"cat", young, 1_200, "body_condition", "cat.kitten.body_condition", "5", "5", "5", "5"},
		{"horse", old, 500_000, "heart_rate", "horse.adult.heart_rate", "28", "44", "24", "48"},
		{"horse", old, 500_000, "resp_rate", "horse.adult.resp_rate", "8", "16", "8", "20"},
		{"horse", old, 500_000, "temperature", "horse.adult.temperature", "37.2", "38.3", "36.8", "38.6"},
		{"horse", old, 500_000, "crt", "horse.crt", "1", "2", "1", "2"},
		{"horse", old, 500_000, "body_condition", "horse.body_condition", "4", "6", "4", "7"},
		{"horse", 3, 50_000, "heart_rate", "horse.foal.heart_rate", "80", "120", "70", "140"},
		{"horse", 3, 50_000, "resp_rate", "horse.foal.resp_rate", "20", "40", "20", "50"},
		{"horse", 3, 50_000, "temperature", "horse.foal.temperature", "37.2", "38.9", "37", "39.1"},
		{"horse", 3, 50_000, "crt", "horse.foal.crt", "1", "2", "1", "2"},
		{"cattle", old, 600_000, "heart_rate", "cattle.adult.heart_rate", "50", "80", "48", "84"},
		{"cattle", old, 600_000, "resp_rate", "cattle.adult.resp_rate", "12", "36", "10", "50"},
		{"cattle", old, 600_000, "temperature", "cattle.adult.temperature", "38", "39.2", "37.8", "39.4"},
		{"cattle", old, 600_000, "crt", "cattle.crt", "1", "2", "1", "2"},
		{"cattle", old, 600_000, "body_condition", "cattle.body_condition", "3", "3", "2.5", "3.5"},
		{"cattle", 42, 70_000, "heart_rate", "cattle.calf.heart_rate", "90", "120", "70", "140"},
		{"cattle", 42, 70_000, "resp_rate", "cattle.calf.resp_rate", "20", "50", "20", "60"},
		{"cattle", 42, 70_000, "temperature", "cattle.calf.temperature", "38.5", "39.5", "37.8", "39.7"},
		{"cattle", 42, 70_000, "crt", "cattle.calf.crt", "1", "2", "1", "2"},
		{"sheep", old, 70_000, "heart_rate", "sheep.adult.heart_rate", "70", "90", "60", "120"},
		{"sheep", old, 70_000, "resp_rate", "sheep.adult.resp_rate", "12", "20", "12", "30"},
		{"sheep", old, 70_000, "temperature", "sheep.adult.temperature", "38.5", "40", "38.3", "40.5"},
		{"sheep", old, 70_000, "crt", "sheep.crt", "1", "2", "1", "2"},
		{"sheep", old, 70_000, "body_condition", "sheep.body_condition", "3", "3", "2.5", "3.5"},
		{"goat", old, 60_000, "heart_rate", "goat.adult.heart_rate", "70", "90", "60", "135"},
		{"goat", old, 60_000, "resp_rate", "goat.adult.resp_rate", "12", "20", "12", "30"},
		{"goat", old, 60_000, "temperature", "goat.adult.temperature", "38.5", "40", "38.3", "40.5"},
		{"goat", old, 60_000, "crt", "goat.crt", "1", "2", "1", "2"},
		{"goat", old, 60_000, "body_condition", "goat.body_condition", "3", "3", "2.5", "3.5"},
		{"pig", old, 200_000, "heart_rate", "pig.adult.heart_rate", "60", "110", "55", "120"},
		{"pig", old, 200_000, "resp_rate", "pig.adult.resp_rate", "8", "30", "8", "58"},
		{"pig", old, 200_000, "temperature", "pig.adult.temperature", "38", "39.8", "37.8", "40"},
		{"pig", old, 200_000, "body_condition", "pig.body_condition", "3", "3", "2.5", "3.5"},
		{"rabbit", old, 2_000, "heart_rate", "rabbit.adult.heart_rate", "180", "300", "130", "350"},
		{"rabbit", old, 2_000, "resp_rate", "rabbit.adult.resp_rate", "30", "60", "30", "90"},
		{"rabbit", old, 2_000, "temperature", "rabbit.adult.temperature", "38", "39.9", "37.4", "40.2"},
		{"rabbit", young, 1_000, "crt", "rabbit.crt", "1", "2", "1", "2"},
		{"rabbit", old, 2_000, "body_condition", "rabbit.body_condition", "3", "3", "2.5", "3.5"},
		{"ferret", old, 1_000, "heart_rate", "ferret.adult.heart_rate", "200", "300", "180", "400"},
		{"ferret", old, 1_000, "resp_rate", "ferret.adult.resp_rate", "33", "36", "25", "45"},
		{"ferret", old, 1_000, "temperature", "ferret.adult.temperature", "37.8", "39.6", "37.5", "40"},
		{"ferret", old, 1_000, "crt", "ferret.crt", "1", "2", "1", "2"},
		{"guinea pig", old, 900, "heart_rate", "guinea_pig.adult.heart_rate", "230", "320", "200", "380"},
		{"guinea pig", old, 900, "resp_rate", "guinea_pig.adult.resp_rate", "42", "105", "40", "150"},
		{"guinea pig", old, 900, "temperature", "guinea_pig.adult.temperature", "37.2", "39.5", "37", "39.7"},
		{"guinea pig", old, 900, "crt", "guinea_pig.crt", "1", "2", "1", "2"},
		{"donkey", old, 180_000, "heart_rate", "donkey.adult.heart_rate", "36", "52", "31", "68"},
		{"donkey", old, 180_000, "resp_rate", "donkey.adult.resp_rate", "12", "30", "12", "44"},
		{"donkey", old, 180_000, "temperature", "donkey.adult.temperature", "36.5", "37.8", "36.2", "38"},
		{"donkey", old, 180_000, "crt", "donkey.crt", "1", "2", "1", "2"},
		{"donkey", old, 180_000, "body_condition", "donkey.body_condition", "3", "3", "2.5", "3.5"},
		{"alpaca", old, 65_000, "heart_rate", "alpaca.adult.heart_rate", "60", "90", "50", "100"},
		{"alpaca", old, 65_000, "resp_rate", "alpaca.adult.resp_rate", "10", "30", "10", "40"},
		{"alpaca", old, 65_000, "temperature", "alpaca.adult.temperature", "37.5", "38.9", "37.2", "39.2"},
		{"alpaca", old, 65_000, "crt", "alpaca.crt", "1", "2", "1", "2"},
		{"alpaca", old, 65_000, "body_condition", "alpaca.body_condition", "3", "3", "2.5", "3.5"},
	} {
		seen[row.id] = true
		r, ok := Lookup(row.species, row.days, row.grams, row.vital)
		require.True(t, ok, row.id)
		require.Equal(t, row.id, r.ID)
		for _, pair := range []struct {
			want string
			got  rubric.Milli
		}{{row.low, r.Low}, {row.high, r.High}, {row.greyLo, r.GreyLow}, {row.greyH, r.GreyHigh}} {
			require.Equal(t, pair.want, pair.got.String(), row.id)
		}
	}
	for _, r := range Rows() {
		require.True(t, seen[r.ID], "%s stands in the file and not here", r.ID)
	}
}

func TestEveryRowIsSoundAndUnambiguous(t *testing.T) {
	ids := map[string]bool{}
	for _, r := range Rows() {
		require.False(t, ids[r.ID], r.ID)
		ids[r.ID] = true
		require.NotEmpty(t, r.Source, r.ID)
		require.NotEmpty(t, r.Confidence, r.ID)
		require.NotEmpty(t, r.Unit, r.ID)
		require.LessOrEqual(t, r.GreyLow, r.Low, r.ID)
		require.LessOrEqual(t, r.Low, r.High, r.ID)
		require.LessOrEqual(t, r.High, r.GreyHigh, r.ID)
		for _, o := range Rows() {
			if o.ID != r.ID && o.Species == r.Species && o.Vital == r.Vital {
				apart := !o.Days.meets(r.Days) || !o.Grams.meets(r.Grams)
				require.True(t, apart, "%s and %s reach the same animals", r.ID, o.ID)
			}
		}
	}
}

func TestLookupAtTheEdges(t *testing.T) {
	for _, row := range []struct {
		days, grams int
		class       string
	}{{56, 3000, "puppy"}, {112, 3000, "puppy"}, {113, 3000, "small"}, {400, 9_999, "small"}, {400, 10_000, "medium"}, {400, 24_999, "medium"}, {400, 25_000, "large"}, {400, 45_000, "large"}, {400, 45_001, "giant"}, {400, 0, "small"}} {
		r, ok := Lookup("dog", row.days, row.grams, "heart_rate")
		require.True(t, ok, row)
		require.Equal(t, row.class, r.Class, row)
	}
	// common practice, no source: see the package comment
	for _, row := range []struct {
		species string
		days    int
		class   string
	}{{"horse", 0, ""}, {"horse", 1, "foal"}, {"horse", 7, "foal"}, {"horse", 8, ""}, {"horse", 1094, ""}, {"horse", 1095, "adult"},
		{"cattle", 13, ""}, {"cattle", 14, "calf"}, {"cattle", 84, "calf"}, {"cattle", 85, ""}, {"cattle", 364, ""}, {"cattle", 365, "adult"},
		{"donkey", 729, ""}, {"donkey", 730, "adult"}, {"rabbit", 112, ""}, {"rabbit", 113, "adult"}} {
		r, ok := Lookup(row.species, row.days, 10_000, "heart_rate")
		require.Equal(t, row.class != "", ok, row)
		require.Equal(t, row.class, r.Class, row)
	}
	for _, row := range []struct {
		species string
		days    int
		vital   string
	}{{"dog", 55, "heart_rate"}, {"dog", -1, "heart_rate"}, {"unicorn", 400, "heart_rate"}, {"dog", 400, "weight"}} {
		_, ok := Lookup(row.species, row.days, 10_000, row.vital)
		require.False(t, ok, row)
	}
}

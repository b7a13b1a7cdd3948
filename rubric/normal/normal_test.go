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
// Kittens: technician handbooks, from memory.
func TestRows(t *testing.T) {
	const adult, young = 3 * 365, 70
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
	} {
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
	require.Len(t, Rows(), 27)
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
				apart := o.days.from > r.days.to || r.days.from > o.days.to || o.grams.from > r.grams.to || r.grams.from > o.grams.to
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
	for _, row := range []struct {
		species string
		days    int
		vital   string
	}{{"dog", 55, "heart_rate"}, {"dog", -1, "heart_rate"}, {"unicorn", 400, "heart_rate"}, {"dog", 400, "weight"}} {
		_, ok := Lookup(row.species, row.days, 10_000, row.vital)
		require.False(t, ok, row)
	}
}

func TestABrokenFileIsRefused(t *testing.T) {
	for _, text := range []string{"a,b\n", "x\n" + "1,2,3,x,5,6,7,8,9,10,11,12,13,14,15\n", "a,b,c,d,e,f,g,h,i,j,k,l,m,n,o\n" + "id,dog,c,x,,0,,hr,u,1,2,1,2,s,c\n", "a,b,c,d,e,f,g,h,i,j,k,l,m,n,o\n" + "id,dog,c,1,,0,,hr,u,one,2,1,2,s,c\n"} {
		_, err := parse([]byte(text))
		require.Error(t, err)
	}
	require.Equal(t, data, Data())
}

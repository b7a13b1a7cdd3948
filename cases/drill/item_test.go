package drill

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
)

func TestAnItemIsKeptWhole(t *testing.T) {
	t.Parallel()
	everyQuestion(t, func(t *testing.T, it Item) {
		back, err := Decode(cases.Builtin(), it.Encode())
		require.NoError(t, err)
		require.Equal(t, it.r, back.r)
		require.Equal(t, it.Face(), back.Face())
		require.Equal(t, it.Past(), back.Past())
		require.Equal(t, mark(t, it, right(t, it)), mark(t, back, right(t, it)))
		sound, err := it.Sound(0, 5)
		again, err2 := back.Sound(0, 5)
		require.Equal(t, err, err2)
		require.Equal(t, sound, again)
	})
}

func TestWhatIsNoItemIsRefused(t *testing.T) {
	t.Parallel()
	k, _ := KindOf("crackle-or-wheeze")
	good := whole(t, k, "cat", 1)[0].Encode()
	for n := range len(good) { // cut short anywhere
		_, err := Decode(cases.Builtin(), good[:n])
		require.ErrorIs(t, err, ErrItem)
	}
	for name, change := range map[string]func(*record){
		"kind":     func(r *record) { r.Kind = "horoscope" },
		"question": func(r *record) { r.Ask = "heart rate" },
		"species":  func(r *record) { r.Species = "dragon" },
		"values":   func(r *record) { r.Values = r.Values[:1] },
		"value":    func(r *record) { r.Values[0] = "song" },
		"with":     func(r *record) { r.With = []placed{{Field: "wings", Value: "two"}} },
		"sites":    func(r *record) { r.Sites = nil },
		"site":     func(r *record) { r.Sites[0] = "tail" },
		"seed":     func(r *record) { r.Seed = r.Seed[:3] },
		"age":      func(r *record) { r.Animal.Age = "old" },
		"weight":   func(r *record) { r.Animal.Weight = "heavy" },
	} {
		var r record
		require.NoError(t, json.Unmarshal(good, &r))
		change(&r)
		data, err := json.Marshal(r)
		require.NoError(t, err)
		_, err = Decode(cases.Builtin(), data)
		require.ErrorIs(t, err, ErrItem, name)
	}
}

func TestADrillThatIsNotThere(t *testing.T) {
	t.Parallel()
	for _, x := range [][2]string{{"horoscope", "dog"}, {"murmurs", "dragon"}, {"", ""}} {
		_, err := Draw(cases.Builtin(), x[0], x[1], 1, nil, cases.SeedOf(1))
		require.ErrorIs(t, err, ErrKind)
	}
	_, err := Draw(nil, "murmurs", "dog", 1, nil, cases.SeedOf(1))
	require.ErrorIs(t, err, ErrKind)
	_, err = Draw(cases.Builtin(), "murmurs", "dog", 1, []string{"", "a/b", "x/y/z/w/v", strings.Repeat("/", 90)}, cases.SeedOf(1))
	require.NoError(t, err, "what nobody asked counts for nothing")
}

// The same seed gives the same drill on every processor: the digest was made once,
// and anew whenever kinds.yaml changes.
func TestTheSameSeedTheSameDrill(t *testing.T) {
	t.Parallel()
	h := sha256.New()
	for _, k := range Kinds() {
		for _, species := range k.Species {
			for _, it := range whole(t, k, species, 42) {
				h.Write(it.Encode())
			}
		}
	}
	require.Equal(t, "60e63ff64780943afb93801b7e7992f77c5db60107d7287eea349770d0973c97", hex.EncodeToString(h.Sum(nil)))
}

func TestAnswersThatCannotBeRead(t *testing.T) {
	t.Parallel()
	items := map[string]Item{}
	for _, id := range []string{"murmurs", "heart-rates", "ranges", "refill", "which-limb", "grade-3-or-4"} {
		k, _ := KindOf(id)
		items[id] = whole(t, k, "horse", 3)[0]
	}
	for _, x := range []struct {
		kind, member string
		a            Answer
	}{
		{"murmurs", "value", Answer{}},
		{"murmurs", "value", Answer{Value: "song"}},
		{"which-limb", "value", Answer{Value: "tail"}},
		{"grade-3-or-4", "value", Answer{Value: "3"}},
		{"refill", "value", Answer{Value: strings.Repeat("9", 500)}},
		{"heart-rates", "value", Answer{}},
		{"heart-rates", "value", Answer{Value: "many"}},
		{"heart-rates", "value", Answer{Value: "-40"}},
		{"heart-rates", "value", Answer{Value: rubric.NotExamined}},
		{"heart-rates", "over", Answer{Value: "40", Over: "a while"}},
		{"heart-rates", "over", Answer{Value: "40", Over: "61"}},
		{"ranges", "low", Answer{Value: "40", High: "44"}},
		{"ranges", "high", Answer{Value: "40", Low: "28"}},
		{"ranges", "high", Answer{Value: "40", Low: "44", High: "28"}},
		{"ranges", "value", Answer{Low: "28", High: "44"}},
		{"ranges", "interpretation", Answer{Value: "40", Low: "28", High: "44", Interpretation: "odd"}},
	} {
		r, err := items[x.kind].Answer(x.a)
		var bad *rubric.MemberError
		require.ErrorAs(t, err, &bad, "%s %+v", x.kind, x.a)
		require.Equal(t, x.member, bad.Member, "%s %+v", x.kind, x.a)
		require.Less(t, len(err.Error()), 300)
		require.Zero(t, r.Mark)
		require.Empty(t, r.Actual, "a bad answer is told nothing")
	}
}

// A count may be written as it is on a sheet.
func TestAFigureIsReadAsOnTheSheet(t *testing.T) {
	t.Parallel()
	k, _ := KindOf("heart-rates")
	it := whole(t, k, "dog", 3)[0]
	a := right(t, it)
	for _, text := range []string{a.Value, " " + a.Value + " ", a.Value + "/min", a.Value + " bpm"} {
		require.Equal(t, full, mark(t, it, Answer{Value: text}).Mark, text)
	}
}

func TestAFileThatIsBrokenIsRefused(t *testing.T) {
	t.Parallel()
	for problem, text := range map[string]string{
		`no ask "b"`:             "asks: [{id: a, form: value}]\nkinds: [{id: k, items: 1, asks: [b]}]",
		`"song" is no form`:      "asks: [{id: a, form: song}]\nkinds: [{id: k, items: 1, asks: [a]}]",
		"needs asks and items":   "asks: [{id: a, form: value}]\nkinds: [{id: k, items: 0, asks: [a]}]",
		"field colour not found": "asks: [{id: a, form: value, colour: red}]",
		"more than one document": "names: [a]\n---\nnames: [b]",
	} {
		_, err := parse([]byte(text))
		require.ErrorContains(t, err, problem)
	}
}

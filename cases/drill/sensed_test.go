package drill

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"image/gif"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
	"dewclaw/rubric"
)

func TestEveryQuestionHasItsMedia(t *testing.T) {
	t.Parallel()
	everyQuestion(t, func(t *testing.T, it Item) {
		face := it.Face()
		require.NotEmpty(t, face.Clips)
		require.NotEmpty(t, face.Words)
		require.NotEmpty(t, face.Step)
		for which := range face.Clips {
			sound, noSound := it.Sound(which, 7)
			picture, noPicture := it.Picture(which, 7)
			switch face.Senses {
			case "sound":
				require.NoError(t, noSound)
				require.Equal(t, "RIFF", string(sound[:4]))
				require.EqualValues(t, len(sound)-8, binary.LittleEndian.Uint32(sound[4:]))
			case "picture":
				require.NoError(t, noPicture)
				if picture.Type == "image/gif" {
					_, err := gif.DecodeAll(bytes.NewReader(picture.Bytes))
					require.NoError(t, err)
				} else {
					require.Equal(t, "image/svg+xml", picture.Type)
				}
			default:
				require.Equal(t, "words", face.Senses)
				require.NotEmpty(t, it.Words(which))
			}
		}
		for _, which := range []int{-1, len(face.Clips)} {
			_, err := it.Sound(which, 0)
			require.ErrorIs(t, err, cases.ErrNothingThere)
			_, err = it.Picture(which, 0)
			require.ErrorIs(t, err, cases.ErrNothingThere)
			require.Empty(t, it.Words(which))
		}
		if face.Count || it.ask.Field == "crt" {
			require.Empty(t, it.Words(0), "words would count for the student")
		}
	})
}

// everyQuestion calls a test for each question and species, with one item.
func everyQuestion(t *testing.T, f func(t *testing.T, it Item)) {
	t.Helper()
	for _, k := range Kinds() {
		if k.ID == "mixed" {
			continue // holds the questions of the others
		}
		for _, species := range k.Species {
			for _, a := range k.of(cases.Builtin().Catalogue(species)) {
				t.Run(a.ID+" "+species, func(t *testing.T) {
					t.Parallel()
					f(t, one(t, k, a, species))
				})
			}
		}
	}
}

// one is an item with a given question.
func one(t *testing.T, k Kind, a *ask, species string) Item {
	t.Helper()
	for seed := range uint64(200) {
		it, err := Draw(cases.Builtin(), k.ID, species, 1, nil, cases.SeedOf(seed))
		require.NoError(t, err)
		if it.ask == a {
			return it
		}
	}
	t.Fatalf("%s is never asked of a %s", a.ID, species)
	return Item{}
}

// others are items that differ from one in the truth and in nothing else.
func others(t *testing.T, it Item) []Item {
	t.Helper()
	var out []Item
	add := func(change func(*record)) {
		r := it.r
		r.Values = slices.Clone(r.Values)
		change(&r)
		r.With = slices.DeleteFunc(slices.Clone(r.With), func(w placed) bool { return w.Field == "heart.murmur" && it.ask.Field == "heart.timing" })
		if it.ask.Field == "heart.timing" && r.Values[0] != "none" {
			r.With = append(r.With, placed{"heart.murmur", r.Sites[0], "4"}) // its time is heard where it is
		}
		other, err := build(cases.Builtin(), it.kind, it.ask, r)
		require.NoError(t, err)
		out = append(out, other)
	}
	switch it.ask.Form {
	case "value":
		for _, v := range it.ask.Values {
			add(func(r *record) { r.Values[0] = v })
		}
	case "pair":
		for _, v := range pairs(it.ask.Values) {
			add(func(r *record) { r.Values = strings.Split(v, pairMark) })
		}
	case "place":
		for _, s := range append(slices.Clone(it.r.Sites), "") {
			add(func(r *record) { r.Site = s })
		}
	case "class":
		for _, c := range it.ask.Classes {
			low, _, err := span(strings.Split(c.Span+c.ID, "..")[0])
			if c.Span == "" {
				low, _, err = span(c.ID)
			}
			require.NoError(t, err)
			add(func(r *record) { r.Class, r.Values[0] = c.ID, low.String() })
		}
	default:
		low, high, err := span(it.ask.Spread[it.r.Species])
		require.NoError(t, err)
		for _, m := range []rubric.Milli{low, (low + high) / 2000 * 1000, high} {
			add(func(r *record) { r.Values[0] = m.String() })
		}
	}
	require.Greater(t, len(out), 1)
	return out
}

// What a student may have before the answer is the same for every truth, but for
// what is to be heard and seen; and that differs, so that it can be told.
func TestNothingShowsTheAnswerButTheSenses(t *testing.T) {
	t.Parallel()
	everyQuestion(t, func(t *testing.T, it Item) {
		face, sizes, kinds, sensed := it.Face(), map[int]bool{}, map[string]bool{}, map[[32]byte]string{}
		for _, other := range others(t, it) {
			require.Equal(t, face, other.Face())
			require.Equal(t, it.Place(), other.Place())
			require.Equal(t, it.Skill(), other.Skill())
			h := sha256.New()
			for which := range face.Clips {
				if sound, err := other.Sound(which, 3); err == nil {
					sizes[len(sound)] = true
					h.Write(sound)
				}
				if picture, err := other.Picture(which, 3); err == nil {
					sizes[len(picture.Bytes)], kinds[picture.Type] = true, true
					h.Write(picture.Bytes)
				}
				if face.Senses == "words" {
					h.Write([]byte(other.Words(which)))
				}
			}
			sum := [32]byte(h.Sum(nil))
			require.Empty(t, sensed[sum], "%s is as %s", other.truth(), sensed[sum])
			sensed[sum] = other.truth()
		}
		require.LessOrEqual(t, len(sizes), 1)
		require.LessOrEqual(t, len(kinds), 1)
	})
}

// Who counts the clip over the seconds asked is right, or nearly: one event more
// or fewer lies within the tolerance.
func TestWhoCountsTheClipIsRight(t *testing.T) {
	t.Parallel()
	everyDrill(t, func(t *testing.T, k Kind, species string) {
		for _, it := range whole(t, k, species, 9) {
			if !it.Face().Count || it.ask.Form != "figure" {
				continue
			}
			_, e, err := it.clip(0)
			require.NoError(t, err)
			for _, phase := range []uint64{0, 1 << 62, 3 << 62} {
				n, err := it.patients[0].Count(e, it.ask.Field, phase, it.ask.Over)
				require.NoError(t, err)
				a := Answer{Value: strconv.Itoa(n * 60 / it.ask.Over), Over: strconv.Itoa(it.ask.Over)}
				require.Equal(t, full, mark(t, it, a).Mark, "%s: counted %s", it.truth(), a.Value)
			}
		}
	})
}

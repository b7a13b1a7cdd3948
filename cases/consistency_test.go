package cases

import (
	"cmp"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"dewclaw/rubric"
)

// linkedCase is a case whose truth is the whole of what a row of links.yaml says.
const linkedCase = `case: linked
title: Comes to be looked at
species: dog
situation: routine
signalment: {name: Fenn, breed: crossbreed, sex: female neutered, age: 6 y, weight: 18 kg}
presenting: Comes to be looked at.
demeanour: calm
truth:
`

// problemsOfLinks are the problems that the table of signs finds in a truth.
func problemsOfLinks(t *testing.T, species, truth string) []Problem {
	t.Helper()
	text := strings.Replace(linkedCase, "species: dog", "species: "+cmp.Or(species, "dog"), 1)
	_, problems := Builtin().ParseCase("linked.yaml", []byte(text+indent(truth)))
	for _, p := range problems {
		require.NotRegexp(t, `there is no|has no site|charted by site|neither plainly`, p.Message, "the example itself is right")
	}
	return slices.DeleteFunc(problems, func(p Problem) bool { return !strings.Contains(p.Message, "(rule ") })
}

func indent(truth string) string { return "  " + strings.ReplaceAll(truth, "\n", "\n  ") + "\n" }

// Every row of the table catches the cases that break it, at the place that
// breaks it, and lets the mended ones go.
func TestEveryLinkCatchesWhatBreaksIt(t *testing.T) {
	data, err := os.ReadFile("../testdata/cases/links.yaml")
	require.NoError(t, err)
	var examples map[string][]struct{ Species, Broken, At, Mended string }
	require.NoError(t, yaml.Unmarshal(data, &examples))
	require.Len(t, examples, len(links), "an example for every row and no other")
	for _, l := range Links() {
		require.NotEmpty(t, examples[l.ID], l.ID)
		for _, x := range examples[l.ID] {
			at := ParsePlace(x.At)
			line, col := whereIs(t, x.Broken, at)
			var hit bool
			for _, p := range problemsOfLinks(t, x.Species, x.Broken) {
				hit = hit || strings.Contains(p.Message, "(rule "+l.ID+")") && p.Line == line && p.Col == col
			}
			require.True(t, hit, "%s: nothing at %d:%d for\n%s\nbut %v", l.ID, line, col, x.Broken, problemsOfLinks(t, x.Species, x.Broken))
			require.Empty(t, problemsOfLinks(t, x.Species, x.Mended), "%s:\n%s", l.ID, x.Mended)
		}
	}
}

// whereIs finds the place of a truth in the file: of its key, or of its site's.
func whereIs(t *testing.T, truth string, at rubric.Place) (line, col int) {
	t.Helper()
	for i, text := range strings.Split(linkedCase+indent(truth), "\n") {
		if !strings.HasPrefix(text, "  "+at.Field+":") {
			continue
		}
		if at.Site == "" {
			return i + 1, 3
		}
		return i + 1, strings.Index(text, at.Site+":") + 1
	}
	t.Fatalf("%v does not stand in %q", at, truth)
	return 0, 0
}

// Every row says in words what must agree, why, and who says so; and its
// fields and choices are those of some catalogue, or it could never catch
// anything.
func TestLinksAreWholeAndKnown(t *testing.T) {
	seen := map[string]bool{}
	for _, l := range Links() {
		require.False(t, seen[l.ID], l.ID)
		seen[l.ID] = true
		for _, text := range []string{l.Say, l.Why, l.Source, l.Words()} {
			require.Greater(t, len(text), 15, l.ID)
		}
		require.True(t, len(l.Then) > 0 != (len(l.Never) > 0) != (l.Apart > 0), l.ID)
		for _, s := range slices.Concat(l.When, l.Then, l.Never) {
			for _, value := range append(slices.Clone(s.Is), s.Not...) {
				require.True(t, knownSign(s, value), "%s: %s %s", l.ID, s.Field, value)
			}
		}
	}
}

// notYet are words that no catalogue has today and that mean the same.
var notYet = map[string]bool{"mm.colour white": true}

func knownSign(s Sign, value string) bool {
	if notYet[s.Field+" "+value] {
		return true
	}
	l := Builtin()
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		for i := range c.Fields {
			f := &c.Fields[i]
			if !s.names(c, f) {
				continue
			}
			reading := value == "abnormal" || !f.Chosen() && slices.Contains([]string{readLow, readNormal, readHigh}, value)
			if reading || f.Choice(value) != nil {
				return true
			}
		}
	}
	return false
}

// A patient as drawn is held to the same table, so that what two seeds draw
// apart is caught too; and its faults are named.
func TestFaultsOfAPatient(t *testing.T) {
	l := Builtin()
	c := *l.Case("tansy")
	draw := func(truth ...Truth) []Fault {
		c.Truth = append(slices.Clone(l.Case("tansy").Truth), truth...)
		p, err := NewPatient(l, &c, SeedOf(1))
		require.NoError(t, err)
		return p.Faults()
	}
	require.Empty(t, draw())
	faults := draw(Truth{Field: "pulse.synchrony", Values: []string{"missing beats"}})
	require.Len(t, faults, 1)
	require.Equal(t, "rule deficit-rhythm", faults[0].What)
	require.Equal(t, "pulse.synchrony is missing beats", faults[0].Got)
	require.Contains(t, faults[0].Bound, "early or irregular beats")

	// A bitch has no step for the testes.
	faults = draw(Truth{Field: "testes.feel", Values: []string{"hot"}})
	require.Len(t, faults, 1)
	require.Equal(t, "testes.feel", faults[0].What)
	require.Contains(t, faults[0].Got, "no step that exists for this patient shows it")

	// Between normal and plainly abnormal: 39.2 is the limit, 39.9 that of the
	// grey zone (rubric/normal/ranges.csv), .2 the tolerance.
	for value, want := range map[string]int{"39.2": 0, "39.3": 1, "40": 1, "40.1": 0} {
		faults = draw(Truth{Field: "temperature", Values: []string{value}})
		require.Len(t, faults, want, value)
	}
	require.Equal(t, Fault{"temperature", "40", "37.7..39.2, or at most 37, or at least 40.1"}, draw(Truth{Field: "temperature", Values: []string{"40"}})[0])
}

// No patient of the library contradicts itself, whatever the seed.
func TestLibraryHasNoFaults(t *testing.T) {
	everyPatient(t, 20, func(t *testing.T, p *Patient) {
		require.Empty(t, p.Faults())
	})
}

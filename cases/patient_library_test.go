package cases

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// everyPatient draws every case of the library with some seeds, several at once.
func everyPatient(t *testing.T, seeds uint64, do func(t *testing.T, p *Patient)) {
	t.Helper()
	l := Builtin()
	require.NotEmpty(t, l.Cases())
	for _, c := range l.Cases() {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			for seed := range seeds {
				p, err := NewPatient(l, c, SeedOf(seed))
				require.NoError(t, err)
				do(t, p)
			}
		})
	}
}

// Every field has a truth that can be charted.
func TestLibraryTruthsCanBeCharted(t *testing.T) {
	everyPatient(t, 8, func(t *testing.T, p *Patient) {
		for i := range p.cat.Fields {
			f := &p.cat.Fields[i]
			for _, site := range sitesOf(f) {
				at := rubric.Place{Field: f.ID, Site: site}
				value := p.truth.at(at)
				require.NoError(t, checkValue(f, rubric.Act{Value: value}), "%v %q", at, value)
				require.NotEmpty(t, value, at)
			}
		}
		require.LessOrEqual(t, len(p.cat.Steps), maxSteps)
		require.LessOrEqual(t, len(p.cat.Handling), 64)
		require.LessOrEqual(t, len(p.kase.Hazards)+len(p.cat.Hazards), maxHazards)
	})
}

// Whatever is examined, something is sensed of every field that the step shows,
// and what is sensed neither is the charted word nor gives a rate.
func TestLibraryPercepts(t *testing.T) {
	everyPatient(t, 2, func(t *testing.T, p *Patient) {
		var state []byte
		for i := range p.cat.Steps {
			s := &p.cat.Steps[i]
			for _, site := range oneOrMore(s.Sites) {
				if !p.Applies(s.ID) {
					continue
				}
				out, err := p.Apply(state, rubric.Act{Kind: rubric.Examine, Step: s.ID, Site: site, Manner: "gentle"})
				require.NoError(t, err)
				require.LessOrEqual(t, len(out.State), maxState)
				require.Equal(t, len(out.Shown), len(out.Percepts))
				p.checkPercepts(t, out)
				if out.Ended != "" || out.Refused {
					state = nil // begin anew with the rest
					continue
				}
				state = out.State
			}
		}
	})
}

func (p *Patient) checkPercepts(t *testing.T, out rubric.Outcome) {
	t.Helper()
	for i, pc := range out.Percepts {
		f := p.cat.Field(pc.Field)
		require.Equal(t, pc.Sense == "rising", pc.Words == "", pc.Field)
		switch pc.Sense {
		case "sound", "picture", "words":
			require.NotEqual(t, out.Shown[i].Value, pc.Words, "%s has no cue", pc.Field)
			if !f.Chosen() && pc.Sense != "words" {
				require.NotContains(t, pc.Words, out.Shown[i].Value, pc.Field)
			}
			require.True(t, pc.Sense != "words" || f.Kind != "count")
		case "reading", "rising":
			require.False(t, f.Chosen(), pc.Field)
		default:
			t.Fatalf("%s is sensed by %q", pc.Field, pc.Sense)
		}
	}
}

func BenchmarkNewPatient(b *testing.B) {
	l := Builtin()
	for b.Loop() {
		if _, err := NewPatient(l, l.Cases()[0], SeedOf(1)); err != nil {
			b.Fatal(err)
		}
	}
}

// What comes with age or sex is drawn for nobody else: no blue lens in a
// kitten, no milk in a tom (common practice, no source).
func TestVariantsFitAgeAndSex(t *testing.T) {
	l := Builtin()
	old := map[string]bool{}
	for _, id := range []string{"pilchard", "dibs", "quince", "tansy", "nettle", "quaker"} {
		k := l.Case(id)
		stated := map[string]bool{}
		for _, tr := range k.Truth {
			stated[tr.Field] = true
		}
		for seed := range uint64(60) {
			p, err := NewPatient(l, k, SeedOf(seed))
			require.NoError(t, err)
			for i := range p.cat.Fields {
				f := &p.cat.Fields[i]
				for _, site := range sitesOf(f) {
					value := p.truth.at(rubric.Place{Field: f.ID, Site: site})
					ch := f.Choice(value)
					if ch == nil || stated[f.ID] {
						continue
					}
					require.True(t, ch.Applies.Match(k.Signalment), "%s: %s %s", id, f.ID, value)
					old[id] = old[id] || ch.Applies.Age == "old"
				}
			}
		}
	}
	require.True(t, old["quaker"], "at nine years some of it is met")
	require.False(t, old["pilchard"] || old["dibs"] || old["quince"] || old["tansy"])
}

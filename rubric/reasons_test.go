package rubric_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"dewclaw/rubric"
	"dewclaw/rubric/say"
)

// spoken knows a label for every id of the tests' patients: the id without its dots.
type spoken struct{}

func plainly(id string) string           { return strings.NewReplacer(".", " ", "_", " ").Replace(id) }
func (spoken) Units(string) []string     { return nil }
func (spoken) Step(id string) string     { return plainly(id) }
func (spoken) Field(id string) string    { return plainly(id) }
func (spoken) Value(_, v string) string  { return v }
func (spoken) Site(s string) string      { return s }
func (spoken) Stage(id string) string    { return plainly(id) }
func (spoken) Region(id string) string   { return plainly(id) }
func (spoken) Problem(id string) string  { return plainly(id) }
func (spoken) Topic(id string) string    { return plainly(id) }
func (spoken) Handling(id string) string { return plainly(id) }

// Every line of real reports is a sentence without an id in it.
func TestEveryLineIsASentence(t *testing.T) {
	worlds := []*world{sick(t, "veterinary"), sick(t, "technician"), gasping(t, "veterinary"), gasping(t, "technician"), newWorld(t, "veterinary", "routine")}
	seen := map[string]bool{}
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.SampledFrom(worlds).Draw(t, "world")
		done, missing := imperfect(t, w)
		acts := spoil(t, w, w.visit(done))
		if len(missing) > 0 && w.step(missing[0]).Kind == rubric.Examine {
			acts = beforeEnd(acts, w.chart(missing[0]))
		}
		rep := w.grade(acts[:rapid.IntRange(0, len(acts)).Draw(t, "acts")])
		say.Fill(&rep, spoken{})
		for _, d := range rep.Domains {
			for _, l := range d.Lines {
				seen[l.Code] = true
				require.Regexp(t, `^“?[\p{Lu}0-9].*\.$`, l.Reason)
				require.NotRegexp(t, `[a-z]\.[a-z]|[{}|_]|handle:|  |nothing of nothing`, l.Reason, l.Code)
			}
		}
		for _, e := range rep.Critical {
			require.NotEmpty(t, e.Why)
		}
	})
	t.Logf("%d of %d codes met", len(seen), len(rubric.Codes()))
	require.Greater(t, len(seen), 40)
}

package cases

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// The worked example of the marks: a murmur of 4 (major, 6) and a short hip
// (minor, 3) share the .75 of 100 points for what is abnormal, so the murmur is
// worth 75 x 6 / 9 = 50: .6 for the call, .2 for its site, .2 for its grade
// (the design's figures). Without loudness the grade's .2 goes to the call.
func TestLoudnessIsNotMarkedWhereSoundsAreSeenOrRead(t *testing.T) {
	p := smallPatient(t, 5, func(c *Case) { // one that is heard at its place and nowhere else
		c.Truth = append(c.Truth, Truth{Field: "heart.murmur", Site: "left base", Values: []string{"none"}}, Truth{Field: "heart.murmur", Site: "right apex", Values: []string{"none"}})
	})
	r := smallRubric()
	r.Weights = rubric.Weights{Findings: 100}
	for _, row := range []struct {
		name, site, value string
		heard, otherwise  rubric.Points
	}{
		{"right in everything", "left apex", "4", 50_000, 50_000},
		{"within a grade", "left apex", "3", 50_000, 50_000},
		{"three grades off", "left apex", "1", 40_000, 50_000},
		{"two grades off", "left apex", "6", 40_000, 50_000},
		{"the right grade, another place", "right apex", "4", 40_000, 40_000},
		{"another grade, another place", "right apex", "1", 30_000, 40_000},
		{"called normal", "left apex", "none", -10_000, -10_000},
		{"left blank", "left apex", "", 0, 0},
	} {
		acts := []rubric.Act{
			examine("heart.auscultate", "left apex", 15), examine("heart.auscultate", "left base", 15), examine("heart.auscultate", "right apex", 15),
			examine("hip.move", "right", 15),
			{Kind: rubric.Record, Field: "heart.murmur", Site: row.site, Value: row.value},
		}
		played := play(t, p, acts...)
		heard, err := p.Key(r)
		require.NoError(t, err)
		require.Equal(t, row.heard, murmurPoints(t, rubric.Grade(r, heard, played)), row.name)
		otherwise, err := p.Key(r, WithoutLoudness())
		require.NoError(t, err)
		require.Equal(t, row.otherwise, murmurPoints(t, rubric.Grade(r, otherwise, played)), row.name)
	}
}

func murmurPoints(t *testing.T, rep rubric.Report) rubric.Points {
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			if l.ID == "findings/heart.murmur@left apex" {
				return l.Points
			}
		}
	}
	t.Fatal("the murmur has no line")
	return 0
}

// A murmur where there is none is a false alarm all the same: that it is there is marked.
func TestPresenceIsMarkedWithoutLoudness(t *testing.T) {
	p := smallPatient(t, 5, func(c *Case) { c.Truth = c.Truth[:1] })
	r := smallRubric()
	r.Weights = rubric.Weights{Findings: 100}
	k, err := p.Key(r, WithoutLoudness())
	require.NoError(t, err)
	rep := rubric.Grade(r, k, play(t, p, examine("heart.auscultate", "left apex", 15),
		rubric.Act{Kind: rubric.Record, Field: "heart.murmur", Site: "left apex", Value: "1"}))
	codes := map[string]bool{}
	for _, l := range rep.Domains[2].Lines {
		codes[l.Code] = true
	}
	require.True(t, codes["false.alarm"], "%v", codes)
}

// Of the shipped species only the murmur is a grade that nothing but an ear can
// tell by its loudness: effort of breathing is seen too, a thrill is felt, the
// contractions of a rumen are counted. All else of the key
// is the same.
func TestOnlyTheMurmurIsGradedByEar(t *testing.T) {
	l := Builtin()
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		var graded []string
		for _, f := range c.Fields {
			if c.GradedByEar(f.ID) {
				graded = append(graded, f.ID)
			}
		}
		require.Equal(t, []string{"heart.murmur"}, graded, species)
	}
	require.False(t, l.Catalogue("dog").GradedByEar("made.up"))

	p, r := smallPatient(t, 5), smallRubric()
	plain, err := p.Key(r)
	require.NoError(t, err)
	other, err := p.Key(r, WithoutLoudness())
	require.NoError(t, err)
	for i := range other.Fields {
		if f := &other.Fields[i]; f.ID == "heart.murmur" {
			require.Equal(t, 7, f.Tolerance)
			f.Tolerance = 1
		}
	}
	require.Equal(t, plain, other)
	again, err := p.Key(r)
	require.NoError(t, err)
	require.Equal(t, plain, again, "the catalogue is left as it is")
}

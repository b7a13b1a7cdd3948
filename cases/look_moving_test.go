package cases

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// Every choice of every field that is seen to move has a row, in every species;
// and no row names what no species has. Counts and times are shown as they are,
// and the gum has a colour for every choice.
func TestEveryChoiceThatIsSeenToMoveHasItsRow(t *testing.T) {
	l := Builtin()
	used := map[string]bool{}
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		for _, row := range movingLooks {
			for _, id := range row.shows {
				f := c.Field(id)
				if f == nil || f.Kind == "count" || f.Kind == "time" || id == "mm.colour" {
					continue
				}
				for _, choice := range f.Of {
					require.NotNil(t, sightOf(id, choice.ID), "%s: %s: %s", species, id, choice.ID)
					used[id+"="+choice.ID] = true
				}
			}
		}
	}
	for _, row := range sights {
		require.True(t, used[row.field+"="+row.choice], "no species has %s: %s", row.field, row.choice)
	}
}

// Every row that is not normal changes its picture, and no two rows of a field
// look the same.
func TestEveryChoiceLooksDifferent(t *testing.T) {
	seen := map[string]map[any]string{}
	for _, row := range sights {
		s := scenery{}
		row.change(&s)
		if seen[row.field] == nil {
			seen[row.field] = map[any]string{}
		}
		if other, ok := seen[row.field][s]; ok {
			require.True(t, row.choice == "open mouth" && other == "panting", "%s: %s looks like %s", row.field, row.choice, other)
		}
		seen[row.field][s] = row.choice
	}
}

// watches are the acts at which a patient can be watched.
func watches(p *Patient) (acts []rubric.Act) {
	for i := range p.cat.Steps {
		step := &p.cat.Steps[i]
		row := lookOf(step)
		if row == nil || !p.Applies(step.ID) || !slices.ContainsFunc(movingLooks, func(l look) bool { return l.name == row.name }) {
			continue
		}
		for _, site := range step.Sites {
			acts = append(acts, examine(step.ID, site, 5))
		}
		if len(step.Sites) == 0 {
			acts = append(acts, examine(step.ID, "", 5))
		}
	}
	return acts
}

// Every patient can be watched at every place, and the pictures of a kind have
// one length in bytes.
func TestEveryPatientIsWatched(t *testing.T) {
	l := Builtin()
	sizes := map[string]int{}
	for _, k := range l.Cases() {
		p, err := NewPatient(l, k, SeedOf(3))
		require.NoError(t, err)
		for _, act := range watches(p) {
			e := alone(t, p, act)
			if e.Outcome.Refused {
				continue
			}
			pic, err := p.Picture(e, 12345)
			require.NoError(t, err, "%s %s", k.ID, act.Step)
			require.Equal(t, "image/gif", pic.Type)
			name := lookOf(p.cat.Step(act.Step)).name
			if sizes[name] == 0 {
				sizes[name] = len(pic.Bytes)
			}
			require.Len(t, pic.Bytes, sizes[name], "%s %s", k.ID, act.Step)
		}
	}
	require.Len(t, sizes, len(movingLooks))
}

// A gait shows the limb that is watched from its own side, and the lameness of
// no other: that has to be looked at for itself.
func TestGaitShowsTheLimbThatIsWatched(t *testing.T) {
	p := anyPatient(t, "dog")
	at := func(site string) senses.Gait {
		p.truth.set(rubric.Place{Field: "lameness", Site: "left hind"}, "4")
		v := view{p: p, step: &Step{Reveals: []string{"lameness"}}, site: site}
		return v.gait()
	}
	require.Equal(t, [4]int{0, 0, 4, 0}, at("left hind").Lame)
	require.False(t, at("left hind").Right)
	require.True(t, at("right hind").Right)
	for _, site := range []string{"right hind", "left fore", "right fore"} {
		require.Equal(t, [4]int{}, at(site).Lame, site)
	}
	// What the step does not show is not drawn.
	v := view{p: p, step: &Step{}, site: "left hind"}
	require.Equal(t, [4]int{}, v.gait().Lame)
}

// A dead patient's chest stands still.
func TestTheDeadDoNotBreathe(t *testing.T) {
	p := smallPatient(t, 1)
	v := view{p: p, state: state{ended: arrested}, step: &Step{}}
	require.Zero(t, v.breath().Rate)
	require.Zero(t, v.breath().Within(60))
}

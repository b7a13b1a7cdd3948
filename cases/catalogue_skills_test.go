package cases

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEveryFieldAndStepHasOneSkill holds that whatever can be marked is of a
// skill, in every species, and that all species have the same ten.
func TestEveryFieldAndStepHasOneSkill(t *testing.T) {
	t.Parallel()
	l := Builtin()
	for _, species := range l.Species() {
		c := l.Catalogue(species)
		require.Equal(t, []string{"rates", "ranges", "heart", "lungs", "head", "nodes", "abdomen", "limbs", "sequence", "conclusions"}, ids(c.Skills, skillID), species)
		for _, f := range c.Fields {
			require.NotNil(t, c.Skill(c.SkillOf(f.ID)), "%s: field %s has the skill %q", species, f.ID, c.SkillOf(f.ID))
		}
		for _, s := range c.Steps {
			require.NotNil(t, c.Skill(c.SkillOfStep(s.ID)), "%s: step %s has the skill %q", species, s.ID, c.SkillOfStep(s.ID))
		}
	}
}

// TestSkillsOfSomeFields says by hand where a field is not of its region's skill.
func TestSkillsOfSomeFields(t *testing.T) {
	t.Parallel()
	c := Builtin().Catalogue("dog")
	for field, skill := range map[string]string{
		"heart.rate": "rates", "resp.rate": "rates", "temperature": "ranges", "heart.murmur": "heart", "heart.thrill": "heart",
		"jugular.filling": "heart", "lung.sounds": "lungs", "resp.effort": "lungs", "mm.colour": "head", "node.popliteal.size": "nodes",
		"abdomen.mass": "abdomen", "lameness": "limbs", "no such field": "",
	} {
		require.Equal(t, skill, c.SkillOf(field), field)
	}
	require.Equal(t, "rates", c.SkillOfStep("breathing.count"))
	require.Equal(t, "heart", c.SkillOfStep("pulse.palpate"))
	require.Empty(t, c.SkillOfStep("no.such"))
}

// TestACatalogueThatNamesNoSuchSkill is told which there are.
func TestACatalogueThatNamesNoSuchSkill(t *testing.T) {
	t.Parallel()
	c := *Builtin().Catalogue("dog")
	c.Regions = append([]Region(nil), c.Regions...)
	c.Regions[0].Skill = "hart"
	problems := checkCatalogue(&c)
	require.Len(t, problems, 1)
	require.Contains(t, problems[0].Message, `there is no skill "hart"; did you mean "heart"?`)
}

package cases

// Skill returns the skill with this id, or nil.
func (c *Catalogue) Skill(id string) *Skill {
	for i := range c.Skills {
		if c.Skills[i].ID == id {
			return &c.Skills[i]
		}
	}
	return nil
}

// SkillOf is the id of the skill that a field belongs to: its own, else its
// region's. Empty where there is no such field, or where a catalogue of a school
// or of an earlier version says nothing.
func (c *Catalogue) SkillOf(field string) string {
	f := c.Field(field)
	if f == nil {
		return ""
	}
	return c.skillOr(f.Skill, f.Region)
}

// SkillOfStep is the id of the skill that a step belongs to, like SkillOf.
func (c *Catalogue) SkillOfStep(step string) string {
	s := c.Step(step)
	if s == nil {
		return ""
	}
	return c.skillOr(s.Skill, s.Region)
}

func (c *Catalogue) skillOr(own, region string) string {
	if own != "" {
		return own
	}
	if g := c.Region(region); g != nil {
		return g.Skill
	}
	return ""
}

// skills checks that every skill has its words and that whatever names one names
// one that is there. A catalogue may say nothing: what belongs to no skill is
// not practised by skill.
func (k *catalogueCheck) skills() {
	all := ids(k.c.Skills, skillID)
	for _, s := range k.c.Skills {
		k.want(s.Label != "", "skills", s.ID, "label", "its name")
		k.want(s.One != "" && s.Many != "", "skills", s.ID, "one and many", "what one and several of its marks are called in a sentence")
	}
	named := func(section, id, skill string) {
		if skill != "" {
			k.known([]string{section, id, "skill"}, "skill", skill, all)
		}
	}
	for _, g := range k.c.Regions {
		named("regions", g.ID, g.Skill)
	}
	for _, s := range k.c.Steps {
		named("steps", s.ID, s.Skill)
	}
	for _, f := range k.c.Fields {
		named("fields", f.ID, f.Skill)
	}
}

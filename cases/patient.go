package cases

import "dewclaw/rubric"

// Patient is one attempt's patient: a case, drawn.
type Patient struct {
	lib  *Library
	kase *Case
	cat  *Catalogue
	seed Seed
}

// NewPatient draws the whole truth of a case for one seed.
func NewPatient(l *Library, c *Case, seed Seed) (*Patient, error) {
	return &Patient{lib: l, kase: c, seed: seed}, nil
}

// Applies says whether a step exists for this patient's sex and age.
func (p *Patient) Applies(stepID string) bool { return true }

// Key compiles case, catalogue, rubric and seed into the engine's answer key.
func (p *Patient) Key(r rubric.Rubric) (rubric.Key, error) { return rubric.Key{}, nil }

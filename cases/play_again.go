package cases

import "dewclaw/rubric"

// LookAgain is a step as it is sensed once more when a visit is over: the patient
// is as it was after the act that left this state, and one that died as it was
// before that. It costs no time, strains nobody, meets no hazard and is not
// refused. The entry stands in no transcript; Sound and Picture take it.
func (p *Patient) LookAgain(state []byte, stepID, site string) (rubric.Entry, error) {
	s, err := p.opens(state)
	if err != nil {
		return rubric.Entry{}, err
	}
	act := rubric.Act{N: 1, Kind: rubric.Examine, Step: stepID, Site: site}
	step, err := p.stepOf(act)
	if err != nil {
		return rubric.Entry{}, err
	}
	act.Seconds = max(step.Seconds, step.Least, step.Takes)
	s.ended, s.open = goesOn, contact{}
	t := &turn{act: act, s: &s}
	p.senses(t, step)
	t.out.Clock, t.out.State = s.clock, s.encode()
	return rubric.Entry{Act: act, Outcome: t.out}, nil
}

// Hint is what a hint says: the stretches of the animal where nothing was examined
// yet, without those of whose regions all are held back. It tells nothing about
// this patient.
func (p *Patient) Hint(state []byte, held func(region string) bool) (string, error) {
	s, err := p.opens(state)
	if err != nil {
		return "", err
	}
	return p.hinted(&s, held), nil
}

package cases

import (
	"slices"

	"dewclaw/rubric"
)

// meets finds the hazards that an examination runs into, and shows the signs of
// those that it comes near. A critical hazard strikes only if an earlier act
// has shown its sign; the first time it shows the sign and spares the student.
func (p *Patient) meets(t *turn, step *Step) {
	struck := false
	for i := range p.hazards {
		h := &p.hazards[i]
		switch {
		case p.hit(t, h, step):
			struck = p.strikes(t, i, struck) || struck
		case h.region == step.Region && reaches(h.Site, t.act.Site):
			p.foreshadows(t, i)
		}
	}
	first := !t.s.has(slices.IndexFunc(p.cat.Steps, func(s Step) bool { return s.ID == step.ID }))
	if !struck && first && slices.Contains(p.withhold, step.ID) {
		t.out.Events = append(t.out.Events, rubric.Event{
			ID: "withhold:" + step.ID, Severity: "major", Sign: before(t.s.sign, t.act.N),
			Why: "This step should wait until the patient is stable.",
		})
	}
}

// hit says whether a step runs into a hazard now.
func (p *Patient) hit(t *turn, h *danger, step *Step) bool {
	if h.Step == "" || (h.Step != step.ID && !(h.Step == "touch" && step.Touch)) || !reaches(h.Site, t.act.Site) {
		return false
	}
	if h.Hold != "" && !p.did(t.s, h.Hold) {
		return false
	}
	return !p.spared(t, h)
}

// spared says whether the care that makes a hazard harmless was taken.
func (p *Patient) spared(t *turn, h *danger) bool {
	switch h.Unless {
	case "":
		return false
	case "gentle":
		return t.act.Manner == "gentle"
	default:
		return p.did(t.s, h.Unless)
	}
}

// reaches says whether a hazard's site is the act's; a hazard without one is everywhere.
func reaches(hazard, act string) bool { return hazard == "" || hazard == act }

// foreshadows shows the sign of a hazard once.
func (p *Patient) foreshadows(t *turn, i int) {
	if h := p.hazards[i]; t.s.peril[i].seen == 0 && h.Sign != "" {
		t.shows(h.Sign)
		t.s.peril[i].seen = t.act.N
	}
}

// strikes makes a hazard happen, at most once a visit, and at most one an act;
// it says whether it did.
func (p *Patient) strikes(t *turn, i int, struck bool) bool {
	h, x := p.hazards[i], &t.s.peril[i]
	sign := before(x.seen, t.act.N)
	p.foreshadows(t, i)
	if struck || x.fired || (h.Severity == "critical" && sign == 0) {
		return false
	}
	x.fired = true
	t.out.Events = append(t.out.Events, rubric.Event{ID: h.ID, Severity: h.Severity, Why: h.Why, Sign: sign})
	return true
}

// before is the number of an act if it came before n, else 0.
func before(act, n int) int {
	if act < n {
		return act
	}
	return 0
}

// seized finds the hazards of a handling action or hold itself.
func (p *Patient) seized(t *turn, h *Handling) {
	struck := false
	for i := range p.hazards {
		d := &p.hazards[i]
		if d.Step == "" && d.Hold == h.ID && !p.spared(t, d) {
			struck = p.strikes(t, i, struck) || struck
		}
	}
}

package cases

import (
	"strconv"
	"strings"

	"dewclaw/rubric"
)

// refuses says whether the animal does not allow a touch now. Patience runs out
// in stages: a sign, a plainer one, refusal, and teeth only after a refusal
// that was not heeded.
func (p *Patient) refuses(t *turn, step *Step, perMille int) bool {
	level := p.painAt(step, t.act.Site)
	sore := level >= 3 && t.act.Manner == "firm" // guards against a firm hand
	warned := t.s.sign > 0
	if !warned || (t.s.tension < tensionRefuse*scale && !(sore && t.s.tension >= tensionPlain*scale)) {
		return false
	}
	const moment = 4 // seconds until the student has let go
	p.pass(t.s, moment)
	p.strains(t.s, step.Stress*perMille/2000)
	t.out.Refused = true
	bitten := t.s.refused > 0 && t.s.tension >= tensionBite*scale && (p.temper.bites || level >= 3)
	if bitten && !p.did(t.s, "muzzle") {
		p.bites(t)
		return true
	}
	t.shows(p.signal(t, "guard"))
	t.s.sign, t.s.refused = t.act.N, t.act.N
	return true
}

func (p *Patient) bites(t *turn) {
	t.shows(p.signal(t, "bite"))
	t.out.Events = append(t.out.Events, rubric.Event{
		ID: "bite", Severity: "critical", Sign: t.s.refused,
		Why: "The animal had refused and was touched again. Give it time and reassurance, hold it differently or muzzle it, or leave the step out and say so.",
	})
	t.s.tension = tensionPlain * scale
	t.s.refused, t.s.sign = 0, t.act.N
}

// painAt is how painful a touch at a step and site is; 0 where it is not.
func (p *Patient) painAt(step *Step, site string) int {
	worst := 0
	for _, a := range p.pain {
		if a.Region == step.Region && (a.Site == "" || site == "" || a.Site == site || strings.HasPrefix(site, a.Site+" ")) {
			worst = max(worst, a.Level)
		}
	}
	return worst
}

// hurts shows pain in the animal: never named, only seen. A gentle hand hurts
// less, a firm one more.
func (p *Patient) hurts(t *turn, step *Step) {
	if !step.Touch {
		return
	}
	level := p.painAt(step, t.act.Site)
	if level == 0 {
		return
	}
	switch t.act.Manner {
	case "gentle":
		level--
	case "firm":
		level++
	}
	if level <= 0 {
		return
	}
	p.strains(t.s, 14*level)
	t.shows(p.signal(t, [...]string{"sore1", "sore2", "sore3", "sore4", "sore4"}[min(level, 5)-1]))
	t.s.sign = t.act.N
}

// tells shows how much patience is left.
func (p *Patient) tells(t *turn, step *Step) {
	if !step.Touch {
		return
	}
	switch {
	case t.s.tension >= tensionPlain*scale:
		t.shows(p.signal(t, "plain"))
		t.s.sign = t.act.N
	case t.s.tension >= tensionSign*scale:
		t.shows(p.signal(t, "uneasy"))
		t.s.sign = t.act.N
	}
}

// signal words a sign; the seed and the act pick one of several, so that the
// same sign does not always come in the same words.
func (p *Patient) signal(t *turn, kind string) string {
	words := p.words[kind]
	d := p.seed.roll("signal:" + kind + ":" + strconv.Itoa(t.act.N))
	return words[d.below(len(words))]
}

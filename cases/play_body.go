package cases

import (
	"dewclaw/rubric"
)

// now is the truth of a field at this moment, as text, as it shows at the site
// where it is examined.
func (p *Patient) now(s *state, f *Field, at rubric.Place, site string) string {
	if moved := moves[f.Vital]; moved != nil {
		return roundTo(moved(p, s, site, p.rest(at)), grainOf(f, p.rest(at))).String()
	}
	return p.truth.at(at)
}

// moves says how vital signs leave their rest.
var moves = map[string]func(p *Patient, s *state, site string, rest rubric.Milli) rubric.Milli{
	"heart_rate":  (*Patient).heartNow,
	"resp_rate":   (*Patient).breathNow,
	"temperature": (*Patient).warmthNow,
}

// share is per mille of a quantity.
func share(m rubric.Milli, perMille int) rubric.Milli { return m * rubric.Milli(perMille) / 1000 }

// risen is per mille reached at usualStress, at the stress of now.
func risen(s *state, perMille int) int { return perMille * (s.stress / scale) / usualStress }

// worn is per mille reached with no reserve left, at the reserve of now.
func worn(s *state, perMille int) int {
	return perMille * (reserveFull - s.reserve/scale) / reserveFull
}

func (p *Patient) heartNow(s *state, _ string, rest rubric.Milli) rubric.Milli {
	return rest + share(rest, risen(s, p.reacts.heart)+worn(s, worseHeart))
}

func (p *Patient) breathNow(s *state, _ string, rest rubric.Milli) rubric.Milli {
	return rest + share(rest, risen(s, p.reacts.breath)+worn(s, worseBreath))
}

// thermometer is how a reading at a site stands to the rectal one: so much
// lower, give or take, in thousandths of a degree. Derived from the
// comparisons in J Am Anim Hosp Assoc 2017;53:291 (axillary 1.2 degC away on
// average, auricular 0.6) and J Jpn Vet Nursing (axillary 0.10 to 0.15 lower in
// the normal range): the sites do not convert, so the scatter is drawn anew for
// every patient.
var thermometer = map[string]struct{ lower, scatter rubric.Milli }{
	"axillary": {600, 600},
	"ear":      {200, 400},
}

func (p *Patient) warmthNow(s *state, site string, rest rubric.Milli) rubric.Milli {
	core := rest + rubric.Milli(risen(s, p.reacts.degrees))
	off, ok := thermometer[site]
	if !ok {
		return core
	}
	d := p.seed.roll("thermometer:" + site)
	return core - off.lower + d.between(0, 2*off.scatter, 100) - off.scatter
}

// handsOn lets seconds pass in which the animal is handled, if touch, or
// examined from where it is. A fragile one loses reserve while it is touched.
func (p *Patient) handsOn(t *turn, seconds int, touch bool) {
	if !touch {
		p.handsOff(t, seconds)
		return
	}
	p.pass(t.s, seconds)
	p.wears(t, seconds, 1000)
}

// handsOff lets seconds pass in peace; a fragile animal recovers a little,
// better on oxygen.
func (p *Patient) handsOff(t *turn, seconds int) {
	p.pass(t.s, seconds)
	if p.fragile.loses == 0 {
		return
	}
	gain := p.fragile.regains * seconds * scale
	if !p.did(t.s, "oxygen") {
		gain /= 4
	}
	t.s.reserve = min(t.s.reserve+gain, reserveFull*scale)
}

// wears takes reserve from a fragile animal, and shows it. It cannot arrest
// before it has shown, at an earlier act, that it is failing.
func (p *Patient) wears(t *turn, seconds, perMille int) {
	if p.fragile.loses == 0 || p.did(t.s, "call") {
		return
	}
	loss := p.fragile.loses * seconds * perMille
	if p.did(t.s, "oxygen") {
		loss = loss * onOxygen / 1000
	}
	left := t.s.reserve - loss
	warned := t.s.worse > 0 && t.s.worse < t.act.N
	if !warned {
		left = max(left, reserveFloor*scale)
	}
	before := t.s.reserve
	t.s.reserve = max(left, 0)
	switch {
	case t.s.reserve == 0:
		p.arrests(t)
	case t.s.reserve <= reserveLow*scale:
		p.failing(t, "low")
	case t.s.reserve <= reserveWorse*scale && before > reserveWorse*scale:
		p.failing(t, "worse")
	}
}

// failing shows that a fragile animal is getting worse.
func (p *Patient) failing(t *turn, how string) {
	t.shows(p.signal(t, how))
	t.s.sign = t.act.N
	if t.s.worse == 0 {
		t.s.worse = t.act.N
	}
}

func (p *Patient) arrests(t *turn) {
	t.shows(p.signal(t, "arrest"))
	t.s.ended = arrested
	t.s.open = contact{}
	t.out.Events = append(t.out.Events, rubric.Event{
		ID: "arrest", Severity: "critical", Sign: t.s.worse,
		Why: "The patient was handled on after it had shown that it was failing. Stop, give oxygen and call the veterinarian at the first such sign.",
	})
}

// strains adds stress and tension; a negative step calms.
func (p *Patient) strains(s *state, step int) {
	add := step * scale
	if step > 0 {
		add = step * p.temper.gain // per mille of the step, times scale
	}
	s.stress = min(max(s.stress+add, 0), 1000*scale)
	s.tension = min(max(s.tension+add, 0), 1000*scale)
}

// did says whether a handling with this id or effect was done and still stands.
func (p *Patient) did(s *state, what string) bool {
	for i := range p.cat.Handling {
		h := &p.cat.Handling[i]
		if h.ID != what && h.Effect != what {
			continue
		}
		if h.Hold && s.hold == i+1 || !h.Hold && i < 64 && s.handled&(1<<i) != 0 {
			return true
		}
	}
	return false
}

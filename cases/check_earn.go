package cases

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// earnCheck looks for what a rubric asks and nobody can give: rows that reach
// no patient, lines that no act earns, and accepted routes that break a rule of
// order of the same patients.
type earnCheck struct {
	l        *Library
	r        rubric.Rubric
	at       file.Rows
	name     string
	problems []Problem
}

// checkEarnable is for a rubric that was read without a problem.
func (l *Library) checkEarnable(name string, data []byte, r rubric.Rubric) []Problem {
	k := &earnCheck{l: l, r: r, at: file.Places(name, data), name: name}
	k.reach()
	for i := range r.Steps {
		k.step(i)
	}
	for i := range r.Rules {
		k.rule(i)
	}
	for i := range r.Routes {
		k.route(i)
	}
	for _, species := range l.Species() {
		for _, situation := range situations {
			k.domains(species, situation)
		}
	}
	return k.problems
}

func (k *earnCheck) say(at file.Place, format string, args ...any) {
	p := Problem{File: k.name, Line: at.Line, Col: at.Col, Message: fmt.Sprintf(format, args...)}
	if !slices.Contains(k.problems, p) {
		k.problems = append(k.problems, p)
	}
}

// reach complains of rows for another track than the rubric's.
func (k *earnCheck) reach() {
	other := func(w rubric.Where) bool { return len(w.Track) > 0 && !slices.Contains(w.Track, k.r.Track) }
	const never = "this row is for the track %s and the rubric is for %s students: it never applies"
	for i := range k.r.Steps {
		if w := k.r.Steps[i].Where; other(w) {
			k.say(k.at.Steps[i], never, strings.Join(w.Track, ", "), k.r.Track)
		}
	}
	for i := range k.r.Rules {
		if w := k.r.Rules[i].Where; other(w) {
			k.say(k.at.Rules[i], never, strings.Join(w.Track, ", "), k.r.Track)
		}
	}
	for i := range k.r.Routes {
		if w := k.r.Routes[i].Where; other(w) {
			k.say(k.at.Routes[i], never, strings.Join(w.Track, ", "), k.r.Track)
		}
	}
}

// named are the catalogues of the species that a row names; those that are
// still to come are passed over.
func (k *earnCheck) named(w rubric.Where) []*Catalogue {
	var out []*Catalogue
	for _, species := range w.Species {
		if c := k.l.Catalogue(species); c != nil {
			out = append(out, c)
		}
	}
	return out
}

// reached are the catalogues that a row applies to.
func (k *earnCheck) reached(w rubric.Where) []*Catalogue {
	if len(w.Species) > 0 {
		return k.named(w)
	}
	var out []*Catalogue
	for _, species := range k.l.Species() {
		out = append(out, k.l.Catalogue(species))
	}
	return out
}

// has says whether a word of a rule or a step row means something here.
func (c *Catalogue) has(word string) bool {
	if how, ok := strings.CutPrefix(word, handlePrefix); ok {
		return c.HandlingRow(how) != nil
	}
	id, site, _ := strings.Cut(word, "@")
	if s := c.Step(id); s != nil {
		return site == "" || slices.Contains(s.Sites, site)
	}
	return word == "ask" || word == "touch" || word == "wait"
}

func (k *earnCheck) step(i int) {
	row := &k.r.Steps[i]
	for _, c := range k.named(row.Where) {
		if !c.has(row.Step) {
			k.say(k.at.Steps[i], "the catalogue of %s has no step %q: no act on this species can earn the line; take %s out of species", c.Species, row.Step, c.Species)
		}
	}
}

// rule complains where a species that the rule names, or every species, lacks
// what comes before or what comes after: the rule would never be judged.
func (k *earnCheck) rule(i int) {
	row := &k.r.Rules[i]
	var dead []string
	reached := k.reached(row.Where)
	for _, c := range reached {
		if !slices.ContainsFunc(row.Before, c.has) || !slices.ContainsFunc(row.After, c.has) {
			dead = append(dead, c.Species)
		}
	}
	if len(dead) > 0 && (len(row.Species) > 0 || len(dead) == len(reached)) {
		k.say(k.at.Rules[i], "rule %q can never be judged for %s: nothing there has one of before and one of after; name other steps or take the species out",
			row.ID, strings.Join(dead, ", "))
	}
}

// route complains of an accepted way that cannot be gone without breaking a
// rule that earns marks from the same patients.
func (k *earnCheck) route(i int) {
	way := &k.r.Routes[i]
	for j := range k.r.Rules {
		rule := &k.r.Rules[j]
		if rule.Weight == 0 || !way.Meets(rule.Where) {
			continue
		}
		for _, c := range k.reached(way.Where) {
			if len(rule.Species) > 0 && !slices.Contains(rule.Species, c.Species) {
				continue
			}
			if first, later := broken(c, &way.Route, &rule.Rule); first != "" {
				k.say(k.at.Routes[i], "route %q breaks rule %q for %s: it has %q only after %q; move the stage, let the step float, or keep the route to other species",
					way.ID, rule.ID, c.Species, first, later)
			}
		}
	}
}

// broken finds a step that a rule wants first and that this route has only
// after one that the rule wants later; empty where there is none.
func broken(c *Catalogue, way *rubric.Route, rule *rubric.Rule) (first, later string) {
	for _, before := range rule.Before {
		early, _, ok := placesIn(c, way, before)
		if !ok {
			continue
		}
		for _, after := range spelled(c, rule.After) {
			if _, late, ok := placesIn(c, way, after); ok && late < early {
				return before, after
			}
		}
	}
	return "", ""
}

// spelled puts the steps for the word touch.
func spelled(c *Catalogue, words []string) []string {
	if !slices.Contains(words, "touch") {
		return words
	}
	var out []string
	for i := range c.Steps {
		if c.Steps[i].Touch {
			out = append(out, c.Steps[i].ID)
		}
	}
	return out
}

// placesIn is the first and the last group of a route in which a step may
// stand; not ok where it is no step or the route does not name its stage.
func placesIn(c *Catalogue, way *rubric.Route, word string) (first, last int, ok bool) {
	id, _, _ := strings.Cut(word, "@")
	s := c.Step(id)
	if s == nil {
		return 0, 0, false
	}
	first, last = math.MaxInt, math.MinInt
	put := func(at int) { first, last, ok = min(first, at), max(last, at), true }
	if region := c.Region(s.Region); region != nil {
		for _, stage := range append([]string{region.Stage}, s.AlsoIn...) {
			g := slices.IndexFunc(way.Order, func(group []string) bool { return slices.Contains(group, stage) })
			for _, where := range floating(way, s, stage) {
				switch {
				case where == "first":
					put(-1)
				case where == "last":
					put(len(way.Order))
				case g >= 0:
					put(g)
				}
			}
		}
	}
	return first, last, ok
}

// floating are the places that a route gives a step of this stage.
func floating(way *rubric.Route, s *Step, stage string) []string {
	places := []string{"in place"}
	for _, f := range way.Floats {
		if slices.Contains(f.Steps, s.ID) {
			return f.Places
		}
		if slices.Contains(f.Stages, stage) {
			places = f.Places
		}
	}
	return places
}

// domains complains where a situation has required steps for a species and a
// domain with marks has nothing that earns them.
func (k *earnCheck) domains(species, situation string) {
	c := k.l.Catalogue(species)
	at, required, measured := file.Place{Line: 1, Col: 1}, false, false
	for i := range k.r.Steps {
		row := &k.r.Steps[i]
		if !row.Match(species, situation, k.r.Track) || !c.has(row.Step) {
			continue
		}
		if !required {
			at, required = k.at.Steps[i], true
		}
		if s := c.Step(row.Step); s != nil {
			measured = measured || slices.ContainsFunc(s.Reveals, func(id string) bool { f := c.Field(id); return f != nil && f.Vital != "" })
		}
	}
	if !required {
		return // this rubric does not mark such patients at all
	}
	if k.r.Weights.Vitals > 0 && !measured {
		k.say(at, "no step required of a %s in a %s examination measures a vital sign: the %d points of vitals can never be earned", species, situation, k.r.Weights.Vitals)
	}
	ordered := slices.ContainsFunc(k.r.Routes, func(w rubric.RouteRow) bool { return w.Match(species, situation, k.r.Track) }) ||
		slices.ContainsFunc(k.r.Rules, func(w rubric.RuleRow) bool { return w.Weight > 0 && w.Match(species, situation, k.r.Track) })
	if k.r.Weights.Order > 0 && !ordered {
		k.say(at, "neither a route nor a rule of order with marks is for a %s in a %s examination: the %d points of order can never be earned", species, situation, k.r.Weights.Order)
	}
}

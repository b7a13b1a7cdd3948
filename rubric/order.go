package rubric

import (
	"slices"
	"strconv"
	"strings"
)

// The parts of Order in thousandths, and the part of the required steps that
// must be done for the whole mark.
const (
	partRules   = 500
	partRoute   = 350
	partReturns = 150
	orderPart   = 800
	lateMost    = 3 // required steps done late that may be left out
)

func itoa(n int) string { return strconv.Itoa(n) }

func (g *run) canOrder() bool { return len(g.k.Steps) >= 2 }

// order marks P (rules), R (route) and F (returns). Up to three required steps
// caught up at the very end are left out of all three where that is better.
func (g *run) order(d *tally) {
	if g.examined() < 2 {
		d.add("steps", 0, d.max, codeShort, nil)
		return
	}
	m := newWalkMap(g)
	best := g.judgeOrder(m, d.max, 0)
	for late := 1; late <= lateMost && best.sum < d.max && g.isLate(late); late++ {
		if r := g.judgeOrder(m, d.max, late); r.sum > best.sum {
			best = r
		}
	}
	g.writeOrder(d, &best)
	g.guard(d, orderPart)
	// What was tried without the late steps has moved what may stand in several
	// places: the walk is shown beside the route nearest to all of it.
	g.rep.Walk = m.walk(m.best(nil).route)
}

// examined counts the steps of the examination that were done: giving oxygen
// is no way over the animal.
func (g *run) examined() int {
	n := 0
	for _, s := range g.firsts {
		if g.k.Steps[s].Kind != Handle {
			n++
		}
	}
	return n
}

// isLate says whether the step that was late-from-last to be done first is required.
func (g *run) isLate(late int) bool {
	return len(g.firsts)-late >= 1 && g.k.Steps[g.firsts[len(g.firsts)-late]].Required
}

// ordering is Order judged with some late steps left out.
type ordering struct {
	late             int
	rules            []ruleMark
	fit              fit
	returns, visited int
	back             []int // acts that went back
	sum              Points
}

// ruleMark is what a rule earned, in parts per million.
type ruleMark struct {
	rule           *Rule
	earned         int64
	judged         bool
	inOrder, pairs int
	before, after  int32 // positions plus 1: the last that should come first, the first that should come after
}

func (g *run) judgeOrder(m *walkMap, limit Points, late int) ordering {
	o := ordering{late: late, rules: make([]ruleMark, len(g.k.Rules))}
	left := g.firsts[len(g.firsts)-late:]
	for i := range g.k.Rules {
		o.rules[i] = g.judgeRule(&g.k.Rules[i], left)
	}
	o.fit = m.best(left)
	o.returns, o.visited, o.back = m.returns(left)
	o.marks(limit, func(_ string, _ int, points, _ Points) { o.sum += points })
	return o
}

// marks hands out the points of every part that can be judged: the parts that
// cannot drop out and the others share their weight.
func (o *ordering) marks(limit Points, put func(part string, i int, points, limit Points)) {
	var ruleSum int64
	for i := range o.rules {
		ruleSum += o.rules[i].weight()
	}
	parts := portions{total: limit}
	for _, p := range [3]struct {
		on     bool
		weight int64
	}{{ruleSum > 0, partRules}, {o.fit.pairs() > 0, partRoute}, {o.visited > 0, partReturns}} {
		if p.on {
			parts.sum += p.weight
		}
	}
	if ruleSum > 0 {
		rules := portions{total: parts.next(partRules), sum: ruleSum}
		for i := range o.rules {
			if w := o.rules[i].weight(); w > 0 {
				m := rules.next(w)
				put("rule", i, share(m, o.rules[i].earned, full), m)
			}
		}
	}
	if n := o.fit.pairs(); n > 0 {
		m := parts.next(partRoute)
		put("route", 0, share(m, max(0, int64(o.fit.with-o.fit.against)), int64(n)), m)
	}
	if o.visited > 0 {
		m := parts.next(partReturns)
		put("returns", 0, share(m, int64(max(0, o.visited-o.returns)), int64(o.visited)), m)
	}
}

// weight is the rule's weight in P: none for a habit, and for a rule that
// cannot be judged because one side of it was not done.
func (m *ruleMark) weight() int64 {
	if !m.judged || m.rule.Tag == "habit" {
		return 0
	}
	return int64(clampTo(m.rule.Weight, 0, 1000))
}

// judgeRule judges by first doings. A side that was not done is not judged:
// what was left out is charged in Completeness, once.
func (g *run) judgeRule(r *Rule, left []int32) ruleMark {
	m := ruleMark{rule: r}
	g.each(r.Before, left, func(b doing) {
		m.before = max(m.before, b.pos)
		g.each(r.After, left, func(a doing) {
			if a.step >= 0 && a.step == b.step && (a.whole || b.whole) {
				return
			}
			m.pairs++
			if b.pos < a.pos {
				m.inOrder++
			}
			if m.after == 0 || a.pos < m.after {
				m.after = a.pos
			}
		})
	})
	m.judged = m.pairs > 0
	switch {
	case !m.judged:
	case r.Kind == "share":
		m.earned = max(0, int64(2*m.inOrder-m.pairs)*full/int64(m.pairs))
	case m.inOrder == m.pairs:
		m.earned = full
	}
	return m
}

// doing is the first doing of something that a rule or precaution names.
type doing struct {
	step  int32 // -1: none of the key's steps
	pos   int32 // position plus 1
	whole bool  // the step at any site
}

// each calls do for the first doing of everything the items name that was
// done, steps in left aside.
func (g *run) each(items []string, left []int32, do func(doing)) {
	for _, item := range items {
		switch {
		case item == "touch":
			for i := range g.k.Steps {
				if g.k.Steps[i].Touch {
					g.one(int32(i), left, do)
				}
			}
		case item == "ask" && g.ask > 0:
			do(doing{-1, g.ask, true})
		case item == "wait" && g.wait > 0:
			do(doing{-1, g.wait, true})
		default:
			g.named(item, left, do)
		}
	}
}

func (g *run) named(item string, left []int32, do func(doing)) {
	if step, ok := g.steps[item]; ok {
		g.one(step, left, do)
		return
	}
	if how, ok := strings.CutPrefix(item, handlePrefix); ok {
		if pos := g.handled[how]; pos > 0 {
			do(doing{-1, pos, true})
		}
		return
	}
	id, site, ok := strings.Cut(item, "@")
	if !ok {
		return
	}
	step, ok := g.steps[id]
	if !ok || slices.Contains(left, step) {
		return
	}
	if i := g.siteOf(step, site); i >= 0 && g.spots[i].first > 0 {
		do(doing{step, g.spots[i].first, false})
	}
}

func (g *run) one(step int32, left []int32, do func(doing)) {
	if d := &g.dids[step]; d.first > 0 && !slices.Contains(left, step) {
		do(doing{step, d.first, true})
	}
}

func (g *run) writeOrder(d *tally, o *ordering) {
	parts := map[string]bool{}
	o.marks(d.max, func(part string, i int, points, limit Points) {
		parts[part] = true
		switch part {
		case "rule":
			g.writeRule(d, &o.rules[i], points, limit)
		case "route":
			g.writeRoute(d, &o.fit, points, limit)
		default:
			g.writeReturns(d, o, points, limit)
		}
	})
	for _, p := range [3][3]string{{"rule", "rules", "no-pair"}, {"route", "route", "no-route"}, {"returns", "returns", "no-stage"}} {
		if !parts[p[0]] {
			d.drop(p[1], p[2])
		}
	}
	g.writeHabits(d, o)
	if o.late > 0 {
		left := g.firsts[len(g.firsts)-o.late:]
		ids, acts := make([]string, 0, lateMost), make([]int, 0, lateMost)
		for _, s := range left {
			ids, acts = append(ids, g.k.Steps[s].ID), append(acts, g.n(g.dids[s].first))
		}
		d.note("late", codeLate, acts, Arg{"steps", join(ids)})
	}
}

func (g *run) writeRule(d *tally, m *ruleMark, points, limit Points) {
	code := codeRuleKept
	switch {
	case m.earned == full:
	case m.rule.Kind == "share":
		code = codeRuleShare
	default:
		code = codeRuleBroken
	}
	g.putRule(d, m, points, limit, code)
}

func (g *run) putRule(d *tally, m *ruleMark, points, limit Points, code string) {
	d.add("rule/"+m.rule.ID, points, limit, code, sorted([]int{g.n(m.before), g.n(m.after)}),
		Arg{"before", join(m.rule.Before)}, Arg{"after", join(m.rule.After)},
		Arg{"right", itoa(m.inOrder)}, Arg{"pairs", itoa(m.pairs)}, Arg{"why", m.rule.Why}, Arg{"source", m.rule.Source})
}

func (g *run) writeHabits(d *tally, o *ordering) {
	for i := range o.rules {
		m := &o.rules[i]
		if m.judged && m.weight() == 0 {
			code := codeHabitBroken
			if m.inOrder == m.pairs {
				code = codeHabitKept
			}
			g.putRule(d, m, 0, 0, code)
		}
	}
}

func (g *run) writeRoute(d *tally, f *fit, points, limit Points) {
	code := codeRoute
	if f.against == 0 {
		code = codeRouteFull
	}
	d.add("route", points, limit, code, nil, Arg{"route", g.k.Routes[f.route].ID},
		Arg{"with", itoa(f.with)}, Arg{"pairs", itoa(f.pairs())})
}

func (g *run) writeReturns(d *tally, o *ordering, points, limit Points) {
	code := codeReturns
	if o.returns == 0 {
		code = codeReturnsNone
	}
	d.add("returns", points, limit, code, o.back, Arg{"returns", itoa(o.returns)}, Arg{"stages", itoa(o.visited)})
}

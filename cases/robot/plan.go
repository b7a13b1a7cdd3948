package robot

import (
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// item is one thing on a student's plan.
type item struct {
	act    rubric.Act
	step   *rubric.Step // of an examine
	first  bool         // first site of its step
	before []int        // items that must come first
	hasty  bool         // counts over a part of the contact
}

// names says whether a word of a rule or precaution means this item.
func (it *item) names(word string) bool {
	switch it.act.Kind {
	case rubric.Examine:
		if word == "touch" {
			return it.step.Touch
		}
		id, site, sited := strings.Cut(word, "@")
		return id == it.act.Step && (!sited || site == it.act.Site)
	case rubric.Handle:
		return word == "handle:"+it.act.How
	case rubric.Ask:
		return word == "ask"
	default:
		return word == "wait"
	}
}

// planner makes a plan from a key.
type planner struct {
	p     *cases.Patient
	k     *rubric.Key
	s     *style
	c     chance
	items []item

	opened int // items of the opening
}

// plan lists what to do in an order that the key accepts.
func (b *planner) plan() []item {
	b.opening()
	b.opened = len(b.items)
	b.examination()
	b.closing()
	b.ensure()
	if !b.s.rough {
		b.precautions()
	}
	b.rules()
	return b.jumble(b.sorted())
}

func (b *planner) add(a rubric.Act) { b.items = append(b.items, item{act: a}) }

// opening is the history, and the handling that comes first.
func (b *planner) opening() {
	for _, topic := range b.k.Topics {
		if !b.c.one(b.s.forget) {
			b.add(rubric.Act{Kind: rubric.Ask, Topic: topic})
		}
	}
	for _, how := range b.handling(false) {
		b.add(rubric.Act{Kind: rubric.Handle, How: how})
	}
}

// closing is the handling that ends a triage.
func (b *planner) closing() {
	for _, how := range b.handling(true) {
		b.add(rubric.Act{Kind: rubric.Handle, How: how})
	}
}

// handling lists the required handling that stands at the end, or not.
func (b *planner) handling(last bool) []string {
	var out []string
	for i := range b.k.Steps {
		how, ok := strings.CutPrefix(b.k.Steps[i].ID, "handle:")
		ends := how == "stop" || how == "call"
		if ok && b.k.Steps[i].Required && ends == last && !b.s.rough && !b.c.one(b.s.forget) {
			out = append(out, how)
		}
	}
	return out
}

// examination lists the steps along the way that the student has, else along
// the first accepted route.
func (b *planner) examination() {
	place := b.places()
	wanted := b.wanted()
	slices.SortStableFunc(wanted, func(x, y *rubric.Step) int { return place(x) - place(y) })
	for _, step := range wanted {
		if b.c.one(b.s.forget) {
			continue
		}
		sites := step.Sites
		if len(sites) == 0 {
			sites = b.anySite(step.ID)
		}
		for i, site := range sites {
			if i > 0 && b.c.one(b.s.forget) {
				continue
			}
			b.items = append(b.items, item{
				act:  rubric.Act{Kind: rubric.Examine, Step: step.ID, Site: site, Seconds: b.seconds(step, i == 0)},
				step: step, first: i == 0,
			})
		}
	}
}

// anySite is the first site of a step whose sites are instead of each other.
func (b *planner) anySite(id string) []string {
	if s := b.p.Catalogue().Step(id); s != nil && len(s.Sites) > 0 {
		return s.Sites[:1]
	}
	return []string{""}
}

// wanted are the steps to do: the required ones; outside triage also the
// first that shows a field which the chart has to hold and no required step shows.
func (b *planner) wanted() []*rubric.Step {
	var out []*rubric.Step
	have := map[string]bool{}
	for i := range b.k.Steps {
		s := &b.k.Steps[i]
		if s.Kind == rubric.Examine && (s.Required || b.s.every) {
			out = append(out, s)
			for _, f := range s.Reveals {
				have[f] = true
			}
		}
	}
	if b.k.Situation == "triage" || b.s.every {
		return out
	}
	for i := range b.k.Steps {
		s := &b.k.Steps[i]
		if s.Kind != rubric.Examine || s.Required || b.p.Withheld(s.ID) {
			continue
		}
		if slices.ContainsFunc(s.Reveals, func(f string) bool { return !have[f] && b.matters(f) }) {
			out = append(out, s)
			for _, f := range s.Reveals {
				have[f] = true
			}
		}
	}
	return out
}

// matters says whether the complaint makes a field worth a step of its own.
func (b *planner) matters(field string) bool {
	return slices.ContainsFunc(b.k.Negatives, func(x rubric.Place) bool { return x.Field == field }) ||
		slices.ContainsFunc(b.k.Findings, func(x rubric.Finding) bool { return x.Field == field })
}

// seconds is how long to stay: what is adequate, and long enough to count.
func (b *planner) seconds(step *rubric.Step, first bool) int {
	n := max(step.Least, 1)
	for i := range b.k.Vitals {
		v := &b.k.Vitals[i]
		if first && v.Window > 0 && slices.Contains(v.Steps, step.ID) {
			n = max(n, v.Window)
		}
	}
	if b.c.one(b.s.hasty) {
		return max(1, n/2)
	}
	return n
}

// precautions ties what the key expects to its place, and makes hands gentle.
func (b *planner) precautions() {
	for i := range b.k.Precautions {
		pre := &b.k.Precautions[i]
		switch {
		case b.c.one(b.s.careless):
		case pre.Kind == "before":
			b.tie(pre.Done, pre.Steps)
		case pre.Kind == "last":
			b.tie(pre.Among, pre.Steps)
		}
	}
	for i := range b.items {
		if b.items[i].step != nil && b.items[i].step.Touch && !b.c.one(b.s.careless) {
			b.items[i].act.Manner = "gentle"
		}
	}
}

// ensure puts one of the things that every precaution asks for on the plan, at
// its beginning.
func (b *planner) ensure() {
	if b.s.rough {
		return
	}
	for i := range b.k.Precautions {
		pre := &b.k.Precautions[i]
		if pre.Kind != "before" && pre.Kind != "done" || b.c.one(b.s.careless) {
			continue
		}
		planned := slices.ContainsFunc(pre.Done, func(word string) bool {
			return slices.ContainsFunc(b.items, func(it item) bool { return it.names(word) })
		})
		if !planned {
			b.bringIn(pre.Done)
		}
	}
}

func (b *planner) bringIn(done []string) {
	for _, word := range done {
		how, ok := strings.CutPrefix(word, "handle:")
		switch {
		case ok && how != "stop" && how != "call":
			b.items = slices.Insert(b.items, b.opened, item{act: rubric.Act{Kind: rubric.Handle, How: how}})
			return
		case ok:
			b.add(rubric.Act{Kind: rubric.Handle, How: how})
			return
		case word == "wait":
			b.items = slices.Insert(b.items, b.opened, item{act: rubric.Act{Kind: rubric.Wait, Seconds: 60}})
			return
		}
	}
}

// rules ties the plan to the rubric's rules of order. A habit weighs less than
// the way: on a drawn way it has no say, and on the student's own only where
// the way does not decide.
func (b *planner) rules() {
	if b.s.rough {
		return
	}
	place := b.places()
	along := func(first, later *item) bool {
		return first.step == nil || later.step == nil || place(first.step) <= place(later.step)
	}
	for i := range b.k.Rules {
		switch r := &b.k.Rules[i]; {
		case earns(r):
			b.tie(r.Before, r.After)
		case b.s.way == nil:
			b.tieWhere(r.Before, r.After, along)
		}
	}
}

// tie makes all items that the first words name come before all that the
// second name; an item that both name is one of the later.
func (b *planner) tie(before, after []string) {
	b.tieWhere(before, after, func(_, _ *item) bool { return true })
}

// tieWhere ties only the pairs that may be tied.
func (b *planner) tieWhere(before, after []string, may func(first, later *item) bool) {
	named := func(words []string) []int {
		var out []int
		for i := range b.items {
			if slices.ContainsFunc(words, b.items[i].names) {
				out = append(out, i)
			}
		}
		return out
	}
	later := named(after)
	first := slices.DeleteFunc(named(before), func(i int) bool { return slices.Contains(later, i) })
	for _, j := range later {
		for _, i := range first {
			if !slices.Contains(b.items[i].before, j) && may(&b.items[i], &b.items[j]) {
				b.items[j].before = append(b.items[j].before, i)
			}
		}
	}
}

// sorted takes the earliest item on the plan for which nothing is outstanding;
// where rules contradict each other, simply the earliest.
func (b *planner) sorted() []item {
	out := make([]item, 0, len(b.items))
	done := make([]bool, len(b.items))
	for range b.items {
		next := -1
		for i := range b.items {
			if done[i] {
				continue
			}
			if next < 0 {
				next = i
			}
			if !slices.ContainsFunc(b.items[i].before, func(j int) bool { return !done[j] }) {
				next = i
				break
			}
		}
		done[next] = true
		out = append(out, b.items[next])
	}
	return out
}

// jumble exchanges steps, each with all its sites, for others on the plan; a
// student who has no order still does both sides of a thing together.
func (b *planner) jumble(items []item) []item {
	var blocks [][]item
	for i := range items {
		n := len(blocks)
		if n > 0 && items[i].step != nil && blocks[n-1][0].step == items[i].step {
			blocks[n-1] = append(blocks[n-1], items[i])
			continue
		}
		blocks = append(blocks, []item{items[i]})
	}
	for i := len(blocks) - 1; i > 0; i-- {
		if b.c.one(b.s.shuffle) {
			j := b.c.below(i + 1)
			blocks[i], blocks[j] = blocks[j], blocks[i]
		}
	}
	return slices.Concat(blocks...)
}

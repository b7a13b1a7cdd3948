package robot

import (
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// Way is one order over the animal that a key accepts: a route of it, with an
// order in every group of stages, a place for everything that floats, and a
// stage for every step that may belong to several.
type Way struct {
	Route  string
	order  [][]string // the route's groups, each in the order in which it is walked
	floats []float
	homes  map[string]string // by step: another stage than its own
	said   []string          // what is not as the route is written
}

// float is something that may stand elsewhere, with the place chosen for it.
type float struct {
	rubric.Float
	place string
}

// String names the route and what in this way is not as it is written.
func (w Way) String() string {
	if len(w.said) == 0 {
		return w.Route
	}
	return w.Route + ", " + strings.Join(w.said, ", ")
}

// IdealAlong does what Ideal does along a way.
func IdealAlong(p *cases.Patient, k rubric.Key, w Way) []rubric.Act {
	return visit(p, k, style{way: &w})
}

// Ways lists the ways that a key accepts, each with at most one thing that is
// not as its route is written: a group in another order, something that floats
// in another of its places, a step in another of its stages. Ways that a rule
// of order with marks forbids are left out.
func Ways(k rubric.Key) []Way {
	var out []Way
	for i := range k.Routes {
		base := wayOf(&k.Routes[i])
		out = append(out, base)
		for g := range base.order {
			for _, other := range orders(base.order[g]) {
				out = append(out, base.reordered(g, other))
			}
		}
		for f := range base.floats {
			for _, place := range base.floats[f].Places {
				if place != base.floats[f].place {
					out = append(out, base.floated(f, place))
				}
			}
		}
		for j := range k.Steps {
			for _, stage := range k.Steps[j].AlsoIn {
				if s := &k.Steps[j]; s.Required && base.hosts(&k, stage) {
					out = append(out, base.moved(s.ID, stage))
				}
			}
		}
	}
	return slices.DeleteFunc(out, func(w Way) bool { return w.broken(&k) })
}

// drawsMost is how often a way is drawn anew because a rule forbids it.
const drawsMost = 50

// DrawWay draws a way out of all that a key accepts: everything that may vary
// varies at once. It is false where the key has no route, or where none of many
// draws keeps the rules.
func DrawWay(k rubric.Key, seed uint64) (Way, bool) {
	c := stream(seed, 9)
	for range drawsMost {
		if len(k.Routes) == 0 {
			break
		}
		w := wayOf(&k.Routes[c.below(len(k.Routes))])
		for g := range w.order {
			w = w.reordered(g, shuffled(w.order[g], c))
		}
		for f := range w.floats {
			w = w.floated(f, w.floats[f].Places[c.below(len(w.floats[f].Places))])
		}
		for j := range k.Steps {
			s := &k.Steps[j]
			homes := append([]string{s.Stage}, s.AlsoIn...)
			if stage := homes[c.below(len(homes))]; s.Required && stage != s.Stage && w.hosts(&k, stage) {
				w = w.moved(s.ID, stage)
			}
		}
		if !w.broken(&k) {
			return w, true
		}
	}
	return Way{}, false
}

func shuffled(stages []string, c chance) []string {
	out := slices.Clone(stages)
	for i := len(out) - 1; i > 0; i-- {
		j := c.below(i + 1)
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// orders are other orders of a group: all of up to three stages, else each
// stage first once, and backwards.
func orders(group []string) [][]string {
	n := len(group)
	switch n {
	case 0, 1:
		return nil
	case 2:
		return [][]string{{group[1], group[0]}}
	case 3:
		a, b, c := group[0], group[1], group[2]
		return [][]string{{a, c, b}, {b, a, c}, {b, c, a}, {c, a, b}, {c, b, a}}
	}
	var out [][]string
	for i := 1; i < n; i++ {
		out = append(out, slices.Concat(group[i:], group[:i]))
	}
	back := slices.Clone(group)
	slices.Reverse(back)
	return append(out, back)
}

// wayOf is a route as it is written: in place what may stand in place.
func wayOf(r *rubric.Route) Way {
	w := Way{Route: r.ID, order: slices.Clone(r.Order)}
	for _, f := range r.Floats {
		place := inPlace
		if !slices.Contains(f.Places, place) && len(f.Places) > 0 {
			place = f.Places[0]
		}
		w.floats = append(w.floats, float{f, place})
	}
	return w
}

// inPlace is a float's place with its stage.
const inPlace = "in place"

func (w Way) reordered(group int, order []string) Way {
	if slices.Equal(w.order[group], order) {
		return w
	}
	w.order = slices.Clone(w.order)
	w.order[group] = order
	return w.says(strings.Join(order, " then "))
}

func (w Way) floated(f int, place string) Way {
	if w.floats[f].place == place {
		return w
	}
	w.floats = slices.Clone(w.floats)
	w.floats[f].place = place
	return w.says(strings.Join(append(slices.Clone(w.floats[f].Stages), w.floats[f].Steps...), " and ") + " " + place)
}

func (w Way) moved(step, stage string) Way {
	homes := map[string]string{step: stage}
	for s, had := range w.homes {
		homes[s] = had
	}
	w.homes = homes
	return w.says(step + " with " + stage)
}

func (w Way) says(what string) Way {
	w.said = append(slices.Clone(w.said), what)
	return w
}

func (w *Way) groupOf(stage string) int {
	return slices.IndexFunc(w.order, func(g []string) bool { return slices.Contains(g, stage) })
}

// hosts says whether the route has a stage, and the stage a required step that
// stands nowhere else: with one that is not gone through no other step can be.
func (w *Way) hosts(k *rubric.Key, stage string) bool {
	return w.groupOf(stage) >= 0 && slices.ContainsFunc(k.Steps, func(s rubric.Step) bool {
		return s.Required && s.Kind == rubric.Examine && s.Stage == stage && len(s.AlsoIn) == 0 && w.floatOf(&s) == nil
	})
}

// placeMost is more than twice the stages that a group has.
const placeMost = 1000

// rank is where a step stands on the way: steps of a lower rank come first.
// What floats first stands beside the first group and after it. A step that is
// with another stage than its own comes after that stage's own steps: before
// them nobody could tell that it is not with its own.
func (w *Way) rank(s *rubric.Step) int {
	switch f := w.floatOf(s); {
	case f == nil || f.place == inPlace:
	case f.place == "first":
		return placeMost - 1
	default:
		return (len(w.order) + 1) * placeMost
	}
	stage, guest := s.Stage, 0
	if other, ok := w.homes[s.ID]; ok {
		stage, guest = other, 1
	}
	g := w.groupOf(stage)
	if g < 0 {
		return (len(w.order) + 2) * placeMost // the route says nothing of it
	}
	return g*placeMost + 2*slices.Index(w.order[g], stage) + guest
}

func (w *Way) floatOf(s *rubric.Step) *float {
	for i := range w.floats {
		if slices.Contains(w.floats[i].Steps, s.ID) {
			return &w.floats[i]
		}
	}
	for i := range w.floats {
		if slices.Contains(w.floats[i].Stages, s.Stage) {
			return &w.floats[i]
		}
	}
	return nil
}

// broken says whether a rule of order with marks cannot be kept on the way: it
// wants a step first that stands in a later group, or in a later stage of the
// same group, than one that it wants after it.
func (w *Way) broken(k *rubric.Key) bool {
	for i := range k.Rules {
		r := &k.Rules[i]
		if !earns(r) {
			continue
		}
		first, after := w.ranks(k, r.Before), w.ranks(k, r.After)
		if len(first) > 0 && len(after) > 0 && slices.Max(first) > slices.Min(after) {
			return true
		}
	}
	return false
}

// earns says whether a rule has marks.
func earns(r *rubric.Rule) bool { return r.Tag != "habit" && r.Weight > 0 }

// ranks are the ranks of the required steps that words name.
func (w *Way) ranks(k *rubric.Key, words []string) []int {
	var out []int
	for i := range k.Steps {
		s := &k.Steps[i]
		it := item{act: rubric.Act{Kind: rubric.Examine, Step: s.ID}, step: s}
		if s.Required && s.Kind == rubric.Examine && slices.ContainsFunc(words, it.names) {
			out = append(out, w.rank(s))
		}
	}
	return out
}

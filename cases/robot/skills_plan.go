package robot

import (
	"cmp"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// What a student without a skill does wrong, per mille of the chances it has.
// The figures are ours (no source): they spread each domain over most of its
// points, so that no correlation is small for want of variance. The one that
// matters is omitStep: the shares of steps done, of vitals measured and of
// findings seen scale other domains once a student leaves out much, so that
// with 300, 450 and 700 Completeness and Vitals correlate by .15, .27 and .50.
const (
	omitStep     = 450
	omitSite     = 300
	omitTopic    = 600
	liftEarly    = 400
	touchFirst   = 800
	countShort   = 600
	skipCare     = 800
	forceDown    = 250 // of those who take no care how the animal is held
	ordinaryHand = 800 // where a gentle one is not asked for
)

// skilledPlan spoils an ideal plan.
type skilledPlan struct {
	p *cases.Patient
	k *rubric.Key
	l *lapses
}

func (b *skilledPlan) spoil(items []item) []item {
	items = b.shorten(b.omit(items))
	items = b.permute(items)
	return b.care(items)
}

// omit leaves out steps, sites and questions.
func (b *skilledPlan) omit(items []item) []item {
	l := b.l.completeness
	gone, met := map[string]bool{}, map[string]bool{}
	return slices.DeleteFunc(items, func(it item) bool {
		switch {
		case it.act.Kind == rubric.Ask:
			return l.one(omitTopic)
		case it.step == nil:
			return false
		case !met[it.step.ID]:
			met[it.step.ID] = true
			gone[it.step.ID] = l.one(omitStep)
			return gone[it.step.ID]
		default:
			return gone[it.step.ID] || l.one(omitSite)
		}
	})
}

// shorten lifts too early: by vitals where something is counted, and then never
// below what is adequate to examine the site, else by completeness.
func (b *skilledPlan) shorten(items []item) []item {
	for i := range items {
		it := &items[i]
		if it.step == nil {
			continue
		}
		least := max(it.step.Least, 1)
		switch {
		case b.counts(it):
			if b.l.vitals.one(countShort) {
				it.act.Seconds = max(least, it.act.Seconds/2)
				it.hasty = true
			}
		case least > 1 && b.l.completeness.one(liftEarly):
			it.act.Seconds = least / 2
		}
	}
	return items
}

// counts says whether the student counts a rate at an item: where the ideal plan stays
// for a rate's window.
func (b *skilledPlan) counts(it *item) bool {
	return it.first && slices.ContainsFunc(b.k.Vitals, func(v rubric.Vital) bool {
		return v.Window > 0 && slices.Contains(v.Steps, it.step.ID)
	})
}

// permute displaces every step, with all its adjoining sites, by a distance
// that grows with what is missing of the skill: neighbours are exchanged first, and
// at the end hardly anything is left of the order. Questions and handling keep
// their places.
func (b *skilledPlan) permute(items []item) []item {
	l := b.l.order
	blocks := blocksOf(items)
	ranks := make([]int, len(blocks))
	reach := 2 * len(blocks) * l.gap * l.gap / 1000 // thousandths of a place
	for i := range blocks {
		ranks[i] = i*1000 + l.c.below(2*reach+1) - reach
		if b.looks(&blocks[i][0]) && l.one(touchFirst) {
			ranks[i] = (1 + l.c.below(len(blocks))) * 1000
		}
	}
	order := make([]int, len(blocks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int { return cmp.Compare(ranks[x], ranks[y]) })
	moved := make([]item, 0, len(items))
	for _, i := range order {
		moved = append(moved, blocks[i]...)
	}
	out := slices.Clone(items)
	next := 0
	for i := range out {
		if out[i].step != nil {
			out[i] = moved[next]
			next++
		}
	}
	return out
}

// looks says whether the rubric wants an item before the first touch.
func (b *skilledPlan) looks(it *item) bool {
	return slices.ContainsFunc(b.k.Rules, func(r rubric.Rule) bool {
		return slices.Contains(r.After, "touch") && slices.ContainsFunc(r.Before, it.names)
	})
}

// blocksOf are the examinations, those of one step that adjoin together.
func blocksOf(items []item) [][]item {
	var blocks [][]item
	for _, it := range items {
		if it.step == nil {
			continue
		}
		if n := len(blocks); n > 0 && blocks[n-1][0].step == it.step {
			blocks[n-1] = append(blocks[n-1], it)
			continue
		}
		blocks = append(blocks, []item{it})
	}
	return blocks
}

// care keeps or breaks the precautions, one by one, and chooses the hand.
func (b *skilledPlan) care(items []item) []item {
	kept := map[string]bool{}
	for i := range b.k.Precautions {
		kept[b.k.Precautions[i].ID] = !b.l.handling.one(skipCare)
	}
	items = b.drop(items, kept)
	for i := range items {
		if it := &items[i]; it.step != nil && it.step.Touch && !b.l.handling.one(ordinaryHand) {
			it.act.Manner = "gentle"
		} else {
			it.act.Manner = ""
		}
	}
	for i := range b.k.Precautions {
		switch pre := &b.k.Precautions[i]; pre.Kind {
		case "gentle":
			b.hands(items, pre, kept[pre.ID])
		case "last":
			items = b.sides(items, pre, kept[pre.ID])
		}
	}
	return items
}

// drop leaves out the handling of the precautions that are not kept, except
// what one that is kept needs too. Who takes no care how the animal is held
// may lay it down.
func (b *skilledPlan) drop(items []item, kept map[string]bool) []item {
	var needed, dropped []string
	for i := range b.k.Precautions {
		pre := &b.k.Precautions[i]
		if kept[pre.ID] {
			needed = append(needed, pre.Done...)
		} else {
			dropped = append(dropped, pre.Done...)
		}
	}
	out := slices.DeleteFunc(items, func(it item) bool {
		named := func(words []string) bool { return it.step == nil && slices.ContainsFunc(words, it.names) }
		return it.act.Kind != rubric.Ask && named(dropped) && !named(needed)
	})
	holds := func(word string) bool { return strings.HasPrefix(word, handleHold) }
	if slices.ContainsFunc(dropped, holds) && !slices.ContainsFunc(needed, holds) && b.l.handling.one(forceDown) && b.p.Catalogue().HandlingRow(onItsSide) != nil {
		at := slices.IndexFunc(out, func(it item) bool { return it.step != nil && it.step.Touch })
		out = slices.Insert(out, max(at, 0), item{act: rubric.Act{Kind: rubric.Handle, How: onItsSide}})
	}
	return out
}

// onItsSide is the hold that a rough hand takes; nobody lays a horse down.
const onItsSide = "hold lateral"

// handleHold begins the name of a hold in a precaution.
const handleHold = "handle:hold"

// hands are gentle on what a precaution names where it is kept, else firm.
func (b *skilledPlan) hands(items []item, pre *rubric.Precaution, kept bool) {
	for i := range items {
		if it := &items[i]; it.step != nil && slices.ContainsFunc(pre.Steps, it.names) {
			it.act.Manner = "firm"
			if kept {
				it.act.Manner = "gentle"
			}
		}
	}
}

// sides puts what a precaution wants last after its peers, or before them where
// it is not kept. Only those places are exchanged among one another, so that
// the walk stays what the order made of it.
func (b *skilledPlan) sides(items []item, pre *rubric.Precaution, kept bool) []item {
	var at []int
	var sore, peers []item
	for i := range items {
		switch it := items[i]; {
		case it.step == nil:
			continue
		case slices.ContainsFunc(pre.Steps, it.names):
			sore = append(sore, it)
		case slices.ContainsFunc(pre.Among, it.names):
			peers = append(peers, it)
		default:
			continue
		}
		at = append(at, i)
	}
	all := slices.Concat(peers, sore)
	if !kept {
		all = slices.Concat(sore, peers)
	}
	for n, i := range at {
		items[i] = all[n]
	}
	return items
}

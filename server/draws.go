package server

import (
	"context"
	"crypto/rand"
	"fmt"
	mrand "math/rand/v2"
	"slices"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/server/exam"
	"dewclaw/server/store"
)

// drawCases draws one case for every patient of an assignment, so that a student
// meets none of them twice. Cases that are kept from the student are left out of
// a practice; a patient of whom none is left is then not met.
// Earlier are the patients that the student met in earlier tries: in a sitting
// others are taken where there are any.
func (s *Server) drawCases(ctx context.Context, a store.Assignment, person string, earlier []planned) ([]planned, error) {
	slots := a.Slots
	var at []int
	if exam.Kind(a.Kind) == exam.Practice {
		sealed, err := s.sealedFrom(ctx, person)
		if err != nil {
			return nil, err
		}
		slots = nil
		for i, ids := range a.Slots {
			left := slices.DeleteFunc(slices.Clone(ids), func(id string) bool { return sealed[id] })
			if len(left) > 0 {
				slots, at = append(slots, left), append(at, i)
			}
		}
		if len(slots) == 0 {
			return nil, &Fault{Kind: ErrNotNow, Text: "The patients of this practice are kept back for now. Come back later."}
		}
	}
	drawn, ok := drawApart(unmet(a, slots, earlier), atRandom)
	if !ok {
		drawn, ok = drawApart(slots, atRandom)
	}
	if !ok {
		return nil, fmt.Errorf("draw: the patients of assignment %s cannot all be different", a.ID)
	}
	var out []planned
	for i, id := range drawn {
		slot := i
		if at != nil {
			slot = at[i]
		}
		out = append(out, planned{Slot: slot, Case: id})
	}
	return out, nil
}

// drawApart takes one id of every slot, none of them twice, in the order in
// which order tries them. False: that cannot be. Where slots have the same ids,
// or none in common, every choice is as likely as any other (an augmenting path
// for each slot: Kuhn 1955, from memory).
func drawApart(slots [][]string, order func(n int) []int) ([]string, bool) {
	taken := map[string]int{} // id to slot
	for _, slot := range order(len(slots)) {
		if !giveOne(slots, slot, taken, map[string]bool{}, order) {
			return nil, false
		}
	}
	out := make([]string, len(slots))
	for id, slot := range taken {
		out[slot] = id
	}
	return out, true
}

// giveOne gives a slot an id, and the slot that had it another one.
func giveOne(slots [][]string, slot int, taken map[string]int, seen map[string]bool, order func(n int) []int) bool {
	for _, i := range order(len(slots[slot])) {
		id := slots[slot][i]
		if seen[id] {
			continue
		}
		seen[id] = true
		if has, is := taken[id]; !is || giveOne(slots, has, taken, seen, order) {
			taken[id] = slot
			return true
		}
	}
	return false
}

// inOrder tries from the first to the last.
func inOrder(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// atRandom tries in an order that nobody can foretell.
func atRandom(n int) []int {
	out := inOrder(n)
	for i := n - 1; i > 0; i-- {
		j := below(i + 1)
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// drawSeeds draws the patient of every place of a plan: among those that were
// measured to be equally hard, so that a student's together are neither easier
// nor harder than the mean; of a case that was not measured as it is now, any.
func (s *Server) drawSeeds(ctx context.Context, a store.Assignment, plan []planned) error {
	tables, err := s.tables(ctx, a)
	if err != nil {
		return err
	}
	var sitting []trial.Table
	var at []int
	for i := range plan {
		plan[i].Seed = cases.EncodeSeed(cases.NewSeed())
		if t, ok := tables[plan[i].Case]; ok && len(t.Fit()) > 0 {
			sitting, at = append(sitting, t), append(at, i)
		}
	}
	if len(sitting) == 0 {
		return nil
	}
	seeds, err := trial.Choose(freshSource(), sitting)
	if err != nil {
		s.log.Warn("the patients of a turn do not add up; they are drawn one by one", "assignment", a.ID)
		for k, t := range sitting {
			fit := t.Fit()
			plan[at[k]].Seed = cases.EncodeSeed(fit[below(len(fit))].Seed)
		}
		return nil
	}
	for k, seed := range seeds {
		plan[at[k]].Seed = cases.EncodeSeed(seed)
	}
	return nil
}

// tables are the measured draws of a sitting, by case: those that were measured
// of the case, rubric and ranges by which it is given now.
func (s *Server) tables(ctx context.Context, a store.Assignment) (map[string]trial.Table, error) {
	draws, err := s.fresh(ctx, a)
	if err != nil {
		return nil, err
	}
	out := map[string]trial.Table{}
	for _, d := range draws {
		if out[d.CaseID], err = trial.DecodeTable(d.Seeds); err != nil {
			return nil, fmt.Errorf("draw: measured draws that cannot be read")
		}
	}
	return out, nil
}

// freshSource is a source that nobody can foretell.
func freshSource() mrand.Source {
	var key [32]byte
	if _, err := rand.Read(key[:]); err != nil {
		panic(err) // the system has no randomness; nothing can be drawn fairly
	}
	return mrand.NewChaCha8(key)
}

package server

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	mrand "math/rand/v2"
	"slices"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/server/exam"
	"dewclaw/server/store"
)

// drawsMeasured are how many seeds of a case are tried before a sitting.
const drawsMeasured = 500

// drawSeeds draws the patient of every place of a plan: among those that were
// measured to be equally hard, so that a student's together are neither easier
// nor harder than the mean; of a case that was not measured, any.
func (s *Server) drawSeeds(ctx context.Context, a store.Assignment, plan []planned) error {
	draws, err := s.store.Draws(ctx, a.ID)
	if err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	tables := map[string]trial.Table{}
	for _, d := range draws {
		if tables[d.CaseID], err = trial.DecodeTable(d.Seeds); err != nil {
			return fmt.Errorf("draw: measured draws that cannot be read")
		}
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

// freshSource is a source that nobody can foretell.
func freshSource() mrand.Source {
	var key [32]byte
	if _, err := rand.Read(key[:]); err != nil {
		panic(err) // the system has no randomness; nothing can be drawn fairly
	}
	return mrand.NewChaCha8(key)
}

// measurePoll is how often the worker looks for a sitting that another process set.
const measurePoll = 30 * time.Second

// wakeMeasure tells the worker that a sitting was set or changed.
func (s *Server) wakeMeasure() {
	select {
	case s.measure <- struct{}{}:
	default: // it is told already
	}
}

// measureForever measures the draws of sittings to come, one case after another.
func (s *Server) measureForever(ctx context.Context) {
	broken := map[string]bool{}
	for ctx.Err() == nil {
		if err := s.measureSome(ctx, broken); err != nil && ctx.Err() == nil {
			s.log.Error("draws were not measured", "cause", err.Error())
		}
		select {
		case <-ctx.Done():
		case <-s.measure:
		case <-time.After(measurePoll):
		}
	}
}

// measureSome measures every case of every sitting to come that was not, or of
// which case, rubric or ranges have changed since. One that cannot be measured
// is left out until a restart.
func (s *Server) measureSome(ctx context.Context, broken map[string]bool) error {
	all, err := s.store.SittingsToCome(ctx, s.now())
	if err != nil {
		return err
	}
	for _, a := range all {
		have, err := s.store.Draws(ctx, a.ID)
		if err != nil {
			return err
		}
		for _, id := range slices.Concat(a.Slots...) {
			if broken[a.ID+id] || ctx.Err() != nil {
				continue
			}
			if err := s.measureCase(ctx, a, id, have); err != nil && ctx.Err() == nil {
				broken[a.ID+id] = true
				s.log.Warn("the draws of a case cannot be measured", "case", id, "cause", err.Error())
			}
		}
	}
	return nil
}

func (s *Server) measureCase(ctx context.Context, a store.Assignment, id string, have []store.Draw) error {
	k := s.library.Case(id)
	if k == nil {
		return fmt.Errorf("it is no longer in the library")
	}
	scheme, err := s.schemeOf(ctx, a)
	if err != nil {
		return err
	}
	ranges := s.table.Load().Table
	of, err := trial.DrawsKey(s.library, k, scheme.Rubric, ranges)
	if err != nil {
		return err
	}
	if slices.ContainsFunc(have, func(d store.Draw) bool { return d.CaseID == id && d.MadeOf == of }) {
		return nil
	}
	seeds := make([]cases.Seed, drawsMeasured)
	for i := range seeds {
		seeds[i] = cases.NewSeed()
	}
	m, err := trial.Measure(ctx, s.library, k, scheme.Rubric, ranges, seeds, trial.DrawOptions{})
	if err != nil {
		return err
	}
	figures, err := json.Marshal(m)
	if err != nil {
		return err
	}
	return s.store.SetDraw(ctx, store.Draw{Assignment: a.ID, CaseID: id, MadeOf: of, Seeds: trial.EncodeTable(m.Table), Figures: figures})
}

// measured says how far the draws of an assignment are measured, case by case,
// for its instructors.
func (s *Server) measured(ctx context.Context, a store.Assignment) (map[string]*trial.Draws, error) {
	out := map[string]*trial.Draws{}
	if exam.Kind(a.Kind) != exam.Sitting {
		return out, nil
	}
	have, err := s.store.Draws(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("draws: %w", err)
	}
	for _, d := range have {
		m := new(trial.Draws)
		if err := json.Unmarshal(d.Figures, m); err != nil {
			return nil, fmt.Errorf("draws: %w", err)
		}
		out[d.CaseID] = m
	}
	return out, nil
}

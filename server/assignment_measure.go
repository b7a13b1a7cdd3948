package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/trial"
	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/store"
)

// drawsMeasured are how many seeds of a case are tried before a sitting, where
// Config.Draws does not say.
const drawsMeasured = 500

// measurePoll is how often the worker looks for a sitting that another process set.
const measurePoll = 30 * time.Second

// measuring is what the worker is at.
type measuring struct {
	mu               sync.Mutex
	assignment, kase string
	done, of         int // visits
}

func (m *measuring) begin(assignment, kase string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.assignment, m.kase, m.done, m.of = assignment, kase, 0, 0
}

func (m *measuring) told(done, of int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.done, m.of = done, of
}

// at says how far a case of an assignment is; false: it is not being measured.
func (m *measuring) at(assignment, kase string) (done, of int, now bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.done, m.of, m.assignment == assignment && m.kase == kase
}

// wakeMeasure tells the worker that a sitting was set or changed.
func (s *Server) wakeMeasure() {
	select {
	case s.measure <- struct{}{}:
	default: // it is told already
	}
}

// measureForever measures the draws of sittings to come, one case after another.
// What cannot be measured is tried again when a sitting is set or changed.
func (s *Server) measureForever(ctx context.Context) {
	broken := map[string]bool{}
	for ctx.Err() == nil {
		if err := s.measureSome(ctx, broken); err != nil && ctx.Err() == nil {
			s.log.Error("draws were not measured", "cause", err.Error())
		}
		select {
		case <-ctx.Done():
		case <-s.measure:
			clear(broken)
		case <-time.After(measurePoll):
		}
	}
}

// measureSome measures every case of every sitting to come that was not, or of
// which case, rubric or ranges have changed since.
func (s *Server) measureSome(ctx context.Context, broken map[string]bool) error {
	all, err := s.store.SittingsToCome(ctx, s.now())
	if err != nil {
		return err
	}
	for _, a := range all {
		for _, id := range casesOf(a) {
			if broken[a.ID+id] || ctx.Err() != nil {
				continue
			}
			if err := s.measureCase(ctx, a.ID, id); err != nil && ctx.Err() == nil {
				broken[a.ID+id] = true
				s.log.Warn("the draws of a case cannot be measured", "case", id, "cause", err.Error())
			}
		}
	}
	return nil
}

// measureCase measures one case of an assignment as it stands now: it may have
// been changed while another case was measured.
func (s *Server) measureCase(ctx context.Context, assignment, id string) error {
	a, err := s.store.Assignment(ctx, assignment)
	if errors.Is(err, store.ErrNotFound) || err == nil && !slices.Contains(casesOf(a), id) {
		return nil
	}
	if err != nil {
		return err
	}
	k, scheme, of, err := s.drawsOf(ctx, a, id)
	if err != nil {
		return err
	}
	have, err := s.store.Draws(ctx, a.ID)
	if err != nil || slices.ContainsFunc(have, func(d store.Draw) bool { return d.CaseID == id && d.MadeOf == of }) {
		return err
	}
	s.atDraws.begin(a.ID, id)
	defer s.atDraws.begin("", "")
	seeds := make([]cases.Seed, s.cfg.Draws)
	for i := range seeds {
		seeds[i] = cases.NewSeed()
	}
	m, err := trial.Measure(ctx, s.library, k, scheme.Rubric, s.table.Load().Table, seeds, trial.DrawOptions{Most: s.cfg.Visits, Progress: s.atDraws.told})
	if err != nil {
		return err
	}
	figures, err := json.Marshal(m)
	if err != nil {
		return err
	}
	return s.store.SetDraw(ctx, store.Draw{Assignment: a.ID, CaseID: id, MadeOf: of, Seeds: trial.EncodeTable(m.Table), Figures: figures})
}

// drawsOf are a case, what it is marked by in an assignment, and the name of draws
// that are measured of both as they are now.
func (s *Server) drawsOf(ctx context.Context, a store.Assignment, id string) (*cases.Case, *shelved, string, error) {
	k := s.library.Case(id)
	if k == nil {
		return nil, nil, "", fmt.Errorf("it is no longer in the library")
	}
	scheme, err := s.schemeOf(ctx, a)
	if err != nil {
		return nil, nil, "", err
	}
	of, err := trial.DrawsKey(s.library, k, scheme.Rubric, s.table.Load().Table)
	return k, scheme, of, err
}

// fresh are the draws of a sitting that were measured of what is given now.
func (s *Server) fresh(ctx context.Context, a store.Assignment) ([]store.Draw, error) {
	if exam.Kind(a.Kind) != exam.Sitting {
		return nil, nil
	}
	have, err := s.store.Draws(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("draws: %w", err)
	}
	out := have[:0]
	for _, d := range have {
		if s.library.Case(d.CaseID) == nil || !slices.Contains(casesOf(a), d.CaseID) {
			continue
		}
		_, _, of, err := s.drawsOf(ctx, a, d.CaseID)
		if err != nil {
			return nil, err
		}
		if d.MadeOf == of {
			out = append(out, d)
		}
	}
	return out, nil
}

// measured are the figures of a sitting's draws, by case, as far as they are
// known, for its instructors.
func (s *Server) measured(ctx context.Context, a store.Assignment) (map[string]*trial.Draws, error) {
	have, err := s.fresh(ctx, a)
	if err != nil {
		return nil, err
	}
	out := map[string]*trial.Draws{}
	for _, d := range have {
		m := new(trial.Draws)
		if err := json.Unmarshal(d.Figures, m); err != nil {
			return nil, fmt.Errorf("draws: %w", err)
		}
		out[d.CaseID] = m
	}
	return out, nil
}

// sums is how far the patients of one student are off the mean of their cases
// together, tried with many students.
type sums struct {
	students, failed int           // failed: no draw of theirs adds up
	most, alone      rubric.Points // the farthest, evened out and not
}

// sumsTried are how many students are tried for a page.
const sumsTried = 100

// trySums draws patients for many students as a turn would. False: not every
// case is measured, or one has no draw that may be given.
func (s *Server) trySums(ctx context.Context, a store.Assignment) (sums, bool, error) {
	tables, err := s.tables(ctx, a)
	if err != nil || len(tables) < len(casesOf(a)) {
		return sums{}, false, err
	}
	out := sums{students: sumsTried}
	for range sumsTried {
		drawn, ok := drawApart(a.Slots, atRandom)
		if !ok {
			return out, false, nil
		}
		if !out.try(drawn, tables) {
			return out, false, nil
		}
	}
	return out, true, nil
}

// try draws the patients of one student, evened out and not.
func (m *sums) try(drawn []string, tables map[string]trial.Table) bool {
	var sitting []trial.Table
	var alone rubric.Points
	for _, id := range drawn {
		t := tables[id]
		if len(t.Fit()) == 0 {
			return false
		}
		sitting = append(sitting, t)
		alone += t.Rows[below(len(t.Rows))].D - t.Mean
	}
	m.alone = max(m.alone, alone, -alone)
	seeds, err := trial.Choose(freshSource(), sitting)
	if err != nil {
		m.failed++
		return true
	}
	var sum rubric.Points
	for i, seed := range seeds {
		at := slices.IndexFunc(sitting[i].Rows, func(r trial.Row) bool { return r.Seed == seed })
		sum += sitting[i].Rows[at].D - sitting[i].Mean
	}
	m.most = max(m.most, sum, -sum)
	return true
}

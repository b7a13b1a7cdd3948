package server

import (
	"context"
	"fmt"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/study"
)

// lastJudged are the marked visits of a person that say anything: what was done
// before says little of today, and the page would be slow to come.
const lastJudged = 200

// judgements are what a person's last marked visits, and drills, say, the first
// first: practice as soon as it is marked, a sitting once it is released. What
// people decided of a line counts. They are derived anew each time and kept
// nowhere.
func (s *Server) judgements(ctx context.Context, who face.Person) ([]study.Judgement, error) {
	rows, err := s.store.Attempts(ctx, store.Filter{Person: who.ID, State: store.StateGraded, Limit: lastJudged})
	if err != nil {
		return nil, fmt.Errorf("judgements: %w", err)
	}
	marks, err := s.changedLines(ctx, rows)
	if err != nil {
		return nil, err
	}
	var all []study.Judgement
	for i := len(rows) - 1; i >= 0; i-- { // the store gives the last first
		list, err := s.judgedVisit(ctx, rows[i], marks[rows[i].Transcript])
		if err != nil {
			return nil, err
		}
		all = append(all, list...)
	}
	items, err := s.store.ItemsOf(ctx, who.ID, store.ItemMarked)
	if err != nil {
		return nil, fmt.Errorf("judgements: %w", err)
	}
	for _, it := range items {
		all = append(all, study.Judgement{Skill: it.Skill, Place: it.Kind, Mark: it.Mark, Sure: it.Sure, At: it.Answered, Drill: it.Drill, Species: it.Species})
	}
	zone := s.zone()
	for i := range all {
		all[i].At = all[i].At.In(zone)
	}
	study.InTime(all)
	return all, nil
}

// changedLines are the marks that people gave in some visits.
func (s *Server) changedLines(ctx context.Context, rows []store.Listed) (map[int64][]exam.Override, error) {
	transcripts := make([]int64, len(rows))
	for i, row := range rows {
		transcripts[i] = row.Transcript
	}
	list, err := s.store.Overrides(ctx, transcripts...)
	if err != nil {
		return nil, fmt.Errorf("judgements: %w", err)
	}
	out := map[int64][]exam.Override{}
	for _, o := range list {
		out[o.Transcript] = append(out[o.Transcript], exam.Override{Line: o.Line, Points: rubric.Points(o.Points), By: o.By, At: o.At, Reason: o.Reason})
	}
	return out, nil
}

// judgedVisit are the judgements of one marked visit; none while its student may
// not read what was there.
func (s *Server) judgedVisit(ctx context.Context, row store.Listed, marks []exam.Override) ([]study.Judgement, error) {
	if row.Purpose == forSitting {
		a, err := s.store.Attempt(ctx, row.ID)
		if err != nil {
			return nil, fmt.Errorf("judgements: %w", err)
		}
		if shown, err := s.released(ctx, a); err != nil || !shown {
			return nil, err
		}
	}
	if list, ok := s.judged.find(row); ok && len(marks) == 0 {
		return list, nil
	}
	list, err := s.readJudged(ctx, row, marks)
	if err == nil && len(marks) == 0 {
		s.judged.keep(row, list)
	}
	return list, err
}

// readJudged reads a visit's report and says what it tells.
func (s *Server) readJudged(ctx context.Context, row store.Listed, marks []exam.Override) ([]study.Judgement, error) {
	k, err := s.caseOfVisit(ctx, row)
	if err != nil {
		return nil, err
	}
	stored, err := s.store.Report(ctx, row.Transcript)
	if err != nil {
		return nil, fmt.Errorf("judgements: %w", err)
	}
	rep, err := rubric.DecodeReport(stored.Packed)
	if err != nil {
		return nil, fmt.Errorf("judgements: %w", err)
	}
	layLines(&rep, marks)
	cat := s.library.Catalogue(k.Species)
	if cat == nil {
		return nil, nil // nobody can be met of that species any more
	}
	return study.Judged(rep, cat, study.Judgement{At: finishedOr(row.Finished, row.Started), Visit: row.ID, Case: k.ID, Species: k.Species, System: systemOf(k), Difficulty: k.Difficulty}), nil
}

// caseOfVisit is the case of a visit: today's, or as it was where it is gone.
func (s *Server) caseOfVisit(ctx context.Context, row store.Listed) (*cases.Case, error) {
	if k := s.library.Case(row.Case); k != nil {
		return k, nil
	}
	a, err := s.store.Attempt(ctx, row.ID)
	if err != nil {
		return nil, fmt.Errorf("judgements: %w", err)
	}
	_, k, err := s.asStored(ctx, a)
	return k, err
}

// layLines puts the marks that people gave in the place of the computed ones.
func layLines(rep *rubric.Report, marks []exam.Override) {
	if len(marks) == 0 {
		return
	}
	changed := map[string]rubric.Points{}
	for _, c := range exam.Settle(*rep, rubric.Rubric{}, marks, nil).Changed {
		changed[c.Line] = c.Points
	}
	for d := range rep.Domains {
		for l := range rep.Domains[d].Lines {
			line := &rep.Domains[d].Lines[l]
			if points, ok := changed[line.ID]; ok {
				line.Points = points
			}
		}
	}
}

// systemOf is the first system that a case is about; empty: its file says none.
func systemOf(k *cases.Case) string {
	if all := k.Tags["system"]; len(all) > 0 {
		return all[0]
	}
	return ""
}

func finishedOr(finished, started time.Time) time.Time {
	if finished.IsZero() {
		return started
	}
	return finished
}

package server

import (
	"context"
	"fmt"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// shown reports whether somebody who may read a visit may read what was there:
// staff once it is marked; its student when the release rule says so.
func (s *Server) shown(ctx context.Context, who face.Person, row store.Attempt) (bool, error) {
	if row.State != store.StateGraded {
		return false, nil
	}
	if row.Person != who.ID {
		return true, nil
	}
	if row.Purpose == forSitting {
		return s.released(ctx, row)
	}
	sealed, err := s.sealedFrom(ctx, who.ID)
	return err == nil && !sealed[row.Case], err
}

// released reports whether a marked visit of a sitting is released to its student.
func (s *Server) released(ctx context.Context, row store.Attempt) (bool, error) {
	t, err := s.turn(ctx, row.Turn)
	if err != nil || !t.released() {
		return false, err
	}
	m, err := s.marked(ctx, row)
	return exam.Shown(exam.Sitting, true, m.Waits), err
}

// released reports whether a turn was released to its student, if nothing waits.
func (t *turn) released() bool { return !t.assignment.Released.IsZero() || !t.row.Released.IsZero() }

// handedIn keeps a student out of an own sitting's visit that was handed in,
// until it is released: what was met there is still to be met by others.
func (s *Server) handedIn(ctx context.Context, row store.Attempt) error {
	if row.Purpose != forSitting || row.State == store.StateOpen {
		return nil
	}
	if row.State == store.StateGraded {
		shown, err := s.released(ctx, row)
		if err != nil || shown {
			return err
		}
	}
	return ErrMissing
}

// keptFor keeps a student out of an own practice visit whose patient is in a sitting
// to come or not released yet: nothing is done in it or read of it until then. It
// does not go by the time at which the visit began.
func (s *Server) keptFor(ctx context.Context, row store.Attempt) error {
	if row.Purpose != "" {
		return nil
	}
	sealed, err := s.sealedLately(ctx, row.Person)
	if err == nil && sealed[row.Case] {
		err = &Fault{Kind: ErrNotNow, Text: "This patient is kept for a sitting of your cohort. Your visit is as you left it; it opens again once the debriefs of the sitting are released."}
	}
	return err
}

// keepBack takes the marks out of a line of a student's own list until they are
// released.
func (s *Server) keepBack(ctx context.Context, turn string, v *face.Visit) error {
	t, err := s.turn(ctx, turn)
	if err != nil {
		return err
	}
	waits := !t.released()
	if !waits {
		if waits, err = s.settleVisit(ctx, v); err != nil {
			return err
		}
	}
	if waits {
		v.Total, v.Pass = nil, nil
	}
	return nil
}

// settleVisit puts what people decided into a line of a list, and says whether
// something waits for a person.
func (s *Server) settleVisit(ctx context.Context, v *face.Visit) (waits bool, err error) {
	row, err := s.store.Attempt(ctx, v.ID)
	if err != nil {
		return false, fmt.Errorf("visits: %w", err)
	}
	if row.State != store.StateGraded {
		return false, nil
	}
	m, err := s.marked(ctx, row)
	if err != nil {
		return false, err
	}
	total := face.Points(m.Total)
	v.Total, v.Pass = &total, &m.Pass
	return len(m.Waits) > 0, nil
}

// marked is a visit's report with what people decided.
type marked struct {
	exam.Marked
	report    rubric.Report
	scheme    rubric.Rubric
	overrides []exam.Override
	decisions []exam.Decision
}

// marked reads a marked visit's report and lays over it what people decided.
func (s *Server) marked(ctx context.Context, row store.Attempt) (m marked, err error) {
	stored, err := s.store.Report(ctx, row.Transcript)
	if err != nil {
		return m, missing("marks", err)
	}
	if m.report, err = rubric.DecodeReport(stored.Packed); err != nil {
		return m, fmt.Errorf("marks: %w", err)
	}
	if m.scheme, err = s.scheme(ctx, row); err != nil {
		return m, err
	}
	if m.overrides, m.decisions, err = s.peoplesMarks(ctx, row.Transcript); err != nil {
		return m, err
	}
	m.Marked = exam.Settle(m.report, m.scheme, m.overrides, m.decisions)
	return m, nil
}

// peoplesMarks are what people said of a visit.
func (s *Server) peoplesMarks(ctx context.Context, transcript int64) (marks []exam.Override, said []exam.Decision, err error) {
	overrides, err := s.store.Overrides(ctx, transcript)
	if err != nil {
		return nil, nil, fmt.Errorf("marks: %w", err)
	}
	decisions, err := s.store.Decisions(ctx, transcript)
	if err != nil {
		return nil, nil, fmt.Errorf("marks: %w", err)
	}
	for _, o := range overrides {
		marks = append(marks, exam.Override{Line: o.Line, Points: rubric.Points(o.Points), By: o.By, At: o.At, Reason: o.Reason})
	}
	for _, d := range decisions {
		said = append(said, exam.Decision{What: d.What, Stands: d.Stands, By: d.By, At: d.At, Reason: d.Reason})
	}
	return marks, said, nil
}

// handled are the visits, of some, of which people said something.
func (s *Server) handled(ctx context.Context, rows []store.Listed) (map[int64]bool, error) {
	var graded []int64
	for _, row := range rows {
		if row.Mark != nil {
			graded = append(graded, row.Transcript)
		}
	}
	overrides, err := s.store.Overrides(ctx, graded...)
	if err != nil {
		return nil, fmt.Errorf("marks: %w", err)
	}
	decisions, err := s.store.Decisions(ctx, graded...)
	if err != nil {
		return nil, fmt.Errorf("marks: %w", err)
	}
	out := map[int64]bool{}
	for _, o := range overrides {
		out[o.Transcript] = true
	}
	for _, d := range decisions {
		out[d.Transcript] = true
	}
	return out, nil
}

// lineOfReport is a line of a report by its id; nil: it has none.
func lineOfReport(m marked, id string) *rubric.Line {
	for i := range m.report.Domains {
		for k := range m.report.Domains[i].Lines {
			if l := &m.report.Domains[i].Lines[k]; l.ID == id {
				return l
			}
		}
	}
	return nil
}

// kept are the library, the case and the catalogue of a visit as it began.
func (s *Server) kept(ctx context.Context, row store.Attempt) (*cases.Library, *cases.Case, *cases.Catalogue, error) {
	lib, k, err := s.asStored(ctx, row)
	if err != nil {
		return nil, nil, nil, err
	}
	return lib, k, lib.Catalogue(k.Species), nil
}

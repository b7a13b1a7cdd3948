package server

import (
	"context"
	"fmt"

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
	if row.Purpose != forSitting || row.Person != who.ID {
		return true, nil
	}
	return s.released(ctx, row)
}

// released reports whether a marked visit of a sitting is released to its student.
func (s *Server) released(ctx context.Context, row store.Attempt) (bool, error) {
	t, err := s.turn(ctx, row.Turn)
	if err != nil {
		return false, err
	}
	out := !t.assignment.Released.IsZero() || !t.row.Released.IsZero()
	if !out {
		return false, nil
	}
	m, err := s.settled(ctx, row)
	return exam.Shown(exam.Sitting, out, m.Waits), err
}

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

// keepBack takes the marks out of a line of a student's own list until they are
// released.
func (s *Server) keepBack(ctx context.Context, turn string, v *face.Visit) error {
	t, err := s.turn(ctx, turn)
	if err != nil {
		return err
	}
	if t.assignment.Released.IsZero() && t.row.Released.IsZero() {
		v.Total, v.Pass = nil, nil
		return nil
	}
	row, err := s.store.Attempt(ctx, v.ID)
	if err != nil {
		return fmt.Errorf("visits: %w", err)
	}
	if row.State != store.StateGraded {
		return nil
	}
	m, err := s.settled(ctx, row)
	if err != nil {
		return err
	}
	if len(m.Waits) > 0 {
		v.Total, v.Pass = nil, nil
		return nil
	}
	total := face.Points(m.Total)
	v.Total, v.Pass = &total, &m.Pass
	return nil
}

// settled is a marked visit's report with what people decided.
func (s *Server) settled(ctx context.Context, row store.Attempt) (exam.Marked, error) {
	stored, err := s.store.Report(ctx, row.Transcript)
	if err != nil {
		return exam.Marked{}, missing("settle", err)
	}
	rep, err := rubric.DecodeReport(stored.Packed)
	if err != nil {
		return exam.Marked{}, fmt.Errorf("settle: %w", err)
	}
	scheme, err := s.scheme(ctx, row)
	if err != nil {
		return exam.Marked{}, err
	}
	marks, said, err := s.peoplesMarks(ctx, row.Transcript)
	if err != nil {
		return exam.Marked{}, err
	}
	m, err := exam.Settle(rep, scheme, marks, said)
	if err != nil {
		return m, fmt.Errorf("settle: %w", err)
	}
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

package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Met is how many students of a cohort have met a case before.
type Met struct {
	Practice int // of their own accord or in a practice that was set
	Sitting  int
}

// MetBefore counts, case by case, the students of a cohort who have met it, apart
// from their turns at one assignment. Orientation does not count. A case that
// nobody has met is not in the map.
func (s *Store) MetBefore(ctx context.Context, cohort, but string) (map[string]Met, error) {
	var rows []struct {
		CaseID  string
		Purpose string
		N       int
	}
	err := s.read.WithContext(ctx).Model(&Attempt{}).Select("attempts.case_id, attempts.purpose, COUNT(DISTINCT attempts.person) AS n").
		Joins("JOIN members ON members.person = attempts.person AND members.cohort = ? AND members.role = 'student'", cohort).
		Where("attempts.purpose IN ('', 'sitting') AND (attempts.turn = '' OR attempts.turn NOT IN (SELECT id FROM turns WHERE assignment = ?))", but).
		Group("attempts.case_id, attempts.purpose").Scan(&rows).Error
	if err != nil {
		return nil, wrap("met before", err)
	}
	out := map[string]Met{}
	for _, r := range rows {
		m := out[r.CaseID]
		if r.Purpose == "" {
			m.Practice = r.N
		} else {
			m.Sitting = r.N
		}
		out[r.CaseID] = m
	}
	return out, nil
}

// DeletedAssignments returns a cohort's assignments that were deleted since a
// moment, the last first.
func (s *Store) DeletedAssignments(ctx context.Context, cohort string, since time.Time) (all []Assignment, err error) {
	err = s.read.WithContext(ctx).Where("cohort = ? AND deleted > ?", cohort, micros(since)).Order("deleted DESC, id").Find(&all).Error
	return all, wrap("deleted assignments", err)
}

// DeletedAssignment returns one that was deleted since a moment.
func (s *Store) DeletedAssignment(ctx context.Context, id string, since time.Time) (a Assignment, err error) {
	err = s.read.WithContext(ctx).Where("id = ? AND deleted > ?", id, micros(since)).Take(&a).Error
	return a, wrap("deleted assignment", err)
}

// DeleteAssignment takes an assignment away, to be put back for a while.
// ErrClosed: somebody has begun it, and what they did there would be lost.
func (s *Store) DeleteAssignment(ctx context.Context, id string, note Note) error {
	note.About = "assignment:" + id
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := notBegun(tx, id); err != nil {
			return err
		}
		return oneRow(note.Deed, tx.Model(&Assignment{}).Where("id = ? AND deleted = 0", id).Update("deleted", micros(s.now())))
	})
}

// PutBackAssignment brings one back, as a draft, that was deleted since a moment.
func (s *Store) PutBackAssignment(ctx context.Context, id string, since time.Time, note Note) error {
	note.About = "assignment:" + id
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return oneRow(note.Deed, tx.Model(&Assignment{}).Where("id = ? AND deleted > ?", id, micros(since)).
			Updates(map[string]any{"deleted": 0, "state": AssignmentDraft}))
	})
}

// notBegun refuses where somebody has begun an assignment.
func notBegun(tx *gorm.DB, id string) error {
	var begun int64
	if err := tx.Model(&Turn{}).Where("assignment = ?", id).Count(&begun).Error; err != nil {
		return err
	}
	if begun > 0 {
		return fmt.Errorf("%w: %d have begun", ErrClosed, begun)
	}
	return nil
}

// canBegin refuses where an assignment is not set any more, within the
// transaction that begins a turn.
func canBegin(tx *gorm.DB, id string) error {
	var state []string
	if err := tx.Model(&Assignment{}).Where("id = ? AND deleted = 0", id).Pluck("state", &state).Error; err != nil {
		return err
	}
	if len(state) == 0 || state[0] != AssignmentSet {
		return fmt.Errorf("%w: it is not set any more", ErrClosed)
	}
	return nil
}

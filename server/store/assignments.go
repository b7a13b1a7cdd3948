package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// The states of an assignment.
const (
	AssignmentDraft     = "draft"     // its makers see it
	AssignmentSet       = "set"       // its cohort sees it
	AssignmentWithdrawn = "withdrawn" // nobody begins it any more
)

// Assignment is what a cohort is to do.
type Assignment struct {
	ID         string `gorm:"primaryKey"`
	Cohort     string
	Title      string
	Kind       string    // practice or sitting
	Track      string    // a rubric's id
	RubricHash string    // the version; empty: the one in force as a visit begins
	Opens      time.Time `gorm:"serializer:micros"`
	Closes     time.Time `gorm:"serializer:micros"`
	Minutes    int       // of one student's sitting; 0: until it closes
	Tries      int       // how often; 0: any number
	Shuffled   bool      `gorm:"serializer:bit"` // each student meets the patients in an order of their own
	Cue        string    // full, headings or none
	Places     string    // labelled or unlabelled
	State      string
	Released   time.Time `gorm:"serializer:micros"` // to everybody; zero: not
	MadeBy     string
	Created    time.Time  `gorm:"serializer:micros"`
	Deleted    time.Time  `gorm:"serializer:micros"`
	Slots      [][]string `gorm:"-"` // the cases of each slot
}

// TableName is the table of Assignment.
func (Assignment) TableName() string { return "assignments" }

type assignmentCase struct {
	Assignment string `gorm:"primaryKey"`
	Slot       int    `gorm:"primaryKey;autoIncrement:false"`
	CaseID     string `gorm:"primaryKey"`
}

func (assignmentCase) TableName() string { return "assignment_cases" }

// SaveAssignment makes an assignment (one without an ID) or changes one, with its
// slots. ErrClosed: somebody has begun it, and what is asked may not change.
func (s *Store) SaveAssignment(ctx context.Context, a Assignment, note Note) (Assignment, error) {
	if a.ID == "" {
		a.ID, a.Created = newID(), s.now()
	}
	if len(a.Title) == 0 || len(a.Title) > MaxName || len(a.Slots) == 0 {
		return a, fmt.Errorf("save assignment: %w: a title and at least one patient are needed", ErrInvalid)
	}
	note.About, note.Cohort = "assignment:"+a.ID, a.Cohort
	err := s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := notBegun(tx, a.ID); err != nil {
			return err
		}
		if err := tx.Save(&a).Error; err != nil {
			return err
		}
		if err := tx.Where("assignment = ?", a.ID).Delete(&assignmentCase{}).Error; err != nil {
			return err
		}
		for slot, ids := range a.Slots {
			for _, id := range ids {
				if err := tx.Create(&assignmentCase{a.ID, slot, id}).Error; err != nil {
					return err
				}
			}
		}
		return nil
	})
	return a, err
}

// ChangeAssignment sets columns of an assignment that may change at any time:
// state, opens, closes, minutes, released, deleted.
func (s *Store) ChangeAssignment(ctx context.Context, id string, columns map[string]any, note Note) error {
	note.About = "assignment:" + id
	for name, v := range columns {
		if at, ok := v.(time.Time); ok {
			columns[name] = micros(at)
		}
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return oneRow(note.Deed, tx.Model(&Assignment{}).Where("id = ?", id).Updates(columns))
	})
}

// Assignment returns one that is not deleted.
func (s *Store) Assignment(ctx context.Context, id string) (Assignment, error) {
	all, err := s.assignments(ctx, s.read.WithContext(ctx).Where("id = ? AND deleted = 0", id))
	if err == nil && len(all) == 0 {
		err = fmt.Errorf("assignment: %w", ErrNotFound)
	}
	if err != nil {
		return Assignment{}, err
	}
	return all[0], nil
}

// Assignments returns those of some cohorts that are not deleted, in the order in
// which they open.
func (s *Store) Assignments(ctx context.Context, cohorts ...string) ([]Assignment, error) {
	return s.assignments(ctx, s.read.WithContext(ctx).Where("cohort IN ? AND deleted = 0", cohorts))
}

// AssignmentsWith returns the set ones, of any cohort, that hold a case.
func (s *Store) AssignmentsWith(ctx context.Context, caseID string) ([]Assignment, error) {
	return s.assignments(ctx, s.read.WithContext(ctx).Where("state = ? AND deleted = 0 AND id IN (SELECT assignment FROM assignment_cases WHERE case_id = ?)", AssignmentSet, caseID))
}

// SittingsToCome returns the sittings, drafts too, that have not closed.
func (s *Store) SittingsToCome(ctx context.Context, now time.Time) ([]Assignment, error) {
	return s.assignments(ctx, s.read.WithContext(ctx).Where("kind = 'sitting' AND state <> ? AND deleted = 0 AND closes > ?", AssignmentWithdrawn, micros(now)))
}

func (s *Store) assignments(ctx context.Context, q *gorm.DB) (all []Assignment, err error) {
	if err := q.Order("opens, created, id").Find(&all).Error; err != nil {
		return nil, wrap("assignments", err)
	}
	at := map[string]int{}
	ids := []string{}
	for i, a := range all {
		at[a.ID], ids = i, append(ids, a.ID)
	}
	var rows []assignmentCase
	if err := s.read.WithContext(ctx).Where("assignment IN ?", ids).Order("assignment, slot, case_id").Find(&rows).Error; err != nil {
		return nil, wrap("assignments", err)
	}
	for _, r := range rows {
		a := &all[at[r.Assignment]]
		for len(a.Slots) <= r.Slot {
			a.Slots = append(a.Slots, nil)
		}
		a.Slots[r.Slot] = append(a.Slots[r.Slot], r.CaseID)
	}
	return all, nil
}

// Draw is how equally hard the patients are that some seeds draw of a case.
type Draw struct {
	Assignment string    `gorm:"primaryKey"`
	CaseID     string    `gorm:"primaryKey"`
	MadeOf     string    // names case, rubric and ranges; another: to be measured again
	Seeds      Hidden    // the table of seeds
	Figures    []byte    // JSON for the instructor: nothing hidden
	Measured   time.Time `gorm:"serializer:micros"`
}

// TableName is the table of Draw.
func (Draw) TableName() string { return "assignment_draws" }

// SetDraw puts what was measured of a case in place of what was before.
func (s *Store) SetDraw(ctx context.Context, d Draw) error {
	return s.inWrite(ctx, "set draw", func(tx *gorm.DB) error {
		d.Measured = s.now()
		return tx.Save(&d).Error
	})
}

// Draws returns the measured draws of an assignment.
func (s *Store) Draws(ctx context.Context, assignment string) (all []Draw, err error) {
	err = s.read.WithContext(ctx).Where("assignment = ?", assignment).Order("case_id").Find(&all).Error
	return all, wrap("draws", err)
}

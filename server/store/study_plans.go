package store

import (
	"context"
	"time"

	"gorm.io/gorm"
)

// Plan is one sentence that somebody picked after a debrief for the next visit.
type Plan struct {
	ID      string `gorm:"primaryKey"`
	Person  string
	Made    time.Time `gorm:"serializer:micros"`
	MadeIn  int64     // transcript of the visit after which it was made
	Plan    string    // a row of the plans' table
	Checked int64     // transcript of the visit that was held against it; 0: none yet
	Kept    string    // yes, no or empty: that visit could not show it
	Dropped time.Time `gorm:"serializer:micros"` // another took its place before a visit did; zero: none did
}

// TableName is the table of Plan.
func (Plan) TableName() string { return "plans" }

// plansStanding are the plans that wait for their visit: one a person at most.
func plansStanding(tx *gorm.DB) *gorm.DB { return tx.Where("checked = 0 AND dropped = 0") }

// MakePlan puts a plan in place of the one that stands. An empty one leaves none.
func (s *Store) MakePlan(ctx context.Context, person string, madeIn int64, plan string) error {
	return s.inWrite(ctx, "make plan", func(tx *gorm.DB) error {
		if err := plansStanding(tx).Model(&Plan{}).Where("person = ?", person).Update("dropped", micros(s.now())).Error; err != nil {
			return err
		}
		if plan == "" {
			return nil
		}
		return tx.Create(&Plan{ID: newID(), Person: person, Made: s.now(), MadeIn: madeIn, Plan: plan}).Error
	})
}

// StandingPlan returns the plan that waits for its visit; ErrNotFound: none does.
func (s *Store) StandingPlan(ctx context.Context, person string) (p Plan, err error) {
	err = plansStanding(s.read.WithContext(ctx)).Where("person = ?", person).Take(&p).Error
	return p, wrap("standing plan", err)
}

// CheckPlan says whether a visit kept a plan: yes, no, or empty where it could not
// show it. ErrNotFound: the plan stands no more.
func (s *Store) CheckPlan(ctx context.Context, id string, transcript int64, kept string) error {
	return s.inWrite(ctx, "check plan", func(tx *gorm.DB) error {
		return oneRow("row", plansStanding(tx).Model(&Plan{}).Where("id = ?", id).Updates(map[string]any{"checked": transcript, "kept": kept}))
	})
}

// PlansOf returns all plans of a person that were not dropped, the first in front.
func (s *Store) PlansOf(ctx context.Context, person string) (rows []Plan, err error) {
	err = s.read.WithContext(ctx).Where("person = ? AND dropped = 0", person).Order("made, id").Find(&rows).Error
	return rows, wrap("plans", err)
}

package store

import (
	"context"
	"errors"
	"time"

	"gorm.io/gorm"
)

// Watched says that somebody has watched an expert examine a species.
type Watched struct {
	Person  string `gorm:"primaryKey"`
	Species string `gorm:"primaryKey"`
	CaseID  string
	At      time.Time `gorm:"serializer:micros"` // when it was begun first
	Done    time.Time `gorm:"serializer:micros"` // when it was first seen to its end; zero: not yet
}

// TableName is the table of Watched.
func (Watched) TableName() string { return "watched" }

// Watch notes that somebody watches an expert, or has seen one to the end. What
// was noted first stays.
func (s *Store) Watch(ctx context.Context, w Watched, done bool) error {
	return s.inWrite(ctx, "watch", func(tx *gorm.DB) error {
		var was Watched
		err := tx.Where("person = ? AND species = ?", w.Person, w.Species).Take(&was).Error
		if errors.Is(err, gorm.ErrRecordNotFound) {
			w.At, w.Done = s.now(), time.Time{}
			if done {
				w.Done = w.At
			}
			return tx.Create(&w).Error
		}
		if err != nil || !done || !was.Done.IsZero() {
			return err
		}
		return tx.Model(&Watched{}).Where("person = ? AND species = ?", w.Person, w.Species).
			Updates(map[string]any{"done": micros(s.now()), "case_id": w.CaseID}).Error
	})
}

// WatchedBy returns what somebody has watched, by species.
func (s *Store) WatchedBy(ctx context.Context, person string) (all []Watched, err error) {
	err = s.read.WithContext(ctx).Where("person = ?", person).Order("species").Find(&all).Error
	return all, wrap("watched", err)
}

// WatchedIn counts, case by case, the students of a cohort who have watched it with
// an expert. A case that nobody has watched is not in the map.
func (s *Store) WatchedIn(ctx context.Context, cohort string) (map[string]int, error) {
	var rows []struct {
		CaseID string
		N      int
	}
	err := s.read.WithContext(ctx).Model(&Watched{}).Select("watched.case_id, COUNT(*) AS n").
		Joins("JOIN members ON members.person = watched.person AND members.cohort = ? AND members.role = 'student'", cohort).
		Group("watched.case_id").Scan(&rows).Error
	out := map[string]int{}
	for _, r := range rows {
		out[r.CaseID] = r.N
	}
	return out, wrap("watched in", err)
}

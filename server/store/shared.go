package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// TaskGone is how long a task may be silent until the server that did it is
// taken to be gone.
const TaskGone = 30 * time.Second

// Task is something long that one of the school's servers does for a cohort.
type Task struct {
	Kind   string    `gorm:"primaryKey"`
	Cohort string    `gorm:"primaryKey"`
	Run    string    // another one each time it is begun
	Beat   time.Time `gorm:"serializer:micros"` // when its server last said that it is at it
	Ended  time.Time `gorm:"serializer:micros"`
	State  []byte    // the server's
}

// TableName is the table of Task.
func (Task) TableName() string { return "tasks" }

// Runs reports whether a server is at it.
func (t Task) Runs(now time.Time) bool {
	return t.Run != "" && t.Ended.IsZero() && now.Sub(t.Beat) < TaskGone
}

// BeginTask begins a task in place of an earlier one of its kind and cohort.
// ErrDuplicate: that one is under way, on this server or another.
func (s *Store) BeginTask(ctx context.Context, kind, cohort string, state []byte) (run string, err error) {
	t := Task{Kind: kind, Cohort: cohort, Run: newID(), Beat: s.now(), State: state}
	err = s.inWrite(ctx, "begin task", func(tx *gorm.DB) error {
		var old []Task
		if err := tx.Where("kind = ? AND cohort = ?", kind, cohort).Limit(1).Find(&old).Error; err != nil {
			return err
		}
		if len(old) > 0 && old[0].Runs(s.now()) {
			return ErrDuplicate
		}
		return tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(&t).Error
	})
	return t.Run, err
}

// KeepTask says how a run stands, and that it has ended where it has.
// ErrNotFound: another run has taken its place.
func (s *Store) KeepTask(ctx context.Context, run string, state []byte, ended bool) error {
	columns := map[string]any{"beat": micros(s.now()), "state": state}
	if ended {
		columns["ended"] = micros(s.now())
	}
	return oneRow("keep task", s.write.WithContext(ctx).Model(&Task{}).Where("run = ?", run).Updates(columns))
}

// LastTask is the last task of a kind and cohort; with an empty Run there was none.
func (s *Store) LastTask(ctx context.Context, kind, cohort string) (Task, error) {
	var found []Task
	err := s.read.WithContext(ctx).Where("kind = ? AND cohort = ?", kind, cohort).Limit(1).Find(&found).Error
	if err != nil || len(found) == 0 {
		return Task{}, wrap("task", err)
	}
	return found[0], nil
}

// RosterFor is how long a roster is kept that somebody has sent and not done.
const RosterFor = 30 * time.Minute

// Roster is a file that somebody has sent for a cohort.
type Roster struct {
	Person string `gorm:"primaryKey"`
	Cohort string
	File   string // its name
	Bytes  []byte
	At     time.Time `gorm:"serializer:micros"`
}

// TableName is the table of Roster.
func (Roster) TableName() string { return "rosters" }

// KeepRoster keeps a roster, in place of another of the same person.
func (s *Store) KeepRoster(ctx context.Context, r Roster) (Roster, error) {
	if r.Bytes == nil {
		return r, fmt.Errorf("keep roster: %w: no file", ErrInvalid)
	}
	r.At = s.now()
	return r, s.inWrite(ctx, "keep roster", func(tx *gorm.DB) error {
		if err := s.oldRosters(tx).Delete(&Roster{}).Error; err != nil {
			return err
		}
		return tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(&r).Error
	})
}

// KeptRoster is what a person has sent, without its bytes. ErrNotFound: nothing,
// or too long ago.
func (s *Store) KeptRoster(ctx context.Context, person string) (r Roster, err error) {
	err = s.read.WithContext(ctx).Select("person", "cohort", "file", "at").
		Where("person = ? AND at > ?", person, micros(s.now().Add(-RosterFor))).Take(&r).Error
	return r, wrap("kept roster", err)
}

// RosterBytes are the bytes of a kept roster.
func (s *Store) RosterBytes(ctx context.Context, r Roster) ([]byte, error) {
	var full Roster
	err := s.read.WithContext(ctx).Where("person = ? AND at = ?", r.Person, micros(r.At)).Take(&full).Error
	return full.Bytes, wrap("roster", err)
}

// ForgetRoster forgets what a person has sent.
func (s *Store) ForgetRoster(ctx context.Context, person string) error {
	return wrap("forget roster", s.write.WithContext(ctx).Where("person = ?", person).Delete(&Roster{}).Error)
}

// ForgetOldRosters forgets what was sent longer ago than RosterFor. It writes
// only where there is some.
func (s *Store) ForgetOldRosters(ctx context.Context) error {
	var n int64
	if err := s.oldRosters(s.read.WithContext(ctx)).Model(&Roster{}).Count(&n).Error; err != nil || n == 0 {
		return wrap("forget rosters", err)
	}
	return wrap("forget rosters", s.oldRosters(s.write.WithContext(ctx)).Delete(&Roster{}).Error)
}

func (s *Store) oldRosters(db *gorm.DB) *gorm.DB {
	return db.Where("at <= ?", micros(s.now().Add(-RosterFor)))
}

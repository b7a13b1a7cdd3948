package store

import (
	"context"
	"time"

	"gorm.io/gorm"
)

// Release is which turns of an assignment are released to their students. Whole
// says that it is thereby released to everybody: its patients may be met in
// practice again.
type Release struct {
	Assignment string
	Turns      []string
	Whole      bool
}

// Release lets the students of some turns read their debriefs from now on.
func (s *Store) Release(ctx context.Context, r Release, note Note) error {
	note.About = "assignment:" + r.Assignment
	if len(r.Turns) == 1 && !r.Whole {
		note.About = "turn:" + r.Turns[0]
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		now := micros(s.now())
		done := tx.Model(&Turn{}).Where("assignment = ? AND id IN ? AND released = 0", r.Assignment, r.Turns).Update("released", now)
		if done.Error != nil || !r.Whole {
			return done.Error
		}
		return oneRow("release", tx.Model(&Assignment{}).Where("id = ?", r.Assignment).Update("released", now))
	})
}

// TakeBack takes a release back: of one turn, or of all where none is named.
func (s *Store) TakeBack(ctx context.Context, assignment, turn string, note Note) error {
	note.About = "assignment:" + assignment
	if turn != "" {
		note.About = "turn:" + turn
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := oneByOne(tx, assignment); err != nil {
			return err
		}
		q := tx.Model(&Turn{}).Where("assignment = ? AND released <> 0", assignment)
		if turn != "" {
			return oneRow("take back", q.Where("id = ?", turn).Update("released", 0))
		}
		return q.Update("released", 0).Error
	})
}

// oneByOne makes of a release to everybody one to each who has had a turn, so
// that a turn to come is not released before it was.
func oneByOne(tx *gorm.DB, assignment string) error {
	var a Assignment
	if err := tx.Where("id = ?", assignment).Take(&a).Error; err != nil || a.Released.IsZero() {
		return err
	}
	if err := tx.Model(&Turn{}).Where("assignment = ? AND released = 0", assignment).Update("released", micros(a.Released)).Error; err != nil {
		return err
	}
	return tx.Model(&Assignment{}).Where("id = ?", assignment).Update("released", 0).Error
}

// Resit is one more try for one student, in a window of its own.
type Resit struct {
	Assignment string    `gorm:"primaryKey"`
	Person     string    `gorm:"primaryKey"`
	Try        int       `gorm:"primaryKey;autoIncrement:false"` // the one that it allows
	Opens      time.Time `gorm:"serializer:micros"`
	Closes     time.Time `gorm:"serializer:micros"`
	By         string
	At         time.Time `gorm:"serializer:micros"`
	Reason     string
}

// TableName is the table of Resit.
func (Resit) TableName() string { return "resits" }

// GrantResit lets a student begin one more try. What was released to everybody
// stays released to those who have had their turn. ErrDuplicate: it was granted.
func (s *Store) GrantResit(ctx context.Context, r Resit, note Note) error {
	note.About, note.By, note.Reason, note.Detail = "person:"+r.Person, r.By, r.Reason, "assignment:"+r.Assignment
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := oneByOne(tx, r.Assignment); err != nil {
			return err
		}
		r.At = s.now()
		return tx.Create(&r).Error
	})
}

// Resits returns the further tries of an assignment, of one person or, where
// none is named, of all.
func (s *Store) Resits(ctx context.Context, assignment, person string) (all []Resit, err error) {
	q := s.read.WithContext(ctx).Where("assignment = ?", assignment)
	if person != "" {
		q = q.Where("person = ?", person)
	}
	err = q.Order("person, try").Find(&all).Error
	return all, wrap("resits", err)
}

// MarkedVisits returns the visits of an assignment that are for marks, whatever
// their state, by turn and slot.
func (s *Store) MarkedVisits(ctx context.Context, assignment string) (all []Listed, err error) {
	rows, err := s.query(ctx, listedSQL+` JOIN turns t ON t.id = a.turn
		WHERE t.assignment = ? AND a.purpose <> ? ORDER BY a.turn, a.slot`, assignment, Orientation)
	if err != nil {
		return nil, wrap("marked visits", err)
	}
	defer rows.Close()
	for rows.Next() {
		l, err := scanListed(rows)
		if err != nil {
			return nil, wrap("marked visits", err)
		}
		all = append(all, l)
	}
	return all, wrap("marked visits", rows.Err())
}

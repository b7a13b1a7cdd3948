package store

import (
	"context"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Look is a missed finding that was examined once more before it was told. It is
// for the log and for its student, never for the marks.
type Look struct {
	Transcript int64     `gorm:"primaryKey;autoIncrement:false"`
	Place      string    `gorm:"primaryKey"` // field@site of what was missed
	At         time.Time `gorm:"serializer:micros"`
	Value      string    // what was committed: a place, "=", a value; empty: passed over
	Mark       int       // thousandths of what the finding could earn
}

// TableName is the table of Look.
func (Look) TableName() string { return "looks_again" }

// SaveLook keeps what was committed at a place. The first one stays: ErrDuplicate
// says that there is one.
func (s *Store) SaveLook(ctx context.Context, l Look) error {
	l.At = s.now()
	return s.inWrite(ctx, "save look", func(tx *gorm.DB) error { return tx.Create(&l).Error })
}

// PassLooks passes over places of a visit. What was committed at one stays.
func (s *Store) PassLooks(ctx context.Context, transcript int64, places []string) error {
	if len(places) == 0 {
		return nil
	}
	rows := make([]Look, len(places))
	for i, p := range places {
		rows[i] = Look{Transcript: transcript, Place: p, At: s.now()}
	}
	return s.inWrite(ctx, "pass looks", func(tx *gorm.DB) error {
		return tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&rows).Error
	})
}

// Looks returns what was looked at again in a visit, or passed over, in the order
// in which it was.
func (s *Store) Looks(ctx context.Context, transcript int64) (rows []Look, err error) {
	err = s.read.WithContext(ctx).Where("transcript = ?", transcript).Order("at, place").Find(&rows).Error
	return rows, wrap("looks", err)
}

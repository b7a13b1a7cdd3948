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
	Place      string    `gorm:"primaryKey"` // field@site of what was missed, or PassedOver
	At         time.Time `gorm:"serializer:micros"`
	Value      string    // what was committed: a place, "=", a value
	Mark       int       // thousandths of what the finding could earn
}

// PassedOver is the place of the row that stands for all that was not committed.
const PassedOver = ""

// TableName is the table of Look.
func (Look) TableName() string { return "looks_again" }

// SaveLook keeps what was committed at a place. The first one stays: ErrDuplicate
// says that there is one.
func (s *Store) SaveLook(ctx context.Context, l Look) error {
	l.At = s.now()
	return s.inWrite(ctx, "save look", func(tx *gorm.DB) error { return tx.Create(&l).Error })
}

// PassLooks passes over whatever is not committed in a visit, now and later.
func (s *Store) PassLooks(ctx context.Context, transcript int64) error {
	return s.inWrite(ctx, "pass looks", func(tx *gorm.DB) error {
		return tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&Look{Transcript: transcript, Place: PassedOver, At: s.now()}).Error
	})
}

// Looks returns what was looked at again in a visit in the order in which it was;
// a row at PassedOver stands for the rest.
func (s *Store) Looks(ctx context.Context, transcript int64) (rows []Look, err error) {
	err = s.read.WithContext(ctx).Where("transcript = ?", transcript).Order("at, place").Find(&rows).Error
	return rows, wrap("looks", err)
}

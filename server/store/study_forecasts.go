package store

import (
	"context"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Forecast is what a student expected before a debrief opened.
type Forecast struct {
	Transcript int64          `gorm:"primaryKey;autoIncrement:false"`
	At         time.Time      `gorm:"serializer:micros"` // zero: the visit ended before anybody was asked
	Domains    map[string]int `gorm:"serializer:json"`   // thousandths of each domain; empty: passed over
	Least      string         // field@site of the finding least sure of; empty: none
}

// TableName is the table of Forecast.
func (Forecast) TableName() string { return "forecasts" }

// unaskedRow says that somebody is not asked how sure they are.
type unaskedRow struct {
	Person string    `gorm:"primaryKey"`
	Since  time.Time `gorm:"serializer:micros"`
}

func (unaskedRow) TableName() string { return "unasked" }

// SaveForecast keeps what was expected of a visit. The first one stays:
// ErrDuplicate says that there is one.
func (s *Store) SaveForecast(ctx context.Context, f Forecast) error {
	f.At = s.now()
	if f.Domains == nil {
		f.Domains = map[string]int{}
	}
	return s.inWrite(ctx, "save forecast", func(tx *gorm.DB) error { return tx.Create(&f).Error })
}

// Forecast returns what was expected of a visit; ErrNotFound: nobody said yet.
func (s *Store) Forecast(ctx context.Context, transcript int64) (f Forecast, err error) {
	err = s.read.WithContext(ctx).Where("transcript = ?", transcript).Take(&f).Error
	return f, wrap("forecast", err)
}

// AwaitForecast returns the ids of a person's marked practice visits of which
// nobody has said or passed over yet what to expect.
func (s *Store) AwaitForecast(ctx context.Context, person string) (ids []string, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT a.id FROM attempts a LEFT JOIN forecasts f ON f.transcript = a.transcript
		WHERE a.person = ? AND a.purpose = '' AND a.state = ? AND f.transcript IS NULL ORDER BY a.transcript`, person, StateGraded).Scan(&ids).Error
	return ids, wrap("await forecast", err)
}

// AskSure says whether somebody is asked how sure they are while they chart.
func (s *Store) AskSure(ctx context.Context, person string, ask bool) error {
	return s.inWrite(ctx, "ask sure", func(tx *gorm.DB) error {
		if ask {
			return tx.Where("person = ?", person).Delete(&unaskedRow{}).Error
		}
		return tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&unaskedRow{person, s.now()}).Error
	})
}

// AsksSure reports whether somebody is asked how sure they are: unless they
// switched it off.
func (s *Store) AsksSure(ctx context.Context, person string) (bool, error) {
	var n int64
	err := s.read.WithContext(ctx).Model(&unaskedRow{}).Where("person = ?", person).Count(&n).Error
	return n == 0, wrap("asks sure", err)
}

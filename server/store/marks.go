package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Override is a person's mark of one line in place of the computed one.
type Override struct {
	Transcript int64  `gorm:"primaryKey;autoIncrement:false"`
	N          int    `gorm:"primaryKey;autoIncrement:false"`
	Line       string // a line's id
	Points     int64  // thousandths of a point
	By         string
	At         time.Time `gorm:"serializer:micros"`
	Reason     string
}

// TableName is the table of Override.
func (Override) TableName() string { return "overrides" }

// Decision is a person's word on what a report is held for.
type Decision struct {
	Transcript int64  `gorm:"primaryKey;autoIncrement:false"`
	N          int    `gorm:"primaryKey;autoIncrement:false"`
	What       string // id of a critical event, or a code
	Stands     bool
	By         string
	At         time.Time `gorm:"serializer:micros"`
	Reason     string
}

// TableName is the table of Decision.
func (Decision) TableName() string { return "decisions" }

// ReviewAsked is a student's wish that a person look at a line again.
type ReviewAsked struct {
	Transcript int64     `gorm:"primaryKey;autoIncrement:false"`
	Line       string    `gorm:"primaryKey"`
	Asked      time.Time `gorm:"serializer:micros"`
	Words      string    // id of a text
	Answered   time.Time `gorm:"serializer:micros"` // zero: waits
	By         string
	Upheld     bool // the mark was changed
	Answer     string
	Text       string `gorm:"->"` // the words themselves; empty once erased
}

// TableName is the table of ReviewAsked.
func (ReviewAsked) TableName() string { return "reviews_asked" }

// AddOverride adds a person's mark.
func (s *Store) AddOverride(ctx context.Context, o Override, note Note) error {
	note.By, note.Reason, note.About = o.By, o.Reason, fmt.Sprintf("transcript:%d", o.Transcript)
	note.Detail = fmt.Sprintf("%s to %d", o.Line, o.Points)
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		o.At = s.now()
		if err := nextN(tx, &Override{}, o.Transcript, &o.N); err != nil {
			return err
		}
		return tx.Create(&o).Error
	})
}

// AddDecision adds a person's word.
func (s *Store) AddDecision(ctx context.Context, d Decision, note Note) error {
	note.By, note.Reason, note.About = d.By, d.Reason, fmt.Sprintf("transcript:%d", d.Transcript)
	note.Detail = fmt.Sprintf("%s stands: %t", d.What, d.Stands)
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		d.At = s.now()
		if err := nextN(tx, &Decision{}, d.Transcript, &d.N); err != nil {
			return err
		}
		return tx.Create(&d).Error
	})
}

func nextN(tx *gorm.DB, of any, transcript int64, n *int) error {
	return tx.Model(of).Where("transcript = ?", transcript).Select("COALESCE(MAX(n), 0) + 1").Scan(n).Error
}

// Overrides returns people's marks on some transcripts, in the order in which
// they were given.
func (s *Store) Overrides(ctx context.Context, transcripts ...int64) (all []Override, err error) {
	err = s.read.WithContext(ctx).Where("transcript IN ?", transcripts).Order("transcript, n").Find(&all).Error
	return all, wrap("overrides", err)
}

// Decisions returns what people said of some transcripts, in order.
func (s *Store) Decisions(ctx context.Context, transcripts ...int64) (all []Decision, err error) {
	err = s.read.WithContext(ctx).Where("transcript IN ?", transcripts).Order("transcript, n").Find(&all).Error
	return all, wrap("decisions", err)
}

// AskReview asks for a line to be looked at again. ErrDuplicate: it was asked.
func (s *Store) AskReview(ctx context.Context, transcript int64, line, person, words string, note Note) error {
	if len(words) > MaxReason {
		return fmt.Errorf("ask review: %w: at most %d bytes", ErrInvalid, MaxReason)
	}
	note.By, note.About, note.Detail = person, fmt.Sprintf("transcript:%d", transcript), line
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		t := textRow{ID: newID(), Person: person, Text: words}
		if err := tx.Create(&t).Error; err != nil {
			return err
		}
		return tx.Create(&ReviewAsked{Transcript: transcript, Line: line, Asked: s.now(), Words: t.ID}).Error
	})
}

type textRow struct {
	ID     string `gorm:"primaryKey"`
	Person string
	Text   string
}

func (textRow) TableName() string { return "texts" }

// AnswerReview answers one. ErrUsed: it was answered already.
func (s *Store) AnswerReview(ctx context.Context, r ReviewAsked, note Note) error {
	note.By, note.Reason, note.About = r.By, r.Answer, fmt.Sprintf("transcript:%d", r.Transcript)
	note.Detail = fmt.Sprintf("%s changed: %t", r.Line, r.Upheld)
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		done := tx.Model(&ReviewAsked{}).Where("transcript = ? AND line = ? AND answered = 0", r.Transcript, r.Line).
			Updates(map[string]any{"answered": micros(s.now()), "by": r.By, "upheld": r.Upheld, "answer": r.Answer})
		if done.Error == nil && done.RowsAffected == 0 {
			return fmt.Errorf("answer: %w", ErrUsed)
		}
		return done.Error
	})
}

// ReviewsAsked returns what was asked about some transcripts; without any, every
// one that waits, the longest waiting first.
func (s *Store) ReviewsAsked(ctx context.Context, transcripts ...int64) (all []ReviewAsked, err error) {
	q := s.read.WithContext(ctx).Model(&ReviewAsked{}).Select("reviews_asked.*, texts.text").Joins("LEFT JOIN texts ON texts.id = reviews_asked.words")
	if len(transcripts) > 0 {
		q = q.Where("transcript IN ?", transcripts)
	} else {
		q = q.Where("answered = 0")
	}
	err = q.Order("asked, transcript, line").Find(&all).Error
	return all, wrap("reviews asked", err)
}

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
	Stands     bool   `gorm:"serializer:bit"`
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
	Upheld     bool `gorm:"serializer:bit"` // the mark was changed
	Answer     string
	Text       string `gorm:"->"` // the words themselves; empty once erased
}

// TableName is the table of ReviewAsked.
func (ReviewAsked) TableName() string { return "reviews_asked" }

// Seen is what somebody saw of a visit's marks before deciding something about
// them: how much people had said of it, and when its report was made.
type Seen struct {
	Overrides, Decisions, Reviews int
	Graded                        time.Time `gorm:"serializer:micros"`
}

const seenSQL = `SELECT (SELECT COUNT(*) FROM overrides WHERE transcript = r.transcript) AS overrides,
	(SELECT COUNT(*) FROM decisions WHERE transcript = r.transcript) AS decisions,
	(SELECT COUNT(*) FROM reviews_asked WHERE transcript = r.transcript) AS reviews, r.graded
	FROM reports r WHERE r.transcript = ?`

// SeenOf is how a marked visit stands now.
func (s *Store) SeenOf(ctx context.Context, transcript int64) (Seen, error) {
	return seenOf(s.read.WithContext(ctx), transcript)
}

func seenOf(db *gorm.DB, transcript int64) (got Seen, err error) {
	done := db.Raw(seenSQL, transcript).Scan(&got)
	if done.Error == nil && done.RowsAffected == 0 {
		done.Error = fmt.Errorf("seen: %w", ErrNotFound)
	}
	return got, wrap("seen", done.Error)
}

// stillAs is ErrConflict where a visit's marks are no longer as somebody saw them.
func stillAs(tx *gorm.DB, transcript int64, seen Seen) error {
	now, err := seenOf(tx, transcript)
	if err == nil && (now.Overrides != seen.Overrides || now.Decisions != seen.Decisions || now.Reviews != seen.Reviews || !now.Graded.Equal(seen.Graded)) {
		err = fmt.Errorf("%w: the marks changed meanwhile", ErrConflict)
	}
	return err
}

// AddOverride adds a person's mark. ErrConflict: the visit's marks are no longer
// as they were seen.
func (s *Store) AddOverride(ctx context.Context, o Override, seen Seen, note Note) error {
	note.By, note.Reason, note.About = o.By, o.Reason, fmt.Sprintf("transcript:%d", o.Transcript)
	note.Detail = fmt.Sprintf("%s to %d", o.Line, o.Points)
	return s.deed(ctx, note, func(tx *gorm.DB) error { return s.addOverride(tx, o, seen) })
}

func (s *Store) addOverride(tx *gorm.DB, o Override, seen Seen) error {
	if err := stillAs(tx, o.Transcript, seen); err != nil {
		return err
	}
	o.At = s.now()
	if err := nextN(tx, &Override{}, o.Transcript, &o.N); err != nil {
		return err
	}
	return tx.Create(&o).Error
}

// AddDecision adds a person's word. ErrConflict: as with AddOverride.
func (s *Store) AddDecision(ctx context.Context, d Decision, seen Seen, note Note) error {
	note.By, note.Reason, note.About = d.By, d.Reason, fmt.Sprintf("transcript:%d", d.Transcript)
	note.Detail = fmt.Sprintf("%s stands: %t", d.What, d.Stands)
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := stillAs(tx, d.Transcript, seen); err != nil {
			return err
		}
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

// AnswerReview answers one, with a mark in place of the one that was where it is
// given: both or neither. ErrUsed: it was answered already; ErrConflict: as with
// AddOverride.
func (s *Store) AnswerReview(ctx context.Context, r ReviewAsked, mark *Override, seen Seen, note Note) error {
	note.By, note.Reason, note.About = r.By, r.Answer, fmt.Sprintf("transcript:%d", r.Transcript)
	note.Detail = fmt.Sprintf("%s changed: %t", r.Line, mark != nil)
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		done := tx.Model(&ReviewAsked{}).Where("transcript = ? AND line = ? AND answered = 0", r.Transcript, r.Line).
			Updates(map[string]any{"answered": micros(s.now()), "by": r.By, "upheld": bit(mark != nil), "answer": r.Answer})
		if done.Error == nil && done.RowsAffected == 0 {
			return fmt.Errorf("answer: %w", ErrUsed)
		}
		if done.Error != nil || mark == nil {
			return done.Error
		}
		return s.addOverride(tx, *mark, seen)
	})
}

// ReviewsAsked returns what was asked about some transcripts, in the order in
// which it was asked.
func (s *Store) ReviewsAsked(ctx context.Context, transcripts ...int64) (all []ReviewAsked, err error) {
	err = asked(s.read.WithContext(ctx)).Where("reviews_asked.transcript IN ?", transcripts).
		Order("reviews_asked.asked, reviews_asked.transcript, reviews_asked.line").Find(&all).Error
	return all, wrap("reviews asked", err)
}

// asked selects reviews with their words.
func asked(db *gorm.DB) *gorm.DB {
	return db.Model(&ReviewAsked{}).Select("reviews_asked.*, texts.text").Joins("LEFT JOIN texts ON texts.id = reviews_asked.words")
}

// ReviewsWaiting returns what waits for an answer in some cohorts (nil: in all),
// the longest waiting first: the page that begins at offset, of at most limit,
// and how many wait in all.
func (s *Store) ReviewsWaiting(ctx context.Context, cohorts []string, offset, limit int) (all []ReviewAsked, total int64, err error) {
	waiting := func() *gorm.DB {
		q := asked(s.read.WithContext(ctx)).Joins("JOIN attempts a ON a.transcript = reviews_asked.transcript").
			Joins("JOIN turns t ON t.id = a.turn").Joins("JOIN assignments g ON g.id = t.assignment").Where("reviews_asked.answered = 0")
		if cohorts != nil {
			q = q.Where("g.cohort IN ?", cohorts)
		}
		return q
	}
	if err := waiting().Count(&total).Error; err != nil {
		return nil, 0, wrap("reviews waiting", err)
	}
	err = waiting().Order("reviews_asked.asked, reviews_asked.transcript, reviews_asked.line").Offset(offset).Limit(listLimit(limit)).Find(&all).Error
	return all, total, wrap("reviews waiting", err)
}

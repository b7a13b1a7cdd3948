package store

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
)

// The states of an attempt. They only move forward.
const (
	StateOpen    = "open"    // takes acts
	StateGrading = "grading" // finished; waits for its grade
	StateGraded  = "graded"  // has a report
	StateClosed  = "closed"  // finished, and is never marked
)

// Orientation is the purpose of an attempt that only shows how things are done.
const Orientation = "orientation"

// Attempt is one person's visit to one patient. Hashes point into the content
// table: what the case, catalogue, rubric and ranges were when it began.
// Alternatives are those that its person had then.
type Attempt struct {
	Transcript    int64  `gorm:"primaryKey;autoIncrement:false"` // the acts' key
	ID            string // what the outside knows: random text
	Person        string
	Case          string `gorm:"column:case_id"`
	Track         string
	State         string
	CaseHash      string
	CatalogueHash string
	RubricHash    string
	RangesHash    string
	Engine        string
	Seed          Hidden
	Key           Hidden    `gorm:"column:answer_key"` // the compiled answer key
	Started       time.Time `gorm:"serializer:micros"`
	Finished      time.Time `gorm:"serializer:micros"`
	Ended         string    // why it ended, in the server's word; empty while open
	Alternatives  Alternatives
	Turn          string // the turn at an assignment; empty: free practice
	Slot          int    // which of its patients
	Purpose       string // empty: practice; sitting or orientation
	Cue           string // what the sheet shows; empty: everything
	Places        string // labelled (also empty) or unlabelled
}

// TableName is the table of Attempt.
func (Attempt) TableName() string { return "attempts" }

// NewAttempt is what AddAttempt needs. The texts behind the hashes must have
// gone through PutContent before.
type NewAttempt struct {
	Person, Case, Track                             string
	CaseHash, CatalogueHash, RubricHash, RangesHash string
	Engine                                          string
	Seed, Key                                       Hidden
	Alternatives                                    Alternatives
	Turn                                            string
	Slot                                            int
	Purpose, Cue, Places                            string
}

// AddAttempt begins an attempt. ErrConflict: the person or one of the texts is
// not stored. ErrDuplicate: this patient of the turn was begun already.
func (s *Store) AddAttempt(ctx context.Context, n NewAttempt) (Attempt, error) {
	a := Attempt{ID: newID(), Person: n.Person, Case: n.Case, Track: n.Track, State: StateOpen,
		CaseHash: n.CaseHash, CatalogueHash: n.CatalogueHash, RubricHash: n.RubricHash, RangesHash: n.RangesHash,
		Engine: n.Engine, Seed: append(Hidden{}, n.Seed...), Key: append(Hidden{}, n.Key...), Started: s.now(), Alternatives: n.Alternatives,
		Turn: n.Turn, Slot: n.Slot, Purpose: n.Purpose, Cue: n.Cue, Places: n.Places}
	err := s.inWrite(ctx, "add attempt", func(tx *gorm.DB) error {
		next := tx.Raw("UPDATE counters SET value = value + 1 WHERE name = 'transcript' RETURNING value").Scan(&a.Transcript)
		if next.Error != nil {
			return next.Error
		}
		return tx.Create(&a).Error
	})
	if err != nil {
		return Attempt{}, err
	}
	return a, nil
}

// Attempt returns the attempt with this public id.
func (s *Store) Attempt(ctx context.Context, id string) (a Attempt, err error) {
	err = s.read.WithContext(ctx).Where("id = ?", id).Take(&a).Error
	return a, wrap("attempt", err)
}

// AttemptByTranscript returns the attempt that owns a transcript.
func (s *Store) AttemptByTranscript(ctx context.Context, transcript int64) (a Attempt, err error) {
	err = s.read.WithContext(ctx).Where("transcript = ?", transcript).Take(&a).Error
	return a, wrap("attempt", err)
}

// Finish closes an open attempt, which then waits for its grade. No act comes
// after it. One that is finished already is returned as it is; one for
// orientation is never marked.
func (s *Store) Finish(ctx context.Context, transcript int64, ended string) (a Attempt, err error) {
	err = s.inWrite(ctx, "finish", func(tx *gorm.DB) error {
		if err := tx.Where("transcript = ?", transcript).Take(&a).Error; err != nil || a.State != StateOpen {
			return err
		}
		a.State, a.Finished, a.Ended = StateGrading, s.now(), ended
		if a.Purpose == Orientation {
			a.State = StateClosed
		}
		return tx.Model(&a).Select("State", "Finished", "Ended").Updates(&a).Error
	})
	if err != nil {
		return Attempt{}, err
	}
	return a, nil
}

// ToGrade returns the attempts that wait for their grade, the longest waiting
// first. The queue is the attempts' state, so it outlives the process.
func (s *Store) ToGrade(ctx context.Context, limit int) (all []Attempt, err error) {
	err = s.read.WithContext(ctx).Where("state = ?", StateGrading).
		Order("finished, transcript").Limit(limit).Find(&all).Error
	return all, wrap("to grade", err)
}

// Filter chooses attempts; empty members choose all.
type Filter struct {
	Person  string
	People  []string // any of these; nil: anybody
	Case    string
	State   string
	Purpose string
	Before  int64 // only transcripts below: for the next page, the last one's
	Limit   int   // 0: 100; at most 1000
}

// Listed is one attempt in a list: nothing hidden in it.
type Listed struct {
	Transcript int64
	ID         string
	Person     string
	Name       string // empty once the person is erased
	Case       string
	Track      string
	State      string
	Ended      string
	Started    time.Time
	Finished   time.Time
	Acts       int
	Sounds     Alternatives
	Turn       string
	Slot       int
	Purpose    string
	Mark       *Report // without Packed; nil: not graded
}

const (
	listedMost    = 1000
	listedDefault = 100
)

// Attempts returns the chosen attempts, the newest first.
func (s *Store) Attempts(ctx context.Context, f Filter) (all []Listed, err error) {
	where, args := f.where()
	rows, err := s.query(ctx, listedSQL+where+" ORDER BY a.transcript DESC LIMIT ?", args...)
	if err != nil {
		return nil, wrap("attempts", err)
	}
	defer rows.Close()
	for rows.Next() {
		l, err := scanListed(rows)
		if err != nil {
			return nil, wrap("attempts", err)
		}
		all = append(all, l)
	}
	return all, wrap("attempts", rows.Err())
}

func (f Filter) where() (text string, args []any) {
	rows := []struct {
		column string
		value  any
		use    bool
	}{
		{"a.person = ?", f.Person, f.Person != ""},
		{"a.case_id = ?", f.Case, f.Case != ""},
		{"a.state = ?", f.State, f.State != ""},
		{"a.purpose = ?", f.Purpose, f.Purpose != ""},
		{"a.transcript < ?", f.Before, f.Before != 0},
	}
	var parts []string
	for _, r := range rows {
		if r.use {
			parts, args = append(parts, r.column), append(args, r.value)
		}
	}
	if f.People != nil {
		marks := strings.TrimSuffix(strings.Repeat("?, ", len(f.People)), ", ")
		parts = append(parts, "a.person IN ("+marks+")")
		for _, id := range f.People {
			args = append(args, id)
		}
	}
	if len(parts) > 0 {
		text = " WHERE " + strings.Join(parts, " AND ")
	}
	limit := f.Limit
	if limit <= 0 {
		limit = listedDefault
	}
	return text, append(args, min(limit, listedMost))
}

// listedSQL selects what scanListed reads.
var listedSQL = fmt.Sprintf(`SELECT a.transcript, a.id, a.person, COALESCE(n.name, ''), a.case_id, a.track, a.state, a.ended,
	a.alternatives, a.turn, a.slot, a.purpose, a.started, a.finished, COALESCE((SELECT MAX(n) FROM acts WHERE acts.transcript = a.transcript), 0), %s
	FROM attempts a LEFT JOIN names n ON n.person = a.person LEFT JOIN reports r ON r.transcript = a.transcript`, markColumns("r."))

func scanListed(rows *sql.Rows) (l Listed, err error) {
	var started, finished int64
	var m markScan
	dest := append([]any{&l.Transcript, &l.ID, &l.Person, &l.Name, &l.Case, &l.Track, &l.State, &l.Ended,
		&l.Sounds, &l.Turn, &l.Slot, &l.Purpose, &started, &finished, &l.Acts}, m.dest()...)
	if err := rows.Scan(dest...); err != nil {
		return Listed{}, err
	}
	l.Started, l.Finished = fromMicros(started), fromMicros(finished)
	l.Mark = m.report()
	return l, nil
}

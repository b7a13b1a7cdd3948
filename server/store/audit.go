package store

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"gorm.io/gorm"
)

// Note is an entry of the audit log: who did what, to what, and why. It is
// written together with the deed or not at all, and never changed. It holds no
// name and no text of a person's, so that it may outlive an erasure: a reason
// about a person stands in the table of texts and goes with the person.
type Note struct {
	N      int64     `gorm:"primaryKey;autoIncrement:false"`
	At     time.Time `gorm:"serializer:micros"`
	By     string    // a person's id; empty: the program itself
	Deed   string    // a word of the server's table
	About  string    // kind:id, such as assignment:...
	Cohort string    // whose instructors may read it; empty: coordinators only
	Detail string
	Reason string
	Words  string // id of the text that is the reason; empty: Reason itself is stored
	Stays  bool   `gorm:"-"` // the reason is the school's and outlives an erasure
}

// TableName is the table of Note.
func (Note) TableName() string { return "audit" }

// Erased stands in place of words that an erasure took.
const Erased = "[erased]"

// deed does something and writes its note in one transaction.
func (s *Store) deed(ctx context.Context, note Note, do func(tx *gorm.DB) error) error {
	if note.Deed == "" || note.About == "" || len(note.Reason) > MaxReason {
		return fmt.Errorf("note: %w: a deed, what it is about and a reason of at most %d bytes are needed", ErrInvalid, MaxReason)
	}
	return s.inWrite(ctx, note.Deed, func(tx *gorm.DB) error {
		if err := do(tx); err != nil {
			return err
		}
		return s.write1(tx, note)
	})
}

// write1 writes one note within a transaction.
func (s *Store) write1(tx *gorm.DB, note Note) error {
	note.At = s.now()
	if err := putReason(tx, &note); err != nil {
		return err
	}
	next := tx.Raw("UPDATE counters SET value = value + 1 WHERE name = 'audit' RETURNING value").Scan(&note.N)
	if next.Error != nil {
		return next.Error
	}
	return tx.Create(&note).Error
}

// putReason moves a reason about a person into the table of texts.
func putReason(tx *gorm.DB, note *Note) error {
	note.Words = ""
	if note.Reason == "" || note.Stays {
		return nil
	}
	about := note.About
	if _, who, ok := strings.Cut(note.Detail, "for person:"); ok { // one person's clock, before there is a turn
		about = "person:" + who
	}
	person, err := subject(tx, about)
	if err != nil || person == "" {
		return err
	}
	t := textRow{ID: newID(), Person: person, Text: note.Reason}
	note.Words, note.Reason = t.ID, ""
	return tx.Create(&t).Error
}

// subject is the person whom a note is about; empty: it is about none, or one
// who is erased.
func subject(tx *gorm.DB, about string) (string, error) {
	kind, id, _ := strings.Cut(about, ":")
	var q *gorm.DB
	switch kind {
	case "person":
		q = tx.Model(&Person{}).Where("id = ?", id)
	case "turn":
		q = tx.Model(&Person{}).Where("id = (SELECT person FROM turns WHERE id = ?)", id)
	case "transcript":
		n, err := strconv.ParseInt(id, 10, 64)
		if err != nil {
			return "", nil
		}
		q = tx.Model(&Person{}).Where("id = (SELECT person FROM attempts WHERE transcript = ?)", n)
	default:
		return "", nil
	}
	var ids []string
	if err := q.Where("erased = 0").Pluck("id", &ids).Error; err != nil || len(ids) == 0 {
		return "", err
	}
	return ids[0], nil
}

// Record writes a note of a deed that changed nothing in the database, such as
// handing out a file.
func (s *Store) Record(ctx context.Context, note Note) error {
	return s.deed(ctx, note, func(*gorm.DB) error { return nil })
}

// NoteFilter chooses notes; empty members choose all.
type NoteFilter struct {
	About   string
	Kind    string // of what it is about, such as person
	Cohort  string
	Cohorts []string // any of these; nil: any at all
	By      string
	People  []string // done by any of these, to them, or to a turn or visit of theirs; nil: anybody
	Deeds   []string // any of these; nil: any
	From    time.Time
	Until   time.Time // before this moment
	Before  int64     // only numbers below: for the next page
	Limit   int       // 0: 100; at most 1000
}

// Notes returns the chosen notes, the newest first, with their reasons; one that
// went with a person is Erased.
func (s *Store) Notes(ctx context.Context, f NoteFilter) (all []Note, err error) {
	q := s.read.WithContext(ctx).Model(&Note{}).
		Select("audit.n, audit.at, audit.\"by\", audit.deed, audit.about, audit.cohort, audit.detail, audit.words, "+
			"CASE WHEN audit.words = '' THEN audit.reason ELSE COALESCE(texts.text, ?) END AS reason", Erased).
		Joins("LEFT JOIN texts ON texts.id = audit.words").Order("audit.n DESC").Limit(listLimit(f.Limit))
	for _, w := range f.rows() {
		if w.use {
			q = q.Where(w.column, w.values...)
		}
	}
	err = q.Find(&all).Error
	return all, wrap("notes", err)
}

// noteWhere is one condition of a filter.
type noteWhere struct {
	column string
	use    bool
	values []any
}

func (f NoteFilter) rows() []noteWhere {
	mine := []any{f.People, aboutPeople(f.People), f.People, f.People}
	return []noteWhere{
		{"audit.about = ?", f.About != "", []any{f.About}},
		{"audit.about LIKE ?", f.Kind != "", []any{f.Kind + ":%"}},
		{"audit.cohort = ?", f.Cohort != "", []any{f.Cohort}},
		{"audit.cohort IN ? AND audit.cohort <> ''", f.Cohorts != nil, []any{f.Cohorts}},
		{`audit."by" = ?`, f.By != "", []any{f.By}},
		{`(audit."by" IN ? OR audit.about IN ? OR audit.about IN (SELECT 'turn:' || id FROM turns WHERE person IN ?)
			OR audit.about IN (SELECT 'transcript:' || transcript FROM attempts WHERE person IN ?))`, f.People != nil, mine},
		{"audit.deed IN ?", f.Deeds != nil, []any{f.Deeds}},
		{"audit.at >= ?", !f.From.IsZero(), []any{micros(f.From)}},
		{"audit.at < ?", !f.Until.IsZero(), []any{micros(f.Until)}},
		{"audit.n < ?", f.Before != 0, []any{f.Before}},
	}
}

func aboutPeople(ids []string) []string {
	out := make([]string, 0, len(ids))
	for _, id := range ids {
		out = append(out, "person:"+id)
	}
	return out
}

// listLimit is how many rows a list gives.
func listLimit(n int) int {
	if n <= 0 {
		return listedDefault
	}
	return min(n, listedMost)
}

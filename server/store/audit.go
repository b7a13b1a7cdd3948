package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Note is an entry of the audit log: who did what, to what, and why. It is
// written together with the deed or not at all. It holds no name and no text of
// a person's, so that it may outlive an erasure.
type Note struct {
	N      int64     `gorm:"primaryKey;autoIncrement:false"`
	At     time.Time `gorm:"serializer:micros"`
	By     string    // a person's id; empty: the program itself
	Deed   string    // a word of the server's table
	About  string    // kind:id, such as assignment:...
	Cohort string    // whose instructors may read it; empty: coordinators only
	Detail string
	Reason string
}

// TableName is the table of Note.
func (Note) TableName() string { return "audit" }

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
	next := tx.Raw("UPDATE counters SET value = value + 1 WHERE name = 'audit' RETURNING value").Scan(&note.N)
	if next.Error != nil {
		return next.Error
	}
	return tx.Create(&note).Error
}

// Record writes a note of a deed that changed nothing in the database, such as
// handing out a file.
func (s *Store) Record(ctx context.Context, note Note) error {
	return s.deed(ctx, note, func(*gorm.DB) error { return nil })
}

// NoteFilter chooses notes; empty members choose all.
type NoteFilter struct {
	About  string
	Cohort string
	By     string
	Before int64 // only numbers below: for the next page
	Limit  int   // 0: 100; at most 1000
}

// Notes returns the chosen notes, the newest first.
func (s *Store) Notes(ctx context.Context, f NoteFilter) (all []Note, err error) {
	q := s.read.WithContext(ctx).Order("n DESC").Limit(listLimit(f.Limit))
	for _, w := range []struct {
		column string
		value  any
		use    bool
	}{
		{"about = ?", f.About, f.About != ""}, {"cohort = ?", f.Cohort, f.Cohort != ""},
		{`"by" = ?`, f.By, f.By != ""}, {"n < ?", f.Before, f.Before != 0},
	} {
		if w.use {
			q = q.Where(w.column, w.value)
		}
	}
	err = q.Find(&all).Error
	return all, wrap("notes", err)
}

// listLimit is how many rows a list gives.
func listLimit(n int) int {
	if n <= 0 {
		return listedDefault
	}
	return min(n, listedMost)
}

package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"
)

// Enrolment is one line of a roster as it is to be done: a person who may not
// be there yet, and the place in the cohort.
type Enrolment struct {
	Person string // empty: a new one
	NewPerson
	Member string   // student or instructor; empty: leaves
	Leave  []string // cohorts that the person leaves
}

// enrolChunk lines go into one transaction: a long roster holds up no act.
const enrolChunk = 100

// Enrol does the lines of a roster in order and says after each part how many
// are done. What is done stays done where a later part fails; doing the same
// again changes nothing more. One note in the log is written a roster.
func (s *Store) Enrol(ctx context.Context, cohort string, lines []Enrolment, note Note, done func(int)) error {
	for from := 0; from < len(lines); from += enrolChunk {
		part := lines[from:min(from+enrolChunk, len(lines))]
		err := s.inWrite(ctx, "enrol", func(tx *gorm.DB) error {
			for i := range part {
				if err := s.enrolOne(tx, cohort, &part[i]); err != nil {
					return fmt.Errorf("line %d: %w", from+i+1, err)
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		done(from + len(part))
	}
	note.About, note.Cohort = "cohort:"+cohort, cohort
	return s.Record(ctx, note)
}

func (s *Store) enrolOne(tx *gorm.DB, cohort string, e *Enrolment) error {
	if e.Person == "" {
		p := Person{ID: newID(), Login: e.Login, LoginKey: FoldLogin(e.Login), Role: e.Role, Created: s.now()}
		if err := tx.Create(&p).Error; err != nil {
			return err
		}
		e.Person = p.ID
		if err := tx.Create(&nameRow{p.ID, e.Name, e.Number, e.Email}).Error; err != nil {
			return err
		}
	} else if err := s.contact(tx, e); err != nil {
		return err
	}
	for _, other := range e.Leave {
		if err := tx.Where("cohort = ? AND person = ?", other, e.Person).Delete(&Member{}).Error; err != nil {
			return err
		}
	}
	if e.Member == "" { // who has left meanwhile is out as wanted
		return tx.Where("cohort = ? AND person = ?", cohort, e.Person).Delete(&Member{}).Error
	}
	return s.setMember(tx, cohort, e.Person, e.Member)
}

// contact writes what the roster knows of a person; it takes no address away.
func (s *Store) contact(tx *gorm.DB, e *Enrolment) error {
	known := map[string]any{}
	for column, value := range map[string]string{"name": e.Name, "number": e.Number, "email": e.Email} {
		if value != "" {
			known[column] = value
		}
	}
	if len(known) == 0 {
		return nil
	}
	return oneRow("contact", tx.Model(&nameRow{}).Where("person = ?", e.Person).Updates(known))
}

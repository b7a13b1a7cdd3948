package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
)

// Cohort is a year, a group, a class.
type Cohort struct {
	ID       string `gorm:"primaryKey"`
	Name     string
	Created  time.Time `gorm:"serializer:micros"`
	Archived time.Time `gorm:"serializer:micros"` // zero: in use
	Deleted  time.Time `gorm:"serializer:micros"` // zero: is there
}

// TableName is the table of Cohort.
func (Cohort) TableName() string { return "cohorts" }

// Member is a person in a cohort.
type Member struct {
	Cohort string    `gorm:"primaryKey"`
	Person string    `gorm:"primaryKey"`
	Role   string    // student or instructor
	Since  time.Time `gorm:"serializer:micros"`
	Login  string    `gorm:"->"`
	Name   string    `gorm:"->"`
	Number string    `gorm:"->"`
	Email  string    `gorm:"->"`
	Base   string    `gorm:"->"` // the account's own role
	Chosen bool      `gorm:"->"` // a password

	Alternatives Alternatives `gorm:"->"`
}

// TableName is the table of Member.
func (Member) TableName() string { return "members" }

// Accommodation is what one student has beyond the others in a cohort's sittings.
type Accommodation struct {
	Cohort string `gorm:"primaryKey"`
	Person string `gorm:"primaryKey"`
	Extra  int    // percent of the time limit more
	Later  int    // minutes
	Pauses int    // minutes of own pauses
}

// TableName is the table of Accommodation.
func (Accommodation) TableName() string { return "accommodations" }

// AddCohort makes a cohort; by becomes one of its instructors where join says so.
func (s *Store) AddCohort(ctx context.Context, name, by string, join bool) (Cohort, error) {
	name = strings.TrimSpace(name)
	if name == "" || len(name) > MaxName {
		return Cohort{}, fmt.Errorf("add cohort: %w: a name of 1 to %d bytes is needed", ErrInvalid, MaxName)
	}
	c := Cohort{ID: newID(), Name: name, Created: s.now()}
	err := s.deed(ctx, Note{By: by, Deed: "make cohort", About: "cohort:" + c.ID, Cohort: c.ID}, func(tx *gorm.DB) error {
		if err := tx.Create(&c).Error; err != nil || !join {
			return err
		}
		return tx.Create(&Member{Cohort: c.ID, Person: by, Role: "instructor", Since: c.Created}).Error
	})
	return c, err
}

// Cohort returns one cohort that is not deleted.
func (s *Store) Cohort(ctx context.Context, id string) (c Cohort, err error) {
	err = s.read.WithContext(ctx).Where("id = ? AND deleted = 0", id).Take(&c).Error
	return c, wrap("cohort", err)
}

// Cohorts returns every cohort that is not deleted, those in use first, by name.
func (s *Store) Cohorts(ctx context.Context) (all []Cohort, err error) {
	err = s.read.WithContext(ctx).Where("deleted = 0").Order("archived, name, id").Find(&all).Error
	return all, wrap("cohorts", err)
}

// ChangeCohort renames, archives, brings back, deletes or puts back a cohort:
// column is name, archived or deleted.
func (s *Store) ChangeCohort(ctx context.Context, id, column string, value any, note Note) error {
	note.About, note.Cohort = "cohort:"+id, id
	if at, ok := value.(time.Time); ok {
		value = micros(at)
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return oneRow(note.Deed, tx.Model(&Cohort{}).Where("id = ?", id).Update(column, value))
	})
}

// MemberOf returns the person's memberships in cohorts that are not deleted.
func (s *Store) MemberOf(ctx context.Context, person string) (all []Member, err error) {
	err = s.read.WithContext(ctx).Model(&Member{}).Select("members.*").Joins("JOIN cohorts ON cohorts.id = members.cohort AND cohorts.deleted = 0").
		Where("members.person = ?", person).Order("cohorts.archived, cohorts.name").Find(&all).Error
	return all, wrap("member of", err)
}

// Members returns a cohort's people with their names, by name.
func (s *Store) Members(ctx context.Context, cohort string) (all []Member, err error) {
	err = s.read.WithContext(ctx).Model(&Member{}).Select("members.*, people.login, people.role AS base, people.password_hash <> '' AS chosen, people.alternatives, names.name, names.number, names.email").
		Joins("JOIN people ON people.id = members.person AND people.erased = 0 AND people.leaving = 0").Joins("LEFT JOIN names ON names.person = members.person").
		Where("members.cohort = ?", cohort).Order("members.role, names.name, people.login").Find(&all).Error
	return all, wrap("members", err)
}

// SetMember puts a person into a cohort, or changes the role there; an empty
// role takes the person out. Visits and marks stay.
func (s *Store) SetMember(ctx context.Context, cohort, person, role string, note Note) error {
	note.About, note.Cohort, note.Detail = "person:"+person, cohort, role
	return s.deed(ctx, note, func(tx *gorm.DB) error { return s.setMember(tx, cohort, person, role) })
}

func (s *Store) setMember(tx *gorm.DB, cohort, person, role string) error {
	if role == "" {
		return oneRow("leave", tx.Where("cohort = ? AND person = ?", cohort, person).Delete(&Member{}))
	}
	done := tx.Model(&Member{}).Where("cohort = ? AND person = ?", cohort, person).Update("role", role)
	if done.Error != nil || done.RowsAffected > 0 {
		return done.Error
	}
	return tx.Create(&Member{Cohort: cohort, Person: person, Role: role, Since: s.now()}).Error
}

// Accommodations returns what the students of a cohort have beyond the others.
func (s *Store) Accommodations(ctx context.Context, cohort string) (all []Accommodation, err error) {
	err = s.read.WithContext(ctx).Where("cohort = ?", cohort).Find(&all).Error
	return all, wrap("accommodations", err)
}

// Accommodate sets what a student has beyond the others; nothing takes the row away.
func (s *Store) Accommodate(ctx context.Context, a Accommodation, note Note) error {
	note.About, note.Cohort = "person:"+a.Person, a.Cohort
	note.Detail = fmt.Sprintf("%d %% more time, %d minutes later, %d minutes of pauses", a.Extra, a.Later, a.Pauses)
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if a.Extra == 0 && a.Later == 0 && a.Pauses == 0 {
			return tx.Where("cohort = ? AND person = ?", a.Cohort, a.Person).Delete(&Accommodation{}).Error
		}
		return tx.Save(&a).Error
	})
}

// StudentsOf returns the ids of everybody who is a student of a cohort that a
// person teaches.
func (s *Store) StudentsOf(ctx context.Context, instructor string) (ids []string, err error) {
	err = s.read.WithContext(ctx).Model(&Member{}).Distinct("members.person").
		Joins("JOIN members AS mine ON mine.cohort = members.cohort AND mine.person = ? AND mine.role = 'instructor'", instructor).
		Joins("JOIN cohorts ON cohorts.id = members.cohort AND cohorts.deleted = 0").
		Where("members.role = 'student'").Order("members.person").Pluck("members.person", &ids).Error
	return ids, wrap("students of", err)
}

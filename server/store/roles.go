package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// keepsCoordinator refuses, inside the transaction that takes a coordinator's
// role or account away, where nobody would be left who coordinates: a school
// that nobody can manage is not mended from within. Who has not chosen a
// password yet, or is to be erased, is nobody to rely on.
func keepsCoordinator(tx *gorm.DB, id string) error {
	var role string
	if err := tx.Model(&Person{}).Where("id = ? AND erased = 0", id).Pluck("role", &role).Error; err != nil || role != "coordinator" {
		return err
	}
	var others int64
	if err := tx.Model(&Person{}).Where("role = 'coordinator' AND id <> ? AND erased = 0 AND leaving = 0 AND password_hash <> ''", id).Count(&others).Error; err != nil {
		return err
	}
	if others == 0 {
		return fmt.Errorf("%w: nobody else coordinates", ErrLast)
	}
	return nil
}

// ChangeRole gives a person another role, from the next request on, and keeps who
// did it and why. ErrLast: the last coordinator keeps the role.
func (s *Store) ChangeRole(ctx context.Context, id, role string, note Note) error {
	if role == "" {
		return fmt.Errorf("set role: %w: a role is needed", ErrInvalid)
	}
	note.About, note.Detail = "person:"+id, role
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if role != "coordinator" {
			if err := keepsCoordinator(tx, id); err != nil {
				return err
			}
		}
		return oneRow("set role", tx.Model(&Person{}).Where("id = ? AND erased = 0", id).Update("role", role))
	})
}

// LeaveInstructor is ChangeMember's word for whether a cohort must keep an
// instructor.
type LeaveInstructor bool

// ChangeMember is SetMember where a cohort may have to keep its last instructor:
// ErrLast then, and nothing is changed.
func (s *Store) ChangeMember(ctx context.Context, cohort, person, role string, leave LeaveInstructor, note Note) error {
	note.About, note.Cohort, note.Detail = "person:"+person, cohort, role
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		var was []string
		if err := tx.Model(&Member{}).Where("cohort = ? AND person = ?", cohort, person).Pluck("role", &was).Error; err != nil {
			return err
		}
		if err := s.setMember(tx, cohort, person, role); err != nil {
			return err
		}
		if leave || len(was) == 0 || was[0] != "instructor" || role == "instructor" {
			return nil
		}
		return keepsInstructor(tx, cohort)
	})
}

// presentPeople leaves out the places of whoever is erased or leaves: those stay,
// so that a cohort's figures do.
const presentPeople = "JOIN people ON people.id = members.person AND people.erased = 0 AND people.leaving = 0"

func keepsInstructor(tx *gorm.DB, cohort string) error {
	var left int64
	if err := tx.Model(&Member{}).Joins(presentPeople).Where("members.cohort = ? AND members.role = 'instructor'", cohort).Count(&left).Error; err != nil {
		return err
	}
	if left == 0 {
		return fmt.Errorf("%w: nobody else teaches this cohort", ErrLast)
	}
	return nil
}

// Membership is one person's place in one cohort, with the cohort's name.
type Membership struct {
	Cohort, Name, Person, Role string
	Archived                   bool // the cohort
}

// Memberships returns everybody's places in cohorts that are not deleted.
func (s *Store) Memberships(ctx context.Context) (all []Membership, err error) {
	err = s.read.WithContext(ctx).Model(&Member{}).Select("members.cohort, cohorts.name, members.person, members.role, cohorts.archived <> 0 AS archived").
		Joins(presentPeople).Joins("JOIN cohorts ON cohorts.id = members.cohort AND cohorts.deleted = 0").Order("cohorts.name, members.person").Scan(&all).Error
	return all, wrap("memberships", err)
}

// DeletedCohorts returns the cohorts that were deleted since a moment, the last first.
func (s *Store) DeletedCohorts(ctx context.Context, since time.Time) (all []Cohort, err error) {
	err = s.read.WithContext(ctx).Where("deleted > ?", micros(since)).Order("deleted DESC, id").Find(&all).Error
	return all, wrap("deleted cohorts", err)
}

// PutBack brings a cohort back that was deleted since a moment. ErrNotFound: it
// was not, or longer ago.
func (s *Store) PutBack(ctx context.Context, id string, since time.Time, note Note) error {
	note.About, note.Cohort = "cohort:"+id, id
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return oneRow(note.Deed, tx.Model(&Cohort{}).Where("id = ? AND deleted > ?", id, micros(since)).Update("deleted", 0))
	})
}

// MemberCount is how many people of a role a cohort has.
type MemberCount struct {
	Cohort, Role string
	N            int
}

// MemberCounts counts the people of all cohorts, by role.
func (s *Store) MemberCounts(ctx context.Context) (all []MemberCount, err error) {
	err = s.read.WithContext(ctx).Model(&Member{}).Select("members.cohort, members.role, COUNT(*) AS n").Joins(presentPeople).Group("members.cohort, members.role").Scan(&all).Error
	return all, wrap("member counts", err)
}

// AddInvites adds one-time links, each in place of its person's earlier unused
// one, and writes a note for each person: all of them or none.
func (s *Store) AddInvites(ctx context.Context, all []NewInvite, note Note) error {
	return s.inWrite(ctx, "add invites", func(tx *gorm.DB) error {
		for _, n := range all {
			if err := s.addInvite(tx, n); err != nil {
				return err
			}
			note.By, note.About = n.By, "person:"+n.Person
			if err := s.write1(tx, note); err != nil {
				return err
			}
		}
		return nil
	})
}

// LatestTurns returns the last few of a person's turns: of those one may run.
func (s *Store) LatestTurns(ctx context.Context, person string) (all []Turn, err error) {
	err = s.read.WithContext(ctx).Where("person = ?", person).Order("seen DESC, id").Limit(8).Find(&all).Error
	return all, wrap("latest turns", err)
}

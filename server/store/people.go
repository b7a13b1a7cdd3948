package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
	"gorm.io/gorm"
)

// Person is somebody with an account.
type Person struct {
	ID           string `gorm:"primaryKey"`
	Login        string
	LoginKey     string // FoldLogin(Login)
	Role         string
	PasswordHash string    // PHC text; empty: none chosen yet, cannot sign in
	Created      time.Time `gorm:"serializer:micros"`
	Erased       time.Time `gorm:"serializer:micros"` // whoever leaves counts as erased: then as Leaving
	Name         string    `gorm:"->"`                // out of the table of names; empty once erased
	Number       string    `gorm:"->"`                // the school's own for the person
	Email        string    `gorm:"->"`
	Leaving      time.Time `gorm:"serializer:micros"` // when the person is to be erased; zero: never
	Hold         string    // why nothing may be erased; empty: it may
	HoldBy       string    // who said so
	HoldAt       time.Time `gorm:"serializer:micros"`

	Alternatives  Alternatives // for attempts that begin from now on
	CheckAnswered time.Time    `gorm:"serializer:micros"` // when the newest sound check that was answered had been asked
	CheckPassed   time.Time    `gorm:"serializer:micros"` // when a sound check was last passed
}

// TableName is the table of Person.
func (Person) TableName() string { return "people" }

type nameRow struct {
	Person string `gorm:"primaryKey"`
	Name   string
	Number string
	Email  string
}

func (nameRow) TableName() string { return "names" }

// NewPerson is what AddPerson needs. PasswordHash may be empty: the person then
// chooses a password through an invite.
type NewPerson struct {
	Login, Role, Name, PasswordHash, Number, Email string
	First                                          bool // only where there is nobody yet, else ErrUsed
}

// Limits of what a person may be called, in bytes.
const (
	MaxLogin = 254 // an address of electronic mail fits (RFC 5321, 4.5.3.1.3)
	MaxName  = 200
)

// FoldLogin returns the form in which two logins are the same one: without
// surrounding space, normalised, case folded.
func FoldLogin(login string) string {
	return cases.Fold().String(norm.NFKC.String(strings.TrimSpace(login)))
}

// AddPerson adds somebody under a new random id. ErrDuplicate: the login is taken.
func (s *Store) AddPerson(ctx context.Context, n NewPerson) (Person, error) {
	p := Person{ID: newID(), Login: strings.TrimSpace(n.Login), LoginKey: FoldLogin(n.Login), Role: n.Role,
		PasswordHash: n.PasswordHash, Created: s.now(), Name: strings.TrimSpace(n.Name), Number: n.Number, Email: n.Email}
	switch {
	case p.LoginKey == "" || len(p.LoginKey) > MaxLogin || len(p.Login) > MaxLogin:
		return Person{}, fmt.Errorf("add person: %w: a login of 1 to %d bytes is needed", ErrInvalid, MaxLogin)
	case p.Name == "" || len(p.Name) > MaxName:
		return Person{}, fmt.Errorf("add person: %w: a name of 1 to %d bytes is needed", ErrInvalid, MaxName)
	case p.Role == "":
		return Person{}, fmt.Errorf("add person: %w: a role is needed", ErrInvalid)
	}
	err := s.inWrite(ctx, "add person", func(tx *gorm.DB) error {
		if n.First {
			var others int64
			if err := tx.Model(&Person{}).Count(&others).Error; err != nil {
				return err
			}
			if others > 0 {
				return ErrUsed
			}
		}
		if err := tx.Create(&p).Error; err != nil {
			return err
		}
		return tx.Create(&nameRow{p.ID, p.Name, p.Number, p.Email}).Error
	})
	if err != nil {
		return Person{}, err
	}
	return p, nil
}

// named selects people with their names.
func named(db *gorm.DB) *gorm.DB {
	return db.Model(&Person{}).Select("people.*, names.name, names.number, names.email").Joins("LEFT JOIN names ON names.person = people.id")
}

// Person returns one person. Whoever is to be erased is as erased as who was: has
// no name and no login, and Erased is set.
func (s *Store) Person(ctx context.Context, id string) (p Person, err error) {
	err = named(s.read.WithContext(ctx)).Where("people.id = ?", id).Take(&p).Error
	if p.Erased.IsZero() {
		p.Erased = p.Leaving
	}
	return p, wrap("person", err)
}

// PersonByLogin returns the person with this login, however it is written.
func (s *Store) PersonByLogin(ctx context.Context, login string) (p Person, err error) {
	err = named(s.read.WithContext(ctx)).Where("people.login_key = ?", FoldLogin(login)).Take(&p).Error
	return p, wrap("person by login", err)
}

// People returns everybody who is not erased and does not leave, by login.
func (s *Store) People(ctx context.Context) (all []Person, err error) {
	err = named(s.read.WithContext(ctx)).Where("people.erased = 0 AND people.leaving = 0").Order("people.login_key").Find(&all).Error
	return all, wrap("people", err)
}

// SetPassword puts another password hash in place. Sessions go on: end them with
// EndSessions where the old password may have been known to somebody else.
func (s *Store) SetPassword(ctx context.Context, id, phc string) error {
	return s.setPerson(ctx, "set password", id, "password_hash", phc)
}

func (s *Store) setPerson(ctx context.Context, op, id, column, value string) error {
	done := s.write.WithContext(ctx).Model(&Person{}).Where("id = ? AND erased = 0", id).Update(column, value)
	return oneRow(op, done)
}

// Rename changes what a person is called.
func (s *Store) Rename(ctx context.Context, id, name string) error {
	name = strings.TrimSpace(name)
	if name == "" || len(name) > MaxName {
		return fmt.Errorf("rename: %w: a name of 1 to %d bytes is needed", ErrInvalid, MaxName)
	}
	return oneRow("rename", s.write.WithContext(ctx).Model(&nameRow{}).Where("person = ?", id).Update("name", name))
}

// oneRow makes an update that met no row ErrNotFound.
func oneRow(op string, done *gorm.DB) error {
	if done.Error == nil && done.RowsAffected == 0 {
		return fmt.Errorf("%s: %w", op, ErrNotFound)
	}
	return wrap(op, done.Error)
}

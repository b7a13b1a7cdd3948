package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Invite is a one-time link through which a person chooses a password, the first
// or a new one. Nobody else ever knows the password.
type Invite struct {
	TokenHash string `gorm:"primaryKey"`
	Person    string
	MadeBy    string    // a person's id; empty: the program itself
	Created   time.Time `gorm:"serializer:micros"`
	Expires   time.Time `gorm:"serializer:micros"`
	Used      time.Time `gorm:"serializer:micros"`
}

// TableName is the table of Invite.
func (Invite) TableName() string { return "invites" }

// NewInvite is what AddInvite needs. Token is the secret text of the link; only
// its hash is kept.
type NewInvite struct {
	Token   string
	Person  string
	By      string
	Expires time.Time
}

// AddInvite adds a one-time link and takes the person's earlier unused ones away.
func (s *Store) AddInvite(ctx context.Context, n NewInvite) error {
	return s.inWrite(ctx, "add invite", func(tx *gorm.DB) error { return s.addInvite(tx, n) })
}

func (s *Store) addInvite(tx *gorm.DB, n NewInvite) error {
	if n.Token == "" || !n.Expires.After(s.now()) {
		return fmt.Errorf("%w: a token and a time to come are needed", ErrInvalid)
	}
	var gone int64
	if err := tx.Model(&Person{}).Where("id = ? AND (erased <> 0 OR leaving <> 0)", n.Person).Count(&gone).Error; err != nil {
		return err
	}
	if gone > 0 {
		return ErrNotFound
	}
	if err := tx.Where("person = ? AND used = 0", n.Person).Delete(&Invite{}).Error; err != nil {
		return err
	}
	return tx.Create(&Invite{TokenHash: digest(n.Token), Person: n.Person, MadeBy: n.By,
		Created: s.now(), Expires: n.Expires}).Error
}

// Invite returns the invite of a token while it can be used; otherwise
// ErrNotFound, ErrUsed or ErrExpired.
func (s *Store) Invite(ctx context.Context, token string) (Invite, error) {
	return s.invite(s.read.WithContext(ctx), "invite", token)
}

func (s *Store) invite(db *gorm.DB, op, token string) (i Invite, err error) {
	if err := db.Where("token_hash = ?", digest(token)).Take(&i).Error; err != nil {
		return Invite{}, wrap(op, err)
	}
	switch {
	case !i.Used.IsZero():
		return Invite{}, fmt.Errorf("%s: %w", op, ErrUsed)
	case !s.now().Before(i.Expires):
		return Invite{}, fmt.Errorf("%s: %w", op, ErrExpired)
	}
	return i, nil
}

// Redeem uses an invite: the person gets this password hash, and every session
// of the person ends. Of two who redeem at the same time one gets ErrUsed.
func (s *Store) Redeem(ctx context.Context, token, phc string) (p Person, err error) {
	if phc == "" {
		return Person{}, fmt.Errorf("redeem: %w: a password hash is needed", ErrInvalid)
	}
	err = s.inWrite(ctx, "redeem", func(tx *gorm.DB) error {
		i, err := s.invite(tx, "invite", token)
		if err != nil {
			return err
		}
		now := micros(s.now())
		if err := oneRow("use", tx.Model(&Invite{}).Where("token_hash = ? AND used = 0", i.TokenHash).Update("used", now)); err != nil {
			return err
		}
		if err := oneRow("password", tx.Model(&Person{}).Where("id = ? AND erased = 0 AND leaving = 0", i.Person).Update("password_hash", phc)); err != nil {
			return err
		}
		if err := tx.Model(&Session{}).Where("person = ? AND ended = 0", i.Person).Update("ended", now).Error; err != nil {
			return err
		}
		return named(tx).Where("people.id = ?", i.Person).Take(&p).Error
	})
	if err != nil {
		return Person{}, err
	}
	return p, nil
}

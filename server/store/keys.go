package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// SigningKey signs tokens. A retired key only verifies.
type SigningKey struct {
	Kid     string `gorm:"primaryKey"`
	Secret  Hidden
	Created time.Time `gorm:"serializer:micros"`
	Retired time.Time `gorm:"serializer:micros"`
}

// TableName is the table of SigningKey.
func (SigningKey) TableName() string { return "signing_keys" }

// SigningKeys returns every key, the newest first; the first that is not retired signs.
func (s *Store) SigningKeys(ctx context.Context) ([]SigningKey, error) {
	return signingKeys(s.read.WithContext(ctx))
}

func signingKeys(db *gorm.DB) (keys []SigningKey, err error) {
	err = db.Order("created DESC, kid").Find(&keys).Error
	return keys, wrap("signing keys", err)
}

// EnsureSigningKey returns SigningKeys after adding one that fresh makes where
// there is none that signs. Of several processes at the same time only one adds.
func (s *Store) EnsureSigningKey(ctx context.Context, fresh func() (kid string, secret []byte)) (keys []SigningKey, err error) {
	err = s.inWrite(ctx, "ensure signing key", func(tx *gorm.DB) error {
		var signers int64
		if err := tx.Model(&SigningKey{}).Where("retired = 0").Count(&signers).Error; err != nil {
			return err
		}
		if signers == 0 {
			kid, secret := fresh()
			if err := s.addSigningKey(tx, kid, secret); err != nil {
				return err
			}
		}
		keys, err = signingKeys(tx)
		return err
	})
	return keys, err
}

// AddSigningKey adds a key, which signs from then on.
func (s *Store) AddSigningKey(ctx context.Context, kid string, secret []byte) error {
	return s.inWrite(ctx, "add signing key", func(tx *gorm.DB) error { return s.addSigningKey(tx, kid, secret) })
}

func (s *Store) addSigningKey(tx *gorm.DB, kid string, secret []byte) error {
	if kid == "" || len(secret) == 0 {
		return fmt.Errorf("%w: a key id and a secret are needed", ErrInvalid)
	}
	return tx.Create(&SigningKey{Kid: kid, Secret: secret, Created: s.now()}).Error
}

// RetireSigningKey lets a key sign no more; what it signed stays good.
func (s *Store) RetireSigningKey(ctx context.Context, kid string) error {
	return oneRow("retire signing key", s.write.WithContext(ctx).Model(&SigningKey{}).
		Where("kid = ? AND retired = 0", kid).Update("retired", micros(s.now())))
}

package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"gorm.io/gorm/clause"
)

type contentRow struct {
	Hash  string `gorm:"primaryKey"`
	Bytes []byte
}

func (contentRow) TableName() string { return "content" }

// PutContent keeps a text once, however often it comes, and returns its SHA-256
// in hex.
func (s *Store) PutContent(ctx context.Context, text []byte) (hash string, err error) {
	sum := sha256.Sum256(text)
	hash = hex.EncodeToString(sum[:])
	var n int64
	if err := s.read.WithContext(ctx).Model(&contentRow{}).Where("hash = ?", hash).Count(&n).Error; err != nil {
		return "", wrap("put content", err)
	}
	if n > 0 {
		return hash, nil // nearly always, and without the one writer
	}
	row := contentRow{Hash: hash, Bytes: append([]byte{}, text...)}
	err = s.write.WithContext(ctx).Clauses(clause.OnConflict{DoNothing: true}).Create(&row).Error
	return hash, wrap("put content", err)
}

// Content returns the text of a hash, and an error where it no longer is that text.
func (s *Store) Content(ctx context.Context, hash string) ([]byte, error) {
	var row contentRow
	if err := s.read.WithContext(ctx).Where("hash = ?", hash).Take(&row).Error; err != nil {
		return nil, wrap("content", err)
	}
	if sum := sha256.Sum256(row.Bytes); hex.EncodeToString(sum[:]) != hash {
		return nil, fmt.Errorf("content %s: the stored text has another hash: the database is damaged", hash)
	}
	return row.Bytes, nil
}

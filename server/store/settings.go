package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

type settingRow struct {
	Name    string `gorm:"primaryKey"`
	Value   string
	Changed time.Time `gorm:"serializer:micros"`
}

func (settingRow) TableName() string { return "settings" }

// Setting returns one of the school's settings; ErrNotFound: it was never set.
func (s *Store) Setting(ctx context.Context, name string) (string, error) {
	var row settingRow
	err := s.read.WithContext(ctx).Where("name = ?", name).Take(&row).Error
	return row.Value, wrap("setting "+name, err)
}

// SetSetting sets one of the school's settings.
func (s *Store) SetSetting(ctx context.Context, name, value string) error {
	if name == "" {
		return fmt.Errorf("set setting: %w: a name is needed", ErrInvalid)
	}
	return s.inWrite(ctx, "set setting", func(tx *gorm.DB) error {
		return tx.Save(&settingRow{Name: name, Value: value, Changed: s.now()}).Error
	})
}

// EnsureSetting returns a setting after setting it to what fresh makes where it
// was never set. Of several processes at the same time only one sets it.
func (s *Store) EnsureSetting(ctx context.Context, name string, fresh func() string) (value string, err error) {
	err = s.inWrite(ctx, "ensure setting", func(tx *gorm.DB) error {
		row := settingRow{Name: name, Value: fresh(), Changed: s.now()}
		if err := tx.Clauses(clause.OnConflict{DoNothing: true}).Create(&row).Error; err != nil {
			return err
		}
		if err := tx.Where("name = ?", name).Take(&row).Error; err != nil {
			return err
		}
		value = row.Value
		return nil
	})
	return value, err
}

// Settings returns all settings.
func (s *Store) Settings(ctx context.Context) (map[string]string, error) {
	var rows []settingRow
	if err := s.read.WithContext(ctx).Find(&rows).Error; err != nil {
		return nil, wrap("settings", err)
	}
	all := make(map[string]string, len(rows))
	for _, row := range rows {
		all[row.Name] = row.Value
	}
	return all, nil
}

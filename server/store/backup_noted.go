package store

import (
	"context"
	"time"

	"gorm.io/gorm"
)

// backupSetting keeps when the last backup was taken.
const backupSetting = "backup.last"

// NoteBackup writes down when a backup was taken, and its note, also through a
// store that Peek opened. ErrSchema: the database has to be brought up to date first.
func (s *Store) NoteBackup(ctx context.Context, taken time.Time, note Note) (err error) {
	if err := s.Current(ctx); err != nil {
		return err
	}
	if s.write == nil {
		if s.write, err = s.dialect.connect(writes, 1); err != nil {
			return s.dialect.explain(err)
		}
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return tx.Save(&settingRow{Name: backupSetting, Value: taken.Format(time.RFC3339), Changed: s.now()}).Error
	})
}

// LastBackup is when the last backup was taken; ErrNotFound: none was.
func (s *Store) LastBackup(ctx context.Context) (time.Time, error) {
	text, err := s.Setting(ctx, backupSetting)
	if err != nil {
		return time.Time{}, err
	}
	at, err := time.Parse(time.RFC3339, text)
	return at, wrap("last backup", err)
}

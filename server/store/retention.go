package store

import (
	"context"
	"time"

	"gorm.io/gorm"
)

// Past is a student whose every cohort is out of use.
type Past struct {
	ID, Login, Name, Number string
	Since                   time.Time `gorm:"serializer:micros"` // when the last of the cohorts was archived, or deleted
}

// PastStudents returns every student who was in cohorts and is in none that is
// in use, who teaches nowhere, leaves not and is not held; the longest away first.
func (s *Store) PastStudents(ctx context.Context) (all []Past, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT p.id, p.login, COALESCE(n.name, '') AS name, COALESCE(n.number, '') AS number,
		MAX(CASE WHEN c.archived <> 0 THEN c.archived ELSE c.deleted END) AS since
		FROM people p JOIN members m ON m.person = p.id JOIN cohorts c ON c.id = m.cohort LEFT JOIN names n ON n.person = p.id
		WHERE p.role = 'student' AND p.erased = 0 AND p.leaving = 0 AND p.hold = ''
		GROUP BY p.id, p.login, n.name, n.number
		HAVING SUM(CASE WHEN c.archived = 0 AND c.deleted = 0 THEN 1 ELSE 0 END) = 0 AND SUM(CASE WHEN m.role = 'student' THEN 0 ELSE 1 END) = 0
		ORDER BY since, p.id`).Scan(&all).Error
	return all, wrap("past students", err)
}

// SettingSince returns a setting and when it was last changed; ErrNotFound: never set.
func (s *Store) SettingSince(ctx context.Context, name string) (value string, changed time.Time, err error) {
	var row settingRow
	err = s.read.WithContext(ctx).Where("name = ?", name).Take(&row).Error
	return row.Value, row.Changed, wrap("setting "+name, err)
}

// ForgetDeleted takes the names of cohorts and the titles of assignments that
// were deleted before a moment and can no longer be put back. The rows stay,
// hidden for good, for marks may hang on them. It reports how many there were.
func (s *Store) ForgetDeleted(ctx context.Context, before time.Time) (n int, err error) {
	for _, t := range []struct{ table, column, kind string }{{"cohorts", "name", "cohort"}, {"assignments", "title", "assignment"}} {
		var ids []string
		err := s.read.WithContext(ctx).Table(t.table).Where("deleted <> 0 AND deleted <= ? AND "+t.column+" <> ''", micros(before)).Order("id").Pluck("id", &ids).Error
		if err != nil {
			return n, wrap("forget deleted", err)
		}
		for _, id := range ids {
			note := Note{Deed: "forget " + t.kind, About: t.kind + ":" + id}
			err := s.deed(ctx, note, func(tx *gorm.DB) error {
				if err := tx.Where("assignment = ?", id).Delete(&Draw{}).Error; err != nil { // there are none of a cohort
					return err
				}
				return oneRow("row", tx.Table(t.table).Where("id = ? AND deleted <> 0 AND deleted <= ?", id, micros(before)).Update(t.column, ""))
			})
			if err != nil {
				return n, err
			}
			n++
		}
	}
	return n, nil
}

// ChangeSetting sets one of the school's settings and keeps who did it; what
// stands so already is not touched.
func (s *Store) ChangeSetting(ctx context.Context, name, value string, note Note) error {
	if was, err := s.Setting(ctx, name); err == nil && was == value {
		return nil
	}
	note.About, note.Detail = "setting:"+name, value
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return tx.Save(&settingRow{Name: name, Value: value, Changed: s.now()}).Error
	})
}

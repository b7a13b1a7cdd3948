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
	for _, t := range []struct{ table, column, kind, word string }{{"cohorts", "name", "cohort", "forget cohort"}, {"assignments", "title", "assignment", "forget assignment"}} {
		var ids []string
		err := s.read.WithContext(ctx).Table(t.table).Where("deleted <> 0 AND deleted <= ? AND "+t.column+" <> ''", micros(before)).Order("id").Pluck("id", &ids).Error
		if err != nil {
			return n, wrap("forget deleted", err)
		}
		for _, id := range ids {
			note := Note{Deed: t.word, About: t.kind + ":" + id}
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

// SessionsOf returns a person's sessions, the newest first.
func (s *Store) SessionsOf(ctx context.Context, person string) (all []Session, err error) {
	err = s.read.WithContext(ctx).Where("person = ?", person).Order("created DESC, id_hash").Find(&all).Error
	return all, wrap("sessions of", err)
}

// TurnsOfPerson returns every turn of a person without its plan.
func (s *Store) TurnsOfPerson(ctx context.Context, person string) (all []Turn, err error) {
	err = s.read.WithContext(ctx).Select("id, assignment, person, try, seen, released, excused").Where("person = ?", person).Order("assignment, try").Find(&all).Error
	return all, wrap("turns of person", err)
}

// OwnCount is how much is kept of a person.
type OwnCount struct{ Cohorts, Turns, Visits, Acts, Reports, Reviews, Grants, Sessions, Notes, Drills, Watched, Forecasts, Again int }

// CountOwn counts what is kept of a person.
func (s *Store) CountOwn(ctx context.Context, person string) (n OwnCount, err error) {
	mine := "(SELECT transcript FROM attempts WHERE person = ?)"
	for _, row := range []struct {
		sql  string
		into *int
		args int
	}{
		{"members JOIN cohorts ON cohorts.id = members.cohort AND cohorts.deleted = 0 WHERE person = ?", &n.Cohorts, 1},
		{"turns WHERE person = ?", &n.Turns, 1}, {"attempts WHERE person = ?", &n.Visits, 1},
		{"acts WHERE transcript IN " + mine, &n.Acts, 1}, {"reports WHERE transcript IN " + mine, &n.Reports, 1},
		{"reviews_asked WHERE transcript IN " + mine, &n.Reviews, 1}, {"grants WHERE person = ?", &n.Grants, 1},
		{"sessions WHERE person = ?", &n.Sessions, 1}, {"drills WHERE person = ?", &n.Drills, 1}, {"watched WHERE person = ?", &n.Watched, 1},
		{"(SELECT id FROM plans WHERE person = ? UNION ALL SELECT place FROM looks_again WHERE transcript IN " + mine + ") AS again", &n.Again, 2},
		{"forecasts WHERE at <> 0 AND transcript IN " + mine, &n.Forecasts, 1},
		{`audit WHERE "by" = ? OR about = 'person:' || ? OR about IN (SELECT 'turn:' || id FROM turns WHERE person = ?)`, &n.Notes, 3},
	} {
		args := make([]any, row.args)
		for i := range args {
			args[i] = person
		}
		if err := s.read.WithContext(ctx).Raw("SELECT COUNT(*) FROM "+row.sql, args...).Scan(row.into).Error; err != nil {
			return n, wrap("count own", err)
		}
	}
	return n, nil
}

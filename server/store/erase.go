package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// LeaveFor is how long whoever leaves can be put back with everything; then the
// person is erased.
const LeaveFor = 30 * 24 * time.Hour

// ErrHeld: the person is kept from erasure.
var ErrHeld = errors.New("kept from erasure")

// Leaver is somebody who is to be erased: who it was, until it is too late.
// Everything that could name or let in the person stands here and nowhere else,
// so that whoever leaves is gone from every list at once.
type Leaver struct {
	Person       string `gorm:"primaryKey"`
	Login        string
	LoginKey     string
	PasswordHash string
	Name         string
	Number       string
	Email        string
	Since        time.Time `gorm:"serializer:micros"`
	By           string    // empty: the program, by the school's retention
	Role         string    `gorm:"->"`
	Until        time.Time `gorm:"->;serializer:micros"` // when the person is erased
	Hold         string    `gorm:"->"`
}

// TableName is the table of Leaver.
func (Leaver) TableName() string { return "leavers" }

// Leave marks a person as one who is to be erased in LeaveFor: the person can no
// longer sign in and is in no list, and all that was done stays. ErrHeld: there
// is a hold. ErrLast: nobody else coordinates. ErrNotFound: nobody, or one who
// leaves already.
func (s *Store) Leave(ctx context.Context, id string, note Note) error {
	note.About, note.Stays = "person:"+id, true
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := canGo(tx, id); err != nil {
			return err
		}
		var p Person
		if err := named(tx).Where("people.id = ? AND people.erased = 0 AND people.leaving = 0", id).Take(&p).Error; err != nil {
			return err
		}
		row := Leaver{Person: id, Login: p.Login, LoginKey: p.LoginKey, PasswordHash: p.PasswordHash, Name: p.Name, Number: p.Number,
			Email: p.Email, Since: s.now(), By: note.By}
		if err := tx.Create(&row).Error; err != nil {
			return err
		}
		gone := map[string]any{"login": "", "login_key": "leaving " + id, "password_hash": "", "leaving": micros(s.now().Add(LeaveFor))}
		if err := oneRow("row", tx.Model(&Person{}).Where("id = ?", id).Updates(gone)); err != nil {
			return err
		}
		if err := tx.Where("person = ?", id).Delete(&nameRow{}).Error; err != nil {
			return err
		}
		if err := tx.Where("person = ? AND used = 0", id).Delete(&Invite{}).Error; err != nil {
			return err
		}
		return tx.Model(&Session{}).Where("person = ? AND ended = 0", id).Update("ended", micros(s.now())).Error
	})
}

// Return puts back whoever leaves, with everything but the sessions.
// ErrNotFound: nobody leaves under this id, or it is too late. ErrDuplicate:
// somebody else has the login meanwhile.
func (s *Store) Return(ctx context.Context, id string, note Note) error {
	note.About, note.Stays = "person:"+id, true
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		row, err := s.leaver(tx, id)
		if err != nil {
			return err
		}
		back := map[string]any{"login": row.Login, "login_key": row.LoginKey, "password_hash": row.PasswordHash, "leaving": 0}
		if err := oneRow("row", tx.Model(&Person{}).Where("id = ?", id).Updates(back)); err != nil {
			return err
		}
		if err := tx.Create(&nameRow{id, row.Name, row.Number, row.Email}).Error; err != nil {
			return err
		}
		return tx.Where("person = ?", id).Delete(&Leaver{}).Error
	})
}

// present is who leaves and can still be put back: the clock decides, and a hold.
func (s *Store) present(db *gorm.DB) *gorm.DB {
	return db.Model(&Leaver{}).Select("leavers.*, people.role, people.leaving AS until, people.hold").
		Joins("JOIN people ON people.id = leavers.person").Where("people.leaving > ? OR people.hold <> ''", micros(s.now()))
}

func (s *Store) leaver(db *gorm.DB, id string) (row Leaver, err error) {
	err = s.present(db).Where("leavers.person = ?", id).Take(&row).Error
	return row, err
}

// Leavers returns everybody who leaves and can still be put back, the next to be
// erased first.
func (s *Store) Leavers(ctx context.Context) (all []Leaver, err error) {
	err = s.present(s.read.WithContext(ctx)).Order("people.leaving, leavers.person").Find(&all).Error
	return all, wrap("leavers", err)
}

// HoldPerson keeps everything of a person from erasure, for a reason; an empty
// one lifts that. Whoever leaves then has the whole of LeaveFor again.
func (s *Store) HoldPerson(ctx context.Context, id, reason string, note Note) error {
	note.About, note.Reason = "person:"+id, reason
	if len(reason) > MaxReason {
		return fmt.Errorf("hold: %w: a reason of at most %d bytes is needed", ErrInvalid, MaxReason)
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		var p Person
		if err := tx.Where("id = ? AND erased = 0", id).Take(&p).Error; err != nil {
			return err
		}
		if late := !p.Leaving.IsZero() && p.Hold == "" && !s.now().Before(p.Leaving); late || reason == "" && p.Hold == "" {
			return fmt.Errorf("hold: %w", ErrNotFound)
		}
		columns := map[string]any{"hold": reason, "hold_by": note.By, "hold_at": micros(s.now())}
		if reason == "" {
			columns = map[string]any{"hold": "", "hold_by": "", "hold_at": 0}
		}
		if reason == "" && !p.Leaving.IsZero() {
			columns["leaving"] = micros(s.now().Add(LeaveFor))
		}
		return oneRow("row", tx.Model(&Person{}).Where("id = ?", id).Updates(columns))
	})
}

// Held returns everybody who is kept from erasure, by login.
func (s *Store) Held(ctx context.Context) (all []Person, err error) {
	err = named(s.read.WithContext(ctx)).Where("people.erased = 0 AND people.hold <> ''").Order("people.login_key").Find(&all).Error
	return all, wrap("held", err)
}

// canGo refuses where a person is held or nobody else coordinates, within the
// transaction that erases.
func canGo(tx *gorm.DB, id string) error {
	var p Person
	if err := tx.Where("id = ? AND erased = 0", id).Take(&p).Error; err != nil {
		return err
	}
	if p.Hold != "" {
		return ErrHeld
	}
	return keepsCoordinator(tx, id)
}

// DueToErase returns the ids of whoever left long enough ago and is not held.
func (s *Store) DueToErase(ctx context.Context) (ids []string, err error) {
	err = s.read.WithContext(ctx).Model(&Person{}).Where("erased = 0 AND hold = '' AND leaving <> 0 AND leaving <= ?", micros(s.now())).
		Order("leaving, id").Pluck("id", &ids).Error
	return ids, wrap("due to erase", err)
}

// ErasePerson takes away who a person was: name, login, password, sessions,
// invites, what was granted to them and why, the words that they typed into acts
// (what tells them is blank's, for acts are bytes here), and the reasons that
// others gave for what they did to them. Attempts, acts, marks and the places in
// cohorts stay under the random id, so that no figure changes. ErrHeld: there is
// a legal hold; ErrLast: nobody else coordinates; ErrNotFound: nobody.
//
// It goes visit by visit, so that it holds up no act, and can be done again
// after it broke off. What was deleted is overwritten in the file and in the log beside it.
func (s *Store) ErasePerson(ctx context.Context, id string, blank Blank) error {
	if err := s.eraseWords(ctx, id, blank); err != nil {
		return err
	}
	note := Note{Deed: "erase person", About: "person:" + id}
	err := s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := canGo(tx, id); err != nil {
			return err
		}
		return s.erase(tx, id)
	})
	if err != nil {
		return err
	}
	return wrap("erase person", s.dialect.overwrite(ctx, s.write))
}

func (s *Store) erase(tx *gorm.DB, id string) error {
	gone := map[string]any{"login": "", "login_key": "erased " + id, "password_hash": "", "erased": micros(s.now()),
		"leaving": 0, "alternatives": "", "check_answered": 0, "check_passed": 0}
	if err := oneRow("row", tx.Model(&Person{}).Where("id = ? AND erased = 0", id).Updates(gone)); err != nil {
		return err
	}
	for _, table := range []any{&nameRow{}, &Leaver{}, &Invite{}, &Session{}, &Grant{}, &textRow{}, &Accommodation{}, &Watched{}, &Plan{}, &unaskedRow{}} { // refresh tokens go with their session
		if err := tx.Where("person = ?", id).Delete(table).Error; err != nil {
			return err
		}
	}
	if err := eraseDrills(tx, id); err != nil {
		return err
	}
	return eraseReasons(tx, id)
}

// eraseReasons blanks why somebody's clock was moved and why their turns do not
// count: such reasons tell of a person. That there was one stays. What was done
// for oneself alone, and decides no mark, goes.
func eraseReasons(tx *gorm.DB, id string) error {
	mine := "(SELECT id FROM turns WHERE person = ?)"
	for _, row := range []struct {
		sql  string
		args []any
	}{
		{"UPDATE clock_deeds SET reason = ? WHERE reason <> '' AND (person = ? OR turn IN " + mine + ")", []any{Erased, id, id}},
		{"UPDATE turns SET excused = ? WHERE excused <> '' AND person = ?", []any{Erased, id}},
		{"DELETE FROM forecasts WHERE transcript IN (SELECT transcript FROM attempts WHERE person = ?)", []any{id}},
		{"DELETE FROM looks_again WHERE transcript IN (SELECT transcript FROM attempts WHERE person = ?)", []any{id}},
	} {
		if err := tx.Exec(row.sql, row.args...).Error; err != nil {
			return err
		}
	}
	return nil
}

// Blank says how words are taken out of what is bytes to the store.
type Blank struct {
	// Act gives an act without its person's words, and the words; none: as it is.
	Act func(visit Attempt, act []byte) (blanked []byte, words []string, err error)
	// Report gives a report without such words.
	Report func(report []byte, words []string) ([]byte, error)
}

// eraseWords blanks the words in a person's visits, one transaction a visit.
func (s *Store) eraseWords(ctx context.Context, id string, blank Blank) error {
	var visits []Attempt
	if err := s.read.WithContext(ctx).Where("person = ?", id).Order("transcript").Find(&visits).Error; err != nil {
		return wrap("erase words", err)
	}
	for _, v := range visits {
		err := s.inWrite(ctx, "erase words", func(tx *gorm.DB) error {
			if err := canGo(tx, id); err != nil {
				return err
			}
			return eraseVisit(tx, v, blank)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// eraseVisit blanks one visit. The client's word for a request and the trace of
// what it sent go too: nobody asks again.
func eraseVisit(tx *gorm.DB, v Attempt, blank Blank) error {
	var rows []Act
	if err := tx.Table("acts").Select("n, act").Where("transcript = ?", v.Transcript).Order("n").Scan(&rows).Error; err != nil {
		return err
	}
	var said []string
	for _, row := range rows {
		if blank.Act == nil {
			break
		}
		act, words, err := blank.Act(v, row.Act)
		if err != nil {
			return fmt.Errorf("act %d: %w", row.N, err)
		}
		if len(words) == 0 {
			continue
		}
		said = append(said, words...)
		if err := tx.Exec("UPDATE acts SET act = ? WHERE transcript = ? AND n = ?", act, v.Transcript, row.N).Error; err != nil {
			return err
		}
	}
	if err := tx.Exec("UPDATE acts SET retry = 'erased', request = ? WHERE transcript = ?", []byte{}, v.Transcript).Error; err != nil {
		return err
	}
	if len(said) == 0 || blank.Report == nil {
		return nil
	}
	return eraseReports(tx, v.Transcript, said, blank)
}

// eraseReports blanks words in a visit's report and in those of markings anew.
func eraseReports(tx *gorm.DB, transcript int64, words []string, blank Blank) error {
	for _, table := range []string{"reports", "earlier_reports", "later_reports"} {
		which := "transcript"
		if table != "reports" {
			which = "regrading"
		}
		var rows []struct {
			Which  string
			Packed []byte
		}
		if err := tx.Raw("SELECT CAST("+which+" AS TEXT) AS which, packed FROM "+table+" WHERE transcript = ?", transcript).Scan(&rows).Error; err != nil {
			return err
		}
		for _, row := range rows {
			open, err := unpack(row.Packed)
			if err != nil {
				return err
			}
			if open, err = blank.Report(open, words); err != nil {
				return err
			}
			packed, err := pack(open)
			if err != nil {
				return err
			}
			sql := "UPDATE " + table + " SET packed = ? WHERE transcript = ? AND CAST(" + which + " AS TEXT) = ?"
			if err := tx.Exec(sql, packed, transcript, row.Which).Error; err != nil {
				return err
			}
		}
	}
	return nil
}

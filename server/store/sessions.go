package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// RefreshGrace is how long a refresh token still works after its first use, so
// that a program whose answer got lost on the way can ask again.
const RefreshGrace = 60 * time.Second

const (
	seenEvery = time.Minute         // last_seen is not written more often
	keepFor   = 30 * 24 * time.Hour // how long Sweep leaves what is over
)

// Session is one signing-in of one person. The row holds the hash of its id only.
type Session struct {
	IDHash   string `gorm:"primaryKey"`
	Person   string
	Kind     string    // the server's word: browser or program
	Created  time.Time `gorm:"serializer:micros"`
	LastSeen time.Time `gorm:"serializer:micros"`
	Expires  time.Time `gorm:"serializer:micros"`
	Ended    time.Time `gorm:"serializer:micros"`
}

// TableName is the table of Session.
func (Session) TableName() string { return "sessions" }

type refreshRow struct {
	TokenHash string `gorm:"primaryKey"`
	Session   string
	Created   time.Time `gorm:"serializer:micros"`
	Expires   time.Time `gorm:"serializer:micros"`
	Used      time.Time `gorm:"serializer:micros"`
}

func (refreshRow) TableName() string { return "refresh_tokens" }

// NewSession is what AddSession needs. ID is the secret random id.
type NewSession struct {
	ID, Person, Kind string
	Expires          time.Time
}

// AddSession begins a session.
func (s *Store) AddSession(ctx context.Context, n NewSession) (Session, error) {
	now := s.now()
	if n.ID == "" || !n.Expires.After(now) {
		return Session{}, fmt.Errorf("add session: %w: an id and a time to come are needed", ErrInvalid)
	}
	row := Session{IDHash: digest(n.ID), Person: n.Person, Kind: n.Kind, Created: now, LastSeen: now, Expires: n.Expires}
	if err := s.write.WithContext(ctx).Create(&row).Error; err != nil {
		return Session{}, wrap("add session", err)
	}
	return row, nil
}

// alive selects the sessions that are neither ended nor expired.
func (s *Store) alive(db *gorm.DB) *gorm.DB {
	return db.Model(&Session{}).Where("ended = 0 AND expires > ?", micros(s.now()))
}

// Session returns a living session; one that ended or expired is ErrNotFound.
func (s *Store) Session(ctx context.Context, id string) (row Session, err error) {
	err = s.alive(s.read.WithContext(ctx)).Where("id_hash = ?", digest(id)).Take(&row).Error
	return row, wrap("session", err)
}

// TouchSession notes that a session was in use, at most once a minute.
func (s *Store) TouchSession(ctx context.Context, id string) error {
	row, err := s.Session(ctx, id)
	if err != nil || s.now().Sub(row.LastSeen) < seenEvery {
		return err
	}
	return wrap("touch session", s.alive(s.write.WithContext(ctx)).
		Where("id_hash = ?", row.IDHash).Update("last_seen", micros(s.now())).Error)
}

// ExtendSession lets a living session last until a later time; an earlier one
// changes nothing.
func (s *Store) ExtendSession(ctx context.Context, id string, until time.Time) error {
	if _, err := s.Session(ctx, id); err != nil {
		return err
	}
	return wrap("extend session", s.alive(s.write.WithContext(ctx)).
		Where("id_hash = ? AND expires < ?", digest(id), micros(until)).Update("expires", micros(until)).Error)
}

// EndSession ends one session; ending it again changes nothing.
func (s *Store) EndSession(ctx context.Context, id string) error {
	return s.end(ctx, "end session", "id_hash = ?", digest(id))
}

// EndSessions ends every session of a person.
func (s *Store) EndSessions(ctx context.Context, person string) error {
	return s.end(ctx, "end sessions", "person = ?", person)
}

func (s *Store) end(ctx context.Context, op, where, what string) error {
	return wrap(op, s.write.WithContext(ctx).Model(&Session{}).
		Where("ended = 0").Where(where, what).Update("ended", micros(s.now())).Error)
}

// AddRefresh gives a session its first refresh token.
func (s *Store) AddRefresh(ctx context.Context, session, token string, expires time.Time) error {
	row := refreshRow{TokenHash: digest(token), Session: digest(session), Created: s.now(), Expires: expires}
	return wrap("add refresh", s.write.WithContext(ctx).Create(&row).Error)
}

// Refresh trades a refresh token for the next one and returns its session. A
// token that was used longer ago than RefreshGrace has been stolen, or its
// successor has: the session ends and the answer is ErrUsed. A token that is
// unknown, expired, or of a session that is over is ErrNotFound.
func (s *Store) Refresh(ctx context.Context, token, next string, expires time.Time) (session Session, err error) {
	stolen := false
	err = s.inWrite(ctx, "refresh", func(tx *gorm.DB) error {
		now, old := s.now(), refreshRow{}
		if err := tx.Where("token_hash = ? AND expires > ?", digest(token), micros(now)).Take(&old).Error; err != nil {
			return err
		}
		if err := s.alive(tx).Where("id_hash = ?", old.Session).Take(&session).Error; err != nil {
			return err
		}
		if !old.Used.IsZero() && now.Sub(old.Used) > RefreshGrace {
			stolen = true // and the transaction must stand, so no error here
			return tx.Model(&Session{}).Where("id_hash = ?", old.Session).Update("ended", micros(now)).Error
		}
		if old.Used.IsZero() {
			if err := tx.Model(&refreshRow{}).Where("token_hash = ?", old.TokenHash).Update("used", micros(now)).Error; err != nil {
				return err
			}
		}
		return tx.Create(&refreshRow{TokenHash: digest(next), Session: old.Session, Created: now, Expires: expires}).Error
	})
	if err == nil && stolen {
		err = fmt.Errorf("refresh: %w: the session was ended", ErrUsed)
	}
	if err != nil {
		return Session{}, err
	}
	return session, nil
}

// Sweep removes sessions, refresh tokens and invites that have been over for a
// month, but nothing of who is held. A server calls it once a day.
func (s *Store) Sweep(ctx context.Context) error {
	before := micros(s.now().Add(-keepFor))
	return s.inWrite(ctx, "sweep", func(tx *gorm.DB) error {
		held := "SELECT id FROM people WHERE hold <> ''"
		if err := tx.Where("expires < ? AND session NOT IN (SELECT id_hash FROM sessions WHERE person IN ("+held+"))", before).Delete(&refreshRow{}).Error; err != nil {
			return err
		}
		for _, table := range []any{&Session{}, &Invite{}} {
			if err := tx.Where("expires < ? AND person NOT IN ("+held+")", before).Delete(table).Error; err != nil {
				return err
			}
		}
		return nil
	})
}

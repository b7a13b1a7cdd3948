package store

import (
	"context"
	"database/sql/driver"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
)

// Alternatives are the other ways in which sounds are given to somebody. Its
// zero value is none: sounds are heard and nothing else.
type Alternatives struct {
	Traced    bool // a waveform runs along while the sound plays
	Described bool // what is heard is said in words
}

// The words under which alternatives are stored.
const (
	wordTraced    = "traced"
	wordDescribed = "described"
)

// String is what is stored: the words, separated by a space; empty for none.
func (a Alternatives) String() string {
	var words []string
	if a.Traced {
		words = append(words, wordTraced)
	}
	if a.Described {
		words = append(words, wordDescribed)
	}
	return strings.Join(words, " ")
}

// Any reports whether there is one at all.
func (a Alternatives) Any() bool { return a.Traced || a.Described }

// Value stores alternatives as String writes them.
func (a Alternatives) Value() (driver.Value, error) { return a.String(), nil }

// Scan reads what Value stores. A word that is not known is an error: it would
// be an alternative that nobody gives.
func (a *Alternatives) Scan(v any) error {
	text, ok := v.(string)
	if !ok {
		return fmt.Errorf("alternatives: a text expected, got %T", v)
	}
	*a = Alternatives{}
	for _, word := range strings.Fields(text) {
		switch word {
		case wordTraced:
			a.Traced = true
		case wordDescribed:
			a.Described = true
		default:
			return fmt.Errorf("alternatives: %q is not known", word)
		}
	}
	return nil
}

// Grant is one deed: what somebody had, what they got, by whom and why.
type Grant struct {
	Person string
	N      int
	At     time.Time `gorm:"serializer:micros"`
	By     string    // a person's id
	Was    Alternatives
	Became Alternatives
	Reason string
}

// TableName is the table of Grant.
func (Grant) TableName() string { return "grants" }

// NewGrant is what GrantAlternatives needs: what the person shall have from now on.
type NewGrant struct {
	Person, By string
	Want       Alternatives
	Reason     string
}

// GrantAlternatives says which alternatives a person has from now on; attempts
// that began before keep theirs. It reports whether anything changed; only then
// it is logged. ErrInvalid: the reason is missing or too long, or somebody
// grants to themselves. ErrNotFound: there is no such person.
func (s *Store) GrantAlternatives(ctx context.Context, n NewGrant) (changed bool, err error) {
	reason := strings.TrimSpace(n.Reason)
	switch {
	case reason == "" || len(reason) > MaxReason:
		return false, fmt.Errorf("grant: %w: a reason of 1 to %d bytes is needed", ErrInvalid, MaxReason)
	case n.By == "" || n.By == n.Person:
		return false, fmt.Errorf("grant: %w: somebody else must do it", ErrInvalid)
	}
	err = s.inWrite(ctx, "grant", func(tx *gorm.DB) error {
		var p Person
		if err := named(tx).Where("people.id = ? AND people.erased = 0 AND people.leaving = 0", n.Person).Take(&p).Error; err != nil {
			return err
		}
		if changed = p.Alternatives != n.Want; !changed {
			return nil
		}
		var last int64
		if err := tx.Model(&Grant{}).Where("person = ?", n.Person).Select("COALESCE(MAX(n), 0)").Scan(&last).Error; err != nil {
			return err
		}
		g := Grant{Person: n.Person, N: int(last) + 1, At: s.now(), By: n.By, Was: p.Alternatives, Became: n.Want, Reason: reason}
		if err := tx.Create(&g).Error; err != nil {
			return err
		}
		if err := oneRow("row", tx.Model(&Person{}).Where("id = ?", n.Person).Update("alternatives", n.Want)); err != nil {
			return err
		}
		return s.write1(tx, Note{By: n.By, Deed: "grant sounds", About: "person:" + n.Person, Detail: strings.Join(strings.Fields(n.Want.String()), " and "), Reason: reason})
	})
	return changed && err == nil, err
}

// Grants returns what was granted to a person and taken away, the newest first.
func (s *Store) Grants(ctx context.Context, person string) (all []Grant, err error) {
	err = s.read.WithContext(ctx).Where("person = ?", person).Order("n DESC").Find(&all).Error
	return all, wrap("grants", err)
}

// AnswerSoundCheck notes that a person answered the sound check that was asked
// at that moment, and when it was passed. Each can be answered once, and none
// that is older than one answered already: ErrUsed.
func (s *Store) AnswerSoundCheck(ctx context.Context, person string, asked time.Time, passed bool) error {
	return s.inWrite(ctx, "sound check", func(tx *gorm.DB) error {
		columns := map[string]any{"check_answered": micros(asked)}
		if passed {
			columns["check_passed"] = micros(s.now())
		}
		done := tx.Model(&Person{}).Where("id = ? AND erased = 0 AND check_answered < ?", person, micros(asked)).Updates(columns)
		if done.Error != nil || done.RowsAffected > 0 {
			return done.Error
		}
		var there int64
		if err := tx.Model(&Person{}).Where("id = ? AND erased = 0", person).Count(&there).Error; err != nil {
			return err
		}
		if there == 0 {
			return ErrNotFound
		}
		return ErrUsed
	})
}

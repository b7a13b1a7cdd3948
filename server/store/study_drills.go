package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// ErrElsewhere: another session has it.
var ErrElsewhere = errors.New("another session has it")

// The states of an item of a drill.
const (
	ItemAsked  = "asked"
	ItemMarked = "marked"
	ItemVoid   = "void" // never counts, neither right nor wrong
)

// Drill is one run of a person through a few short items.
type Drill struct {
	ID           string `gorm:"primaryKey"`
	Person       string
	Kind         string
	Species      string       // empty: any
	Started      time.Time    `gorm:"serializer:micros"`
	Ended        time.Time    `gorm:"serializer:micros"` // zero: not yet
	Holder       string       // hash of the session that has it
	Alternatives Alternatives // how sounds are given in it besides
}

// TableName is the table of Drill.
func (Drill) TableName() string { return "drills" }

// DrillItem is one item of a drill.
type DrillItem struct {
	Drill    string `gorm:"primaryKey"`
	N        int    `gorm:"primaryKey;autoIncrement:false"` // from 1
	Item     Hidden // how its patient is drawn
	Kind     string
	Species  string
	Skill    string
	State    string
	Asked    time.Time `gorm:"serializer:micros"`
	Answered time.Time `gorm:"serializer:micros"` // or when it became void
	Mark     int       // thousandths
	Sure     int       // 0: not said; else 50, 75 or 95 of 100
	Acts     []byte    // the short transcript, without outcomes
	Told     []byte    // what was answered and what it was; empty before
	Why      string    // of a void one: left, slept or stalled
}

// TableName is the table of DrillItem.
func (DrillItem) TableName() string { return "drill_items" }

// BeginDrill begins a drill with its first item. Whatever else this person has not
// ended is ended, and what waited there for an answer is void.
func (s *Store) BeginDrill(ctx context.Context, d Drill, first DrillItem) (Drill, error) {
	d.ID, d.Started = newID(), s.now()
	err := s.inWrite(ctx, "begin drill", func(tx *gorm.DB) error {
		var open []string
		if err := tx.Model(&Drill{}).Where("person = ? AND ended = 0", d.Person).Pluck("id", &open).Error; err != nil {
			return err
		}
		for _, id := range open {
			if err := s.endDrill(tx, id); err != nil {
				return err
			}
		}
		if err := tx.Create(&d).Error; err != nil {
			return err
		}
		return s.ask(tx, d.ID, 1, first)
	})
	return d, err
}

// ask adds an item that waits for its answer.
func (s *Store) ask(tx *gorm.DB, drill string, n int, item DrillItem) error {
	item.Drill, item.N, item.State, item.Asked = drill, n, ItemAsked, s.now()
	if item.Acts == nil {
		item.Acts, item.Told = []byte{}, []byte{}
	}
	return tx.Create(&item).Error
}

// endDrill ends a drill; an item that waits there is void.
func (s *Store) endDrill(tx *gorm.DB, id string) error {
	if err := s.voidItems(tx.Where("drill = ?", id), "left"); err != nil {
		return err
	}
	return tx.Model(&Drill{}).Where("id = ? AND ended = 0", id).Update("ended", micros(s.now())).Error
}

func (s *Store) voidItems(which *gorm.DB, why string) error {
	return which.Model(&DrillItem{}).Where("state = ?", ItemAsked).
		Updates(map[string]any{"state": ItemVoid, "why": why, "answered": micros(s.now())}).Error
}

// held runs f on a drill that a session has. ErrNotFound: no such drill of this
// person. ErrElsewhere: another session has it. ErrClosed: it has ended.
func (s *Store) held(ctx context.Context, op string, d Drill, f func(tx *gorm.DB) error) error {
	return s.inWrite(ctx, op, func(tx *gorm.DB) error {
		var row Drill
		if err := tx.Where("id = ? AND person = ?", d.ID, d.Person).Take(&row).Error; err != nil {
			return err
		}
		switch {
		case row.Holder != d.Holder:
			return ErrElsewhere
		case !row.Ended.IsZero():
			return ErrClosed
		}
		return f(tx)
	})
}

// AskNext adds the item after the n-th, which becomes void where it still waits.
// ErrUsed: there is one already. Errors as those of AnswerItem.
func (s *Store) AskNext(ctx context.Context, d Drill, n int, item DrillItem) error {
	return s.held(ctx, "ask next", d, func(tx *gorm.DB) error {
		var last int
		if err := tx.Model(&DrillItem{}).Where("drill = ?", d.ID).Select("COALESCE(MAX(n), 0)").Scan(&last).Error; err != nil {
			return err
		}
		if last != n {
			return ErrUsed
		}
		if err := s.voidItems(tx.Where("drill = ? AND n = ?", d.ID, n), "left"); err != nil {
			return err
		}
		return s.ask(tx, d.ID, n+1, item)
	})
}

// AnswerItem keeps the mark of an item that waits. ErrUsed: it was answered, or
// is void. ErrElsewhere: d.Holder does not have the drill. ErrClosed: it has ended.
// ErrNotFound: there is no such item of this person.
func (s *Store) AnswerItem(ctx context.Context, d Drill, item DrillItem) error {
	return s.settleItem(ctx, d, item.N, map[string]any{"state": ItemMarked, "mark": item.Mark, "sure": item.Sure, "acts": item.Acts, "told": item.Told})
}

// VoidItem makes an item that waits void. Errors as those of AnswerItem.
func (s *Store) VoidItem(ctx context.Context, d Drill, n int, why string) error {
	return s.settleItem(ctx, d, n, map[string]any{"state": ItemVoid, "why": why})
}

func (s *Store) settleItem(ctx context.Context, d Drill, n int, columns map[string]any) error {
	columns["answered"] = micros(s.now())
	return s.held(ctx, "settle item", d, func(tx *gorm.DB) error {
		var row DrillItem
		if err := tx.Where("drill = ? AND n = ?", d.ID, n).Take(&row).Error; err != nil {
			return err
		}
		if row.State != ItemAsked {
			return ErrUsed
		}
		return oneRow("row", tx.Model(&DrillItem{}).Where("drill = ? AND n = ?", d.ID, n).Updates(columns))
	})
}

// EndDrill ends a drill; an item that still waits is void. To end one that has
// ended changes nothing. ErrNotFound, ErrElsewhere as those of AnswerItem.
func (s *Store) EndDrill(ctx context.Context, d Drill) error {
	err := s.held(ctx, "end drill", d, func(tx *gorm.DB) error { return s.endDrill(tx, d.ID) })
	if errors.Is(err, ErrClosed) {
		return nil
	}
	return err
}

// HoldDrill gives a drill to a session; whoever had it is told at the next step.
// ErrNotFound: no such drill of this person.
func (s *Store) HoldDrill(ctx context.Context, d Drill) error {
	return s.inWrite(ctx, "hold drill", func(tx *gorm.DB) error {
		return oneRow("row", tx.Model(&Drill{}).Where("id = ? AND person = ?", d.ID, d.Person).Update("holder", d.Holder))
	})
}

// OwnDrill returns a drill of a person with its items in their order. ErrNotFound:
// there is none of this person.
func (s *Store) OwnDrill(ctx context.Context, person, id string) (d Drill, items []DrillItem, err error) {
	if err := s.read.WithContext(ctx).Where("id = ? AND person = ?", id, person).Take(&d).Error; err != nil {
		return d, nil, wrap("drill", err)
	}
	err = s.read.WithContext(ctx).Where("drill = ?", id).Order("n").Find(&items).Error
	return d, items, wrap("drill", err)
}

// DrillsOf returns a person's drills, the newest first; limit 0: all.
func (s *Store) DrillsOf(ctx context.Context, person string, limit int) (all []Drill, err error) {
	q := s.read.WithContext(ctx).Where("person = ?", person).Order("started DESC, id")
	if limit > 0 {
		q = q.Limit(limit)
	}
	err = q.Find(&all).Error
	return all, wrap("drills of", err)
}

// ItemsOf returns all items of a person's drills in the order in which they were
// asked, those in the given states; none given: in every state.
func (s *Store) ItemsOf(ctx context.Context, person string, states ...string) (all []DrillItem, err error) {
	q := s.read.WithContext(ctx).Where("drill IN (SELECT id FROM drills WHERE person = ?)", person).Order("asked, drill, n")
	if len(states) > 0 {
		q = q.Where("state IN ?", states)
	}
	err = q.Find(&all).Error
	return all, wrap("items of", err)
}

// LastDrills returns of each kind when a person last ended a drill of it.
func (s *Store) LastDrills(ctx context.Context, person string) (map[string]time.Time, error) {
	var rows []struct {
		Kind string
		Last int64
	}
	err := s.read.WithContext(ctx).Model(&Drill{}).Select("kind, MAX(ended) AS last").Where("person = ? AND ended <> 0", person).Group("kind").Scan(&rows).Error
	if err != nil {
		return nil, wrap("last drills", err)
	}
	out := map[string]time.Time{}
	for _, r := range rows {
		out[r.Kind] = fromMicros(r.Last)
	}
	return out, nil
}

// eraseDrills takes away a person's drills: no figure of the school rests on them.
func eraseDrills(tx *gorm.DB, person string) error {
	for _, sql := range []string{"DELETE FROM drill_items WHERE drill IN (SELECT id FROM drills WHERE person = ?)", "DELETE FROM drills WHERE person = ?"} {
		if err := tx.Exec(sql, person).Error; err != nil {
			return fmt.Errorf("drills: %w", err)
		}
	}
	return nil
}

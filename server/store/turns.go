package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Turn is one student's turn at an assignment: the patients in the order in
// which this student meets them.
type Turn struct {
	ID         string `gorm:"primaryKey"`
	Assignment string
	Person     string
	Try        int       // from 1
	Plan       Hidden    // the server's: slots, cases and seeds
	Holder     string    // hash of the session that is in the room; empty: none
	Seen       time.Time `gorm:"serializer:micros"` // when it last was
	Released   time.Time `gorm:"serializer:micros"` // to this student; zero: not, or with everybody
	Excused    string    // why it does not count; empty: it counts
}

// TableName is the table of Turn.
func (Turn) TableName() string { return "turns" }

// ClockDeed is something that moves the clock of one turn or of all.
type ClockDeed struct {
	Assignment string    `gorm:"primaryKey"`
	N          int       `gorm:"primaryKey;autoIncrement:false"`
	Turn       string    // empty: everybody's
	Person     string    // whose, before there is a turn; empty: as Turn says
	Kind       string    // begin, pause, resume, add, admit, finish or reopen
	At         time.Time `gorm:"serializer:micros"`
	Minutes    int
	Own        bool `gorm:"serializer:bit"` // the student's own pause
	By         string
	Reason     string
}

// TableName is the table of ClockDeed.
func (ClockDeed) TableName() string { return "clock_deeds" }

// BeginTurn makes a student's turn and begins its clock. ErrDuplicate: this try
// has begun, perhaps in another tab; ask for it. ErrClosed: the assignment is not
// set any more.
func (s *Store) BeginTurn(ctx context.Context, t Turn, cohort string) (Turn, error) {
	t.ID, t.Seen = newID(), s.now()
	note := Note{By: t.Person, Deed: "begin", About: "turn:" + t.ID, Cohort: cohort, Detail: "assignment:" + t.Assignment}
	err := s.deed(ctx, note, func(tx *gorm.DB) error {
		if err := canBegin(tx, t.Assignment); err != nil {
			return err
		}
		if err := tx.Create(&t).Error; err != nil {
			return err
		}
		return s.clock(tx, ClockDeed{Assignment: t.Assignment, Turn: t.ID, Kind: "begin", By: t.Person})
	})
	return t, err
}

// MoveClock adds a deed to the clock of a turn, or of all turns where it names
// none. The visits named, which the clock had ended and which now go on, take
// acts again; what was marked of them is dropped.
func (s *Store) MoveClock(ctx context.Context, d ClockDeed, note Note, goOn ...int64) error {
	note.By, note.Reason, note.About = d.By, d.Reason, "assignment:"+d.Assignment
	if d.Turn != "" {
		note.About = "turn:" + d.Turn
	}
	if d.Minutes != 0 {
		note.Detail = fmt.Sprintf("%d minutes", d.Minutes)
	}
	if d.Person != "" {
		note.Detail += " for person:" + d.Person
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		for _, transcript := range goOn {
			if err := reopen(tx, transcript); err != nil {
				return err
			}
		}
		return s.clock(tx, d)
	})
}

// reopen lets a visit take acts again. ErrClosed: somebody has worked on its mark.
func reopen(tx *gorm.DB, transcript int64) error {
	var worked int64
	for _, of := range []any{&Override{}, &Decision{}} {
		var n int64
		if err := tx.Model(of).Where("transcript = ?", transcript).Count(&n).Error; err != nil {
			return err
		}
		worked += n
	}
	if worked > 0 {
		return fmt.Errorf("%w: its mark was worked on", ErrClosed)
	}
	if err := tx.Exec("DELETE FROM reports WHERE transcript = ?", transcript).Error; err != nil {
		return err
	}
	return tx.Model(&Attempt{}).Where("transcript = ?", transcript).
		Updates(map[string]any{"state": StateOpen, "finished": 0, "ended": ""}).Error
}

func (s *Store) clock(tx *gorm.DB, d ClockDeed) error {
	d.At = s.now()
	if err := tx.Model(&ClockDeed{}).Where("assignment = ?", d.Assignment).Select("COALESCE(MAX(n), 0) + 1").Scan(&d.N).Error; err != nil {
		return err
	}
	return tx.Create(&d).Error
}

// ClockDeeds returns every deed on an assignment's clocks, in their order.
func (s *Store) ClockDeeds(ctx context.Context, assignment string) (all []ClockDeed, err error) {
	err = s.read.WithContext(ctx).Where("assignment = ?", assignment).Order("n").Find(&all).Error
	return all, wrap("clock", err)
}

// Turn returns one turn.
func (s *Store) Turn(ctx context.Context, id string) (t Turn, err error) {
	err = s.read.WithContext(ctx).Where("id = ?", id).Take(&t).Error
	return t, wrap("turn", err)
}

// TurnsOf returns a person's turns at an assignment, the first try first.
func (s *Store) TurnsOf(ctx context.Context, assignment, person string) (all []Turn, err error) {
	err = s.read.WithContext(ctx).Where("assignment = ? AND person = ?", assignment, person).Order("try").Find(&all).Error
	return all, wrap("turns", err)
}

// Turns returns every turn at an assignment.
func (s *Store) Turns(ctx context.Context, assignment string) (all []Turn, err error) {
	err = s.read.WithContext(ctx).Where("assignment = ?", assignment).Order("person, try").Find(&all).Error
	return all, wrap("turns", err)
}

// Hold says that a session is in the room of a turn; the one before it is told
// at its next request.
func (s *Store) Hold(ctx context.Context, turn, holder string) error {
	done := s.write.WithContext(ctx).Model(&Turn{}).Where("id = ?", turn).
		Updates(map[string]any{"holder": holder, "seen": micros(s.now())})
	return oneRow("hold", done)
}

// roomEvery is how often it is written that a session is still in the room.
const roomEvery = 10 * time.Second

// SeeTurn says that the session in the room of a turn is still there. It writes
// at most every ten seconds, and nothing for a session that is not in the room.
func (s *Store) SeeTurn(ctx context.Context, turn, holder string) error {
	now := s.now()
	return wrap("see turn", s.write.WithContext(ctx).Model(&Turn{}).
		Where("id = ? AND holder = ? AND seen <= ?", turn, holder, micros(now.Add(-roomEvery))).Update("seen", micros(now)).Error)
}

// Doing is how far one patient of a turn is: nothing hidden in it.
type Doing struct {
	Turn       string
	Slot       int
	Transcript int64
	State      string
	Ended      string
	Acts       int       // number of the last act; 0: none
	Last       time.Time `gorm:"serializer:micros"` // when it was
}

// DoingOf tells how far everybody is who has begun an assignment, by turn and slot.
func (s *Store) DoingOf(ctx context.Context, assignment string) (all []Doing, err error) {
	err = s.read.WithContext(ctx).Raw(`SELECT a.turn, a.slot, a.transcript, a.state, a.ended, COALESCE(l.n, 0) AS acts, COALESCE(l.at, 0) AS last
		FROM turns t JOIN attempts a ON a.turn = t.id
		LEFT JOIN acts l ON l.transcript = a.transcript AND l.n = (SELECT MAX(n) FROM acts WHERE acts.transcript = a.transcript)
		WHERE t.assignment = ? ORDER BY a.turn, a.slot`, assignment).Scan(&all).Error
	return all, wrap("doing", err)
}

// ChangeTurn releases a turn to its student or excuses it: column is released or
// excused.
func (s *Store) ChangeTurn(ctx context.Context, id, column string, value any, note Note) error {
	note.About = "turn:" + id
	if at, ok := value.(time.Time); ok {
		value = micros(at)
	}
	return s.deed(ctx, note, func(tx *gorm.DB) error {
		return oneRow(note.Deed, tx.Model(&Turn{}).Where("id = ?", id).Update(column, value))
	})
}

// VisitsOf returns the attempts of a turn, by slot.
func (s *Store) VisitsOf(ctx context.Context, turns ...string) (all []Attempt, err error) {
	err = s.read.WithContext(ctx).Where("turn IN ?", turns).Order("turn, slot, transcript").Find(&all).Error
	return all, wrap("visits of", err)
}

// OpenTurnVisits returns the attempts of turns that still take acts.
func (s *Store) OpenTurnVisits(ctx context.Context) (all []Attempt, err error) {
	err = s.read.WithContext(ctx).Where("state = ? AND turn <> ''", StateOpen).Order("transcript").Find(&all).Error
	return all, wrap("open visits of turns", err)
}

package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"
)

// The states of a regrading.
const (
	RegradeWorking   = "working"   // the new marks are being worked out
	RegradeProposed  = "proposed"  // worked out; nothing is in force
	RegradeAccepted  = "accepted"  // in force
	RegradeUndone    = "undone"    // put back
	RegradeWithdrawn = "withdrawn" // dropped before it was in force
)

// MaxReason is the longest reason of a deed, in bytes.
const MaxReason = 2000

// Regrading is marking visits anew that were marked by an earlier version of a
// rubric. From and To are hashes in the content table.
type Regrading struct {
	ID     string
	At     time.Time `gorm:"serializer:micros"`
	By     string    // a person's id
	Rubric string    // the rubric's id
	From   string    `gorm:"column:from_hash"`
	To     string    `gorm:"column:to_hash"`
	Case   string    `gorm:"column:case_id"` // only visits to this patient; empty: to any
	State  string
}

// TableName is the table of Regrading.
func (Regrading) TableName() string { return "regradings" }

// RegradingEvent is one deed of the audit trail.
type RegradingEvent struct {
	Regrading string
	N         int
	At        time.Time `gorm:"serializer:micros"`
	By        string    // a person's id
	Deed      string    // propose, accept, undo or withdraw
	Reason    string
}

// TableName is the table of RegradingEvent.
func (RegradingEvent) TableName() string { return "regrading_events" }

// RubricUse is how many visits one version of a rubric marks.
type RubricUse struct {
	Hash     string
	Attempts int // whatever their state
	Graded   int
}

// RubricUses counts the visits of every version that any visit began with or
// was marked anew by, in the order of the hashes.
func (s *Store) RubricUses(ctx context.Context) (all []RubricUse, err error) {
	rows, err := pool(s.read).QueryContext(ctx, `SELECT rubric_hash, COUNT(*), SUM(CASE WHEN state = ? THEN 1 ELSE 0 END)
		FROM attempts GROUP BY rubric_hash ORDER BY rubric_hash`, StateGraded)
	if err != nil {
		return nil, wrap("rubric uses", err)
	}
	defer rows.Close()
	for rows.Next() {
		var u RubricUse
		if err := rows.Scan(&u.Hash, &u.Attempts, &u.Graded); err != nil {
			return nil, wrap("rubric uses", err)
		}
		all = append(all, u)
	}
	return all, wrap("rubric uses", rows.Err())
}

// NewRegrading is what Propose needs. Both texts must have gone through PutContent.
type NewRegrading struct{ By, Rubric, From, To, Case string }

// Propose begins a regrading, in state working. One that is already worked out
// or being so for the same visits and version is returned in its place, so that
// asking twice is asking once.
func (s *Store) Propose(ctx context.Context, n NewRegrading) (r Regrading, err error) {
	if n.From == n.To || n.Rubric == "" || n.By == "" {
		return Regrading{}, fmt.Errorf("propose: %w: two versions of a rubric and a person are needed", ErrInvalid)
	}
	err = s.inWrite(ctx, "propose", func(tx *gorm.DB) error {
		found := tx.Where("from_hash = ? AND to_hash = ? AND case_id = ? AND state IN ?", n.From, n.To, n.Case,
			[]string{RegradeWorking, RegradeProposed}).Order("at").Limit(1).Find(&r)
		if found.Error != nil || found.RowsAffected > 0 {
			return found.Error
		}
		r = Regrading{ID: newID(), At: s.now(), By: n.By, Rubric: n.Rubric, From: n.From, To: n.To, Case: n.Case, State: RegradeWorking}
		if err := tx.Create(&r).Error; err != nil {
			return err
		}
		return s.note(tx, r.ID, "propose", n.By, "")
	})
	if err != nil {
		return Regrading{}, err
	}
	return r, nil
}

// note appends to the audit trail.
func (s *Store) note(tx *gorm.DB, id, deed, by, reason string) error {
	var n int64
	if err := tx.Model(&RegradingEvent{}).Where("regrading = ?", id).Count(&n).Error; err != nil {
		return err
	}
	return tx.Create(&RegradingEvent{Regrading: id, N: int(n) + 1, At: s.now(), By: by, Deed: deed, Reason: reason}).Error
}

// Regrading returns the regrading with this id.
func (s *Store) Regrading(ctx context.Context, id string) (r Regrading, err error) {
	err = s.read.WithContext(ctx).Where("id = ?", id).Take(&r).Error
	return r, wrap("regrading", err)
}

// Regradings returns those of a rubric, newest first.
func (s *Store) Regradings(ctx context.Context, rubric string) (all []Regrading, err error) {
	err = s.read.WithContext(ctx).Where("rubric = ?", rubric).Order("at DESC, id").Limit(listedMost).Find(&all).Error
	return all, wrap("regradings", err)
}

// RegradingsAtWork returns those that are not worked out yet, oldest first. The
// queue is their state, so it outlives the process.
func (s *Store) RegradingsAtWork(ctx context.Context) (all []Regrading, err error) {
	err = s.read.WithContext(ctx).Where("state = ?", RegradeWorking).Order("at, id").Find(&all).Error
	return all, wrap("regradings at work", err)
}

// RegradingEvents returns the audit trail of a regrading, oldest first.
func (s *Store) RegradingEvents(ctx context.Context, id string) (all []RegradingEvent, err error) {
	err = s.read.WithContext(ctx).Where("regrading = ?", id).Order("n").Find(&all).Error
	return all, wrap("regrading events", err)
}

// ToRegrade returns the next visits that a regrading is for and that it has not
// come to yet, at most limit of them, in the order of their transcripts.
func (s *Store) ToRegrade(ctx context.Context, r Regrading, limit int) (all []Attempt, err error) {
	var last int64
	err = pool(s.read).QueryRowContext(ctx, "SELECT COALESCE(MAX(transcript), 0) FROM regraded WHERE regrading = ?", r.ID).Scan(&last)
	if err != nil {
		return nil, wrap("to regrade", err)
	}
	q := s.read.WithContext(ctx).Where("rubric_hash = ? AND state = ? AND transcript > ?", r.From, StateGraded, last)
	if r.Case != "" {
		q = q.Where("case_id = ?", r.Case)
	}
	err = q.Order("transcript").Limit(limit).Find(&all).Error
	return all, wrap("to regrade", err)
}

// Regraded is one visit marked anew, or the reason why it could not be.
type Regraded struct {
	Transcript int64
	Refused    string // not empty: nothing below counts
	Marks      int    // how many marks change
	Key        Hidden // compiled for the new version
	Earlier    Report // as read: it must still be so
	Later      Report
}

// KeepRegraded keeps what was worked out for some visits, all or nothing,
// together with the reports as they are. ErrConflict: the regrading is no
// longer at work, or a report is no longer what it was.
func (s *Store) KeepRegraded(ctx context.Context, id string, rows []Regraded) error {
	return s.inWrite(ctx, "keep regraded", func(tx *gorm.DB) error {
		if err := needState(tx, id, RegradeWorking); err != nil {
			return err
		}
		for i := range rows {
			if err := s.keepOne(tx, id, &rows[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

func needState(tx *gorm.DB, id, state string) error {
	var r Regrading
	if err := tx.Where("id = ?", id).Take(&r).Error; err != nil {
		return err
	}
	if r.State != state {
		return fmt.Errorf("%w: the regrading is %s, not %s", ErrConflict, r.State, state)
	}
	return nil
}

func (s *Store) keepOne(tx *gorm.DB, id string, r *Regraded) error {
	turn, engines := 0, 0
	if r.Refused == "" && r.Later.Engine != r.Earlier.Engine {
		engines = 1
	}
	if r.Refused == "" && r.Later.Pass != r.Earlier.Pass {
		if turn = -1; r.Later.Pass {
			turn = 1
		}
	}
	err := tx.Exec("INSERT INTO regraded (regrading, transcript, refused, marks, delta, turn, engines, place) VALUES "+marks(1, 8),
		id, r.Transcript, r.Refused, r.Marks, r.Later.Total-r.Earlier.Total, turn, engines, placeNever).Error
	if err != nil || r.Refused != "" {
		return err
	}
	kept := tx.Exec("INSERT INTO earlier_reports (regrading, transcript, answer_key, "+markColumns("")+", packed) SELECT ?, r.transcript, a.answer_key, "+
		markColumns("r.")+", r.packed FROM reports r JOIN attempts a ON a.transcript = r.transcript WHERE r.transcript = ? AND r.total = ? AND r.graded = ?",
		id, r.Transcript, r.Earlier.Total, micros(r.Earlier.Graded))
	if kept.Error != nil {
		return kept.Error
	}
	if kept.RowsAffected != 1 {
		return fmt.Errorf("%w: a report changed while it was marked anew", ErrConflict)
	}
	r.Later.Graded = s.now()
	values, err := r.Later.values()
	if err != nil {
		return err
	}
	packed, err := pack(r.Later.Packed)
	if err != nil {
		return err
	}
	args := append(append([]any{id, r.Transcript, []byte(r.Key)}, values...), packed)
	return tx.Exec("INSERT INTO later_reports (regrading, transcript, answer_key, "+markColumns("")+", packed) VALUES "+marks(1, len(args)), args...).Error
}

// FinishProposal moves a regrading on from working to proposed.
func (s *Store) FinishProposal(ctx context.Context, id string) error {
	return s.inWrite(ctx, "finish proposal", func(tx *gorm.DB) error {
		return moveState(tx, id, []string{RegradeWorking}, RegradeProposed)
	})
}

// moveState is ErrConflict where the regrading is in no state of from.
func moveState(tx *gorm.DB, id string, from []string, to string) error {
	moved := tx.Model(&Regrading{}).Where("id = ? AND state IN ?", id, from).Update("state", to)
	if moved.Error != nil {
		return moved.Error
	}
	if moved.RowsAffected == 1 {
		return nil
	}
	var r Regrading
	if err := tx.Where("id = ?", id).Take(&r).Error; err != nil {
		return err
	}
	return fmt.Errorf("%w: the regrading is %s already", ErrConflict, r.State)
}

// Withdraw drops a regrading that is not in force, with all that was worked out.
func (s *Store) Withdraw(ctx context.Context, id, by string) error {
	return s.inWrite(ctx, "withdraw", func(tx *gorm.DB) error {
		if err := moveState(tx, id, []string{RegradeWorking, RegradeProposed}, RegradeWithdrawn); err != nil {
			return err
		}
		if err := tx.Exec("DELETE FROM regraded WHERE regrading = ?", id).Error; err != nil { // the reports go with them
			return err
		}
		return s.note(tx, id, "withdraw", by, "")
	})
}

// Where the new report of a visit is.
const (
	placeNever   = 0
	placeInForce = 1
	placeBack    = 2
)

// exchange is one of the two ways between a visit's two reports. Every visit
// whose report and key are still those of one side gets those of the other.
type exchange struct {
	deed, from, to string // states
	present, next  string // tables
	was, becomes   int    // places
	back           bool   // the hashes are exchanged too
}

var (
	accepting = exchange{"accept", RegradeProposed, RegradeAccepted, "earlier_reports", "later_reports", placeNever, placeInForce, false}
	undoing   = exchange{"undo", RegradeAccepted, RegradeUndone, "later_reports", "earlier_reports", placeInForce, placeBack, true}
)

// ChangedError says which visits were marked anew or overridden by somebody
// else in between, so that nothing was done. It is ErrConflict.
type ChangedError struct {
	Attempts []string // ids of the visits, at most MostChanged
	Count    int
}

// MostChanged visits are named in a ChangedError.
const MostChanged = 50

// Error counts them.
func (e *ChangedError) Error() string {
	return fmt.Sprintf("%d visits were marked anew or overridden in between; nothing was done", e.Count)
}

// Unwrap makes it ErrConflict.
func (e *ChangedError) Unwrap() error { return ErrConflict }

// Accept puts what was proposed into force, all in one transaction, and says
// for how many visits. A *ChangedError names the visits whose report is no
// longer the one that the proposal was made from: nothing is done then, or,
// with leave, they stay as they are and all others are exchanged. ErrConflict:
// the regrading is not proposed.
func (s *Store) Accept(ctx context.Context, id, by, reason string, leave bool) (int, error) {
	return s.exchange(ctx, accepting, id, by, reason, leave)
}

// Undo puts every report, key and version back, byte for byte, as Accept found
// them. Errors and leave are as with Accept.
func (s *Store) Undo(ctx context.Context, id, by, reason string, leave bool) (int, error) {
	return s.exchange(ctx, undoing, id, by, reason, leave)
}

func (s *Store) exchange(ctx context.Context, x exchange, id, by, reason string, leave bool) (n int, err error) {
	reason = strings.TrimSpace(reason)
	if reason == "" || len(reason) > MaxReason || by == "" {
		return 0, fmt.Errorf("%s: %w: a person and a reason of 1 to %d bytes are needed", x.deed, ErrInvalid, MaxReason)
	}
	err = s.inWrite(ctx, x.deed, func(tx *gorm.DB) error {
		if err := moveState(tx, id, []string{x.from}, x.to); err != nil {
			return err
		}
		var r Regrading
		if err := tx.Where("id = ?", id).Take(&r).Error; err != nil {
			return err
		}
		if x.back {
			r.From, r.To = r.To, r.From
		}
		if n, err = x.choose(tx, r); err != nil {
			return err
		}
		if err := x.changed(tx, id); err != nil && !(leave && errors.As(err, new(*ChangedError))) {
			return err
		}
		if err := x.swap(tx, r); err != nil {
			return err
		}
		return s.note(tx, id, x.deed, by, reason)
	})
	if err != nil {
		return 0, err
	}
	return n, nil
}

// choose marks the visits whose report, key and version are still as this
// regrading knows them.
func (x exchange) choose(tx *gorm.DB, r Regrading) (int, error) {
	var same strings.Builder
	for _, c := range append(strings.Split(markColumns(""), ", "), "packed") {
		fmt.Fprintf(&same, " AND r.%s = p.%s", c, c)
	}
	done := tx.Exec(`UPDATE regraded SET place = ? WHERE regrading = ? AND refused = '' AND place = ? AND EXISTS (
		SELECT 1 FROM `+x.present+` p JOIN reports r ON r.transcript = p.transcript JOIN attempts a ON a.transcript = p.transcript
		WHERE p.regrading = regraded.regrading AND p.transcript = regraded.transcript
		AND a.rubric_hash = ? AND a.state = ? AND a.answer_key = p.answer_key`+same.String()+")",
		x.becomes, r.ID, x.was, r.From, StateGraded)
	return int(done.RowsAffected), done.Error
}

// changed is a *ChangedError where visits were not chosen.
func (x exchange) changed(tx *gorm.DB, id string) error {
	var count int64
	left := func() *gorm.DB {
		return tx.Table("regraded").Where("regraded.regrading = ? AND refused = '' AND place = ?", id, x.was)
	}
	if err := left().Count(&count).Error; err != nil || count == 0 {
		return err
	}
	e := &ChangedError{Count: int(count)}
	err := left().Joins("JOIN attempts a ON a.transcript = regraded.transcript").Order("regraded.transcript").Limit(MostChanged).Pluck("a.id", &e.Attempts).Error
	if err != nil {
		return err
	}
	return e
}

// swap exchanges the reports, keys and versions of the chosen visits.
func (x exchange) swap(tx *gorm.DB, r Regrading) error {
	const chosen = "SELECT transcript FROM regraded WHERE regrading = ? AND refused = '' AND place = ?"
	columns := "transcript, " + markColumns("") + ", packed"
	for _, step := range []struct {
		sql  string
		args []any
	}{
		{"DELETE FROM reports WHERE transcript IN (" + chosen + ")", []any{r.ID, x.becomes}},
		{"INSERT INTO reports (" + columns + ") SELECT " + columns + " FROM " + x.next + " WHERE regrading = ? AND transcript IN (" + chosen + ")",
			[]any{r.ID, r.ID, x.becomes}},
		{"UPDATE attempts SET rubric_hash = ?, answer_key = (SELECT n.answer_key FROM " + x.next +
			" n WHERE n.regrading = ? AND n.transcript = attempts.transcript) WHERE transcript IN (" + chosen + ")",
			[]any{r.To, r.ID, r.ID, x.becomes}},
	} {
		if err := tx.Exec(step.sql, step.args...).Error; err != nil {
			return err
		}
	}
	return nil
}

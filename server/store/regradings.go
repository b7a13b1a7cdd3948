package store

import (
	"context"
	"fmt"
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

// Regrading is marking visits anew: those that were marked by an earlier version
// of a rubric, or those of an assignment to one patient whose key is changed.
// From and To are hashes in the content table: of the two versions; of the
// change, both the same.
type Regrading struct {
	ID         string
	At         time.Time `gorm:"serializer:micros"`
	By         string    // a person's id
	Rubric     string    // the rubric's id; empty where a key is changed
	From       string    `gorm:"column:from_hash"`
	To         string    `gorm:"column:to_hash"`
	Case       string    `gorm:"column:case_id"` // only visits to this patient; empty: to any
	State      string
	Assignment string // whose key is changed; empty: by another version of the rubric
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
	rows, err := s.query(ctx, `SELECT rubric_hash, COUNT(*), SUM(CASE WHEN state = ? THEN 1 ELSE 0 END)
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

// NewRegrading is what Propose needs: two versions of a rubric, or an assignment,
// its patient, the change of the key (as To) and a reason. The texts must have
// gone through PutContent.
type NewRegrading struct{ By, Rubric, From, To, Case, Assignment, Reason string }

func (n NewRegrading) valid() error {
	versions := n.Rubric != "" && n.From != n.To && n.Assignment == ""
	change := n.Assignment != "" && n.Case != "" && n.From == n.To && n.Rubric == "" && n.Reason != ""
	if n.By == "" || !versions && !change || len(n.Reason) > MaxReason {
		return fmt.Errorf("propose: %w: a person, and two versions of a rubric or the change of a key with its reason are needed", ErrInvalid)
	}
	return nil
}

// Propose begins a regrading, in state working. One that is already worked out
// or being so for the same visits and version is returned in its place, so that
// asking twice is asking once.
func (s *Store) Propose(ctx context.Context, n NewRegrading) (r Regrading, err error) {
	if err := n.valid(); err != nil {
		return Regrading{}, err
	}
	err = s.inWrite(ctx, "propose", func(tx *gorm.DB) error {
		found := tx.Where("from_hash = ? AND to_hash = ? AND case_id = ? AND assignment = ? AND state IN ?", n.From, n.To, n.Case, n.Assignment,
			[]string{RegradeWorking, RegradeProposed}).Order("at").Limit(1).Find(&r)
		if found.Error != nil || found.RowsAffected > 0 {
			return found.Error
		}
		r = Regrading{ID: newID(), At: s.now(), By: n.By, Rubric: n.Rubric, From: n.From, To: n.To, Case: n.Case, Assignment: n.Assignment, State: RegradeWorking}
		if err := tx.Create(&r).Error; err != nil {
			return err
		}
		return s.note(tx, r.ID, "propose", n.By, n.Reason)
	})
	if err != nil {
		return Regrading{}, err
	}
	return r, nil
}

// note appends to the regrading's own trail and to the log.
func (s *Store) note(tx *gorm.DB, id, deed, by, reason string) error {
	var n int64
	if err := tx.Model(&RegradingEvent{}).Where("regrading = ?", id).Count(&n).Error; err != nil {
		return err
	}
	if err := tx.Create(&RegradingEvent{Regrading: id, N: int(n) + 1, At: s.now(), By: by, Deed: deed, Reason: reason}).Error; err != nil {
		return err
	}
	var r Regrading
	if err := tx.Where("id = ?", id).Take(&r).Error; err != nil {
		return err
	}
	entry := Note{By: by, Deed: deed + " marking anew", About: "rubric:" + r.Rubric, Detail: "regrading:" + id, Reason: reason}
	if r.Assignment != "" {
		entry.Deed, entry.About = deed+" change of key", "assignment:"+r.Assignment
		if err := tx.Model(&Assignment{}).Where("id = ?", r.Assignment).Select("cohort").Scan(&entry.Cohort).Error; err != nil {
			return err
		}
	}
	return s.write1(tx, entry)
}

// Regrading returns the regrading with this id.
func (s *Store) Regrading(ctx context.Context, id string) (r Regrading, err error) {
	err = s.read.WithContext(ctx).Where("id = ?", id).Take(&r).Error
	return r, wrap("regrading", err)
}

// KeyChanges returns the changes of keys for an assignment, newest first.
func (s *Store) KeyChanges(ctx context.Context, assignment string) (all []Regrading, err error) {
	err = s.read.WithContext(ctx).Where("assignment = ? AND assignment <> ''", assignment).Order("at DESC, id").Limit(listedMost).Find(&all).Error
	return all, wrap("key changes", err)
}

// KeyChangesOf returns those that are in force for one visit, in the order in
// which they were put in force.
func (s *Store) KeyChangesOf(ctx context.Context, transcript int64) (all []Regrading, err error) {
	err = s.read.WithContext(ctx).Where(`assignment <> '' AND id IN (SELECT regrading FROM regraded WHERE transcript = ? AND place = ?)`, transcript, placeInForce).
		Order("(SELECT MAX(at) FROM regrading_events e WHERE e.regrading = regradings.id AND e.deed = 'accept'), id").Find(&all).Error
	return all, wrap("key changes", err)
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
	err = s.queryRow(ctx, "SELECT COALESCE(MAX(transcript), 0) FROM regraded WHERE regrading = ?", r.ID).Scan(&last)
	if err != nil {
		return nil, wrap("to regrade", err)
	}
	q := s.read.WithContext(ctx).Where("state = ? AND transcript > ?", StateGraded, last)
	if r.Case != "" {
		q = q.Where("case_id = ?", r.Case)
	}
	if r.Assignment == "" {
		q = q.Where("rubric_hash = ?", r.From)
	} else { // those that the same change is in force for already are left out
		q = q.Where(`turn IN (SELECT id FROM turns WHERE assignment = ?) AND NOT EXISTS (SELECT 1 FROM regraded g JOIN regradings o ON o.id = g.regrading
			WHERE g.transcript = attempts.transcript AND g.place = ? AND o.assignment = ? AND o.to_hash = ?)`, r.Assignment, placeInForce, r.Assignment, r.To)
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
	Before     *Standing // with what people decided; nil: they decided nothing
	After      *Standing
}

// Standing is what a visit comes to.
type Standing struct {
	Total int64
	Pass  bool
}

// standings are what a visit comes to before and after.
func (r *Regraded) standings() (before, after Standing) {
	before, after = Standing{r.Earlier.Total, r.Earlier.Pass}, Standing{r.Later.Total, r.Later.Pass}
	if r.Before != nil && r.After != nil {
		before, after = *r.Before, *r.After
	}
	return before, after
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
	before, after := r.standings()
	if r.Refused == "" && after.Pass != before.Pass {
		if turn = -1; after.Pass {
			turn = 1
		}
	}
	err := tx.Exec("INSERT INTO regraded (regrading, transcript, refused, marks, delta, turn, engines, place) VALUES "+marks(1, 8),
		id, r.Transcript, r.Refused, r.Marks, after.Total-before.Total, turn, engines, placeNever).Error
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

package store

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"
)

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
		AND (a.rubric_hash = ? OR ? <> '') AND a.state = ? AND a.answer_key = p.answer_key`+same.String()+")",
		x.becomes, r.ID, x.was, r.From, r.Assignment, StateGraded)
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
		{"UPDATE attempts SET rubric_hash = CASE WHEN ? <> '' THEN rubric_hash ELSE ? END, answer_key = (SELECT n.answer_key FROM " + x.next +
			" n WHERE n.regrading = ? AND n.transcript = attempts.transcript) WHERE transcript IN (" + chosen + ")",
			[]any{r.Assignment, r.To, r.ID, r.ID, x.becomes}},
	} {
		if err := tx.Exec(step.sql, step.args...).Error; err != nil {
			return err
		}
	}
	return nil
}

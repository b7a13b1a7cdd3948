package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// setting an assignment needs what was seen of it, and a word on what is odd.
type setForm struct {
	Edition string
	Uneven  bool   // it is set although its draws are not, or not yet, equally hard
	Reason  string // why it is set although something speaks against it
}

// setAssignment shows a draft to its cohort, with the version of the rubric that
// is in force now.
func (s *Server) setAssignment(ctx context.Context, who face.Person, id string, f setForm) error {
	a, c, err := s.managed(ctx, who, id)
	if err != nil {
		return err
	}
	switch {
	case f.Edition != editionOf(a):
		return changedMeanwhile()
	case a.State != store.AssignmentDraft:
		return &Fault{Kind: ErrNotNow, Text: "Only a draft can be set. Change it first: that makes it a draft again."}
	}
	st, err := s.standing(ctx, who, a, c)
	if err != nil {
		return err
	}
	reason, err := st.allow(f)
	if err != nil {
		return err
	}
	hash, err := s.store.PutContent(ctx, st.scheme.Text)
	if err != nil {
		return fmt.Errorf("set: %w", err)
	}
	note := store.Note{By: who.ID, Deed: deedSetAssignment, Cohort: c.ID, Detail: st.detail(), Reason: reason}
	if err := s.store.ChangeAssignment(ctx, id, map[string]any{"state": store.AssignmentSet, "rubric_hash": hash}, note); err != nil {
		return fmt.Errorf("set: %w", err)
	}
	s.turns.forget()
	s.wakeMeasure()
	return nil
}

// withdraw lets nobody begin any more. Whoever has begun goes on.
func (s *Server) withdrawAssignment(ctx context.Context, who face.Person, id, reason string) error {
	a, c, err := s.managed(ctx, who, id)
	if err != nil {
		return err
	}
	if a.State != store.AssignmentSet {
		return &Fault{Kind: ErrNotNow, Text: "Only what is set can be withdrawn."}
	}
	if reason, err = whySaid(reason); err != nil {
		return err
	}
	err = s.store.ChangeAssignment(ctx, id, map[string]any{"state": store.AssignmentWithdrawn}, store.Note{By: who.ID, Deed: deedWithdraw, Cohort: c.ID, Reason: reason})
	if err != nil {
		return fmt.Errorf("withdraw: %w", err)
	}
	s.turns.forget()
	return nil
}

// closeLater moves the end of the window. It never moves nearer: somebody may
// reckon with it.
func (s *Server) closeLater(ctx context.Context, who face.Person, id string, at time.Time, reason string) error {
	a, c, err := s.managed(ctx, who, id)
	if err != nil {
		return err
	}
	switch {
	case a.State != store.AssignmentSet:
		return &Fault{Kind: ErrNotNow, Text: "Only what is set can close later."}
	case exam.Kind(a.Kind) == exam.Sitting && !a.Released.IsZero():
		return &Fault{Kind: ErrNotNow, Text: "Its debriefs are released: whoever sat it now would know what others have read."}
	case !at.After(a.Closes) || !at.After(s.now()):
		return invalid("/closes", "Later than it closes now, and later than the server's clock. It can close later, never earlier.")
	case at.Sub(a.Opens) > longestWindow:
		return invalid("/closes", "At most two years after it opens.")
	}
	if reason, err = whySaid(reason); err != nil {
		return err
	}
	note := store.Note{By: who.ID, Deed: deedCloseLater, Cohort: c.ID, Reason: reason, Detail: fmt.Sprintf("from %s to %s", a.Closes.Format(time.RFC3339), at.UTC().Format(time.RFC3339))}
	if err := s.store.ChangeAssignment(ctx, id, map[string]any{"closes": at}, note); err != nil {
		return fmt.Errorf("close later: %w", err)
	}
	s.turns.forget()
	s.wakeMeasure()
	return nil
}

// copyAssignment makes a draft of the same for a cohort that the person manages.
func (s *Server) copyAssignment(ctx context.Context, who face.Person, id, cohort string) (store.Assignment, error) {
	a, _, err := s.managed(ctx, who, id)
	if err != nil {
		return a, err
	}
	c, err := s.teaches(ctx, who, cohort)
	if errors.Is(err, ErrMissing) || err == nil && !c.Archived.IsZero() {
		return a, invalid("/cohort", "Choose a cohort that you manage and that is in use.")
	}
	if err != nil {
		return a, err
	}
	from := a.ID
	a.ID, a.Cohort, a.State, a.RubricHash, a.Released, a.MadeBy = "", c.ID, store.AssignmentDraft, "", time.Time{}, who.ID
	if a, err = s.store.SaveAssignment(ctx, a, store.Note{By: who.ID, Deed: deedCopyAssignment, Detail: "of assignment:" + from}); err != nil {
		return a, fmt.Errorf("copy: %w", err)
	}
	s.wakeMeasure()
	return a, nil
}

// deleteAssignment takes one away that nobody has begun, to be put back for a while.
func (s *Server) deleteAssignment(ctx context.Context, who face.Person, id string) (store.Assignment, error) {
	a, c, err := s.managed(ctx, who, id)
	if err != nil {
		return a, err
	}
	err = s.store.DeleteAssignment(ctx, id, store.Note{By: who.ID, Deed: deedDeleteAssignment, Cohort: c.ID})
	if errors.Is(err, store.ErrClosed) {
		return a, &Fault{Kind: ErrNotNow, Text: "Somebody has begun this assignment, and what was done there is kept. Withdraw it instead.", Cause: err}
	}
	if err != nil {
		return a, missing("delete", err)
	}
	return a, nil
}

// putBackAssignment brings a deleted one back as a draft.
func (s *Server) putBackAssignment(ctx context.Context, who face.Person, id string) error {
	since := s.now().Add(-undoFor)
	a, err := s.store.DeletedAssignment(ctx, id, since)
	if err != nil {
		return missing("put back", err)
	}
	c, err := s.teaches(ctx, who, a.Cohort)
	if err != nil {
		return err
	}
	if err := s.store.PutBackAssignment(ctx, id, since, store.Note{By: who.ID, Deed: deedPutBackAssignment, Cohort: c.ID}); err != nil {
		return missing("put back", err)
	}
	s.wakeMeasure()
	return nil
}

// whySaid is a reason that is kept with a deed.
func whySaid(reason string) (string, error) {
	reason = strings.TrimSpace(reason)
	if reason == "" || len(reason) > store.MaxReason || strings.ToValidUTF8(reason, "") != reason {
		return "", invalid("/reason", fmt.Sprintf("A reason of 1 to %d characters: it is kept with your name and the time.", store.MaxReason))
	}
	return reason, nil
}

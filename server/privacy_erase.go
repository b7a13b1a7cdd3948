package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"
)

// leave marks somebody for erasure: from now on nobody, and gone for good in 30
// days. The login typed again confirms it.
func (s *Server) leave(ctx context.Context, who face.Person, id, typed, reason string) error {
	p, err := s.presentPerson(ctx, id)
	if err != nil {
		return err
	}
	f := &Fault{Kind: ErrInvalid}
	if id == who.ID {
		f.Text = "Nobody erases themselves; ask another coordinator."
		return f
	}
	if p.Hold != "" {
		return s.heldFault(ctx, p)
	}
	if store.FoldLogin(typed) != store.FoldLogin(p.Login) {
		f.Fields = append(f.Fields, FieldProblem{"/confirm", "Type the login just as it stands above: " + p.Login})
	}
	why, err := whyGiven(reason)
	if err != nil {
		f.Fields = append(f.Fields, FieldProblem{"/reason", err.Error()})
	}
	if len(f.Fields) > 0 {
		return f
	}
	return s.told(id, s.store.Leave(ctx, id, store.Note{By: who.ID, Deed: deedLeave, Reason: why}))
}

// presentPerson is somebody who is there and leaves not.
func (s *Server) presentPerson(ctx context.Context, id string) (store.Person, error) {
	p, err := s.store.Person(ctx, id)
	if err == nil && !p.Erased.IsZero() {
		err = store.ErrNotFound
	}
	if err != nil {
		return store.Person{}, missing("person", err)
	}
	return p, nil
}

// putPersonBack puts back whoever leaves, with everything.
func (s *Server) putPersonBack(ctx context.Context, who face.Person, id, reason string) error {
	why, err := whyGiven(reason)
	if err != nil {
		return invalid("/reason", err.Error())
	}
	err = s.store.Return(ctx, id, store.Note{By: who.ID, Deed: deedReturn, Reason: why})
	if errors.Is(err, store.ErrDuplicate) {
		return &Fault{Kind: ErrNotNow, Text: "Somebody else has this login meanwhile. Erase or put out of use that account first.", Cause: err}
	}
	return s.told(id, err)
}

// hold keeps everything of somebody from erasure.
func (s *Server) hold(ctx context.Context, who face.Person, id, reason string) error {
	why, err := whyGiven(reason)
	if err != nil {
		return invalid("/reason", err.Error())
	}
	return s.told(id, s.store.HoldPerson(ctx, id, why, store.Note{By: who.ID, Deed: deedHold}))
}

// lift lets somebody be erased again.
func (s *Server) lift(ctx context.Context, who face.Person, id string) error {
	return s.told(id, s.store.HoldPerson(ctx, id, "", store.Note{By: who.ID, Deed: deedLift}))
}

// told forgets what is remembered of somebody, and says an error in words.
func (s *Server) told(id string, err error) error {
	s.forgetPerson(id)
	switch {
	case errors.Is(err, store.ErrHeld):
		return &Fault{Kind: ErrNotNow, Text: "This person's data are kept from erasure. Lift the hold first.", Cause: err}
	case errors.Is(err, store.ErrLast):
		return &Fault{Kind: ErrNotNow, Text: "Nobody else coordinates who can sign in. Make another coordinator first.", Cause: err}
	case err != nil:
		return missing("erasure", err)
	}
	return nil
}

// heldFault says why somebody cannot be erased, by whose word and since when.
func (s *Server) heldFault(ctx context.Context, p store.Person) error {
	return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("%s cannot be erased: held since %s by %s. Reason: %s Lift the hold first.",
		p.Name, s.moment(p.HoldAt), s.nameOf(ctx, p.HoldBy), sentence(p.Hold))}
}

// whyGiven is a reason that is needed.
func whyGiven(reason string) (string, error) {
	reason = strings.TrimSpace(reason)
	if reason == "" || len(reason) > store.MaxReason {
		return "", fmt.Errorf("a reason of 1 to %d bytes is needed; it stays in the log, so name nobody in it", store.MaxReason)
	}
	return reason, nil
}

// forgetPerson drops what is remembered of somebody: sessions, visits and turns.
func (s *Server) forgetPerson(id string) {
	s.sessions.forgetPerson(id)
	s.live.forgetPerson(id)
	s.turns.forget()
}

func (m *sessions) forgetPerson(id string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for key, r := range m.known {
		if r.person.ID == id {
			delete(m.known, key)
		}
	}
}

func (m *liveAttempts) forgetPerson(id string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for key, l := range m.byID {
		if l.row.Person == id {
			delete(m.byID, key)
		}
	}
}

// sweepPeople erases who left long enough ago, marks whom the school's retention
// reaches, and takes the names of what was deleted long ago. Whether somebody is
// gone never depends on it: the clock decides, here the bytes follow. What fails
// for one stops nobody else.
func (s *Server) sweepPeople(ctx context.Context) error {
	due, err := s.store.DueToErase(ctx)
	if err != nil {
		return err
	}
	var failed []error
	for _, id := range due {
		if err := s.store.ErasePerson(ctx, id, blank); err != nil && !errors.Is(err, store.ErrHeld) {
			failed = append(failed, err)
		}
		s.forgetPerson(id)
	}
	failed = append(failed, s.retire(ctx))
	_, err = s.store.ForgetDeleted(ctx, s.now().Add(-undoFor))
	return errors.Join(append(failed, err)...)
}

// retentionSetting is after how many months students of archived cohorts are
// erased; 0: never.
const retentionSetting = "retention"

// pastStudent is a student whom the school's retention reaches.
type pastStudent struct {
	store.Past
	Due time.Time
}

// fallDue are the students whom the school's retention reaches, and when: so
// many months after the last of their cohorts was archived, and never within a
// month of when the setting was chosen.
func (s *Server) fallDue(ctx context.Context) ([]pastStudent, error) {
	months, since, err := s.retention(ctx)
	if err != nil || months == 0 {
		return nil, err
	}
	all, err := s.store.PastStudents(ctx)
	if err != nil {
		return nil, fmt.Errorf("retention: %w", err)
	}
	notice := since.AddDate(0, 1, 0)
	out := make([]pastStudent, 0, len(all))
	for _, p := range all {
		due := p.Since.AddDate(0, months, 0)
		if due.Before(notice) {
			due = notice
		}
		out = append(out, pastStudent{p, due})
	}
	return out, nil
}

// retention is the school's setting and since when it stands.
func (s *Server) retention(ctx context.Context) (months int, since time.Time, err error) {
	text, since, err := s.store.SettingSince(ctx, retentionSetting)
	if errors.Is(err, store.ErrNotFound) {
		return 0, since, nil
	}
	if err != nil {
		return 0, since, fmt.Errorf("retention: %w", err)
	}
	if _, err := fmt.Sscan(text, &months); err != nil || months < 0 {
		return 0, since, nil // no setting of ours: nobody is erased by it
	}
	return months, since, nil
}

// retire marks for erasure whoever falls due, so that each can be put back for
// 30 more days.
func (s *Server) retire(ctx context.Context) error {
	all, err := s.fallDue(ctx)
	if err != nil {
		return err
	}
	var failed []error
	for _, p := range all {
		if s.now().Before(p.Due) {
			continue
		}
		err := s.store.Leave(ctx, p.ID, store.Note{Deed: deedLeave, Reason: "The school's retention: the last cohort went out of use on " + p.Since.In(s.zone()).Format(time.DateOnly) + "."})
		if err != nil && !errors.Is(err, store.ErrHeld) && !errors.Is(err, store.ErrNotFound) {
			failed = append(failed, err)
		}
		s.forgetPerson(p.ID)
	}
	return errors.Join(failed...)
}

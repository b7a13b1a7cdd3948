package server

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/store"
)

// Marking anew goes on beside everything else, so it takes little at a time.
const (
	regradeChunk = 32               // visits kept in one transaction
	regradeRetry = 30 * time.Second // after a failure of the store
)

// propose begins to work out what a newer version of a rubric would change.
func (s *Server) propose(ctx context.Context, by string, from, to *shelved, caseID string) (store.Regrading, error) {
	if err := s.mayReplace(from, to); err != nil {
		return store.Regrading{}, err
	}
	if _, err := s.store.PutContent(ctx, to.Text); err != nil {
		return store.Regrading{}, fmt.Errorf("propose: %w", err)
	}
	g, err := s.store.Propose(ctx, store.NewRegrading{By: by, Rubric: to.ID, From: from.Hash, To: to.Hash, Case: caseID})
	if err != nil {
		return store.Regrading{}, fmt.Errorf("propose: %w", err)
	}
	s.wakeRegrading()
	return g, nil
}

// mayReplace says whether visits marked by one version may be marked by the other.
func (s *Server) mayReplace(from, to *shelved) error {
	switch {
	case from.ID != to.ID || from.Track != to.Track:
		return invalid("/to", "A version of the same rubric, for the same track.")
	case to.Version <= from.Version:
		return invalid("/to", fmt.Sprintf("A newer version than %d. Raise the version in the file to mark visits anew by it.", from.Version))
	}
	return nil
}

// wakeRegrading tells the worker that there is something to work out. It never waits.
func (s *Server) wakeRegrading() {
	select {
	case s.regrade <- struct{}{}:
	default: // it is told already
	}
}

// regradeForever works out what is proposed until ctx ends. The queue is the
// regradings' state in the database, so that one goes on after a crash where it was.
func (s *Server) regradeForever(ctx context.Context) {
	for ctx.Err() == nil {
		pause := time.Duration(0)
		if err := s.regradeAll(ctx); err != nil && ctx.Err() == nil {
			s.log.Error("marking anew stopped for a while", "cause", err.Error())
			pause = regradeRetry
		}
		var again <-chan time.Time
		if pause > 0 {
			again = time.After(pause)
		}
		select {
		case <-ctx.Done():
		case <-s.regrade:
		case <-again:
		}
	}
}

func (s *Server) regradeAll(ctx context.Context) error {
	waiting, err := s.store.RegradingsAtWork(ctx)
	if err != nil {
		return err
	}
	for _, g := range waiting {
		if err := s.workOut(ctx, g); err != nil {
			if now, again := s.store.Regrading(ctx, g.ID); again == nil && now.State != store.RegradeWorking {
				continue // somebody withdrew it meanwhile
			}
			return err
		}
	}
	return nil
}

// workOut marks the visits of a regrading anew, a few at a time, so that a
// hundred thousand of them take no more memory than a few.
func (s *Server) workOut(ctx context.Context, g store.Regrading) error {
	how, err := s.rekeyOf(ctx, g)
	if err != nil {
		return err
	}
	for {
		rows, err := s.store.ToRegrade(ctx, g, regradeChunk)
		if err != nil {
			return err
		}
		if len(rows) == 0 {
			return s.store.FinishProposal(ctx, g.ID)
		}
		done := make([]store.Regraded, 0, len(rows))
		for _, row := range rows {
			one, err := s.markAnew(ctx, row, how)
			if err != nil {
				return err
			}
			done = append(done, one)
		}
		if err := s.store.KeepRegraded(ctx, g.ID, done); err != nil {
			return err
		}
	}
}

// refusal is why a visit cannot be marked anew, in words for staff.
type refusal struct {
	text  string
	cause error
}

func (r *refusal) Error() string { return r.text }
func (r *refusal) Unwrap() error { return r.cause }

// markAnew marks one visit by another key. A visit that cannot be is no error: it
// is kept with the reason. Errors are the store's.
func (s *Server) markAnew(ctx context.Context, row store.Attempt, how rekey) (out store.Regraded, err error) {
	out.Transcript = row.Transcript
	if out.Earlier, err = s.store.Report(ctx, row.Transcript); err != nil {
		return out, err
	}
	key, rep, err := s.anew(ctx, row, how)
	var no *refusal
	if errors.As(err, &no) {
		s.log.Warn("a visit cannot be marked anew", "transcript", row.Transcript, "cause", causeOf(no))
		out.Refused = no.text
		return out, nil
	}
	if err != nil {
		return out, err
	}
	if out.Key, err = rubric.EncodeKey(key); err != nil {
		return out, err
	}
	if out.Later, err = storedReport(rep); err != nil {
		return out, err
	}
	earlier, err := rubric.DecodeReport(out.Earlier.Packed)
	if err != nil {
		out.Refused = "Its report cannot be read."
		return out, nil
	}
	out.Marks = len(changedMarks(earlier, rep))
	return out, s.standings(ctx, row, how, earlier, rep, &out)
}

// standings says what a visit comes to before and after where people decided
// something of it: their marks hold under the new key as well.
func (s *Server) standings(ctx context.Context, row store.Attempt, how rekey, earlier, later rubric.Report, out *store.Regraded) error {
	overrides, decisions, err := s.peoplesMarks(ctx, row.Transcript)
	if err != nil || len(overrides)+len(decisions) == 0 {
		return err
	}
	from, err := s.scheme(ctx, row)
	if err != nil {
		return err
	}
	to := from
	if how.to != nil {
		to = *how.to
	}
	a, b := exam.Settle(earlier, from, overrides, decisions), exam.Settle(later, to, overrides, decisions)
	out.Before = &store.Standing{Total: int64(a.Total), Pass: a.Pass}
	out.After = &store.Standing{Total: int64(b.Total), Pass: b.Pass}
	return nil
}

func causeOf(r *refusal) string {
	if r.cause == nil {
		return r.text
	}
	return r.cause.Error()
}

// anew makes the other key and marks the stored transcript by it.
func (s *Server) anew(ctx context.Context, row store.Attempt, how rekey) (key rubric.Key, rep rubric.Report, err error) {
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("panic while marking anew", "stack", string(debug.Stack()))
			err = &refusal{"The program failed over it; the log has the rest.", fmt.Errorf("panic of type %T", cause)}
		}
	}()
	by, key, err := s.keyAnew(ctx, row, how)
	if err != nil {
		return key, rep, err
	}
	t, err := s.transcript(ctx, row)
	if err != nil {
		return key, rep, refuse(err, "Its transcript cannot be read.")
	}
	return key, rubric.Grade(by, key, t), nil
}

// refuse makes a refusal of an error, unless the store cannot be read just now:
// then all stops and goes on later.
func refuse(err error, text string) error {
	if row, _ := tell(err); errors.Is(row.kind, ErrBusy) {
		return err
	}
	return &refusal{text, err}
}

// settle is what an accept or undo asks of the store.
type settle func(ctx context.Context, id, by, reason string, leave bool) (int, error)

// changedFault tells which visits were marked by somebody else in between.
func changedFault(err error) error {
	var changed *store.ChangedError
	switch {
	case errors.As(err, &changed):
		f := &Fault{Kind: ErrTaken, Cause: err, Text: fmt.Sprintf("Nothing was done: %s marked anew or changed by somebody else meanwhile. Look at them first; then do it for all the others and leave these as they are, or work the changes out again.", were(changed.Count, "visit"))}
		for _, id := range changed.Attempts {
			f.Fields = append(f.Fields, FieldProblem{"/visits/" + id, "changed meanwhile"})
		}
		return f
	case errors.Is(err, store.ErrConflict):
		return &Fault{Kind: ErrTaken, Cause: err, Text: "Nothing was done: somebody else was faster, or this was done already. Look at the page again."}
	case errors.Is(err, store.ErrInvalid):
		return &Fault{Kind: ErrInvalid, Cause: err, Fields: []FieldProblem{{"/reason", fmt.Sprintf("Say why, in at most %d bytes. It is kept with your name and the time.", store.MaxReason)}}}
	case errors.Is(err, store.ErrNotFound):
		return &Fault{Kind: ErrMissing, Cause: err}
	}
	return err
}

// were is a count of things with its verb.
func were(n int, what string) string {
	if n == 1 {
		return "1 " + what + " was"
	}
	return fmt.Sprintf("%d %ss were", n, what)
}

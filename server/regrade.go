package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"dewclaw/rubric"
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
	to, err := s.keptRubric(ctx, g.To)
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
			one, err := s.markAnew(ctx, row, to.Rubric)
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

// markAnew marks one visit by another version of its rubric. A visit that
// cannot be is no error: it is kept with the reason. Errors are the store's.
func (s *Server) markAnew(ctx context.Context, row store.Attempt, to rubric.Rubric) (out store.Regraded, err error) {
	out.Transcript = row.Transcript
	if out.Earlier, err = s.store.Report(ctx, row.Transcript); err != nil {
		return out, err
	}
	key, rep, err := s.anew(ctx, row, to)
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
	return out, nil
}

func causeOf(r *refusal) string {
	if r.cause == nil {
		return r.text
	}
	return r.cause.Error()
}

// anew compiles the key from what is stored and marks the stored transcript.
func (s *Server) anew(ctx context.Context, row store.Attempt, to rubric.Rubric) (key rubric.Key, rep rubric.Report, err error) {
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("panic while marking anew", "stack", string(debug.Stack()))
			err = &refusal{"The program failed over it; the log has the rest.", fmt.Errorf("panic of type %T", cause)}
		}
	}()
	_, _, p, err := s.patientOf(ctx, row)
	if err != nil {
		return key, rep, refuse(err, "Its patient can no longer be made from the texts that are stored with it.")
	}
	if key, err = p.Key(to, keyOptions(row.Alternatives)...); err != nil {
		return key, rep, refuse(err, "The rubric cannot be applied to its patient.")
	}
	old, err := rubric.DecodeKey(row.Key)
	if err != nil {
		return key, rep, refuse(err, "The key that it was marked by cannot be read.")
	}
	same, err := sameTruth(old, key)
	if err != nil {
		return key, rep, err
	}
	if !same {
		return key, rep, &refusal{text: "This version of the program makes another patient of what is stored than the student met; its marks stay."}
	}
	t, err := s.transcript(ctx, row)
	if err != nil {
		return key, rep, refuse(err, "Its transcript cannot be read.")
	}
	return key, rubric.Grade(to, key, t), nil
}

// refuse makes a refusal of an error, unless the store cannot be read just now:
// then all stops and goes on later.
func refuse(err error, text string) error {
	if row, _ := tell(err); errors.Is(row.kind, ErrBusy) {
		return err
	}
	return &refusal{text, err}
}

// sameTruth says whether two keys agree in everything that does not come from
// the rubric: what was there, what was normal, what was to be concluded. A new
// key must not hold the student to another patient than the one that was met.
func sameTruth(a, b rubric.Key) (bool, error) {
	x, err := rubric.EncodeKey(withoutRubric(a))
	if err != nil {
		return false, err
	}
	y, err := rubric.EncodeKey(withoutRubric(b))
	if err != nil {
		return false, err
	}
	return bytes.Equal(x, y), nil
}

// withoutRubric leaves out what a rubric brings into a key.
func withoutRubric(k rubric.Key) rubric.Key {
	k.Track, k.Rules, k.Routes = "", nil, nil
	steps := make([]rubric.Step, 0, len(k.Steps))
	for _, s := range k.Steps {
		if s.Kind == rubric.Examine { // handling steps are there only where the rubric requires them
			s.Required, s.Weight, s.Critical = false, 0, false
			steps = append(steps, s)
		}
	}
	vitals := make([]rubric.Vital, 0, len(k.Vitals))
	for _, v := range k.Vitals {
		v.Window, v.Required = 0, false
		vitals = append(vitals, v)
	}
	k.Steps, k.Vitals = steps, vitals
	return k
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

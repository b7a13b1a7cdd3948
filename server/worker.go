package server

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/store"
	"dewclaw/server/study"
)

const (
	gradeChunk = 8                // attempts taken at a time, so that a whole year's exam is no one lump
	gradePoll  = 5 * time.Second  // another process may have finished an attempt, or died over one
	gradeRetry = 30 * time.Second // after a failure of the store
	sweepEvery = 24 * time.Hour
)

// wakeWorker tells the worker that there is something to grade. It never waits.
func (s *Server) wakeWorker() {
	select {
	case s.wake <- struct{}{}:
	default: // it is told already
	}
}

// gradeForever grades what waits until ctx ends. The queue is the attempts'
// state in the database, so that it outlives the process.
func (s *Server) gradeForever(ctx context.Context) {
	skip := map[int64]bool{} // attempts that cannot be graded; a person must look
	var swept time.Time
	for ctx.Err() == nil {
		pause := gradePoll
		if n, err := s.gradeSome(ctx, skip); err != nil && ctx.Err() == nil {
			s.log.Error("grading stopped for a while", "cause", err.Error())
			pause = gradeRetry
		} else if n > 0 {
			continue
		}
		if err := s.store.ForgetOldRosters(ctx); err != nil && ctx.Err() == nil {
			s.log.Warn("old rosters were not removed", "cause", err.Error())
		}
		if now := s.now(); now.Sub(swept) >= sweepEvery {
			swept = now
			if err := s.store.Sweep(ctx); err != nil && ctx.Err() == nil {
				s.log.Warn("old sessions were not removed", "cause", err.Error())
			}
			if err := s.sweepPeople(ctx); err != nil && ctx.Err() == nil {
				s.log.Error("not everybody who left was erased; it is tried again", "cause", err.Error())
			}
		}
		select {
		case <-ctx.Done():
		case <-s.wake:
		case <-time.After(pause):
		}
	}
}

// gradeSome grades one chunk and says how many were graded. An attempt that
// cannot be graded keeps its state and does not hold up the others.
func (s *Server) gradeSome(ctx context.Context, skip map[int64]bool) (int, error) {
	if err := s.closeOverdue(ctx); err != nil {
		return 0, err
	}
	rows, err := s.store.ToGrade(ctx, gradeChunk+len(skip))
	if err != nil {
		return 0, err
	}
	n := 0
	for _, row := range rows {
		if skip[row.Transcript] || ctx.Err() != nil {
			continue
		}
		if err := s.gradeOne(ctx, row); err != nil {
			if ctx.Err() != nil {
				return n, nil
			}
			if errors.Is(err, store.ErrConflict) {
				continue // it goes on after all
			}
			skip[row.Transcript] = true
			s.log.Error("an attempt could not be graded; it waits for a restart", "transcript", row.Transcript, "cause", err.Error())
			continue
		}
		n++
	}
	return n, nil
}

// gradeOne grades one attempt from what is stored and nothing else.
func (s *Server) gradeOne(ctx context.Context, row store.Attempt) (err error) {
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("panic while grading", "stack", string(debug.Stack()))
			err = fmt.Errorf("panic of type %T", cause)
		}
	}()
	began := time.Now()
	key, err := rubric.DecodeKey(row.Key)
	if err != nil {
		return err
	}
	scheme, err := s.scheme(ctx, row)
	if err != nil {
		return err
	}
	t, err := s.transcript(ctx, row)
	if err != nil {
		return err
	}
	rep := rubric.Grade(scheme, key, t)
	out, err := storedReport(rep)
	if err != nil {
		return err
	}
	if err := s.checkPlan(ctx, row, study.Visit{Report: rep, Key: key, Acts: t}); err != nil { // the marks stand without it
		s.log.Error("a plan was not held against its visit", "transcript", row.Transcript, "cause", err.Error())
	}
	if err := s.store.SaveReport(ctx, row.Transcript, out); err != nil {
		return err
	}
	s.meters.graded.Observe(time.Since(began).Seconds())
	return nil
}

// storedReport is a report as the store keeps it.
func storedReport(rep rubric.Report) (store.Report, error) {
	packed, err := rubric.EncodeReport(rep)
	if err != nil {
		return store.Report{}, err
	}
	out := store.Report{Engine: rep.Engine, Total: int64(rep.Total), Pass: rep.Pass, Critical: len(rep.Critical), Held: rep.Held, Packed: packed}
	for _, d := range rep.Domains {
		out.Domains = append(out.Domains, store.Mark{ID: d.ID, Points: int64(d.Points), Max: int64(d.Max)})
	}
	return out, nil
}

// transcript reads the acts of an attempt with their outcomes.
func (s *Server) transcript(ctx context.Context, row store.Attempt) (rubric.Transcript, error) {
	acts, err := s.store.Acts(ctx, row.Transcript, 0)
	if err != nil {
		return nil, err
	}
	t := make(rubric.Transcript, 0, len(acts))
	for _, a := range acts {
		e, err := decodeEntry(a)
		if err != nil {
			return nil, err
		}
		t = append(t, e)
	}
	return t, nil
}

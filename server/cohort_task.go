package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"sync"
	"time"

	"dewclaw/server/store"
)

// task is something long that is done in the background for a cohort: a roster,
// links by mail. It is done by one server, which tells all others through the
// database how it stands. A restart ends it, what was done stays, and to do the
// same again does the rest.
type task struct {
	mu    sync.Mutex
	state taskState
	run   string // the store's name for it
}

// taskBeat is how often a server says how its tasks stand.
const taskBeat = time.Second

// taskState is how a task stands.
type taskState struct {
	By     string // a person's id
	Began  time.Time
	Ended  time.Time // zero: it runs
	Done   int
	Total  int
	Wrong  string        // why it broke off; empty: it did not
	Failed []taskProblem // what did not go of what was done
	Words  string        // what came of it
}

// taskProblem is one person for whom it did not go, and why.
type taskProblem struct{ Person, Why string }

// Running reports whether the task is under way.
func (t taskState) Running() bool { return !t.Began.IsZero() && t.Ended.IsZero() }

func (t *task) look() taskState {
	t.mu.Lock()
	defer t.mu.Unlock()
	out := t.state
	out.Failed = append([]taskProblem(nil), t.state.Failed...)
	return out
}

// change changes the state under its lock.
func (t *task) change(f func(*taskState)) {
	t.mu.Lock()
	defer t.mu.Unlock()
	f(&t.state)
}

// taskOf is how the last task of a kind stands for a cohort; zero: there was none.
func (s *Server) taskOf(ctx context.Context, kind, cohort string) (taskState, error) {
	row, err := s.store.LastTask(ctx, kind, cohort)
	if err != nil || row.Run == "" {
		return taskState{}, err
	}
	var is taskState
	if err := json.Unmarshal(row.State, &is); err != nil {
		return taskState{}, fmt.Errorf("task: %w", err)
	}
	if is.Running() && !row.Runs(s.now()) {
		is.Ended, is.Wrong = row.Beat, "The server that did it has stopped. What was done stays; do the same again for the rest."
	}
	return is, nil
}

// startTask does work in the background, one of a kind a cohort at a time.
func (s *Server) startTask(ctx context.Context, kind, cohort, by string, total int, work func(context.Context, *task) (string, error)) error {
	if s.draining.Load() {
		return ErrBusy
	}
	t := &task{state: taskState{By: by, Began: s.now().UTC(), Total: total}}
	state, err := json.Marshal(t.state)
	if err != nil {
		return fmt.Errorf("task: %w", err)
	}
	t.run, err = s.store.BeginTask(ctx, kind, cohort, state)
	if errors.Is(err, store.ErrDuplicate) {
		is, err := s.taskOf(ctx, kind, cohort)
		if err != nil {
			return err
		}
		return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("This is being done for the cohort already: %d of %d done. Wait until it has ended.", is.Done, is.Total)}
	}
	if err != nil {
		return err
	}
	s.workers.Go(func() { s.runTask(t, kind, work) })
	return nil
}

// keepTask tells the others how a task stands.
func (s *Server) keepTask(ctx context.Context, t *task) {
	is := t.look()
	state, err := json.Marshal(is)
	if err == nil {
		err = s.store.KeepTask(ctx, t.run, state, !is.Running())
	}
	if err != nil {
		s.log.Warn("how a task stands could not be kept", "cause", err.Error())
	}
}

// keepTelling tells it until stop is closed.
func (s *Server) keepTelling(t *task, stop <-chan struct{}) {
	beat := time.NewTicker(taskBeat)
	defer beat.Stop()
	for {
		select {
		case <-stop:
			return
		case <-beat.C:
			s.keepTask(s.base, t)
		}
	}
}

func (s *Server) runTask(t *task, kind string, work func(context.Context, *task) (string, error)) {
	words, wrong := "", ""
	stop := make(chan struct{})
	var telling sync.WaitGroup
	telling.Go(func() { s.keepTelling(t, stop) })
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("panic in a task", "kind", kind, "stack", string(debug.Stack()))
			wrong = unknown.text
		}
		close(stop)
		telling.Wait()
		t.change(func(st *taskState) { st.Ended, st.Words, st.Wrong = s.now().UTC(), words, wrong })
		s.keepTask(context.WithoutCancel(s.base), t)
	}()
	words, err := work(s.base, t)
	if err == nil {
		return
	}
	row, f := tell(err)
	wrong = row.text
	for _, field := range f.Fields {
		wrong += " " + field.Detail
	}
	s.log.Error("a task broke off", "kind", kind, "cause", err.Error())
}

package server

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"time"
)

// task is something long that is done in the background for a cohort: a roster,
// links by mail. It lives in this process: a restart ends it, what was done
// stays, and to do the same again does the rest.
type task struct {
	mu    sync.Mutex
	state taskState
}

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
type taskProblem struct{ Person, Name, Why string }

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

// tasks are the last task of each kind and cohort.
type tasks struct {
	mu    sync.Mutex
	byKey map[string]*task
}

// taskOf is how the last task of a kind stands for a cohort; zero: there was none.
func (s *Server) taskOf(kind, cohort string) taskState {
	s.tasks.mu.Lock()
	t := s.tasks.byKey[kind+" "+cohort]
	s.tasks.mu.Unlock()
	if t == nil {
		return taskState{}
	}
	return t.look()
}

// startTask does work in the background, one of a kind a cohort at a time.
func (s *Server) startTask(kind, cohort, by string, total int, work func(context.Context, *task) (string, error)) error {
	s.tasks.mu.Lock()
	defer s.tasks.mu.Unlock()
	key := kind + " " + cohort
	if old := s.tasks.byKey[key]; old != nil {
		if is := old.look(); is.Running() {
			return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("This is being done for the cohort already: %d of %d done. Wait until it has ended.", is.Done, is.Total)}
		}
	}
	if s.draining.Load() {
		return ErrBusy
	}
	t := &task{state: taskState{By: by, Began: s.now(), Total: total}}
	if s.tasks.byKey == nil {
		s.tasks.byKey = map[string]*task{}
	}
	s.tasks.byKey[key] = t
	s.workers.Go(func() { s.runTask(t, kind, work) })
	return nil
}

func (s *Server) runTask(t *task, kind string, work func(context.Context, *task) (string, error)) {
	words, wrong := "", ""
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("panic in a task", "kind", kind, "stack", string(debug.Stack()))
			wrong = unknown.text
		}
		t.change(func(st *taskState) { st.Ended, st.Words, st.Wrong = s.now(), words, wrong })
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

package server

import (
	"sync"

	"dewclaw/cases"
	"dewclaw/cases/trial"
)

// weighRobots are how many robots weigh a rubric for its page, where Config.Weigh
// does not say. With 600 the share of a domain is known to about two hundredths,
// which is what a page shows; `dewclaw rubric weigh` takes more.
const weighRobots = 600

// weighings are what the rubrics really weigh, by the hash of their text. One
// is worked out at a time, when its page is first asked for.
type weighings struct {
	mu   sync.Mutex
	done map[string]*weighed
	turn sync.Mutex // one at a time: it takes every processor for some seconds
}

// weighed is a weighing, or why there is none.
type weighed struct {
	ready bool
	trial.Weighing
	err error
}

// weighing is the weighing of a rubric; nil: it is being worked out.
func (s *Server) weighing(r *shelved) *weighed {
	m := &s.weighings
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.done == nil {
		m.done = map[string]*weighed{}
	}
	if w := m.done[r.Hash]; w != nil {
		if !w.ready {
			return nil
		}
		return w
	}
	m.done[r.Hash] = &weighed{}
	go s.weigh(r) // it reads memory only, so Close need not wait for it
	return nil
}

// oneOfEach are the first cases of every species and situation, enough for a
// page to say what a rubric weighs.
func oneOfEach(all []*cases.Case) []*cases.Case {
	seen := map[[2]string]bool{}
	var out []*cases.Case
	for _, k := range all {
		if at := [2]string{k.Species, k.Situation}; !seen[at] {
			seen[at] = true
			out = append(out, k)
		}
	}
	return out
}

func (s *Server) weigh(r *shelved) {
	m := &s.weighings
	m.turn.Lock()
	defer m.turn.Unlock()
	over, robots := oneOfEach(s.library.Cases()), weighRobots
	if n := s.cfg.Weigh; n > 0 {
		over, robots = over[:min(len(over), max(1, n/40))], n
	}
	w, err := trial.Weigh(s.library, r.Rubric, over, robots, 1)
	if err != nil {
		s.log.Warn("a rubric could not be weighed", "rubric", r.ID, "version", r.Version, "cause", err.Error())
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.done[r.Hash] = &weighed{true, w, err}
}

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"sync/atomic"
	"time"

	"dewclaw/server/bench"
)

// student is one robot with two connections, as a browser has: one for acts and
// one for what is heard and seen.
type student struct {
	id, login, cookie string
	visits            []*visit
	at                int // which visit is acted in
	wire, media       *bench.Wire
	rng               *rand.Rand
	body              []byte

	sounds, pictures share
	listens          atomic.Bool // something is on its way over the second connection
}

// visit is one visit and how far it is.
type visit struct {
	id      string
	posts   []bench.Post
	taken   int  // acts whose answer came
	unsure  bool // the next may be stored though no answer came
	refused bool
}

// mostPosts are the acts of a visit that come one right after the other without a
// wait for the limit of the server.
const mostPosts = 100

// share is how often something is asked for after an act.
type share struct {
	owed float64
	last int    // the number of the latest act at which there is something
	path string // its visit
}

func newStudent(id, login string, seed, i uint64) *student {
	s := &student{id: id, login: login, rng: rand.New(rand.NewPCG(seed, i))}
	s.sounds.owed, s.pictures.owed = s.rng.Float64(), s.rng.Float64() // so that not all listen at once
	return s
}

// signIn asks for a browser's cookie.
func signIn(addr, login string) (string, error) {
	w := bench.NewWire(addr)
	defer w.Close()
	body, err := json.Marshal(map[string]any{"login": login, "password": password, "cookie": true})
	if err != nil {
		return "", err
	}
	reply, err := w.Do(http.MethodPost, "/api/v1/session", body)
	if err != nil {
		return "", err
	}
	if reply.Status != http.StatusCreated || reply.Cookie == "" {
		return "", fmt.Errorf("%s: %d %s", login, reply.Status, reply.Body)
	}
	return reply.Cookie, nil
}

// visit is the one that is acted in; nil: all are done.
func (s *student) visit() *visit {
	for s.at < len(s.visits) {
		v := s.visits[s.at]
		if v.taken < len(v.posts) && !v.refused {
			return v
		}
		s.at++
	}
	return nil
}

// look reads the visit that comes, as the page does that shows it.
func (s *student) look() error {
	v := s.visit()
	if v == nil {
		return nil
	}
	reply, err := s.wire.Do(http.MethodGet, "/api/v1/attempts/"+v.id, nil)
	if err == nil && reply.Status != http.StatusOK {
		err = fmt.Errorf("visit %s: %d %s", v.id, reply.Status, reply.Body)
	}
	return err
}

// settle opens the first visit and does some part of it without measuring.
func (s *student) settle() error {
	if err := s.look(); err != nil {
		return err
	}
	v := s.visit()
	for range s.rng.IntN(len(v.posts)) {
		if _, err := s.act(v); err != nil {
			return err
		}
	}
	return nil
}

// tries are how often an act is sent before it is given up, a moment apart.
const (
	tries  = 5
	moment = 200 * time.Millisecond
)

// act sends the next act until it is answered. again: how often it was sent anew.
func (s *student) act(v *visit) (again int, err error) {
	n := v.taken + 1
	s.body = v.posts[v.taken].Body(s.body, n, fmt.Sprintf("hall-%s-%d", s.login, n))
	for again = range tries {
		var reply bench.Reply
		if again > 0 {
			time.Sleep(moment)
		}
		reply, err = s.wire.Do(http.MethodPost, "/api/v1/attempts/"+v.id+"/acts", s.body)
		switch {
		case err != nil:
			v.unsure = true
		case reply.Status == http.StatusCreated:
			v.taken, v.unsure = n, false
			s.note(v, n, reply.Body)
			return again, nil
		case reply.Status == http.StatusTooManyRequests || reply.Status >= http.StatusInternalServerError:
			err = fmt.Errorf("act %d of %s: %d %s", n, v.id, reply.Status, reply.Body)
		default:
			v.refused = true
			return again, fmt.Errorf("act %d of %s: %d %s", n, v.id, reply.Status, reply.Body)
		}
	}
	v.refused = true // a student who gets no answer does not go on as if there were one
	return again, err
}

// note remembers at which act there is something to hear or to see.
func (s *student) note(v *visit, n int, answer []byte) {
	if bytes.Contains(answer, []byte(`"heard":true`)) {
		s.sounds.last, s.sounds.path = n, v.id
	}
	if bytes.Contains(answer, []byte(`"seen":true`)) {
		s.pictures.last, s.pictures.path = n, v.id
	}
}

// wants says whether a medium is asked for now, and where it is.
func (m *share) wants(percent float64, name string) (path string, yes bool) {
	m.owed += percent / 100
	if m.owed < 1 || m.last == 0 {
		return "", false
	}
	m.owed--
	return fmt.Sprintf("/api/v1/attempts/%s/acts/%d/%s", m.path, m.last, name), true
}

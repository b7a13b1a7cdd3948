package server

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/store"
)

// Practice lists the case ids that are for practice, in the library's order.
func (s *Server) Practice() []string {
	var ids []string
	for _, k := range s.library.Cases() {
		if k.Use == practice {
			ids = append(ids, k.ID)
		}
	}
	return ids
}

// PlayVisit makes a whole visit of a person, act by act as acts plans it for
// the drawn patient, and hands it to the grading worker. Seconds are taken as
// planned. It serves demonstrations and load figures; no route leads here.
func (s *Server) PlayVisit(ctx context.Context, person, caseID, track string, acts func(*cases.Patient, rubric.Key) []rubric.Act) error {
	row, reason, err := s.leaveVisit(ctx, person, caseID, track, acts)
	if err != nil {
		return err
	}
	if _, err := s.store.Finish(ctx, row.Transcript, reason); err != nil {
		return err
	}
	if err := s.passWay(ctx, row); err != nil {
		return err
	}
	s.wakeWorker()
	return nil
}

// LeaveVisit makes a visit as PlayVisit does, does not hand it in, and returns its
// public id.
func (s *Server) LeaveVisit(ctx context.Context, person, caseID, track string, acts func(*cases.Patient, rubric.Key) []rubric.Act) (string, error) {
	row, _, err := s.leaveVisit(ctx, person, caseID, track, acts)
	return row.ID, err
}

// leaveVisit plays a visit and says why it ended, or would.
func (s *Server) leaveVisit(ctx context.Context, person, caseID, track string, acts func(*cases.Patient, rubric.Key) []rubric.Act) (row store.Attempt, reason string, err error) {
	row, p, key, err := s.drawVisit(ctx, person, caseID, track)
	if err != nil {
		return row, "", err
	}
	t, err := p.Play(acts(p, key))
	if err != nil {
		return row, "", err
	}
	reason = endedLeft
	for _, e := range t {
		if err := s.keepPlayed(ctx, row.Transcript, person, row.Started, e); err != nil {
			return row, "", err
		}
		if e.Outcome.Ended != "" {
			reason = e.Outcome.Ended
		}
	}
	return row, reason, nil
}

// drawVisit begins a visit of which no act is done.
func (s *Server) drawVisit(ctx context.Context, person, caseID, track string) (row store.Attempt, p *cases.Patient, key rubric.Key, err error) {
	k := s.library.Case(caseID)
	if k == nil {
		return row, nil, key, fmt.Errorf("no case %s in the library", caseID)
	}
	if row, err = s.drawAttempt(ctx, person, k, track, cases.NewSeed()); err != nil {
		return row, nil, key, err
	}
	if _, _, p, err = s.patientOf(ctx, row); err != nil {
		return row, nil, key, err
	}
	key, err = rubric.DecodeKey(row.Key)
	return row, p, key, err
}

// keepPlayed stores one played act, at the moment of the visit's own clock.
func (s *Server) keepPlayed(ctx context.Context, transcript int64, person string, started time.Time, e rubric.Entry) error {
	act, err := json.Marshal(e.Act)
	if err != nil {
		return err
	}
	outcome, err := rubric.EncodeOutcome(e.Outcome)
	if err != nil {
		return err
	}
	_, err = s.store.Append(ctx, store.NewAct{Transcript: transcript, N: e.Act.N, By: person, Act: act, Outcome: outcome,
		At: started.Add(time.Duration(e.Outcome.Clock) * time.Second), Retry: fmt.Sprintf("robot-%08d", e.Act.N)})
	return err
}

// OpenVisit begins a visit of a person and returns its public id with the acts
// that a robot would do in it, none of which is done. It serves load figures; no
// route leads here.
func (s *Server) OpenVisit(ctx context.Context, person, caseID, track string, acts func(*cases.Patient, rubric.Key) []rubric.Act) (string, []rubric.Act, error) {
	row, p, key, err := s.drawVisit(ctx, person, caseID, track)
	if err != nil {
		return "", nil, err
	}
	return row.ID, acts(p, key), nil
}

package server

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// retryShape is what a client may call one request.
var retryShape = regexp.MustCompile(`^[A-Za-z0-9_-]{8,64}$`)

// act does one act in one's own visit, as act after+1.
//
// Where that number is taken: by the same retry with the same act, the answer
// is the earlier one; by the same retry with another act it is ErrRetry; by
// anything else ErrTaken with the newer acts. An act is played on a copy of the
// patient's state, which is taken over only once the act is on the disk.
func (s *Server) act(ctx context.Context, v visitor, id string, after int, retry string, act rubric.Act) (face.Answer, error) {
	if err := checkAct(after, retry, act); err != nil {
		return face.Answer{}, err
	}
	l, err := s.openAttempt(ctx, v.person, id)
	if err != nil {
		return face.Answer{}, err
	}
	if err := l.notHere(act); err != nil {
		return face.Answer{}, err
	}
	request, err := json.Marshal(act)
	if err != nil {
		return face.Answer{}, fmt.Errorf("act: %w", err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if after > len(l.entries) { // another process may be ahead
		if err := s.catchUp(ctx, l); err != nil {
			return face.Answer{}, err
		}
	}
	next := store.NewAct{Transcript: l.row.Transcript, N: after + 1, By: v.person.ID, Retry: retry, Request: request}
	switch {
	case l.retries[retry] != 0 && l.retries[retry] != after+1:
		return face.Answer{}, &Fault{Kind: ErrRetry}
	case after > len(l.entries):
		return face.Answer{}, l.taken(after, fmt.Errorf("after %d, but there are %d", after, len(l.entries)))
	case after < len(l.entries):
		return s.again(ctx, l, next)
	}
	if err := s.inTime(ctx, l.row, v.session); err != nil {
		return face.Answer{}, err
	}
	if err := l.mayAct(time.Now(), cmp.Or(s.cfg.Burst, actsBurst)); err != nil {
		return face.Answer{}, err
	}
	return s.doAct(ctx, l, next, act)
}

// doAct plays an act that is the next one and stores it. The caller holds l.mu.
func (s *Server) doAct(ctx context.Context, l *live, next store.NewAct, act rubric.Act) (face.Answer, error) {
	if l.ended() != "" {
		return face.Answer{}, &Fault{Kind: ErrOver}
	}
	now := s.now().UTC()
	act.N = next.N
	if err := l.sureOf(act); err != nil {
		return face.Answer{}, err
	}
	if err := l.clockContact(&act, l.held(now)); err != nil {
		return face.Answer{}, err
	}
	outcome, err := l.patient.Apply(l.state(), act)
	if err != nil {
		return face.Answer{}, actFault(err)
	}
	if act.Kind == rubric.Hint {
		if err := s.fade(ctx, l, &outcome); err != nil {
			return face.Answer{}, err
		}
	}
	if next.Outcome, err = rubric.EncodeOutcome(outcome); err != nil {
		return face.Answer{}, fmt.Errorf("act: %w", err)
	}
	if next.Act, err = json.Marshal(act); err != nil {
		return face.Answer{}, fmt.Errorf("act: %w", err)
	}
	next.At = now
	done, err := s.store.Append(ctx, next)
	if err != nil || done.Earlier {
		return s.notAppended(ctx, l, next, err)
	}
	l.add(rubric.Entry{Act: act, Outcome: outcome}, done.Act.At, next.Retry)
	s.meters.acts.WithLabelValues(string(act.Kind)).Inc()
	if outcome.Ended != "" {
		if _, err := s.close(ctx, l, outcome.Ended); err != nil {
			s.log.Error("a visit that ended was not handed on; it is when it is next looked at", "cause", err.Error())
		}
	}
	return l.answer(next.N), nil
}

// notHere refuses what belongs to practice alone.
func (l *live) notHere(act rubric.Act) error {
	switch {
	case act.Kind == rubric.Hint && l.row.Purpose == forSitting:
		return &Fault{Kind: ErrNotNow, Text: "There are no hints in a sitting. Nothing was done."}
	case act.Sure != "" && l.row.Purpose != "":
		return &Fault{Kind: ErrNotNow, Text: "How sure you are is asked in practice only. Nothing was charted; write the line without it."}
	}
	return nil
}

// sureOf refuses an act that says how sure somebody is of a line that does not
// stand so. The caller holds l.mu.
func (l *live) sureOf(act rubric.Act) error {
	if !act.States() {
		return nil
	}
	for _, line := range l.chart.Lines() {
		if line.Field == act.Field && line.Site == act.Site && line.Act == act.Of && line.Value == act.Value {
			return nil
		}
	}
	return invalid("/act/of", "no line of this value was written by that act, or it was changed since; send the number and the value of the line as it stands")
}

// notAppended settles an act whose number somebody else, or an earlier try of
// this request, took meanwhile, or that the store did not take.
func (s *Server) notAppended(ctx context.Context, l *live, next store.NewAct, cause error) (face.Answer, error) {
	if cause != nil && !errors.Is(cause, store.ErrTaken) && !errors.Is(cause, store.ErrGap) {
		return face.Answer{}, fmt.Errorf("act: %w", cause)
	}
	if err := s.catchUp(ctx, l); err != nil {
		return face.Answer{}, err
	}
	if cause != nil {
		return face.Answer{}, l.taken(next.N-1, cause)
	}
	return l.answer(next.N), nil
}

// again answers a request whose number is taken. The store knows what was sent
// then; an act that is stored never goes away, so this one cannot be stored.
func (s *Server) again(ctx context.Context, l *live, next store.NewAct) (face.Answer, error) {
	if l.retries[next.Retry] != next.N {
		if gone, err := s.gone(ctx, l.row); err != nil || gone {
			return face.Answer{}, cmp.Or(err, ErrOver)
		}
		return face.Answer{}, l.taken(next.N-1, nil)
	}
	_, err := s.store.Append(ctx, next)
	return s.notAppended(ctx, l, next, err)
}

// taken tells that a number is taken, with the newer acts.
func (l *live) taken(after int, cause error) error {
	f := &Fault{Kind: ErrTaken, Last: len(l.entries), Cause: cause}
	if after < len(l.entries) {
		f.Acts = l.acts(after, l.row.Alternatives.Described)
	} else {
		f.Text = fmt.Sprintf("There is no act %d yet; the last one is %d. Read the visit again, then send after its last act.", after, len(l.entries))
	}
	return f
}

// clockContact sets what only the server's clock knows: how long the open
// contact lasted. A lift may say less than the clock, never more.
func (l *live) clockContact(act *rubric.Act, held int) error {
	act.Held = held
	if act.Kind != rubric.Lift {
		return nil
	}
	if l.contact == 0 || act.Of != 0 && act.Of != l.contact {
		return invalid("/act/of", "there is no open contact of that number; examine first, then lift with the number of that act")
	}
	act.Of = l.contact
	if act.Seconds == 0 || act.Seconds > held {
		act.Seconds = held
	}
	return nil
}

// sweep shows what 'rest of this region normal' would write.
func (s *Server) sweep(ctx context.Context, who face.Person, id, region string) (face.Sweep, error) {
	l, err := s.openAttempt(ctx, who, id)
	if err != nil {
		return face.Sweep{}, err
	}
	if gone, err := s.gone(ctx, l.row); err != nil || gone || l.cat.Region(region) == nil {
		return face.Sweep{}, cmp.Or(err, ErrMissing)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := s.catchUp(ctx, l); err != nil {
		return face.Sweep{}, err
	}
	states, unexamined, each := l.chart.Sweep(region)
	return face.Sweep{Region: region, States: places(states), Unexamined: places(unexamined), Each: places(each)}, nil
}

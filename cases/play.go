package cases

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"dewclaw/rubric"
)

// ErrAct is wrapped by every error about an act that cannot be played.
var ErrAct = errors.New("cases: this act cannot be played")

// ActError says which member of an act is wrong, in what way, and what would
// be right. It holds nothing hidden and may be shown to the student.
type ActError struct {
	Member  string // as spelled in JSON: kind, step, site, ...
	Problem string
	Right   string
}

// Error joins the parts into one sentence.
func (e *ActError) Error() string {
	if e.Right == "" {
		return fmt.Sprintf("%s: %s", e.Member, e.Problem)
	}
	return fmt.Sprintf("%s: %s; right would be: %s", e.Member, e.Problem, e.Right)
}

// Unwrap makes errors.Is(err, ErrAct) true.
func (e *ActError) Unwrap() error { return ErrAct }

// turn is one act being played.
type turn struct {
	act rubric.Act
	s   *state
	out rubric.Outcome
}

// shows adds something that the animal shows; a warning may later count as the
// sign that foreshadowed harm.
func (t *turn) shows(words string) { t.out.Signs = append(t.out.Signs, words) }

// plays says how each kind of act is played.
var plays = map[rubric.Kind]func(*Patient, *turn) error{
	rubric.Examine:  (*Patient).examine,
	rubric.Lift:     (*Patient).lift,
	rubric.Record:   (*Patient).record,
	rubric.Ask:      (*Patient).ask,
	rubric.Handle:   (*Patient).handle,
	rubric.Wait:     (*Patient).wait,
	rubric.Hint:     (*Patient).hint,
	rubric.Conclude: (*Patient).conclude,
}

const kindWords = "examine, lift, record, ask, handle, wait, hint or conclude"

// Apply plays one act. prev is the last outcome's State, nil at the start. It
// never changes the patient, and the same prev and act give the same outcome.
// An act that cannot be played is an *ActError; a state that is not this
// patient's is another error.
//
// The contact that is open is closed first, whatever the act but one that only
// says how sure somebody is of a line. Closed holds the
// seconds since the examination, beyond those given in it: those of the lift,
// never more than Held where a server has stamped it. Where another act ends the
// contact, Held counts as far as there was something to feel, see or hear; the
// rest was thinking, which costs nothing. An act with N 0 is taken as the next.
func (p *Patient) Apply(prev []byte, act rubric.Act) (rubric.Outcome, error) {
	s, err := p.opens(prev)
	if err != nil {
		return rubric.Outcome{}, err
	}
	if err := admit(&s, &act); err != nil {
		return rubric.Outcome{}, err
	}
	play := plays[act.Kind]
	if play == nil {
		return rubric.Outcome{}, &ActError{"kind", fmt.Sprintf("%q is no kind of act that a patient knows", cut(string(act.Kind))), kindWords}
	}
	t := &turn{act: act, s: &s}
	s.n++
	if act.Kind != rubric.Lift && !act.States() {
		p.close(t, min(act.Held, s.open.most))
	}
	if s.ended == goesOn {
		if err := play(p, t); err != nil {
			return rubric.Outcome{}, err
		}
	}
	t.out.Clock = s.clock
	t.out.Ended = endings[s.ended]
	t.out.State = s.encode()
	return t.out, nil
}

// admit checks what every act must have.
func admit(s *state, act *rubric.Act) error {
	if s.ended != goesOn {
		return &ActError{"kind", "this visit has ended", "no further act"}
	}
	if act.N != 0 && act.N != s.n+1 {
		return &ActError{"n", fmt.Sprintf("%d is not the next act", act.N), strconv.Itoa(s.n + 1)}
	}
	if s.n >= maxActs {
		return &ActError{"n", "this visit has as many acts as one may have", "conclude and begin anew"}
	}
	act.N = s.n + 1
	act.Held = min(max(act.Held, 0), longest) // a server's clock may run on while the student is away
	if act.Seconds < 0 || act.Seconds > longest {
		return &ActError{"seconds", fmt.Sprintf("%d is out of range", act.Seconds), fmt.Sprintf("0 to %d", longest)}
	}
	if s.clock+2*longest > maxClock {
		return &ActError{"seconds", "this visit has lasted too long", "conclude and begin anew"}
	}
	return nil
}

// longest is the longest contact or wait of one act, in seconds.
const longest = 3600

// Play folds Apply over the acts, numbering them from 1. It stops at the first
// act that cannot be played and returns the entries before it with the error.
func (p *Patient) Play(acts []rubric.Act) (rubric.Transcript, error) {
	t := make(rubric.Transcript, 0, len(acts))
	var state []byte
	for i, act := range acts {
		out, err := p.Apply(state, act)
		if err != nil {
			return t, fmt.Errorf("act %d: %w", i+1, err)
		}
		act.N = i + 1
		t = append(t, rubric.Entry{Act: act, Outcome: out})
		state = out.State
	}
	return t, nil
}

// close ends the open contact, which lasted for the given seconds more.
func (p *Patient) close(t *turn, seconds int) {
	o := t.s.open
	if o.of == 0 {
		return
	}
	t.out.Closed = &rubric.Contact{Of: o.of, Seconds: seconds, Reading: p.taken(o, o.seconds+seconds)}
	t.s.open = contact{}
	if more := o.seconds + seconds - o.charged; more > 0 {
		p.handsOn(t, more, o.touch == 1)
	}
}

// lift closes the contact that it names.
func (p *Patient) lift(t *turn) error {
	o := t.s.open
	if o.of == 0 {
		return &ActError{"of", "no contact is open", "examine first"}
	}
	if t.act.Of != o.of {
		return &ActError{"of", fmt.Sprintf("act %d is not the open contact", t.act.Of), strconv.Itoa(o.of)}
	}
	seconds := t.act.Seconds
	if t.act.Held > 0 && (seconds == 0 || seconds > t.act.Held) {
		seconds = t.act.Held
	}
	p.close(t, seconds)
	return nil
}

// wait lets time go by in peace.
func (p *Patient) wait(t *turn) error {
	if t.act.Seconds < 1 {
		return &ActError{"seconds", "a wait needs its length", fmt.Sprintf("1 to %d", longest)}
	}
	p.handsOff(t, t.act.Seconds)
	return nil
}

// cut shortens what a person typed before it is repeated.
func cut(s string) string {
	const most = 40
	r := []rune(strings.ToValidUTF8(s, "?"))
	if len(r) <= most {
		return string(r)
	}
	return string(r[:most]) + "..."
}

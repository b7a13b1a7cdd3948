package cases

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"dewclaw/rubric"
)

// errState says that a stored state cannot be read: it is damaged, or of a
// version that this program does not know.
var errState = errors.New("cases: this patient's stored state cannot be read")

const (
	stateVersion = 2
	firstNumbers = 15  // plain numbers of version 1
	maxState     = 512 // bytes
	maxHazards   = 64  // of one patient
	maxSteps     = 384 // of one catalogue that a state can remember
	maxActs      = 20000
	maxClock     = 14 * 24 * 3600 // seconds
)

// scale is the fixed point of stress, tension and reserve: 1000 of theirs is 1000*scale.
const scale = 1000

// state is the whole of what changes in a patient. It is hidden.
type state struct {
	n       int // acts so far
	clock   int // simulated seconds
	stress  int // times scale
	tension int // times scale
	reserve int // times scale; of a fragile animal
	hold    int // row of the catalogue's handling, from 1; 0: none
	handled uint64
	open    contact
	sign    int // number of the act that last showed a warning; 0: none
	worse   int // number of the act that first showed a fragile animal worsening
	refused int // number of the act that was refused last
	ended   int // row of endings
	peril   []peril
	done    [maxSteps / 64]uint64 // steps examined at all
}

// contact is the examination under way.
type contact struct {
	of      int // the act that opened it; 0: none
	seconds int // given so far
	charged int // seconds of the clock already spent on it
	touch   int // 1: hands are on the animal
	most    int // seconds that it counts for where the next act, not a lift, ends it
	rises   int // what an instrument that has not settled would show in the end, in thousandths; 0: none
	step    int // row of the step, from 1, while it rises
}

// peril is what became of one hazard.
type peril struct {
	seen  int // the act whose sign foreshadowed it
	fired bool
}

// endings are why a visit ends; 0 means that it goes on.
var endings = []string{"", "concluded", "arrest"}

const (
	goesOn = iota
	concluded
	arrested
)

// MarshalJSON refuses: a state is hidden.
func (state) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (state) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (state) LogValue() slog.Value { return slog.StringValue(hidden) }

// start is the patient before the first act.
func (p *Patient) start() state {
	return state{
		stress:  p.temper.arrives * scale,
		reserve: reserveFull * scale,
		peril:   make([]peril, len(p.hazards)),
	}
}

// numbers lists the plain members in their stored order; version 1 had none
// of those from open.rises on.
func (s *state) numbers() []*int {
	return []*int{&s.n, &s.clock, &s.stress, &s.tension, &s.reserve, &s.hold,
		&s.open.of, &s.open.seconds, &s.open.charged, &s.open.touch, &s.open.most, &s.sign, &s.worse, &s.refused, &s.ended, &s.open.rises, &s.open.step}
}

// encode packs a state: a version, the plain numbers, then the lists.
func (s *state) encode() []byte {
	out := make([]byte, 0, 160)
	out = append(out, stateVersion)
	for _, n := range s.numbers() {
		out = binary.AppendUvarint(out, uint64(*n))
	}
	out = binary.AppendUvarint(out, s.handled)
	for _, word := range s.done {
		out = binary.AppendUvarint(out, word)
	}
	out = binary.AppendUvarint(out, uint64(len(s.peril)))
	for _, x := range s.peril {
		packed := uint64(x.seen) << 1
		if x.fired {
			packed |= 1
		}
		out = binary.AppendUvarint(out, packed)
	}
	return out
}

// opens unpacks a stored state; an empty one is the start.
func (p *Patient) opens(b []byte) (state, error) {
	if len(b) == 0 {
		return p.start(), nil
	}
	if len(b) > maxState || b[0] < 1 || b[0] > stateVersion {
		return state{}, errState
	}
	var s state
	r := varints{b: b[1:]}
	plain := s.numbers()
	if b[0] == 1 {
		plain = plain[:firstNumbers]
	}
	for _, n := range plain {
		*n = r.below(1 << 31)
	}
	s.handled = r.next()
	for i := range s.done {
		s.done[i] = r.next()
	}
	s.peril = make([]peril, min(r.below(maxHazards+1), maxHazards))
	for i := range s.peril {
		packed := r.below(1 << 31)
		s.peril[i] = peril{seen: packed >> 1, fired: packed&1 == 1}
	}
	if r.bad || len(r.b) > 0 || !p.sound(&s) {
		return state{}, errState
	}
	return s, nil
}

// sound says whether a state can be one of this patient's.
func (p *Patient) sound(s *state) bool {
	return s.stress <= 1000*scale && s.tension <= 1000*scale && s.reserve <= reserveFull*scale &&
		s.n <= maxActs && s.clock <= maxClock && s.hold <= len(p.cat.Handling) &&
		s.ended < len(endings) && s.open.step <= len(p.cat.Steps) && len(s.peril) == len(p.hazards)
}

// varints reads numbers and remembers whether one was bad.
type varints struct {
	b   []byte
	bad bool
}

func (r *varints) next() uint64 {
	v, n := binary.Uvarint(r.b)
	if n <= 0 {
		r.bad, r.b = true, nil
		return 0
	}
	r.b = r.b[n:]
	return v
}

func (r *varints) below(limit uint64) int {
	v := r.next()
	if v >= limit {
		r.bad = true
		return 0
	}
	return int(v)
}

// pass lets simulated time go by: stress settles to its base, tension to none.
func (p *Patient) pass(s *state, seconds int) {
	s.clock += seconds
	base := p.temper.base * scale
	if p.fragile.loses > 0 {
		base += (reserveFull*scale - s.reserve) / 5 // a failing animal does not settle
	}
	for range min(seconds, 3600) { // after an hour nothing is left to settle
		s.stress += decay(base-s.stress, stressHalves)
		s.tension += decay(-s.tension, tensionHalves)
	}
}

// decay is a second's part of a difference that halves in the given seconds:
// ln 2 = 0.693 of it over that time.
func decay(difference, halves int) int { return difference * 693 / (1000 * halves) }

// remember notes a step as done.
func (s *state) remember(step int) {
	if step >= 0 && step < maxSteps {
		s.done[step/64] |= 1 << (step % 64)
	}
}

// has says whether a step was done.
func (s *state) has(step int) bool {
	return step >= 0 && step < maxSteps && s.done[step/64]&(1<<(step%64)) != 0
}

package cases

import (
	"errors"
	"fmt"

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

// Apply plays one act. prev is the last outcome's State, nil at the start. It
// never changes the patient, and the same prev and act give the same outcome.
func (p *Patient) Apply(prev []byte, act rubric.Act) (rubric.Outcome, error) {
	return rubric.Outcome{}, &ActError{Member: "kind", Problem: "not yet"}
}

// Play folds Apply over the acts, numbering them from 1.
func (p *Patient) Play(acts []rubric.Act) (rubric.Transcript, error) {
	return nil, nil
}

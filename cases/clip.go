package cases

import (
	"errors"

	"dewclaw/rubric"
)

// ErrNothingThere is returned where an act has no sound or no picture.
var ErrNothingThere = errors.New("cases: nothing to hear or see there")

// Sound returns what is heard at an examine act: a WAV of 60 s from the given phase.
func (p *Patient) Sound(e rubric.Entry, phase uint64) ([]byte, error) { return nil, ErrNothingThere }

// Picture returns what is seen at an examine act: an animated GIF.
func (p *Patient) Picture(e rubric.Entry, phase uint64) ([]byte, error) {
	return nil, ErrNothingThere
}

// Count returns how many whole events an attentive observer counts.
func (p *Patient) Count(e rubric.Entry, field string, phase uint64, over int) (int, error) {
	return 0, ErrNothingThere
}

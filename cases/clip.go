package cases

import (
	"errors"
	"slices"

	"dewclaw/cases/media"
	"dewclaw/cases/senses"
	"dewclaw/rubric"
)

// ErrNothingThere is returned where an act has no sound or no picture.
var ErrNothingThere = errors.New("cases: nothing to hear or to see there")

// Sound returns what is heard at an examine act with a stethoscope: a WAV of
// 60 s that begins at the given phase. The rates are those of the moment of
// the act; its length in bytes is always the same.
func (p *Patient) Sound(e rubric.Entry, phase uint64) ([]byte, error) {
	if own := p.ownAt(e, media.Sound); own != nil {
		return own.made.From(phase), nil
	}
	s, err := p.scene(e, phase)
	if err != nil {
		return nil, err
	}
	return s.WAV(), nil
}

// Count is what an attentive observer of that clip counts: the whole beats or
// breaths that begin in its first seconds.
func (p *Patient) Count(e rubric.Entry, field string, phase uint64, seconds int) (int, error) {
	if n, ok := p.ownCount(e, field, phase, seconds); ok {
		return n, nil
	}
	if f, _, err := p.shown(e, heartRate); err == nil && f.ID == field {
		s, err := p.scene(e, phase)
		if err != nil {
			return 0, err
		}
		n, _ := slices.BinarySearch(s.Beats(), seconds*senses.SampleRate)
		return n, nil
	}
	if v, row, err := p.viewAt(e, phase); err == nil && row.shows[0] == field && p.cat.Field(field).Vital == "resp_rate" {
		return v.breath().Within(seconds), nil
	}
	return 0, ErrNothingThere
}

func heartRate(_ *Step, f *Field) bool { return f.Vital == "heart_rate" }

// shown finds the first field of an examine act that suits, with its value at
// the moment of the act, read from the outcome's state.
func (p *Patient) shown(e rubric.Entry, suits func(*Step, *Field) bool) (*Field, string, error) {
	step := p.cat.Step(e.Act.Step)
	if e.Act.Kind != rubric.Examine || step == nil || e.Outcome.Refused || len(e.Outcome.State) == 0 {
		return nil, "", ErrNothingThere
	}
	s, err := p.opens(e.Outcome.State)
	if err != nil {
		return nil, "", err
	}
	for _, id := range step.Reveals {
		f := p.cat.Field(id)
		if f == nil || !suits(step, f) {
			continue
		}
		for _, at := range places(step, f, e.Act.Site) {
			return f, p.now(&s, f, at, e.Act.Site), nil
		}
	}
	return nil, "", ErrNothingThere
}

// somewhere finds the truth's place of a field at a site, or at none.
func (p *Patient) somewhere(field, site string) (rubric.Place, bool) {
	for _, at := range []rubric.Place{{Field: field, Site: site}, {Field: field}} {
		if p.truth.at(at) != "" {
			return at, true
		}
	}
	return rubric.Place{}, false
}

// irregular says whether the truth of a rhythm is one that needs a whole minute
// to count.
func (p *Patient) irregular(at rubric.Place) bool {
	f := p.cat.Field(at.Field)
	return f != nil && f.Abnormal(p.truth.at(at))
}

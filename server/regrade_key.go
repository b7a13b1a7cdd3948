package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"dewclaw/rubric"
	"dewclaw/server/store"
)

// rekey is what visits are marked anew by: another version of their rubric, or
// their own with the key as amended. One of the two is set.
type rekey struct {
	to    *rubric.Rubric
	amend *rubric.Amendment
}

// rekeyOf is what a regrading marks by.
func (s *Server) rekeyOf(ctx context.Context, g store.Regrading) (rekey, error) {
	if g.Assignment != "" {
		a, err := s.amendment(ctx, g)
		return rekey{amend: &a}, err
	}
	to, err := s.keptRubric(ctx, g.To)
	if err != nil {
		return rekey{}, err
	}
	return rekey{to: &to.Rubric}, nil
}

// amendment is the change of a key that a regrading is about.
func (s *Server) amendment(ctx context.Context, g store.Regrading) (a rubric.Amendment, err error) {
	text, err := s.store.Content(ctx, g.To)
	if err != nil {
		return a, fmt.Errorf("the change of a key: %w", err)
	}
	if err := json.Unmarshal(text, &a); err != nil {
		return a, fmt.Errorf("the change of a key: %w", err)
	}
	return a, nil
}

// keyAnew is the key by which a visit is marked anew, and the rubric.
func (s *Server) keyAnew(ctx context.Context, row store.Attempt, how rekey) (by rubric.Rubric, key rubric.Key, err error) {
	old, err := rubric.DecodeKey(row.Key)
	if err != nil {
		return by, key, refuse(err, "The key that it was marked by cannot be read.")
	}
	if how.amend != nil {
		if by, err = s.scheme(ctx, row); err != nil {
			return by, key, refuse(err, "The rubric that it was marked by cannot be read.")
		}
		key, err = amended(old, *how.amend)
		return by, key, err
	}
	key, err = s.compiled(ctx, row, *how.to, old)
	return *how.to, key, err
}

// compiled makes the key for another version of the rubric from what is stored,
// with the changes for everybody that are in force for the visit.
func (s *Server) compiled(ctx context.Context, row store.Attempt, to rubric.Rubric, old rubric.Key) (rubric.Key, error) {
	_, _, p, err := s.patientOf(ctx, row)
	if err != nil {
		return rubric.Key{}, refuse(err, "Its patient can no longer be made from the texts that are stored with it.")
	}
	key, err := p.Key(to, keyOptions(row.Alternatives)...)
	if err != nil {
		return key, refuse(err, "The rubric cannot be applied to its patient.")
	}
	changes, err := s.store.KeyChangesOf(ctx, row.Transcript)
	if err != nil {
		return key, err
	}
	for _, g := range changes {
		a, err := s.amendment(ctx, g)
		if err != nil {
			return key, err
		}
		if key, err = amended(key, a); err != nil {
			return key, err
		}
	}
	same, err := sameTruth(old, key)
	if err == nil && !same {
		err = &refusal{text: "This version of the program makes another patient of what is stored than the student met; its marks stay."}
	}
	return key, err
}

// amended is a key as amended. A line that this key does not make, for this
// student met another patient of the case, is nobody's loss here.
func amended(key rubric.Key, a rubric.Amendment) (rubric.Key, error) {
	fits := a
	fits.Strike = nil
	for _, line := range a.Strike {
		switch _, err := key.Amend(rubric.Amendment{Strike: []string{line}}); {
		case err == nil:
			fits.Strike = append(fits.Strike, line)
		case !errors.Is(err, rubric.ErrStrike):
			return key, err
		}
	}
	return key.Amend(fits)
}

// sameTruth says whether two keys agree in everything that does not come from
// the rubric: what was there, what was normal, what was to be concluded. A new
// key must not hold the student to another patient than the one that was met.
func sameTruth(a, b rubric.Key) (bool, error) {
	x, err := rubric.EncodeKey(withoutRubric(a))
	if err != nil {
		return false, err
	}
	y, err := rubric.EncodeKey(withoutRubric(b))
	if err != nil {
		return false, err
	}
	return bytes.Equal(x, y), nil
}

// withoutRubric leaves out what a rubric brings into a key.
func withoutRubric(k rubric.Key) rubric.Key {
	k.Track, k.Rules, k.Routes = "", nil, nil
	steps := make([]rubric.Step, 0, len(k.Steps))
	for _, s := range k.Steps {
		if s.Kind == rubric.Examine { // handling steps are there only where the rubric requires them
			s.Required, s.Weight, s.Critical = false, 0, false
			steps = append(steps, s)
		}
	}
	vitals := make([]rubric.Vital, 0, len(k.Vitals))
	for _, v := range k.Vitals {
		v.Window, v.Required = 0, false
		vitals = append(vitals, v)
	}
	k.Steps, k.Vitals = steps, vitals
	return k
}

package server

import (
	"context"
	"fmt"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric/say"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// grant says which other ways of giving sounds a person has from now on. A
// visit that is begun keeps those that it began with. Nobody grants to
// themselves, and an instructor to the students of the own cohorts only: others
// are absent.
func (s *Server) grant(ctx context.Context, by face.Person, id string, want store.Alternatives, reason string) (bool, error) {
	switch reason = strings.TrimSpace(reason); {
	case id == by.ID:
		return false, &Fault{Kind: ErrInvalid, Text: "Nobody grants this to themselves; ask another instructor or a coordinator."}
	case reason == "" || len(reason) > store.MaxReason:
		return false, invalid("/reason", fmt.Sprintf("Say by whose decision, in at most %d bytes. It is kept with your name and the time.", store.MaxReason))
	}
	if _, err := s.account(ctx, by, id); err != nil {
		return false, err
	}
	changed, err := s.store.GrantAlternatives(ctx, store.NewGrant{Person: id, By: by.ID, Want: want, Reason: reason})
	if err != nil {
		return false, missing("grant", err)
	}
	if changed {
		s.log.Info("alternatives were changed", "to", want.String()) // who and for whom is in the table of grants
	}
	return changed, nil
}

// accounts lists everybody; how sounds are given to them only of those whose
// visits this person may see, for it may tell of somebody's health.
func (s *Server) accounts(ctx context.Context, who face.Person) ([]face.Account, error) {
	rows, err := s.store.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("people: %w", err)
	}
	r, err := s.reachOf(ctx, who)
	if err != nil {
		return nil, err
	}
	out := make([]face.Account, 0, len(rows))
	for _, p := range rows {
		if r.sees(p.ID) {
			out = append(out, faceAccount(p))
		} else {
			out = append(out, face.Account{Person: facePerson(p)})
		}
	}
	return out, nil
}

// account is one person with how sounds are given to them. Who is out of reach
// is absent.
func (s *Server) account(ctx context.Context, who face.Person, id string) (face.Account, error) {
	r, err := s.reachOf(ctx, who)
	if err != nil {
		return face.Account{}, err
	}
	p, err := s.store.Person(ctx, id)
	if err == nil && (!p.Erased.IsZero() || !r.sees(id)) {
		err = store.ErrNotFound
	}
	if err != nil {
		return face.Account{}, missing("person", err)
	}
	return faceAccount(p), nil
}

func faceAccount(p store.Person) face.Account {
	a := face.Account{Person: facePerson(p), InReach: true, Traced: p.Alternatives.Traced, Described: p.Alternatives.Described}
	if !p.CheckPassed.IsZero() {
		a.SoundCheck = &p.CheckPassed
	}
	return a
}

// keyOptions are how the key of a visit is compiled: who is given sounds in
// another way than by ear is not marked by how loud they are.
func keyOptions(a store.Alternatives) []cases.KeyOption {
	if a.Any() {
		return []cases.KeyOption{cases.WithoutLoudness()}
	}
	return nil
}

// soundWays are the ways in which sounds are given besides, in words.
func soundWays(a store.Alternatives) string {
	switch {
	case a.Traced && a.Described:
		return "as a trace and in words"
	case a.Traced:
		return "as a trace"
	case a.Described:
		return "in words"
	}
	return ""
}

// soundsText says of a visit how sounds were given and what that means for its
// marks; nothing where they were heard and nothing else.
func soundsText(a store.Alternatives) string {
	if !a.Any() {
		return ""
	}
	return "Sounds were also given " + soundWays(a) + ". How loud something was is not marked; whether it was there, and where and when, is."
}

// unloud are words that say of a grade which is a loudness that it is not marked.
type unloud struct {
	say.Words
	cat *cases.Catalogue
	why string
}

var _ say.Unmarked = unloud{}

// GradeUnmarked is why the grade of a field is not marked; empty: it is.
func (w unloud) GradeUnmarked(field string) string {
	if w.cat.GradedByEar(field) {
		return w.why
	}
	return ""
}

// quietly are words for the marks of a visit to which sounds were given so.
func quietly(w say.Words, cat *cases.Catalogue, a store.Alternatives) say.Words {
	if !a.Any() {
		return w
	}
	return unloud{w, cat, "How loud it was is not marked, for sounds were also given " + soundWays(a) + "."}
}

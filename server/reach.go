package server

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"dewclaw/cases"
	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// reach is whose visits and marks a person may see besides the own ones: a
// coordinator everybody's, an instructor those of the students of the cohorts
// that the instructor teaches.
type reach struct {
	self   string
	all    bool
	people []string
}

func (r reach) sees(person string) bool {
	return r.all || person == r.self || slices.Contains(r.people, person)
}

func (s *Server) reachOf(ctx context.Context, who face.Person) (reach, error) {
	r := reach{self: who.ID}
	switch role := auth.Role(who.Role); {
	case role == auth.Coordinator:
		r.all = true
	case auth.May(role, auth.SeeAll):
		var err error
		if r.people, err = s.store.StudentsOf(ctx, who.ID); err != nil {
			return r, fmt.Errorf("reach: %w", err)
		}
	}
	return r, nil
}

// roleOf is the most that a person is: what the account was made as, or
// instructor where one cohort says so.
func (s *Server) roleOf(ctx context.Context, p store.Person) (auth.Role, error) {
	if auth.Role(p.Role) != auth.Student {
		return auth.Role(p.Role), nil
	}
	mine, err := s.store.MemberOf(ctx, p.ID)
	if err != nil {
		return "", fmt.Errorf("role: %w", err)
	}
	if slices.ContainsFunc(mine, func(m store.Member) bool { return m.Role == string(auth.Instructor) }) {
		return auth.Instructor, nil
	}
	return auth.Student, nil
}

// teaches is a cohort that a person may manage: its instructor or a coordinator.
// Another is absent.
func (s *Server) teaches(ctx context.Context, who face.Person, cohort string) (store.Cohort, error) {
	c, err := s.store.Cohort(ctx, cohort)
	if err != nil {
		return c, missing("cohort", err)
	}
	if auth.Role(who.Role) == auth.Coordinator {
		return c, nil
	}
	mine, err := s.store.MemberOf(ctx, who.ID)
	if err != nil {
		return c, fmt.Errorf("cohort: %w", err)
	}
	if !slices.ContainsFunc(mine, func(m store.Member) bool { return m.Cohort == c.ID && m.Role == string(auth.Instructor) }) {
		return store.Cohort{}, ErrMissing
	}
	return c, nil
}

// sealedFrom are the cases that are kept from a person for now: those in a
// sitting, set and not released, of a cohort in which the person is a student.
// That holds for an instructor too who learns in another cohort.
func (s *Server) sealedFrom(ctx context.Context, person string) (map[string]bool, error) {
	mine, err := s.store.MemberOf(ctx, person)
	if err != nil {
		return nil, fmt.Errorf("sealed: %w", err)
	}
	var learns []string
	for _, m := range mine {
		if m.Role == string(auth.Student) {
			learns = append(learns, m.Cohort)
		}
	}
	if len(learns) == 0 {
		return nil, nil
	}
	all, err := s.store.Assignments(ctx, learns...)
	if err != nil {
		return nil, fmt.Errorf("sealed: %w", err)
	}
	out := map[string]bool{}
	for _, a := range all {
		if s.sealing(a) {
			for _, id := range slices.Concat(a.Slots...) {
				out[id] = true
			}
		}
	}
	return out, nil
}

// sealsFor is how long a seal may be remembered, in acts of practice: they ask for
// it every time.
const sealsFor = 2 * time.Second

// seals remember what is sealed from whom.
type seals struct {
	mu sync.Mutex
	of map[string]sealedThen
}

type sealedThen struct {
	at    time.Time
	cases map[string]bool
}

// sealedLately is sealedFrom as it was at most sealsFor ago.
func (s *Server) sealedLately(ctx context.Context, person string) (map[string]bool, error) {
	now := s.now()
	s.seals.mu.Lock()
	was, ok := s.seals.of[person]
	s.seals.mu.Unlock()
	if age := now.Sub(was.at); ok && age >= 0 && age < sealsFor {
		return was.cases, nil
	}
	sealed, err := s.sealedFrom(ctx, person)
	if err != nil {
		return nil, err
	}
	s.seals.mu.Lock()
	defer s.seals.mu.Unlock()
	if s.seals.of == nil || len(s.seals.of) >= mostLive {
		s.seals.of = map[string]sealedThen{}
	}
	s.seals.of[person] = sealedThen{now, sealed}
	return sealed, nil
}

// sealedAfter is how long after its closing a withdrawn sitting still seals:
// whoever had begun is through by then, also with the latest window that can be
// granted. One that nobody has begun can be deleted, and seals no more.
const sealedAfter = 32 * 24 * time.Hour

// sealing reports whether an assignment keeps its patients from practice: a
// sitting that is set, until its debriefs are released to everybody. One that is
// withdrawn goes on where it was begun, so that it seals until it would be over.
func (s *Server) sealing(a store.Assignment) bool {
	if exam.Kind(a.Kind) != exam.Sitting || !a.Released.IsZero() {
		return false
	}
	return a.State == store.AssignmentSet || a.State == store.AssignmentWithdrawn && s.now().Before(a.Closes.Add(sealedAfter))
}

// unsealed leaves out of a list the cases that are sealed from a person.
func (s *Server) unsealed(ctx context.Context, person string, all []*cases.Case) ([]*cases.Case, error) {
	sealed, err := s.sealedFrom(ctx, person)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(slices.Clone(all), func(k *cases.Case) bool { return sealed[k.ID] }), nil
}

// unnamed leaves out of lines for staff those that name a case that is sealed from
// this very person, by its id or its file.
func (s *Server) unnamed(ctx context.Context, person string, lines []string) ([]string, error) {
	sealed, err := s.sealedFrom(ctx, person)
	if err != nil || len(sealed) == 0 {
		return lines, err
	}
	var names []string
	for _, k := range s.library.Cases() {
		if sealed[k.ID] {
			names = append(names, k.ID, k.File())
		}
	}
	return slices.DeleteFunc(slices.Clone(lines), func(line string) bool {
		return slices.ContainsFunc(names, func(name string) bool { return name != "" && strings.Contains(line, name) })
	}), nil
}

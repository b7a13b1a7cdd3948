package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// What is done to cohorts and their people, in the words of the log.
const (
	deedRename      = "rename cohort"
	deedArchive     = "archive cohort"
	deedBring       = "bring cohort back"
	deedDelete      = "delete cohort"
	deedPutBack     = "put cohort back"
	deedAddMember   = "add member"
	deedRoleIn      = "change role in cohort"
	deedTakeOut     = "take out of cohort"
	deedAccommodate = "accommodate"
	deedEnrol       = "enrol by roster"
	deedEnrolPart   = "enrol by roster, broken off"
	deedLink        = "make one-time link"
	deedRole        = "change role"
	deedAccount     = "make account"
)

// undoFor is how long a deleted cohort may be put back.
const undoFor = 30 * 24 * time.Hour

// cohortLine is a cohort with how many people it has.
type cohortLine struct {
	store.Cohort
	Students, Instructors int
}

// cohorts are those that a person may manage: a coordinator all, an instructor
// the own ones. Those in use come first.
func (s *Server) cohorts(ctx context.Context, who face.Person) ([]cohortLine, error) {
	all, err := s.store.Cohorts(ctx)
	if err != nil {
		return nil, fmt.Errorf("cohorts: %w", err)
	}
	if all, err = s.taught(ctx, who, all); err != nil {
		return nil, err
	}
	return s.counted(ctx, all)
}

// taught leaves out of a list the cohorts that a person does not manage.
func (s *Server) taught(ctx context.Context, who face.Person, all []store.Cohort) ([]store.Cohort, error) {
	if auth.Role(who.Role) == auth.Coordinator {
		return all, nil
	}
	mine, err := s.store.MemberOf(ctx, who.ID)
	if err != nil {
		return nil, fmt.Errorf("cohorts: %w", err)
	}
	return slices.DeleteFunc(all, func(c store.Cohort) bool {
		return !slices.ContainsFunc(mine, func(m store.Member) bool { return m.Cohort == c.ID && m.Role == string(auth.Instructor) })
	}), nil
}

func (s *Server) counted(ctx context.Context, all []store.Cohort) ([]cohortLine, error) {
	counts, err := s.store.MemberCounts(ctx)
	if err != nil {
		return nil, fmt.Errorf("cohorts: %w", err)
	}
	out := make([]cohortLine, 0, len(all))
	for _, c := range all {
		row := cohortLine{Cohort: c}
		for _, n := range counts {
			switch {
			case n.Cohort != c.ID:
			case n.Role == string(auth.Instructor):
				row.Instructors = n.N
			default:
				row.Students = n.N
			}
		}
		out = append(out, row)
	}
	return out, nil
}

// deletedCohorts are those that a person may put back.
func (s *Server) deletedCohorts(ctx context.Context, who face.Person) ([]store.Cohort, error) {
	all, err := s.store.DeletedCohorts(ctx, s.now().Add(-undoFor))
	if err != nil {
		return nil, fmt.Errorf("deleted cohorts: %w", err)
	}
	var out []store.Cohort
	for _, c := range all {
		if ok, err := s.taughtOnce(ctx, who, c.ID); err != nil {
			return nil, err
		} else if ok {
			out = append(out, c)
		}
	}
	return out, nil
}

// taughtOnce is teaches for a cohort that may be deleted.
func (s *Server) taughtOnce(ctx context.Context, who face.Person, cohort string) (bool, error) {
	if auth.Role(who.Role) == auth.Coordinator {
		return true, nil
	}
	people, err := s.store.Members(ctx, cohort)
	if err != nil {
		return false, fmt.Errorf("deleted cohorts: %w", err)
	}
	return slices.ContainsFunc(people, func(m store.Member) bool { return m.Person == who.ID && m.Role == string(auth.Instructor) }), nil
}

// makeCohort makes a cohort. An instructor becomes its first instructor.
func (s *Server) makeCohort(ctx context.Context, who face.Person, name string) (store.Cohort, error) {
	name, err := cohortName(name)
	if err != nil {
		return store.Cohort{}, err
	}
	c, err := s.store.AddCohort(ctx, name, who.ID, auth.Role(who.Role) != auth.Coordinator)
	if err != nil {
		return c, fmt.Errorf("make cohort: %w", err)
	}
	return c, nil
}

func cohortName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if n := utf8.RuneCountInString(name); n == 0 || n > longestName || len(name) > store.MaxName || !utf8.ValidString(name) {
		return "", invalid("/name", fmt.Sprintf("A name of 1 to %d characters.", longestName))
	}
	return name, nil
}

// changeCohort renames, archives, brings back or deletes a cohort that a person
// manages. To delete it its name must be typed.
func (s *Server) changeCohort(ctx context.Context, who face.Person, id, deed, typed string) error {
	c, err := s.teaches(ctx, who, id)
	if err != nil {
		return err
	}
	column, value := "archived", any(time.Time{})
	switch deed {
	case deedRename:
		if typed, err = cohortName(typed); err != nil {
			return err
		}
		column, value = "name", typed
	case deedArchive:
		value = s.now()
	case deedDelete:
		if strings.Join(strings.Fields(typed), " ") != c.Name {
			return invalid("/confirm", "Type the name of the cohort just as it stands in the title: "+c.Name)
		}
		column, value = "deleted", s.now()
	}
	if deed == deedArchive || deed == deedDelete {
		if err := s.nothingOpen(ctx, id); err != nil {
			return err
		}
	}
	if err := s.store.ChangeCohort(ctx, id, column, value, store.Note{By: who.ID, Deed: deed}); err != nil {
		return fmt.Errorf("%s: %w", deed, err)
	}
	return nil
}

// nothingOpen refuses while a sitting of the cohort is open: its students would
// lose it from under their hands.
func (s *Server) nothingOpen(ctx context.Context, cohort string) error {
	all, err := s.store.Assignments(ctx, cohort)
	if err != nil {
		return fmt.Errorf("cohort: %w", err)
	}
	now := s.now()
	for _, a := range all {
		if exam.Kind(a.Kind) == exam.Sitting && a.State == store.AssignmentSet && !now.Before(a.Opens) && now.Before(a.Closes) {
			return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("The sitting %q of this cohort is open. Wait until it has closed, or withdraw it.", a.Title)}
		}
	}
	return nil
}

// putBack brings a deleted cohort back, with its people and all that it had.
func (s *Server) putBack(ctx context.Context, who face.Person, id string) error {
	ok, err := s.taughtOnce(ctx, who, id)
	if err == nil && !ok {
		err = ErrMissing
	}
	if err == nil {
		err = s.store.PutBack(ctx, id, s.now().Add(-undoFor), store.Note{By: who.ID, Deed: deedPutBack})
	}
	if errors.Is(err, store.ErrNotFound) {
		return &Fault{Kind: ErrMissing, Text: "There is no such cohort that was deleted in the last 30 days.", Cause: err}
	}
	return err
}

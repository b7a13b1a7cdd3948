package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// newMember is somebody who is to be put into a cohort by hand. With Person, or
// with the login of an account and no name, somebody who has an account.
type newMember struct{ Person, Login, Name, Number, Email, Role string }

// addMember puts one person into a cohort that who manages.
func (s *Server) addMember(ctx context.Context, who face.Person, cohort string, n newMember) (store.Person, error) {
	if _, err := s.teaches(ctx, who, cohort); err != nil {
		return store.Person{}, err
	}
	if r := auth.Role(n.Role); r != auth.Student && r != auth.Instructor {
		return store.Person{}, invalid("/role", "student or instructor.")
	}
	p, err := s.accountOf(ctx, n)
	if errors.Is(err, store.ErrNotFound) && n.Name != "" {
		return s.enrolNew(ctx, who, cohort, n)
	}
	switch {
	case errors.Is(err, store.ErrNotFound) && n.Person == "":
		return p, invalid("/login", "Nobody has this login. Give a name too, and an account is made.")
	case err != nil:
		return p, missing("add member", err)
	case n.Name != "":
		return p, invalid("/login", "This login is taken. Search for the person above, or choose another login.")
	}
	if err := s.mayRaise(ctx, who, p, n.Role); err != nil {
		return p, err
	}
	return p, s.setMember(ctx, who, cohort, p.ID, n.Role, store.Note{By: who.ID, Deed: deedAddMember})
}

// accountOf is the account that is meant; one that is erased, or is going to be, is none.
func (s *Server) accountOf(ctx context.Context, n newMember) (p store.Person, err error) {
	if n.Person != "" {
		p, err = s.store.Person(ctx, n.Person)
	} else {
		p, err = s.store.PersonByLogin(ctx, n.Login)
	}
	if err == nil && !(p.Erased.IsZero() && p.Leaving.IsZero()) {
		err = store.ErrNotFound
	}
	return p, err
}

// enrolNew makes an account and puts its owner into a cohort, both or neither.
func (s *Server) enrolNew(ctx context.Context, who face.Person, cohort string, n newMember) (store.Person, error) {
	n.Number, n.Email = strings.TrimSpace(n.Number), strings.TrimSpace(n.Email)
	f := &Fault{Kind: ErrInvalid}
	var account *Fault
	if errors.As(checkAccount(n.Login, n.Name, auth.Student), &account) {
		f.Fields = account.Fields
	}
	if utf8.RuneCountInString(n.Number) > longestName || strings.ContainsFunc(n.Number, unicode.IsControl) {
		f.Fields = append(f.Fields, FieldProblem{"/number", fmt.Sprintf("At most %d characters, or none.", longestName)})
	}
	if n.Email != "" && !mailable(n.Email) {
		f.Fields = append(f.Fields, FieldProblem{"/email", "An address of electronic mail, such as kim@example.org, or none."})
	}
	if len(f.Fields) > 0 {
		return store.Person{}, f
	}
	if err := s.mayRaise(ctx, who, store.Person{Role: string(auth.Student)}, n.Role); err != nil {
		return store.Person{}, err
	}
	line := []store.Enrolment{{Member: n.Role, NewPerson: store.NewPerson{Login: n.Login, Role: string(auth.Student),
		Name: strings.TrimSpace(n.Name), Number: n.Number, Email: n.Email}}}
	if err := s.store.Enrol(ctx, cohort, line, store.Note{By: who.ID, Deed: deedAddMember, Detail: n.Role + ", a new account"}, func(int) {}); err != nil {
		return store.Person{}, loginTaken(err)
	}
	return s.store.Person(ctx, line[0].Person)
}

// mayRaise says whether who may put p into a cohort under a role. Who sees what
// is hidden in the cases is for a coordinator to say: an instructor cannot make
// one of somebody who is none anywhere.
func (s *Server) mayRaise(ctx context.Context, who face.Person, p store.Person, role string) error {
	if auth.Role(who.Role) == auth.Coordinator || role != string(auth.Instructor) {
		return nil
	}
	is := auth.Role(p.Role)
	if p.ID != "" {
		var err error
		if is, err = s.roleOf(ctx, p); err != nil {
			return err
		}
	}
	if is == auth.Student {
		return invalid("/role", "Only a coordinator makes somebody an instructor who is none yet. Ask one, or choose student.")
	}
	return nil
}

// changeMember changes a person's role in a cohort, or takes the person out
// where role is empty. Only a coordinator can leave a cohort without instructor.
func (s *Server) changeMember(ctx context.Context, who face.Person, cohort, id, role string) error {
	if _, err := s.memberOf(ctx, who, cohort, id); err != nil {
		return err
	}
	if role != "" && role != string(auth.Student) && role != string(auth.Instructor) {
		return invalid("/role", "student or instructor.")
	}
	p, err := s.store.Person(ctx, id)
	if err != nil {
		return missing("member", err)
	}
	if err := s.mayRaise(ctx, who, p, role); err != nil {
		return err
	}
	deed := deedRoleIn
	if role == "" {
		deed = deedTakeOut
	}
	return s.setMember(ctx, who, cohort, id, role, store.Note{By: who.ID, Deed: deed})
}

func (s *Server) setMember(ctx context.Context, who face.Person, cohort, id, role string, note store.Note) error {
	leave := store.LeaveInstructor(auth.Role(who.Role) == auth.Coordinator)
	err := s.store.ChangeMember(ctx, cohort, id, role, leave, note)
	switch {
	case errors.Is(err, store.ErrLast):
		return &Fault{Kind: ErrNotNow, Text: "This is the cohort’s last instructor. Add another first, or ask a coordinator.", Cause: err}
	case err != nil:
		return missing(note.Deed, err)
	}
	s.turns.forget() // accommodations are looked up by cohort and person
	return nil
}

// memberOf is one of the people of a cohort that who manages.
func (s *Server) memberOf(ctx context.Context, who face.Person, cohort, id string) (store.Member, error) {
	if _, err := s.teaches(ctx, who, cohort); err != nil {
		return store.Member{}, err
	}
	all, err := s.store.Members(ctx, cohort)
	if err != nil {
		return store.Member{}, fmt.Errorf("members: %w", err)
	}
	i := slices.IndexFunc(all, func(m store.Member) bool { return m.Person == id })
	if i < 0 {
		return store.Member{}, ErrMissing
	}
	return all[i], nil
}

// The most that a student can be given beyond the others. Our own figures, no
// source: three times as long, a month later, a working day of pauses.
const (
	mostExtra  = 200          // percent
	mostLater  = 31 * 24 * 60 // minutes
	mostPauses = 8 * 60       // minutes
)

// accommodate sets what a student has beyond the others in a cohort's sittings.
func (s *Server) accommodate(ctx context.Context, who face.Person, a store.Accommodation, reason string) error {
	m, err := s.memberOf(ctx, who, a.Cohort, a.Person)
	if err != nil {
		return err
	}
	f := &Fault{Kind: ErrInvalid}
	for _, row := range []struct {
		pointer   string
		got, most int
		what      string
	}{{"/extra", a.Extra, mostExtra, "Extra time: a whole number of percent"}, {"/later", a.Later, mostLater, "Later window: a whole number of minutes"},
		{"/pauses", a.Pauses, mostPauses, "Pauses: a whole number of minutes"}} {
		if row.got < 0 || row.got > row.most {
			f.Fields = append(f.Fields, FieldProblem{row.pointer, fmt.Sprintf("%s from 0 to %d.", row.what, row.most)})
		}
	}
	if reason = strings.TrimSpace(reason); reason == "" || len(reason) > store.MaxReason {
		f.Fields = append(f.Fields, FieldProblem{"/reason", fmt.Sprintf("Say by whose decision, in at most %d bytes; never what is wrong with the person.", store.MaxReason)})
	}
	if len(f.Fields) > 0 {
		return f
	}
	if m.Role != string(auth.Student) {
		return invalid("/person", "An instructor sits no exam in this cohort.")
	}
	if a.Person == who.ID {
		return &Fault{Kind: ErrInvalid, Text: "Nobody gives this to themselves; ask another instructor or a coordinator."}
	}
	if err := s.store.Accommodate(ctx, a, store.Note{By: who.ID, Deed: deedAccommodate, Reason: reason}); err != nil {
		return fmt.Errorf("accommodate: %w", err)
	}
	s.turns.forget()
	return nil
}

// fits reports whether every word that is looked for stands in one of the texts.
func fits(words string, texts ...string) bool {
	all := store.FoldLogin(strings.Join(texts, "\n"))
	for _, w := range strings.Fields(store.FoldLogin(words)) {
		if !strings.Contains(all, w) {
			return false
		}
	}
	return true
}

// mostFound accounts are listed at a time in a search.
const mostFound = 20

// findAccounts are accounts by login, name or number that are not in a cohort
// yet, and whether there are more.
func (s *Server) findAccounts(ctx context.Context, words string, without []store.Member) (found []store.Person, more bool, err error) {
	if strings.TrimSpace(words) == "" {
		return nil, false, nil
	}
	all, err := s.store.People(ctx)
	if err != nil {
		return nil, false, fmt.Errorf("search: %w", err)
	}
	in := map[string]bool{}
	for _, m := range without {
		in[m.Person] = true
	}
	for _, p := range all {
		if in[p.ID] || !fits(words, p.Login, p.Name, p.Number) {
			continue
		}
		if len(found) == mostFound {
			return found, true, nil
		}
		found = append(found, p)
	}
	return found, false, nil
}

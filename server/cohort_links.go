package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// Whom links are made for.
const (
	linkWaiting = "waiting" // who has no password yet
	linkAll     = "all"     // everybody, also who has one: it works until another is chosen
	linkFailed  = "failed"  // to whom the last mail did not go
)

// linkChunk links go into one transaction: a year's slips hold up no act.
const linkChunk = 100

// slip is one person's one-time link, for the one time that it is shown.
type slip struct {
	Person, Name, Login, Email string
	Link                       string // in full
	Code                       string // the secret part alone, in groups, to be typed
	Until                      time.Time
}

// mayLink says whether a person may make a one-time link for another: a
// coordinator for anybody, an instructor for those who are students of an own
// cohort and teach nowhere. Another is absent.
func (s *Server) mayLink(ctx context.Context, who face.Person, p store.Person) error {
	if auth.Role(who.Role) == auth.Coordinator {
		return nil
	}
	is, err := s.roleOf(ctx, p)
	if err != nil {
		return err
	}
	r, err := s.reachOf(ctx, who)
	if err != nil {
		return err
	}
	if is != auth.Student || p.ID == who.ID || !r.sees(p.ID) {
		return ErrMissing
	}
	return nil
}

// linkFor makes a fresh link for one person and says where it leads.
func (s *Server) linkFor(ctx context.Context, who face.Person, id, address, cohort string) (slip, error) {
	p, err := s.accountOf(ctx, newMember{Person: id})
	if err != nil {
		return slip{}, missing("link", err)
	}
	if err := s.mayLink(ctx, who, p); err != nil {
		return slip{}, err
	}
	all, err := s.makeLinks(ctx, who, []store.Member{{Person: p.ID, Name: p.Name, Login: p.Login, Email: p.Email}}, address, cohort)
	if err != nil {
		return slip{}, err
	}
	return all[0], nil
}

// linkable are the people of a cohort for whom who may make links, as chosen.
func (s *Server) linkable(ctx context.Context, who face.Person, cohort, choice string) ([]store.Member, error) {
	if _, err := s.teaches(ctx, who, cohort); err != nil {
		return nil, err
	}
	all, err := s.store.Members(ctx, cohort)
	if err != nil {
		return nil, fmt.Errorf("links: %w", err)
	}
	places, err := s.store.Memberships(ctx)
	if err != nil {
		return nil, fmt.Errorf("links: %w", err)
	}
	teaches := map[string]bool{}
	for _, m := range places {
		if m.Role == string(auth.Instructor) {
			teaches[m.Person] = true
		}
	}
	var failed []string
	last, err := s.taskOf(ctx, taskMail, cohort)
	if err != nil {
		return nil, err
	}
	for _, f := range last.Failed {
		failed = append(failed, f.Person)
	}
	return slices.DeleteFunc(all, func(m store.Member) bool {
		above := auth.Role(who.Role) != auth.Coordinator && (teaches[m.Person] || auth.Role(m.Base) != auth.Student)
		return above || m.Person == who.ID || choice == linkWaiting && m.Chosen || choice == linkFailed && !slices.Contains(failed, m.Person)
	}), nil
}

// makeLinks makes a fresh link for each, in place of earlier unused ones.
func (s *Server) makeLinks(ctx context.Context, who face.Person, people []store.Member, address, cohort string) ([]slip, error) {
	until := s.now().Add(inviteFor)
	slips := make([]slip, 0, len(people))
	for from := 0; from < len(people); from += linkChunk {
		var rows []store.NewInvite
		for _, m := range people[from:min(from+linkChunk, len(people))] {
			token := auth.NewSecret()
			rows = append(rows, store.NewInvite{Token: token, Person: m.Person, By: who.ID, Expires: until})
			slips = append(slips, slip{m.Person, m.Name, m.Login, m.Email, address + joinPath + token, inGroups(token), until})
		}
		if err := s.store.AddInvites(ctx, rows, store.Note{Deed: deedLink, Cohort: cohort}); err != nil {
			return nil, fmt.Errorf("links: %w", err)
		}
	}
	return slips, nil
}

// inGroups cuts a secret into groups of four, to be read and typed.
func inGroups(token string) string {
	var parts []string
	for len(token) > 4 {
		parts, token = append(parts, token[:4]), token[4:]
	}
	return strings.Join(append(parts, token), " ")
}

// misread are the signs that the alphabet of our secrets (RFC 4648, table 3: A to
// Z and 2 to 7) does not have, each with the one that it is mistaken for.
var misread = strings.NewReplacer(" ", "", "-", "", "\t", "", "0", "O", "1", "I", "8", "B")

// typedToken is the secret of a link as it was typed from a slip.
func typedToken(text string) string { return misread.Replace(strings.ToUpper(text)) }

// chooseRole gives an account another role in the school.
func (s *Server) chooseRole(ctx context.Context, who face.Person, id, role, reason string) error {
	if !auth.Role(role).Valid() {
		return invalid("/role", "One of student, instructor, coordinator.")
	}
	if reason = strings.TrimSpace(reason); reason == "" || len(reason) > store.MaxReason {
		return invalid("/reason", fmt.Sprintf("Say why, in at most %d bytes. It is kept with your name and the time.", store.MaxReason))
	}
	err := s.store.ChangeRole(ctx, id, role, store.Note{By: who.ID, Deed: deedRole, Reason: reason})
	if errors.Is(err, store.ErrLast) {
		return &Fault{Kind: ErrNotNow, Cause: err,
			Text: "This is the school’s last coordinator who can sign in. Make somebody else a coordinator first, and let them choose a password."}
	}
	if err != nil {
		return missing("change role", err)
	}
	return nil
}

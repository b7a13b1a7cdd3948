package server

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// inviteFor is how long a one-time link works (ASVS 5.0, 6.4.1: initial secrets expire).
const inviteFor = 7 * 24 * time.Hour

// joinPath and the token are where a one-time link leads.
const joinPath = "/join?token="

// loginShape keeps logins easy to type and to read aloud.
var loginShape = regexp.MustCompile(`^[a-z0-9][a-z0-9._@-]{1,63}$`)

const longestName = 100 // characters

// people lists everybody with an account.
func (s *Server) people(ctx context.Context) ([]face.Person, error) {
	rows, err := s.store.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("people: %w", err)
	}
	out := make([]face.Person, 0, len(rows))
	for _, p := range rows {
		out = append(out, facePerson(p))
	}
	return out, nil
}

// invite makes an account without a password and returns the path of the
// one-time link with which its owner chooses one. Nobody ever sets another's password.
func (s *Server) invite(ctx context.Context, by face.Person, login, name string, role auth.Role) (face.Person, string, error) {
	if err := checkAccount(login, name, role); err != nil {
		return face.Person{}, "", err
	}
	p, err := s.store.AddPerson(ctx, store.NewPerson{Login: login, Role: string(role), Name: strings.TrimSpace(name)})
	if err != nil {
		return face.Person{}, "", loginTaken(err)
	}
	if err := s.store.Record(ctx, store.Note{By: by.ID, Deed: deedAccount, About: "person:" + p.ID, Detail: string(role)}); err != nil {
		return face.Person{}, "", fmt.Errorf("invite: %w", err)
	}
	link, err := s.oneTimeLink(ctx, by, p.ID)
	return facePerson(p), link, err
}

// oneTimeLink makes a link with which a person chooses a new password.
func (s *Server) oneTimeLink(ctx context.Context, by face.Person, id string) (string, error) {
	token := auth.NewSecret()
	row := store.NewInvite{Token: token, Person: id, By: by.ID, Expires: s.now().Add(inviteFor)}
	if err := s.store.AddInvites(ctx, []store.NewInvite{row}, store.Note{Deed: deedLink}); err != nil {
		return "", fmt.Errorf("invite: %w", err)
	}
	return joinPath + token, nil
}

// join takes the password that an invited person chose and signs them in.
func (s *Server) join(c *gin.Context, token, password string) error {
	token = typedToken(token)
	ctx := c.Request.Context()
	inv, err := s.store.Invite(ctx, token)
	if err != nil {
		return deadLink(err)
	}
	p, err := s.store.Person(ctx, inv.Person)
	if err != nil {
		return deadLink(err)
	}
	phc, err := s.choose(ctx, password, p.Login, p.Name)
	if err != nil {
		return err
	}
	if p, err = s.store.Redeem(ctx, token, phc); err != nil {
		return deadLink(err)
	}
	s.notice(c, "Your password is set, and you are signed in.")
	return s.welcome(c, p)
}

// setupNeeded reports whether there is nobody yet.
func (s *Server) setupNeeded(ctx context.Context) (bool, error) {
	rows, err := s.store.People(ctx)
	if err != nil {
		return false, fmt.Errorf("first start: %w", err)
	}
	return len(rows) == 0, nil
}

// SetupLink is the path of the one-time link that makes the coordinator's
// account; empty: there are accounts already. It is the same at every start and on
// every server of the school, until somebody has used it.
func (s *Server) SetupLink(ctx context.Context) (string, error) {
	needed, err := s.setupNeeded(ctx)
	if err != nil || !needed {
		return "", err
	}
	return "/setup?token=" + s.setupToken(), nil
}

func (s *Server) setupToken() string {
	return strings.ToLower(opaqueText.EncodeToString(s.mac("setup", "coordinator")))
}

// setUp makes the coordinator's account and signs its owner in.
func (s *Server) setUp(c *gin.Context, token, login, name, password string) error {
	ctx := c.Request.Context()
	needed, err := s.setupNeeded(ctx)
	if err != nil {
		return err
	}
	if !needed || !same(token, s.setupToken()) {
		return ErrMissing
	}
	p, err := s.addPerson(ctx, store.NewPerson{Login: login, Name: name, Role: string(auth.Coordinator), First: true}, password)
	if errors.Is(err, store.ErrUsed) { // somebody was faster
		return ErrMissing
	}
	if err != nil {
		return err
	}
	s.notice(c, "Your account is made, and you are signed in. Invite the others under People.")
	return s.welcome(c, p)
}

// AddPerson makes an account with a password; the password is held against the rules.
func (s *Server) AddPerson(ctx context.Context, login, name string, role auth.Role, password string) (store.Person, error) {
	return s.addPerson(ctx, store.NewPerson{Login: login, Name: name, Role: string(role)}, password)
}

func (s *Server) addPerson(ctx context.Context, n store.NewPerson, password string) (store.Person, error) {
	if err := checkAccount(n.Login, n.Name, auth.Role(n.Role)); err != nil {
		return store.Person{}, err
	}
	var err error
	if n.PasswordHash, err = s.choose(ctx, password, n.Login, n.Name); err != nil {
		return store.Person{}, err
	}
	n.Name = strings.TrimSpace(n.Name)
	p, err := s.store.AddPerson(ctx, n)
	if err != nil {
		return store.Person{}, loginTaken(err)
	}
	return p, nil
}

// choose judges and hashes a chosen password.
func (s *Server) choose(ctx context.Context, password string, own ...string) (string, error) {
	var weak *auth.WeakPassword
	if err := auth.CheckPassword(password, own...); errors.As(err, &weak) {
		return "", invalid("/password", weak.Reason)
	}
	phc, err := s.hasher.Hash(ctx, password)
	if err != nil {
		return "", fmt.Errorf("password: %w", err)
	}
	return phc, nil
}

func checkAccount(login, name string, role auth.Role) error {
	f := &Fault{Kind: ErrInvalid}
	if !loginShape.MatchString(login) {
		f.Fields = append(f.Fields, FieldProblem{"/login", "2 to 64 characters: small letters, digits, and . _ @ - after the first."})
	}
	if n := utf8.RuneCountInString(strings.TrimSpace(name)); n == 0 || n > longestName || !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl) {
		f.Fields = append(f.Fields, FieldProblem{"/name", fmt.Sprintf("1 to %d characters, without line breaks.", longestName)})
	}
	if !role.Valid() {
		f.Fields = append(f.Fields, FieldProblem{"/role", "One of student, instructor, coordinator."})
	}
	if len(f.Fields) > 0 {
		return f
	}
	return nil
}

func loginTaken(err error) error {
	if errors.Is(err, store.ErrDuplicate) {
		f := invalid("/login", "This login is taken; choose another.")
		f.Cause = err
		return f
	}
	return fmt.Errorf("account: %w", err)
}

// deadLink tells used, expired and never issued links alike.
func deadLink(err error) error {
	for _, kind := range []error{store.ErrNotFound, store.ErrUsed, store.ErrExpired} {
		if errors.Is(err, kind) {
			return &Fault{Kind: ErrMissing, Text: "This link was used or has expired. Ask the coordinator for a new one.", Cause: err}
		}
	}
	return fmt.Errorf("one-time link: %w", err)
}

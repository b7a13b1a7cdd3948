package server

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"
	"sync"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

const (
	trustFor      = 2 * time.Second // how long a session that was looked up is believed
	mostRemember  = 10_000          // sessions remembered at a time
	noticeFor     = 60              // seconds
	noticeLongest = 500             // bytes of a notice
)

// visitor is who sent a request.
type visitor struct {
	person  face.Person
	session string
	purpose auth.Purpose
}

// sessions remembers for a moment who a session is.
type sessions struct {
	mu    sync.Mutex
	known map[string]remembered
}

type remembered struct {
	person face.Person
	until  time.Time
}

func (m *sessions) find(id string, now time.Time) (face.Person, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	r, ok := m.known[id]
	return r.person, ok && now.Before(r.until)
}

func (m *sessions) remember(id string, p face.Person, until time.Time) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.known) >= mostRemember || m.known == nil {
		m.known = map[string]remembered{}
	}
	m.known[id] = remembered{p, until}
}

func (m *sessions) forget(id string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.known, id)
}

// person is who sent the request; an empty ID: nobody is signed in.
func person(c *gin.Context) face.Person { return who(c).person }

func who(c *gin.Context) visitor {
	v, _ := c.Get(keyWho)
	w, _ := v.(visitor)
	return w
}

// recognise finds out who sent a request: a bearer token where there is one,
// else the cookie. Without must, a bad or missing token is nobody.
func (s *Server) recognise(c *gin.Context, must bool) error {
	text, purpose, given := s.token(c.Request)
	if !given {
		if must {
			return ErrSignIn
		}
		return nil
	}
	v, until, err := s.lookUp(c.Request.Context(), text, purpose)
	if err != nil {
		if must || !errors.Is(err, ErrToken) {
			return err
		}
		return nil
	}
	c.Set(keyWho, v)
	if until.IsZero() {
		return nil
	}
	return s.renewCookie(c, v.session, until)
}

// token finds the token of a request.
func (s *Server) token(r *http.Request) (text string, purpose auth.Purpose, given bool) {
	if h := r.Header.Get("Authorization"); h != "" {
		scheme, rest, _ := strings.Cut(h, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			return "", auth.ForProgram, true // another scheme is no token of ours
		}
		return strings.TrimSpace(rest), auth.ForProgram, true
	}
	cookie, err := r.Cookie(s.cookieName())
	if err != nil || cookie.Value == "" {
		return "", auth.ForBrowser, false
	}
	return cookie.Value, auth.ForBrowser, true
}

// lookUp finds whose a token is, and until when its session lives from now on
// where that has changed.
func (s *Server) lookUp(ctx context.Context, text string, purpose auth.Purpose) (v visitor, until time.Time, err error) {
	id, err := s.tokens.Read(purpose, text)
	if err != nil {
		return visitor{}, until, &Fault{Kind: ErrToken, Cause: err}
	}
	now := s.now()
	if p, ok := s.sessions.find(id, now); ok {
		return visitor{p, id, purpose}, until, nil
	}
	p, ses, err := s.whose(ctx, id)
	if err != nil {
		return visitor{}, until, err
	}
	if until, err = s.keepSession(ctx, id, purpose, ses); err != nil {
		return visitor{}, until, err
	}
	s.sessions.remember(id, p, now.Add(trustFor))
	return visitor{p, id, purpose}, until, nil
}

// whose is the person of a living session.
func (s *Server) whose(ctx context.Context, id string) (face.Person, store.Session, error) {
	ses, err := s.store.Session(ctx, id)
	if errors.Is(err, store.ErrNotFound) {
		return face.Person{}, ses, &Fault{Kind: ErrToken, Cause: err}
	}
	if err != nil {
		return face.Person{}, ses, fmt.Errorf("who is asking: %w", err)
	}
	row, err := s.store.Person(ctx, ses.Person)
	if err != nil || !row.Erased.IsZero() {
		return face.Person{}, ses, &Fault{Kind: ErrToken, Cause: err}
	}
	role, err := s.roleOf(ctx, row)
	if err != nil {
		return face.Person{}, ses, err
	}
	p := facePerson(row)
	p.Role = string(role)
	return p, ses, nil
}

// check holds login and password against the account. Whether there is such an
// account shows neither in the answer nor in its time.
func (s *Server) check(ctx context.Context, login, password string) (store.Person, error) {
	account := store.FoldLogin(login)
	if wait := s.slow.Try(account); wait > 0 {
		return store.Person{}, &Fault{Kind: ErrSlow, Wait: int(math.Ceil(wait.Seconds())), Text: fmt.Sprintf("Too many wrong passwords for this login. Try again in %d s.", int(math.Ceil(wait.Seconds())))}
	}
	p, err := s.store.PersonByLogin(ctx, login)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return store.Person{}, fmt.Errorf("sign in: %w", err)
	}
	right, rehash, err := s.hasher.Verify(ctx, p.PasswordHash, password)
	if err != nil {
		return store.Person{}, fmt.Errorf("sign in: %w", err)
	}
	if !right {
		return store.Person{}, ErrLogin
	}
	s.slow.Succeeded(account)
	if rehash {
		s.rehash(ctx, p.ID, password)
	}
	return p, nil
}

// rehash lifts an old hash to today's cost. A failure costs nothing: the next sign-in tries again.
func (s *Server) rehash(ctx context.Context, id, password string) {
	phc, err := s.hasher.Hash(ctx, password)
	if err == nil {
		err = s.store.SetPassword(ctx, id, phc)
	}
	if err != nil {
		s.log.Warn("a password hash was not renewed", "cause", err.Error())
	}
}

// signIn gives a browser its cookie. The session is always a new one.
func (s *Server) signIn(c *gin.Context, login, password string) error {
	p, err := s.check(c.Request.Context(), login, password)
	if err != nil {
		return err
	}
	return s.welcome(c, p)
}

// welcome starts a browser's session for a person whose identity is proven.
func (s *Server) welcome(c *gin.Context, p store.Person) error {
	if old := who(c); old.session != "" {
		s.endSession(c.Request.Context(), old.session)
	}
	expires := s.now().Add(auth.SessionLife)
	id := auth.NewSecret()
	if _, err := s.store.AddSession(c.Request.Context(), store.NewSession{ID: id, Person: p.ID, Kind: string(auth.ForBrowser), Expires: expires}); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	text, err := s.tokens.Issue(auth.ForBrowser, id, expires)
	if err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	c.Set(keyWho, visitor{facePerson(p), id, auth.ForBrowser})
	s.setCookie(c, s.cookieName(), text, int(auth.SessionLife.Seconds()))
	return nil
}

// signOut ends the session, on the server too.
func (s *Server) signOut(c *gin.Context) error {
	if v := who(c); v.session != "" {
		s.sessions.forget(v.session)
		if err := s.store.EndSession(c.Request.Context(), v.session); err != nil && !errors.Is(err, store.ErrNotFound) {
			return fmt.Errorf("sign out: %w", err)
		}
	}
	s.dropCookie(c)
	return nil
}

func (s *Server) endSession(ctx context.Context, id string) {
	s.sessions.forget(id)
	if err := s.store.EndSession(ctx, id); err != nil && !errors.Is(err, store.ErrNotFound) {
		s.log.Warn("an old session was not ended", "cause", err.Error())
	}
}

// cookieName has the __Host- prefix wherever the cookie is Secure, so that no
// neighbouring host can set it.
func (s *Server) cookieName() string {
	if s.secure {
		return "__Host-dewclaw"
	}
	return "dewclaw"
}

func (s *Server) setCookie(c *gin.Context, name, value string, seconds int) {
	http.SetCookie(c.Writer, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: seconds,
		HttpOnly: true, Secure: s.secure, SameSite: http.SameSiteLaxMode})
}

func (s *Server) dropCookie(c *gin.Context) { s.setCookie(c, s.cookieName(), "", -1) }

// notice keeps a sentence for the next page.
func (s *Server) notice(c *gin.Context, text string) {
	s.setCookie(c, noticeName, base64.RawURLEncoding.EncodeToString([]byte(text)), noticeFor)
}

const noticeName = "dewclaw-notice"

// takeNotice gives the kept sentence and forgets it.
func (s *Server) takeNotice(c *gin.Context) string {
	cookie, err := c.Request.Cookie(noticeName)
	if err != nil || cookie.Value == "" {
		return ""
	}
	s.setCookie(c, noticeName, "", -1)
	text, err := base64.RawURLEncoding.DecodeString(cookie.Value)
	if err != nil || len(text) > noticeLongest {
		return ""
	}
	return strings.ToValidUTF8(string(text), "")
}

func facePerson(p store.Person) face.Person {
	return face.Person{ID: p.ID, Login: p.Login, Name: p.Name, Role: p.Role}
}

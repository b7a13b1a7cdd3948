package auth

import (
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// How long things live.
const (
	SessionLife = 12 * time.Hour      // a browser's session
	AccessLife  = 15 * time.Minute    // a program's access token
	ProgramLife = 14 * 24 * time.Hour // a program's session and its last refresh token
)

// ErrToken is returned for whatever is not a token of ours that is good now.
// Why is in the error's text, for the log; people are told only that they are
// not signed in.
var ErrToken = errors.New("not a token of ours")

// Purpose keeps tokens of one kind from passing for another: it is the token's typ.
type Purpose string

// The purposes.
const (
	ForBrowser Purpose = "session+jwt" // in the cookie
	ForProgram Purpose = "at+jwt"      // as a bearer token (RFC 9068)
)

const (
	keyBytes  = 32   // HS256 needs at least 256 bits (RFC 7518, section 3.2)
	mostToken = 2048 // bytes; ours have about 250
)

// Key signs tokens. A retired key still verifies, until its last token has expired.
type Key struct {
	ID      string
	Secret  []byte
	Retired bool
}

// NewKey makes a key. Its id is random too and says nothing.
func NewKey() Key {
	k := Key{ID: rand.Text()[:12], Secret: make([]byte, keyBytes)}
	_, _ = rand.Read(k.Secret) // never fails
	return k
}

// NewSecret returns 130 random bits as text that fits into links and cookies:
// for session ids, refresh tokens and one-time links.
func NewSecret() string { return rand.Text() }

// Tokens makes and reads tokens: HS256 and nothing else, with the key that the
// token names out of our own set. It is safe for concurrent use.
type Tokens struct {
	issuer string
	now    func() time.Time
	mu     sync.RWMutex
	keys   map[string]Key
	signer Key
	set    int                 // how often keys were put in place
	good   map[string]goodness // tokens that were verified with these keys
}

// goodness is what a token that was verified says; its text alone says it, so that
// it need not be verified again while the keys are the same.
type goodness struct {
	purpose Purpose
	session string
	until   time.Time
}

// mostGood tokens are remembered; each has about 250 bytes.
const mostGood = 10_000

// claims is all that a token says.
type claims struct {
	jwt.RegisteredClaims
	Session string `json:"sid"`
}

// NewTokens returns a maker and reader of tokens. issuer names this server; the
// first key that is not retired signs.
func NewTokens(issuer string, keys []Key, now func() time.Time) (*Tokens, error) {
	if issuer == "" {
		return nil, errors.New("tokens: no issuer")
	}
	t := &Tokens{issuer: issuer, now: now}
	return t, t.SetKeys(keys)
}

// SetKeys puts another set of keys in place, after a rotation.
func (t *Tokens) SetKeys(keys []Key) error {
	set, signer := map[string]Key{}, Key{}
	for _, k := range keys {
		if k.ID == "" || len(k.Secret) < keyBytes {
			return fmt.Errorf("tokens: key %q: an id and %d bytes are needed", k.ID, keyBytes)
		}
		set[k.ID] = k
		if signer.ID == "" && !k.Retired {
			signer = k
		}
	}
	if signer.ID == "" {
		return errors.New("tokens: no key to sign with")
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.keys, t.signer, t.good = set, signer, map[string]goodness{}
	t.set++
	return nil
}

// Issue makes a token that stands for a session until expires.
func (t *Tokens) Issue(p Purpose, session string, expires time.Time) (string, error) {
	t.mu.RLock()
	signer := t.signer
	t.mu.RUnlock()
	token := jwt.NewWithClaims(jwt.SigningMethodHS256, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer:    t.issuer,
			IssuedAt:  jwt.NewNumericDate(t.now()),
			ExpiresAt: jwt.NewNumericDate(expires),
		},
		Session: session,
	})
	token.Header["kid"] = signer.ID
	token.Header["typ"] = string(p)
	text, err := token.SignedString(signer.Secret)
	if err != nil {
		return "", fmt.Errorf("issue token: %w", err)
	}
	return text, nil
}

// Read returns the session that a token of this purpose stands for, or ErrToken.
// The caller still asks the store whether that session lives.
func (t *Tokens) Read(p Purpose, text string) (session string, err error) {
	if len(text) > mostToken {
		return "", fmt.Errorf("%w: longer than %d bytes", ErrToken, mostToken)
	}
	t.mu.RLock()
	known, set := t.good[text], t.set
	t.mu.RUnlock()
	if known.purpose == p && p != "" && t.now().Before(known.until) {
		return known.session, nil
	}
	c, err := t.verify(p, text)
	if err != nil {
		return "", fmt.Errorf("%w: %w", ErrToken, err)
	}
	if c.NotBefore == nil {
		t.remember(text, goodness{p, c.Session, c.ExpiresAt.Time}, set)
	}
	return c.Session, nil
}

// remember keeps what a token says, unless the keys have changed since it was read.
func (t *Tokens) remember(text string, g goodness, set int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.set != set {
		return
	}
	if len(t.good) >= mostGood {
		clear(t.good)
	}
	t.good[strings.Clone(text)] = g // a piece of a request would keep all of it
}

// verify reads a token with the keys that are in place.
func (t *Tokens) verify(p Purpose, text string) (c claims, err error) {
	_, err = jwt.ParseWithClaims(text, &c, func(token *jwt.Token) (any, error) { return t.key(p, token) },
		jwt.WithValidMethods([]string{jwt.SigningMethodHS256.Alg()}),
		jwt.WithIssuer(t.issuer),
		jwt.WithExpirationRequired(),
		jwt.WithTimeFunc(t.now),
		jwt.WithStrictDecoding())
	switch {
	case err != nil:
	case len(c.Audience) > 0: // ours name none: iss and typ say whose and what for
		err = errors.New("it is for somebody else")
	case c.Session == "":
		err = errors.New("it names no session")
	}
	return c, err
}

func (t *Tokens) key(p Purpose, token *jwt.Token) (any, error) {
	if typ, _ := token.Header["typ"].(string); typ != string(p) {
		return nil, fmt.Errorf("typ is %q, wanted %q", typ, p)
	}
	kid, _ := token.Header["kid"].(string)
	t.mu.RLock()
	defer t.mu.RUnlock()
	k, ok := t.keys[kid]
	if !ok {
		return nil, fmt.Errorf("unknown key %q", kid)
	}
	return k.Secret, nil
}

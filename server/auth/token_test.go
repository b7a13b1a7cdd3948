package auth

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"github.com/stretchr/testify/require"
)

var start = time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)

// clock is a time that a test moves.
type clock struct{ now time.Time }

func (c *clock) Now() time.Time      { return c.now }
func (c *clock) add(d time.Duration) { c.now = c.now.Add(d) }

func newTokens(t *testing.T, keys ...Key) (*Tokens, *clock) {
	t.Helper()
	c := &clock{start}
	tokens, err := NewTokens("https://school.example", keys, c.Now)
	require.NoError(t, err)
	return tokens, c
}

func TestATokenStandsForASession(t *testing.T) {
	tokens, c := newTokens(t, NewKey())
	for _, p := range []Purpose{ForBrowser, ForProgram} {
		text, err := tokens.Issue(p, "session id", c.now.Add(AccessLife))
		require.NoError(t, err)
		session, err := tokens.Read(p, text)
		require.NoError(t, err)
		require.Equal(t, "session id", session)
	}
}

func TestATokenSaysNothingElse(t *testing.T) {
	tokens, c := newTokens(t, NewKey())
	text, err := tokens.Issue(ForBrowser, "session id", c.now.Add(time.Hour))
	require.NoError(t, err)
	body, err := base64.RawURLEncoding.DecodeString(strings.Split(text, ".")[1])
	require.NoError(t, err)
	var said map[string]any
	require.NoError(t, json.Unmarshal(body, &said))
	require.Len(t, said, 4)
	require.Equal(t, "session id", said["sid"])
	require.Contains(t, said, "iss")
	require.Contains(t, said, "iat")
	require.Contains(t, said, "exp")
	require.Less(t, len(text), 400)
}

func TestATokenExpiresByOurClock(t *testing.T) {
	tokens, c := newTokens(t, NewKey())
	text, err := tokens.Issue(ForProgram, "s", c.now.Add(AccessLife))
	require.NoError(t, err)
	c.add(AccessLife - time.Second)
	_, err = tokens.Read(ForProgram, text)
	require.NoError(t, err)
	c.add(time.Second)
	_, err = tokens.Read(ForProgram, text)
	require.ErrorIs(t, err, ErrToken)
}

// forge signs any claims with any method, key and header.
func forge(t *testing.T, method jwt.SigningMethod, secret any, header map[string]any, c jwt.MapClaims) string {
	t.Helper()
	token := jwt.NewWithClaims(method, c)
	for k, v := range header {
		token.Header[k] = v
	}
	text, err := token.SignedString(secret)
	require.NoError(t, err)
	return text
}

func TestForgedTokensAreRefused(t *testing.T) {
	key, other := NewKey(), NewKey()
	tokens, c := newTokens(t, key)
	_, private, err := ed25519.GenerateKey(rand.Reader)
	require.NoError(t, err)
	header := map[string]any{"kid": key.ID, "typ": string(ForBrowser)}
	claims := func(change func(jwt.MapClaims)) jwt.MapClaims {
		m := jwt.MapClaims{"iss": "https://school.example", "iat": c.now.Unix(), "exp": c.now.Add(time.Hour).Unix(), "sid": "s"}
		if change != nil {
			change(m)
		}
		return m
	}
	good := forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(nil))
	_, err = tokens.Read(ForBrowser, good)
	require.NoError(t, err, "the forger can make a good one; each below differs in one thing")

	cut := strings.LastIndex(good, ".")
	for what, text := range map[string]string{
		"nothing":        "",
		"no token":       "hello",
		"too long":       good + strings.Repeat("A", mostToken),
		"no signature":   good[:cut+1],
		"alg none":       forge(t, jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType, header, claims(nil)),
		"alg HS512":      forge(t, jwt.SigningMethodHS512, key.Secret, header, claims(nil)),
		"alg EdDSA":      forge(t, jwt.SigningMethodEdDSA, private, header, claims(nil)),
		"another key":    forge(t, jwt.SigningMethodHS256, other.Secret, header, claims(nil)),
		"unknown kid":    forge(t, jwt.SigningMethodHS256, key.Secret, map[string]any{"kid": other.ID, "typ": string(ForBrowser)}, claims(nil)),
		"no kid":         forge(t, jwt.SigningMethodHS256, key.Secret, map[string]any{"typ": string(ForBrowser)}, claims(nil)),
		"kid of a kind":  forge(t, jwt.SigningMethodHS256, key.Secret, map[string]any{"kid": 7, "typ": string(ForBrowser)}, claims(nil)),
		"for a program":  forge(t, jwt.SigningMethodHS256, key.Secret, map[string]any{"kid": key.ID, "typ": string(ForProgram)}, claims(nil)),
		"plain JWT":      forge(t, jwt.SigningMethodHS256, key.Secret, map[string]any{"kid": key.ID, "typ": "JWT"}, claims(nil)),
		"another issuer": forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(func(m jwt.MapClaims) { m["iss"] = "https://else.example" })),
		"no issuer":      forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(func(m jwt.MapClaims) { delete(m, "iss") })),
		"no expiry":      forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(func(m jwt.MapClaims) { delete(m, "exp") })),
		"expired":        forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(func(m jwt.MapClaims) { m["exp"] = c.now.Unix() })),
		"not yet":        forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(func(m jwt.MapClaims) { m["nbf"] = c.now.Add(time.Hour).Unix() })),
		"no session":     forge(t, jwt.SigningMethodHS256, key.Secret, header, claims(func(m jwt.MapClaims) { delete(m, "sid") })),
	} {
		_, err := tokens.Read(ForBrowser, text)
		require.ErrorIs(t, err, ErrToken, what)
	}
}

func TestKeysRotate(t *testing.T) {
	old, fresh := NewKey(), NewKey()
	tokens, c := newTokens(t, old)
	before, err := tokens.Issue(ForBrowser, "s", c.now.Add(time.Hour))
	require.NoError(t, err)
	old.Retired = true
	require.NoError(t, tokens.SetKeys([]Key{old, fresh}))
	after, err := tokens.Issue(ForBrowser, "s", c.now.Add(time.Hour))
	require.NoError(t, err)
	for _, text := range []string{before, after} {
		_, err = tokens.Read(ForBrowser, text)
		require.NoError(t, err)
	}
	require.NoError(t, tokens.SetKeys([]Key{fresh}))
	_, err = tokens.Read(ForBrowser, before)
	require.ErrorIs(t, err, ErrToken)
	_, err = tokens.Read(ForBrowser, after)
	require.NoError(t, err)

	require.Error(t, tokens.SetKeys(nil))
	require.Error(t, tokens.SetKeys([]Key{old}), "a retired key signs nothing")
	require.Error(t, tokens.SetKeys([]Key{{ID: "short", Secret: []byte("short")}}))
	_, err = tokens.Read(ForBrowser, after)
	require.NoError(t, err, "a refused set changes nothing")
	_, err = NewTokens("", []Key{fresh}, c.Now)
	require.Error(t, err)
}

func TestSecretsAreLongAndNeverTheSame(t *testing.T) {
	seen := map[string]bool{}
	for range 100 {
		s := NewSecret()
		require.GreaterOrEqual(t, len(s)*5, 128) // base 32
		require.False(t, seen[s])
		seen[s] = true
	}
	require.NotEqual(t, NewKey().Secret, NewKey().Secret)
}

// A token that was read before is held to the clock, to its purpose and to the
// keys as one that is new.
func TestATokenReadBeforeIsHeldToTheSame(t *testing.T) {
	key := NewKey()
	tokens, c := newTokens(t, key)
	text, err := tokens.Issue(ForBrowser, "session id", c.now.Add(time.Hour))
	require.NoError(t, err)
	good := func() error { _, err := tokens.Read(ForBrowser, text); return err }
	require.NoError(t, good())
	require.NoError(t, good())
	_, err = tokens.Read(ForProgram, text)
	require.ErrorIs(t, err, ErrToken)
	_, err = tokens.Read(ForBrowser, text[:len(text)-1])
	require.ErrorIs(t, err, ErrToken)
	c.add(time.Hour - time.Second)
	require.NoError(t, good())
	require.NoError(t, tokens.SetKeys([]Key{NewKey(), {ID: key.ID, Secret: key.Secret, Retired: true}}))
	require.NoError(t, good(), "the key still verifies")
	require.NoError(t, good())
	require.NoError(t, tokens.SetKeys([]Key{NewKey()}))
	require.ErrorIs(t, good(), ErrToken, "its key is gone")
	require.NoError(t, tokens.SetKeys([]Key{key}))
	require.NoError(t, good())
	c.add(time.Second)
	require.ErrorIs(t, good(), ErrToken, "it has expired")
	for i := range mostGood + 1 { // they do not pile up
		text, err = tokens.Issue(ForProgram, string(rune('a'+i%26))+"session", c.now.Add(time.Duration(i+1)*time.Second))
		require.NoError(t, err)
		_, err = tokens.Read(ForProgram, text)
		require.NoError(t, err)
	}
	require.LessOrEqual(t, len(tokens.good), mostGood)
}

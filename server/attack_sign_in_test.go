package server

import (
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/server/auth"

	"github.com/golang-jwt/jwt/v5"
	"github.com/stretchr/testify/require"
)

// signed is a token with the server's own key, as only the server can make it.
func (sc *school) signed(typ string, claims jwt.MapClaims, method jwt.SigningMethod, kid string) string {
	sc.t.Helper()
	keys, err := sc.s.signingKeys(sc.t.Context())
	require.NoError(sc.t, err)
	token := jwt.NewWithClaims(method, claims)
	token.Header["kid"], token.Header["typ"] = keys[0].ID, typ
	if kid != "" {
		token.Header["kid"] = kid
	}
	var with any = keys[0].Secret
	if method == jwt.SigningMethodNone {
		with = jwt.UnsafeAllowNoneSignatureType
	}
	text, err := token.SignedString(with)
	require.NoError(sc.t, err)
	return text
}

// claimsOf are what a token says.
func claimsOf(t testing.TB, token string) (out jwt.MapClaims) {
	t.Helper()
	raw, err := base64.RawURLEncoding.DecodeString(strings.Split(token, ".")[1])
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, &out))
	return out
}

// TestForgedTokensOfALivingSession: each differs in one thing from a token that is
// good, and each gets the same answer, byte for byte.
func TestForgedTokensOfALivingSession(t *testing.T) {
	sc := newSchool(t)
	good := sc.as("student").token
	with := func(name string, v any) jwt.MapClaims { c := claimsOf(t, good); c[name] = v; return c }
	hs := jwt.SigningMethodHS256
	mine := (&client{sc: sc, token: sc.signed(string(auth.ForProgram), claimsOf(t, good), hs, "")}).get("/api/v1/session").is(http.StatusOK)
	require.NotContains(t, string(mine.body), "coordinator")

	parts := strings.Split(good, ".")
	promoted, err := json.Marshal(with("role", "coordinator"))
	require.NoError(t, err)
	want := ""
	for name, token := range map[string]string{
		"a role written into it":   parts[0] + "." + base64.RawURLEncoding.EncodeToString(promoted) + "." + parts[2],
		"alg none":                 sc.signed(string(auth.ForProgram), claimsOf(t, good), jwt.SigningMethodNone, ""),
		"another algorithm":        sc.signed(string(auth.ForProgram), claimsOf(t, good), jwt.SigningMethodHS384, ""),
		"expired":                  sc.signed(string(auth.ForProgram), with("exp", sc.clock.Now().Add(-time.Second).Unix()), hs, ""),
		"another audience":         sc.signed(string(auth.ForProgram), with("aud", "https://elsewhere.example"), hs, ""),
		"another issuer":           sc.signed(string(auth.ForProgram), with("iss", "https://elsewhere.example"), hs, ""),
		"for a browser":            sc.signed(string(auth.ForBrowser), claimsOf(t, good), hs, ""),
		"a key that is not ours":   sc.signed(string(auth.ForProgram), claimsOf(t, good), hs, "made-up"),
		"a key that is a path":     sc.signed(string(auth.ForProgram), claimsOf(t, good), hs, "../../../dev/null"),
		"somebody else's session":  sc.signed(string(auth.ForProgram), with("sid", "made-up"), hs, ""),
		"the session's id in hash": sc.signed(string(auth.ForProgram), with("sid", strings.Repeat("a", 64)), hs, ""),
	} {
		r := (&client{sc: sc, token: token}).get("/api/v1/cases")
		r.problem(http.StatusUnauthorized, "token")
		if want == "" {
			want = string(r.body)
		}
		require.Equal(t, want, string(r.body), name)
	}
	// A role that the server itself had signed would change nothing: it is read from the store.
	sc.anyone()
	c := &client{sc: sc, token: sc.signed(string(auth.ForProgram), with("role", "coordinator"), hs, "")}
	require.NotContains(t, string(c.get("/api/v1/session").body), "coordinator")
	c.get("/api/v1/people").problem(http.StatusForbidden, "forbidden")
	// And one for programs opens no page.
	b := &client{sc: sc, cookie: good}
	b.get("/").is(http.StatusSeeOther)
}

// TestAReplayedRefreshTokenEndsItsFamily: who uses an old one ends the session, of
// the thief and of the robbed alike.
func TestAReplayedRefreshTokenEndsItsFamily(t *testing.T) {
	sc := newSchool(t)
	var first, second tokenAnswer
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: testPassword}).is(http.StatusCreated).into(&first)
	refresh := func(token string) *reply {
		return sc.anyone().send("POST", "/api/v1/token/refresh", refreshForm{token})
	}
	refresh(first.Refresh).is(http.StatusCreated).into(&second)
	require.NotEqual(t, first.Refresh, second.Refresh)
	(&client{sc: sc, token: second.Token}).get("/api/v1/session").is(http.StatusOK)
	sc.clock.Pass(2 * time.Minute) // beyond what a lost answer explains
	refresh(first.Refresh).problem(http.StatusUnauthorized, "token")
	refresh(second.Refresh).problem(http.StatusUnauthorized, "token")
	for _, token := range []string{first.Token, second.Token} {
		(&client{sc: sc, token: token}).get("/api/v1/session").problem(http.StatusUnauthorized, "token")
	}
	sc.as("student") // signing in anew is not hindered
	for _, odd := range []string{"", ".", "a.b", second.Refresh + "x", strings.Repeat("a", 3000)} {
		refresh(odd).problem(http.StatusUnauthorized, "token")
	}
}

// TestSigningInAnewIsANewSession: the one before ends on the server, and signing
// out ends the one that is in use, whatever the cookie still says.
func TestSigningInAnewIsANewSession(t *testing.T) {
	sc := newSchool(t)
	first := sc.at("student")
	again := first.post("/login", "login", "student", "password", testPassword).is(http.StatusSeeOther)
	second := &client{sc: sc, cookie: setCookie(t, again, sc.s.cookieName()).Value}
	require.NotEqual(t, first.cookie, second.cookie)
	first.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
	second.get("/api/v1/session").is(http.StatusOK)
	second.post("/logout").is(http.StatusSeeOther)
	second.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
}

package server

import (
	"encoding/base64"
	"net/http"
	"strings"
	"testing"
	"time"

	"dewclaw/server/auth"

	"github.com/stretchr/testify/require"
)

func TestProgramSignsInRefreshesAndOut(t *testing.T) {
	sc := newSchool(t)
	var got, next tokenAnswer
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "Student", Password: testPassword}).is(http.StatusCreated).into(&got)
	require.Equal(t, "Bearer", got.Type)
	require.Equal(t, 900, got.Expires)
	c := &client{sc: sc, token: got.Token}
	c.get("/api/v1/session").is(http.StatusOK)

	sc.clock.Pass(16 * time.Minute)
	c.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
	sc.anyone().send("POST", "/api/v1/token/refresh", refreshForm{got.Refresh}).is(http.StatusCreated).into(&next)
	c.token = next.Token
	c.get("/api/v1/session").is(http.StatusOK)

	sc.clock.Pass(2 * time.Minute) // beyond the grace: the first refresh token is in two hands
	sc.anyone().send("POST", "/api/v1/token/refresh", refreshForm{got.Refresh}).problem(http.StatusUnauthorized, "token")
	sc.anyone().send("POST", "/api/v1/token/refresh", refreshForm{next.Refresh}).problem(http.StatusUnauthorized, "token")
	c.get("/api/v1/session").problem(http.StatusUnauthorized, "token")

	again := sc.as("student")
	again.send("DELETE", "/api/v1/session", nil).is(http.StatusNoContent)
	again.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
}

func TestBrowserSignsInByCookie(t *testing.T) {
	sc := newSchool(t)
	got := sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: testPassword, Cookie: true}).is(http.StatusCreated)
	cookie := setCookie(t, got, "dewclaw")
	require.True(t, cookie.HttpOnly)
	require.Equal(t, http.SameSiteLaxMode, cookie.SameSite)
	require.Equal(t, "/", cookie.Path)
	require.NotContains(t, string(got.body), "token\":", "a browser gets no token that a script could read")
	c := &client{sc: sc, cookie: cookie.Value}
	c.get("/api/v1/session").is(http.StatusOK)

	c.header = map[string]string{"Sec-Fetch-Site": "cross-site"}
	c.send("POST", "/api/v1/attempts", attemptForm{Case: "x"}).problem(http.StatusForbidden, "origin")
	c.send("DELETE", "/api/v1/session", nil).problem(http.StatusForbidden, "origin")
	c.header = nil

	asBearer := &client{sc: sc, token: cookie.Value}
	asBearer.get("/api/v1/session").problem(http.StatusUnauthorized, "token") // one kind of token is not another

	c.send("DELETE", "/api/v1/session", nil).is(http.StatusNoContent)
	c.get("/api/v1/session").problem(http.StatusUnauthorized, "token")
}

func TestCookieIsSecureBehindProxy(t *testing.T) {
	sc := newSchool(t, func(c *Config) { c.BehindProxy, c.URL = true, "https://dewclaw.example.edu" })
	got := sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "student", Password: testPassword, Cookie: true}).is(http.StatusCreated)
	require.True(t, setCookie(t, got, "__Host-dewclaw").Secure)
	require.NotEmpty(t, got.header.Get("Strict-Transport-Security"))
}

func setCookie(t testing.TB, r *reply, name string) *http.Cookie {
	t.Helper()
	for _, c := range (&http.Response{Header: r.header}).Cookies() {
		if c.Name == name {
			return c
		}
	}
	t.Fatalf("no cookie %s in %v", name, r.header)
	return nil
}

// TestBadTokens: every one is the same 401, and says nothing of why.
func TestBadTokens(t *testing.T) {
	sc := newSchool(t)
	good := sc.as("student").token
	parts := strings.Split(good, ".")
	none := base64.RawURLEncoding.EncodeToString([]byte(`{"alg":"none","typ":"at+jwt"}`))
	other, err := auth.NewTokens("dewclaw", []auth.Key{auth.NewKey()}, sc.clock.Now)
	require.NoError(t, err)
	forged, err := other.Issue(auth.ForProgram, "made-up", sc.clock.Now().Add(time.Hour))
	require.NoError(t, err)
	ghost, err := sc.s.tokens.Issue(auth.ForProgram, "made-up", sc.clock.Now().Add(time.Hour))
	require.NoError(t, err)
	expired, err := sc.s.tokens.Issue(auth.ForProgram, "made-up", sc.clock.Now().Add(-time.Hour))
	require.NoError(t, err)
	want := ""
	for name, token := range map[string]string{
		"alg none":         none + "." + parts[1] + ".",
		"alg none, signed": none + "." + parts[1] + "." + parts[2],
		"forged":           forged,
		"no such session":  ghost,
		"expired":          expired,
		"cut":              good[:len(good)-4],
		"nonsense":         "nonsense",
		"long":             strings.Repeat("a", 9000),
	} {
		r := (&client{sc: sc, token: token}).get("/api/v1/cases")
		r.problem(http.StatusUnauthorized, "token")
		if want == "" {
			want = string(r.body)
		}
		require.Equal(t, want, string(r.body), name)
	}
	basic := &client{sc: sc, header: map[string]string{"Authorization": "Basic c3R1ZGVudDp4"}}
	basic.get("/api/v1/cases").problem(http.StatusUnauthorized, "token")
	sc.anyone().get("/api/v1/cases").problem(http.StatusUnauthorized, "sign-in")
}

func TestGuessingGrowsSlow(t *testing.T) {
	sc := newSchool(t)
	wrong := func(login string) *reply {
		return sc.anyone().send("POST", "/api/v1/session", signInForm{Login: login, Password: "wrong"})
	}
	known, unknown := wrong("student"), wrong("nobody-of-that-name")
	known.problem(http.StatusUnauthorized, "login")
	require.Equal(t, string(known.body), string(unknown.body), "whether there is such an account does not show")
	var slow *reply
	for range 20 {
		if slow = wrong("student"); slow.code == http.StatusTooManyRequests {
			break
		}
	}
	slow.problem(http.StatusTooManyRequests, "slow")
	require.NotEmpty(t, slow.header.Get("Retry-After"))
	sc.as("student2") // others are not held up
	sc.clock.Pass(2 * time.Minute)
	sc.as("student")
}

func TestFirstStartMakesTheCoordinator(t *testing.T) {
	s, err := New(Config{Hash: cheap})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	link, err := s.SetupLink(t.Context())
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(link, "/setup?token="))
	sc := &school{t: t, s: s, clock: newTestClock()}
	token := strings.TrimPrefix(link, "/setup?token=")
	form := func(token, password string) *reply {
		c := sc.anyone()
		c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
		return c.send("POST", "/setup", "token="+token+"&login=head&name=Head&password="+password+"&again="+password)
	}
	require.GreaterOrEqual(t, form("guessed", "walnut+ferry+lantern").code, 400)
	require.GreaterOrEqual(t, form(token, "short").code, 400)
	welcome := form(token, "walnut+ferry+lantern").is(http.StatusSeeOther)
	me := sc.anyone()
	me.cookie = setCookie(t, welcome, "dewclaw").Value
	me.header = map[string]string{"Cookie": noticeName + "=" + setCookie(t, welcome, noticeName).Value + "; dewclaw=" + me.cookie}
	me.cookie = ""
	next := me.get("/").is(http.StatusOK)
	require.Contains(t, string(next.body), "Your account is made")
	require.Negative(t, setCookie(t, next, noticeName).MaxAge, "it is said once")
	require.GreaterOrEqual(t, form(token, "walnut+ferry+lantern").code, 400, "it works once")
	link, err = s.SetupLink(t.Context())
	require.NoError(t, err)
	require.Empty(t, link)
}

func TestInvitedPersonChoosesThePassword(t *testing.T) {
	sc := newSchool(t)
	var got inviteAnswer
	sc.as("coordinator").send("POST", "/api/v1/people", personForm{Login: "new.one", Name: "New One", Role: "student"}).is(http.StatusCreated).into(&got)
	sc.as("coordinator").send("POST", "/api/v1/people", personForm{Login: "new.one", Name: "New One", Role: "student"}).problem(http.StatusUnprocessableEntity, "invalid")
	p := sc.as("coordinator").send("POST", "/api/v1/people", personForm{Login: "A B", Role: "dean"}).problem(http.StatusUnprocessableEntity, "invalid")
	require.Len(t, p.Errors, 3, "every problem at once")
	sc.as("instructor").send("POST", "/api/v1/people", personForm{Login: "x", Name: "X", Role: "student"}).problem(http.StatusForbidden, "forbidden")

	c := sc.anyone()
	c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	token := strings.TrimPrefix(got.Link, "/join?token=")
	c.send("POST", "/join", "token="+token+"&password=harbour+velvet+nine&again=harbour+velvet+nine").is(http.StatusSeeOther)
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: "new.one", Password: "harbour velvet nine"}).is(http.StatusCreated)
	require.Equal(t, http.StatusNotFound, c.send("POST", "/join", "token="+token+"&password=harbour+velvet+ten&again=harbour+velvet+ten").code)
}

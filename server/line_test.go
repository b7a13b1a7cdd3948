package server

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestOnlyTheProxyMayComeInTheClear: where a proxy is named, its word on the protocol
// counts, and nobody else's.
func TestOnlyTheProxyMayComeInTheClear(t *testing.T) {
	t.Parallel()
	sc := newSchool(t, func(c *Config) {
		c.URL, c.Proxies = "https://dewclaw.example.edu", []netip.Prefix{netip.MustParsePrefix("10.1.0.0/16"), netip.MustParsePrefix("fd00::/8")}
	})
	for _, row := range []struct {
		peer, proto, method, path string
		code                      int
	}{
		{"10.1.2.3:5000", "https", "GET", "/login", http.StatusOK},
		{"[::ffff:10.1.2.3]:5000", "https", "GET", "/login", http.StatusOK},
		{"[fd00::5%eth0]:5000", "", "GET", "/login", http.StatusOK},
		{"10.1.2.3:5000", "http, https", "GET", "/login", http.StatusOK}, // the last word is the proxy's own
		{"10.1.2.3:5000", "https, http", "GET", "/login", http.StatusSeeOther},
		{"10.1.2.3:5000", "http", "POST", "/login", http.StatusForbidden},
		{"10.1.2.3:5000", "http", "GET", "/api/v1/cases", http.StatusForbidden},
		{"10.2.0.1:5000", "https", "GET", "/login", http.StatusSeeOther}, // anybody can write a header
		{"10.2.0.1:5000", "https", "POST", "/api/v1/session", http.StatusForbidden},
		{"10.2.0.1:5000", "", "GET", "/healthz", http.StatusOK},
		{"10.2.0.1:5000", "", "GET", "/readyz", http.StatusOK},
		{"127.0.0.1:5000", "", "GET", "/login", http.StatusOK},
		{"[::1]:5000", "", "GET", "/login", http.StatusOK},
		{"nonsense", "", "POST", "/login", http.StatusForbidden},
	} {
		r := httptest.NewRequest(row.method, row.path+"?next=%2F", strings.NewReader(""))
		r.RemoteAddr = row.peer
		if row.proto != "" {
			r.Header.Set("X-Forwarded-Proto", row.proto)
		}
		w := httptest.NewRecorder()
		sc.s.Handler().ServeHTTP(w, r)
		require.Equal(t, row.code, w.Code, "%+v: %s", row, w.Body)
		if row.code == http.StatusSeeOther {
			require.Equal(t, "https://dewclaw.example.edu"+row.path+"?next=%2F", w.Header().Get("Location"))
		}
		if row.code == http.StatusForbidden && strings.HasPrefix(row.path, "/api/") {
			require.Contains(t, w.Body.String(), "urn:dewclaw:problem:plain-http")
		}
	}
}

// TestARefusedSignInSaysWhereItCameFrom: by the trusted proxy's word, and without the
// login, which may be a password typed into the wrong field.
func TestARefusedSignInSaysWhereItCameFrom(t *testing.T) {
	t.Parallel()
	logged := new(syncBuffer)
	sc := newSchool(t, func(c *Config) {
		c.Proxies = []netip.Prefix{netip.MustParsePrefix("192.0.2.1/32")} // httptest's own
		c.Log = slog.New(slog.NewJSONHandler(logged, nil))
	})
	c := sc.anyone()
	c.header = map[string]string{"X-Forwarded-For": "203.0.113.9, 198.51.100.7"} // the first part anybody could have written
	c.send("POST", "/api/v1/session", signInForm{Login: "zzlogin", Password: "wrong"}).is(http.StatusUnauthorized)
	c.header["Content-Type"] = "application/x-www-form-urlencoded"
	c.send("POST", "/login", "login=zzlogin&password=wrong").is(http.StatusUnauthorized)
	require.Equal(t, 2, strings.Count(logged.String(), `"msg":"sign-in refused"`))
	require.Equal(t, 2, strings.Count(logged.String(), `"from":"198.51.100.7"`))
	require.NotContains(t, logged.String(), "zzlogin")
	sc.as("student").get("/api/v1/cases").is(http.StatusOK)
	require.Equal(t, 2, strings.Count(logged.String(), "198.51.100.7"), "an address is written down nowhere else")
}

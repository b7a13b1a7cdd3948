package server

import (
	"net/http"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"dewclaw/server/auth"

	"github.com/stretchr/testify/require"
)

func TestEveryRouteHasAPolicy(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range routes() {
		require.NoError(t, r.valid())
		require.False(t, seen[r.method+r.path], "%s %s stands twice", r.method, r.path)
		seen[r.method+r.path] = true
	}
	require.Error(t, route{method: get, path: "/x", kind: page, handle: (*Server).healthz}.valid(), "no policy")
	require.Error(t, route{method: get, path: "/x", kind: page, may: "made-up", handle: (*Server).healthz}.valid(), "an action that nobody may")
	require.Error(t, route{method: get, path: "/x", may: anyone, handle: (*Server).healthz}.valid(), "no kind")
}

// TestOnlyTheTableRegisters holds that no other file registers a route or picks a status.
func TestOnlyTheTableRegisters(t *testing.T) {
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	registers := regexp.MustCompile(`\be\.(GET|POST|PUT|DELETE|Any|Handle)\(`)
	picks := regexp.MustCompile(`c\.(JSON|HTML|String|AbortWith\w*|Redirect)\(`)
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		raw, err := os.ReadFile(e.Name())
		require.NoError(t, err)
		if e.Name() != "server.go" {
			require.NotRegexp(t, registers, string(raw), e.Name())
		}
		require.NotRegexp(t, picks, string(raw), e.Name())
	}
}

// TestWhoMayEnter walks every route as everybody.
func TestWhoMayEnter(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	for _, login := range []string{"", "student", "student2", "instructor", "coordinator"} {
		for _, r := range routes() {
			if strings.Contains(r.path, "session") && r.method != get || r.path == "/logout" || r.path == "/api/v1/token/refresh" {
				continue // ends the walk's own session, or is its own test
			}
			c := sc.anyone()
			role := auth.Role("")
			if login != "" {
				c = sc.as(login)
				role = auth.Role(strings.TrimRight(login, "2"))
			}
			got := c.send(r.method, fill(r.path, v.id), nil)
			name := login + " " + r.method + " " + r.path
			switch {
			case r.may == anyone:
			case login == "" && r.kind == api:
				require.Equal(t, http.StatusUnauthorized, got.code, name)
			case login == "":
				require.Equal(t, http.StatusSeeOther, got.code, name)
				require.Contains(t, got.header.Get("Location"), "/login", name)
			case r.may != signedIn && !auth.May(role, r.may) && auth.Absent(r.may):
				require.Equal(t, http.StatusNotFound, got.code, name)
			case r.may != signedIn && !auth.May(role, r.may):
				require.Equal(t, http.StatusForbidden, got.code, name)
			default:
				require.NotEqual(t, http.StatusForbidden, got.code, name)
				require.NotEqual(t, http.StatusUnauthorized, got.code, name)
				require.Less(t, got.code, 500, "%s: %s", name, got.body)
			}
		}
	}
}

// fill puts an attempt and plain values into a route's pattern.
func fill(path, attempt string) string {
	return strings.NewReplacer(":id", attempt, ":n", "1", ":species", "dog", ":region", "heart", ":hash", "0", "*path", "css/base.css").Replace(path)
}

// TestAbsentAndNotYoursAreOne404: the same bytes and headers, apart from the request's id.
func TestAbsentAndNotYoursAreOne404(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	other := sc.as("student2")
	var bodies []string
	for _, r := range []*reply{
		other.get(v.path("")), other.get("/api/v1/attempts/NEVERWAS"), other.get(v.path("/report")), v.get(v.path("/report")),
		other.get(v.path("/acts/1/sound")), v.get(v.path("/acts/1/sound")), v.get(v.path("/acts/99/sound")), v.get(v.path("/acts/x/sound")),
		other.get(v.path("/sweep/heart")),
		other.send("POST", v.path("/acts"), actForm{After: 1, Retry: "retry-000002", Act: look}),
		other.send("POST", v.path("/finish"), nil),
		sc.as("instructor").send("POST", v.path("/finish"), nil),
		other.send("POST", "/api/v1/attempts", attemptForm{Case: markCase}),
		other.get("/api/v1/nowhere"), other.get("/api/v1/catalogue/unicorn"),
	} {
		r.problem(http.StatusNotFound, "missing")
		r.header.Del("X-Request-Id")
		bodies = append(bodies, string(r.body)+http.Header(r.header).Get("Content-Type")+strings.Join(keysOf(r.header), ","))
	}
	for _, b := range bodies {
		require.Equal(t, bodies[0], b)
	}
	require.Equal(t, "open", v.state().State, "nobody else finishes it")
	sc.as("instructor").get(v.path("")).is(http.StatusOK)
}

func keysOf(h http.Header) []string {
	var keys []string
	for k := range h {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func TestHeadersOfEveryAnswer(t *testing.T) {
	sc := newSchool(t)
	c := sc.as("student")
	for _, path := range []string{"/", "/api/v1/cases", "/healthz", "/nowhere", "/login", sc.s.static.prefix + "/css/base.css"} {
		r := c.get(path)
		require.Contains(t, r.header.Get("Content-Security-Policy"), "default-src 'none'", path)
		require.NotContains(t, r.header.Get("Content-Security-Policy"), "unsafe", path)
		require.Equal(t, "nosniff", r.header.Get("X-Content-Type-Options"), path)
		require.NotEmpty(t, r.header.Get("X-Request-Id"), path)
		require.Empty(t, r.header.Get("ETag"), path)
		if strings.HasPrefix(path, "/static/") {
			require.Contains(t, r.header.Get("Cache-Control"), "immutable")
		} else {
			require.Equal(t, "no-store", r.header.Get("Cache-Control"), path)
		}
	}
	c.get("/static/0000/css/base.css").is(http.StatusNotFound)
	c.get(sc.s.static.prefix + "/../templates/layout.html").is(http.StatusNotFound)
	r := c.send("PUT", "/api/v1/cases", nil)
	r.problem(http.StatusMethodNotAllowed, "method")
	require.NotEmpty(t, r.header.Get("Allow"))
	require.Empty(t, c.send("HEAD", "/api/v1/cases", nil).is(http.StatusOK).header.Get("ETag"))
}

func TestDescriptionNamesEveryRoute(t *testing.T) {
	raw, err := os.ReadFile("../web/static/openapi.yaml")
	require.NoError(t, err)
	for _, r := range routes() {
		if strings.HasPrefix(r.path, "/api/") || r.path == "/healthz" || r.path == "/readyz" {
			path := regexp.MustCompile(`:(\w+)`).ReplaceAllString(r.path, "{$1}")
			require.Contains(t, string(raw), "\n  "+path+":\n", "the description lacks %s", r.path)
		}
	}
	got := newSchool(t).anyone().get("/api/v1/openapi.yaml").is(http.StatusOK)
	require.Equal(t, string(raw), string(got.body))
}

package server

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"dewclaw/cases"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/store/storetest"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"
	"github.com/stretchr/testify/require"
)

// cheap is a password hash that costs nothing, for tests.
var cheap = auth.Params{Memory: 64, Time: 1, Threads: 1}

const testPassword = "walnut ferry lantern"

// testClock is a clock that stands until it is told.
type testClock struct {
	mu sync.Mutex
	t  time.Time
}

func newTestClock() *testClock { return &testClock{t: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)} }

func (c *testClock) Now() time.Time { c.mu.Lock(); defer c.mu.Unlock(); return c.t }

func (c *testClock) Pass(d time.Duration) { c.mu.Lock(); defer c.mu.Unlock(); c.t = c.t.Add(d) }

// school is a real server on a real database, with four people.
type school struct {
	t     testing.TB
	s     *Server
	clock *testClock
	cfg   Config

	cohort string
}

var testLogins = []struct {
	login string
	role  auth.Role
}{{"student", auth.Student}, {"student2", auth.Student}, {"instructor", auth.Instructor}, {"coordinator", auth.Coordinator}}

func newSchool(t testing.TB, change ...func(*Config)) *school {
	t.Helper()
	clock := newTestClock()
	sc := &school{t: t, clock: clock, cfg: Config{Data: t.TempDir(), Database: storetest.URL(t), Hash: cheap, Now: clock.Now, Draws: 2, Visits: 8, Weigh: 40, Burst: 5000}}
	for _, f := range change {
		f(&sc.cfg)
	}
	sc.open()
	c, err := sc.s.store.AddCohort(context.Background(), "Second year", "", false)
	require.NoError(t, err)
	sc.cohort = c.ID
	for _, p := range testLogins {
		row, err := sc.s.AddPerson(context.Background(), p.login, "Person "+p.login, p.role, testPassword)
		require.NoError(t, err)
		if p.role != auth.Coordinator {
			sc.enrol(row.ID, string(p.role))
		}
	}
	return sc
}

// url is the database's address.
func (sc *school) url() string {
	if sc.cfg.Database != "" {
		return sc.cfg.Database
	}
	return "sqlite:" + filepath.Join(sc.cfg.Data, databaseName)
}

// enrol puts somebody into the school's one cohort.
func (sc *school) enrol(person, role string) {
	sc.t.Helper()
	require.NoError(sc.t, sc.s.store.SetMember(context.Background(), sc.cohort, person, role, store.Note{Deed: "add member"}))
}

func (sc *school) open() {
	sc.t.Helper()
	s, err := New(sc.cfg)
	require.NoError(sc.t, err)
	sc.s = s
	sc.t.Cleanup(func() { require.NoError(sc.t, s.Close()) })
}

// restart closes the server and opens the same data again.
func (sc *school) restart() {
	sc.t.Helper()
	require.NoError(sc.t, sc.s.Close())
	sc.open()
}

// withFiles lays files over the built-in library.
func withFiles(t testing.TB, files fstest.MapFS) func(*Config) {
	lib, err := cases.Load(cases.BuiltinFiles(), files)
	require.NoError(t, err)
	return func(c *Config) { c.Library = lib }
}

// client is somebody who talks to the server through its real router.
type client struct {
	sc     *school
	token  string
	cookie string
	header map[string]string
}

func (sc *school) anyone() *client { return &client{sc: sc} }

// as signs in as a program.
func (sc *school) as(login string) *client {
	sc.t.Helper()
	var got tokenAnswer
	sc.anyone().send("POST", "/api/v1/session", signInForm{Login: login, Password: testPassword}).is(http.StatusCreated).into(&got)
	return &client{sc: sc, token: got.Token}
}

// reply is what came back.
type reply struct {
	t      testing.TB
	code   int
	header http.Header
	body   []byte
}

// send sends a body: nil none, a string or bytes as they are, anything else as JSON.
func (c *client) send(method, path string, body any) *reply {
	c.sc.t.Helper()
	r := httptest.NewRequest(method, path, bytes.NewReader(rawBody(c.sc.t, body)))
	if body == nil {
		r.Body, r.ContentLength = http.NoBody, 0
	} else {
		r.Header.Set("Content-Type", "application/json")
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	if c.cookie != "" {
		r.AddCookie(&http.Cookie{Name: c.sc.s.cookieName(), Value: c.cookie})
	}
	for k, v := range c.header {
		r.Header.Set(k, v)
	}
	w := httptest.NewRecorder()
	c.sc.s.Handler().ServeHTTP(w, r)
	out := &reply{c.sc.t, w.Code, w.Header(), w.Body.Bytes()}
	c.sc.described(r, rawBody(c.sc.t, body), out)
	return out
}

func (c *client) get(path string) *reply { c.sc.t.Helper(); return c.send("GET", path, nil) }

func rawBody(t testing.TB, body any) []byte {
	switch b := body.(type) {
	case nil:
		return nil
	case string:
		return []byte(b)
	case []byte:
		return b
	}
	raw, err := json.Marshal(body)
	require.NoError(t, err)
	return raw
}

func (r *reply) is(code int) *reply {
	r.t.Helper()
	require.Equal(r.t, code, r.code, "%s", r.body)
	return r
}

func (r *reply) into(v any) {
	r.t.Helper()
	require.NoError(r.t, json.Unmarshal(r.body, v), "%s", r.body)
}

// problem reads an error and checks its status and type.
func (r *reply) problem(code int, slug string) problem {
	r.t.Helper()
	r.is(code)
	require.Equal(r.t, "application/problem+json", r.header.Get("Content-Type"))
	var p problem
	r.into(&p)
	require.Equal(r.t, "urn:dewclaw:problem:"+slug, p.Type)
	require.Equal(r.t, code, p.Status)
	return p
}

// description is the API's own description, read once.
var description = sync.OnceValues(func() (routers.Router, error) {
	raw, err := os.ReadFile("../web/static/openapi.yaml")
	if err != nil {
		return nil, err
	}
	doc, err := openapi3.NewLoader().LoadFromData(raw)
	if err != nil {
		return nil, err
	}
	if err := doc.Validate(context.Background()); err != nil {
		return nil, err
	}
	openapi3filter.RegisterBodyDecoder("audio/wav", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("image/gif", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("application/zip", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("application/yaml", openapi3filter.FileBodyDecoder)
	return legacy.NewRouter(doc)
})

// described holds a request and its answer against the description: every answer
// of a described route, and every request that was not refused.
func (sc *school) described(r *http.Request, body []byte, got *reply) {
	sc.t.Helper()
	if !strings.HasPrefix(r.URL.Path, "/api/") || r.Method == http.MethodHead {
		return
	}
	router, err := description()
	require.NoError(sc.t, err)
	asked := r.Clone(context.Background())
	asked.Body, asked.ContentLength = io.NopCloser(bytes.NewReader(body)), int64(len(body))
	asked.URL = &url.URL{Path: r.URL.Path, RawQuery: r.URL.RawQuery}
	route, params, err := router.FindRoute(asked)
	if err != nil {
		require.GreaterOrEqual(sc.t, got.code, 400, "%s %s answers and is not described", r.Method, r.URL.Path)
		return
	}
	in := &openapi3filter.RequestValidationInput{Request: asked, PathParams: params, Route: route,
		Options: &openapi3filter.Options{AuthenticationFunc: openapi3filter.NoopAuthenticationFunc, IncludeResponseStatus: true}}
	if got.code < 400 {
		require.NoError(sc.t, openapi3filter.ValidateRequest(context.Background(), in), "%s %s", r.Method, r.URL.Path)
	}
	out := &openapi3filter.ResponseValidationInput{RequestValidationInput: in, Status: got.code, Header: got.header, Options: in.Options}
	out.SetBodyBytes(got.body)
	require.NoError(sc.t, openapi3filter.ValidateResponse(context.Background(), out), "%s %s: %s", r.Method, r.URL.Path, got.body)
}

// visit is one visit through the API.
type visit struct {
	*client
	id   string
	last int
}

// begin starts a visit to the first patient, or to the given one.
func (c *client) begin(patient string) *visit {
	c.sc.t.Helper()
	if patient == "" {
		var list casesAnswer
		c.get("/api/v1/cases").is(http.StatusOK).into(&list)
		require.NotEmpty(c.sc.t, list.Cases)
		patient = list.Cases[0].ID
	}
	var a face.Attempt
	c.send("POST", "/api/v1/attempts", attemptForm{Case: patient}).is(http.StatusCreated).into(&a)
	require.Equal(c.sc.t, "open", a.State)
	return &visit{client: c, id: a.ID}
}

func (v *visit) path(rest string) string { return "/api/v1/attempts/" + v.id + rest }

// do does one act that should be taken.
func (v *visit) do(act sentAct) face.Answer {
	v.sc.t.Helper()
	var a face.Answer
	v.try(act).is(http.StatusCreated).into(&a)
	v.last = a.Last
	return a
}

// try sends one act as the next.
func (v *visit) try(act sentAct) *reply {
	v.sc.t.Helper()
	return v.send("POST", v.path("/acts"), actForm{After: v.last, Retry: retryFor(v.last + 1), Act: act})
}

func retryFor(n int) string { return fmt.Sprintf("retry-%06d", n) }

// state reads the visit.
func (v *visit) state() face.Attempt {
	v.sc.t.Helper()
	var a face.Attempt
	v.get(v.path("")).is(http.StatusOK).into(&a)
	return a
}

// finish hands the visit in and waits for its grade.
func (v *visit) finish() face.Report {
	v.sc.t.Helper()
	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	require.Eventually(v.sc.t, func() bool { return v.get(v.path("/report")).code == http.StatusOK }, 10*time.Second, 5*time.Millisecond)
	var r face.Report
	v.get(v.path("/report")).is(http.StatusOK).into(&r)
	return r
}

// onward passes over what stands before the visit's debrief.
func (v *visit) onward() *visit {
	v.sc.t.Helper()
	row, err := v.sc.s.store.Attempt(context.Background(), v.id)
	require.NoError(v.sc.t, err)
	require.NoError(v.sc.t, v.sc.s.passWay(context.Background(), row))
	return v
}

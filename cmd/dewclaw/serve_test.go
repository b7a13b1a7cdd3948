package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// output is what a command prints while it runs.
type output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) { o.mu.Lock(); defer o.mu.Unlock(); return o.b.Write(p) }
func (o *output) String() string              { o.mu.Lock(); defer o.mu.Unlock(); return o.b.String() }

var answersOn = regexp.MustCompile(`answers on (https?://[0-9.]+:[0-9]+)`)

// started runs a command until the test ends; it returns its address and output.
// stop ends it as a signal would and gives the exit status.
func started(t *testing.T, args ...string) (address string, out *output, stop func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	out, ended := new(output), make(chan int, 1)
	errw := new(output)
	go func() { ended <- run(ctx, args, strings.NewReader(""), out, errw) }()
	stop = sync.OnceValue(func() int { cancel(); return <-ended })
	t.Cleanup(func() { stop() })
	require.Eventually(t, func() bool { return answersOn.MatchString(out.String()) }, time.Minute, 10*time.Millisecond, "%s %s", out, errw)
	return answersOn.FindStringSubmatch(out.String())[1], out, stop
}

// call asks the API and reads the answer into v.
func call(t *testing.T, method, address, token string, body string, v any) int {
	t.Helper()
	r, err := http.NewRequest(method, address, strings.NewReader(body))
	require.NoError(t, err)
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	got, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer got.Body.Close()
	raw, err := io.ReadAll(got.Body)
	require.NoError(t, err)
	if v != nil {
		require.NoError(t, json.Unmarshal(raw, v), "%s", raw)
	}
	return got.StatusCode
}

type signedIn struct {
	Token  string `json:"token"`
	Person struct{ Role string }
}

func TestDemoHasPeopleAndDebriefs(t *testing.T) {
	address, out, stop := started(t, "demo", "--addr", "127.0.0.1:0")
	password := regexp.MustCompile(`password (\S+)`).FindStringSubmatch(out.String())
	require.NotNil(t, password, out)
	for login, role := range map[string]string{"student": "student", "student2": "student", "instructor": "instructor", "coordinator": "coordinator"} {
		require.Contains(t, out.String(), login)
		var who signedIn
		require.Equal(t, http.StatusCreated, call(t, "POST", address+"/api/v1/session", "", `{"login":"`+login+`","password":"`+password[1]+`"}`, &who))
		require.Equal(t, role, who.Person.Role)
		if login != "student2" {
			continue
		}
		var list struct {
			Attempts []struct {
				ID, State string
				Total     float64
			}
		}
		require.Eventually(t, func() bool {
			call(t, "GET", address+"/api/v1/attempts", who.Token, "", &list)
			return len(list.Attempts) > 0 && list.Attempts[len(list.Attempts)-1].State == "graded" && list.Attempts[0].State == "graded"
		}, time.Minute, 50*time.Millisecond)
		var report struct{ Title, Teaching string }
		require.Equal(t, http.StatusOK, call(t, "GET", address+"/api/v1/attempts/"+list.Attempts[0].ID+"/report", who.Token, "", &report))
		require.NotEmpty(t, report.Teaching)
		totals := map[float64]bool{}
		for _, a := range list.Attempts {
			totals[a.Total] = true
		}
		require.Greater(t, len(totals), 1, "visits that went well and less well")
	}
	require.Zero(t, stop())
}

func TestDemoKeepsItsData(t *testing.T) {
	data := t.TempDir()
	count := func(password string) int {
		address, out, stop := started(t, "demo", "--addr", "127.0.0.1:0", "--data", data, "--password", password)
		defer stop()
		require.Contains(t, out.String(), data)
		var who signedIn
		require.Equal(t, http.StatusCreated, call(t, "POST", address+"/api/v1/session", "", `{"login":"student2","password":"`+password+`"}`, &who))
		var list struct{ Attempts []struct{} }
		call(t, "GET", address+"/api/v1/attempts", who.Token, "", &list)
		return len(list.Attempts)
	}
	first := count("one")
	require.Positive(t, first)
	require.Equal(t, first, count("two"), "the visits are made once, and the password is today's")
}

func TestServeFirstStart(t *testing.T) {
	data := t.TempDir()
	address, out, stop := started(t, "serve", "--addr", "127.0.0.1:0", "--data", data)
	link := regexp.MustCompile(`http://\S+/setup\?token=(\S+)`)
	require.Eventually(t, func() bool { return link.MatchString(out.String()) }, 5*time.Second, 10*time.Millisecond)
	found := link.FindStringSubmatch(out.String())
	got, err := http.Get(found[0])
	require.NoError(t, err)
	require.NoError(t, got.Body.Close())
	require.Equal(t, http.StatusOK, got.StatusCode)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	const password = "walnut ferry lantern"
	got, err = (&http.Client{Jar: jar}).PostForm(address+"/setup", url.Values{"token": {found[1]}, "login": {"head"}, "name": {"Head"}, "password": {password}, "again": {password}})
	require.NoError(t, err)
	require.NoError(t, got.Body.Close())
	require.Equal(t, http.StatusOK, got.StatusCode, "signed in and sent on")
	var who signedIn
	require.Equal(t, http.StatusCreated, call(t, "POST", address+"/api/v1/session", "", `{"login":"head","password":"`+password+`"}`, &who))
	require.Equal(t, "coordinator", who.Person.Role)
	require.Zero(t, stop())

	_, out, stop = started(t, "serve", "--addr", "127.0.0.1:0", "--data", data)
	require.Zero(t, stop())
	require.NotContains(t, out.String(), "/setup", "there is a coordinator now")
}

// TestRefusalsSayWhatToDo: one sentence, and the exit status of wrong words.
func TestRefusalsSayWhatToDo(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	for _, c := range []struct {
		args  []string
		code  int
		wants string
	}{
		{[]string{"demo", "--addr", l.Addr().String()}, 1, "is in use by another program: stop that one, or choose another port"},
		{[]string{"serve", "--data", t.TempDir(), "--addr", l.Addr().String()}, 1, "is in use by another program"},
		{[]string{"demo", "--addr", "0.0.0.0:0"}, 2, "for this machine only"},
		{[]string{"demo", "--addr", "nonsense"}, 2, "right would be a host and a port"},
		{[]string{"serve", "--addr", "0.0.0.0:0"}, 2, "plain http would show passwords"},
		{[]string{"serve", "--addr", ":0"}, 2, "plain http would show passwords"},
		{[]string{"serve", "--url", "dewclaw.example.edu"}, 2, "right would be https://"},
		{[]string{"serve", "now"}, 2, `takes no word "now"`},
		{[]string{"demo", "--password", strings.Repeat("x", 300)}, 2, "longer than 256 bytes"},
	} {
		var out, errw bytes.Buffer
		require.Equal(t, c.code, run(t.Context(), c.args, strings.NewReader(""), &out, &errw), "%v: %s", c.args, errw.String())
		require.Contains(t, errw.String(), c.wants)
		require.Equal(t, 1, strings.Count(strings.TrimSpace(errw.String()), "\n")+1, "one sentence: %s", errw.String())
	}
}

package main

import (
	"bufio"
	"database/sql"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server"
	"dewclaw/server/auth"
)

var long = flag.Bool("long", false, "break the server oftener and for longer: 50 kills, a lock of 30 s")

// asProgram tells the test binary to be the program itself, so that there is a process
// to be killed.
const asProgram = "DEWCLAW_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
	}
	os.Exit(m.Run())
}

// program is dewclaw serve as a process of its own.
type program struct {
	t    *testing.T
	args []string
	base string        // its address; the same at every start
	up   time.Duration // from its last start until it was ready
	cmd  *exec.Cmd
	said *output
	acts atomic.Int64 // how many acts it acknowledged
}

// serving starts a server on a school's data; it is gone when the test ends.
func serving(t *testing.T, data string, args ...string) *program {
	t.Helper()
	p := &program{t: t, args: append([]string{"serve", "--data", data}, args...), base: "http://127.0.0.1:0"}
	t.Cleanup(func() {
		if p.cmd != nil {
			p.kill()
		}
	})
	p.start()
	return p
}

func (p *program) start() {
	p.t.Helper()
	p.said = new(output)
	p.cmd = exec.Command(os.Args[0], append(p.args, "--addr", strings.TrimPrefix(p.base, "http://"))...)
	p.cmd.Env, p.cmd.Stderr = append(os.Environ(), asProgram+"=1"), p.said
	out, err := p.cmd.StdoutPipe()
	require.NoError(p.t, err)
	begun := time.Now()
	require.NoError(p.t, p.cmd.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if found := answersOn.FindStringSubmatch(lines.Text()); found != nil {
			p.base = found[1]
			break
		}
	}
	go func() { _, _ = io.Copy(io.Discard, out) }()
	for p.ready() != http.StatusOK {
		require.Less(p.t, time.Since(begun), time.Minute, p)
		time.Sleep(5 * time.Millisecond)
	}
	p.up = time.Since(begun)
}

// ready is what the server says of its readiness; 0: nobody answers.
func (p *program) ready() int {
	c := http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	got, err := c.Get(p.base + "/readyz")
	if err != nil {
		return 0
	}
	_ = got.Body.Close()
	return got.StatusCode
}

// String is what the server's log says of trouble, for a failure.
func (p *program) String() string {
	var b strings.Builder
	for line := range strings.Lines(p.said.String()) {
		if !strings.Contains(line, `"level":"INFO"`) {
			b.WriteString(line)
		}
	}
	return b.String()
}

// kill ends the process as a power cut does: it is not told.
func (p *program) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
	p.cmd = nil
}

// terminate tells it to end, as a service manager does, and returns its exit status.
func (p *program) terminate() int {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Process.Signal(syscall.SIGTERM))
	err := p.cmd.Wait()
	p.cmd = nil
	var bad *exec.ExitError
	if errors.As(err, &bad) {
		return bad.ExitCode()
	}
	require.NoError(p.t, err)
	return 0
}

// faultyPassword is everybody's here.
const faultyPassword = "walnut ferry lantern"

// students makes a school with so many students and returns their ids.
func students(t *testing.T, data string, n int) (ids []string) {
	t.Helper()
	return pupilsOf(t, server.Config{Data: data}, n)
}

// pupilsOf is students of a school that is somewhere else.
func pupilsOf(t *testing.T, c server.Config, n int) (ids []string) {
	t.Helper()
	c.Hash = auth.Params{Memory: 64, Time: 1, Threads: 1}
	s, err := server.New(c)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for i := range n {
		p, err := s.AddPerson(t.Context(), fmt.Sprint("student", i), fmt.Sprint("Student ", i), auth.Student, faultyPassword)
		require.NoError(t, err)
		ids = append(ids, p.ID)
	}
	return ids
}

// pupil is a student's program that acts in a visit. What it knows is only what it
// was told.
type pupil struct {
	p     *program
	token string
	visit string
	acked int  // the last act that was acknowledged
	sent  int  // the last act that was sent
	busy  int  // how often the server could not take an act
	twice bool // it sends everything a second time
}

// signedPupils sign in, and begin a visit each.
func signedPupils(p *program, n int) (all []*pupil) {
	p.t.Helper()
	for i := range n {
		u := p.pupil(i)
		var list struct{ Cases []struct{ ID string } }
		require.Equal(p.t, http.StatusOK, call(p.t, "GET", p.base+"/api/v1/cases", u.token, "", &list))
		require.Equal(p.t, http.StatusCreated, u.begin(list.Cases[i%len(list.Cases)].ID))
		all = append(all, u)
	}
	return all
}

func (p *program) pupil(i int) *pupil {
	p.t.Helper()
	var who signedIn
	require.Equal(p.t, http.StatusCreated, call(p.t, "POST", p.base+"/api/v1/session", "", fmt.Sprintf(`{"login":"student%d","password":%q}`, i, faultyPassword), &who))
	return &pupil{p: p, token: who.Token, twice: i%2 == 1}
}

// begin begins a visit and returns the status of the answer.
func (u *pupil) begin(patient string) int {
	u.p.t.Helper()
	var a struct{ ID string }
	code := call(u.p.t, "POST", u.p.base+"/api/v1/attempts", u.token, fmt.Sprintf(`{"case":%q}`, patient), &a)
	u.visit = a.ID
	return code
}

func (u *pupil) address(rest string) string { return u.p.base + "/api/v1/attempts/" + u.visit + rest }

// seconds makes the n-th act another than its neighbours.
func seconds(n int) int { return 1 + n%5 }

// send sends act n and returns the status; an error: the connection broke.
func (u *pupil) send(n int) (int, error) {
	return u.post(n, fmt.Sprintf("request-%06d", n))
}

// post sends act n under a word for the request.
func (u *pupil) post(n int, retry string) (int, error) {
	body := fmt.Sprintf(`{"after":%d,"retry":%q,"act":{"kind":"wait","seconds":%d}}`, n-1, retry, seconds(n))
	r, err := http.NewRequest("POST", u.address("/acts"), strings.NewReader(body))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+u.token)
	u.sent = max(u.sent, n)
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, err
	}
	defer got.Body.Close()
	raw, err := io.ReadAll(got.Body)
	if err != nil {
		return 0, err
	}
	if got.StatusCode != http.StatusCreated {
		return got.StatusCode, nil
	}
	var answer struct{ Act struct{ N int } }
	if err := json.Unmarshal(raw, &answer); err != nil || answer.Act.N != n {
		return 0, fmt.Errorf("act %d was answered with %s (%w)", n, raw, err)
	}
	u.acked = max(u.acked, n)
	u.p.acts.Add(1)
	return got.StatusCode, nil
}

// next does the next act, and where it does so, everything twice.
func (u *pupil) next() (int, error) {
	n := u.acked + 1
	code, err := u.send(n)
	if u.twice && err == nil && code == http.StatusCreated {
		return u.send(n)
	}
	return code, err
}

// act acts until done is closed or the connection breaks. Whoever is told to wait does
// so and sends the same again.
func (u *pupil) act(done <-chan struct{}) (wrong error) {
	for {
		select {
		case <-done:
			return nil
		default:
		}
		code, err := u.next()
		switch {
		case err != nil:
			return nil // the cable was pulled out
		case code == http.StatusServiceUnavailable || code == http.StatusTooManyRequests:
			if code == http.StatusServiceUnavailable {
				u.busy++
			}
			time.Sleep(20 * time.Millisecond)
		case code != http.StatusCreated:
			return fmt.Errorf("act %d was answered with status %d", u.acked+1, code)
		}
	}
}

// load has everybody act; the function that it returns ends that.
func load(t *testing.T, all []*pupil) (end func()) {
	done, wrong := make(chan struct{}), make(chan error, len(all))
	var group sync.WaitGroup
	for _, u := range all {
		group.Go(func() { wrong <- u.act(done) })
	}
	return func() {
		t.Helper()
		close(done)
		group.Wait()
		for range all {
			require.NoError(t, <-wrong)
		}
	}
}

// whole holds what the server has of a visit against what the student was told: every
// acknowledged act once and in its place, at most the one besides that was under way.
func (u *pupil) whole() {
	t := u.p.t
	t.Helper()
	var a struct {
		Last int
		Acts []struct {
			N, Seconds int
			Kind       string
		}
	}
	require.Equal(t, http.StatusOK, call(t, "GET", u.address(""), u.token, "", &a))
	require.GreaterOrEqual(t, len(a.Acts), u.acked, "acknowledged and not there")
	require.LessOrEqual(t, len(a.Acts), u.sent, "there and never sent")
	require.LessOrEqual(t, len(a.Acts), u.acked+1, "only one can have been under way")
	require.Equal(t, len(a.Acts), a.Last)
	for i, act := range a.Acts {
		require.Equal(t, i+1, act.N)
		require.Equal(t, seconds(i+1), act.Seconds)
		require.Equal(t, "wait", act.Kind)
	}
}

// again sends the last act that was acknowledged and then the one that was not, as a
// client does that knows no better.
func (u *pupil) again() {
	t := u.p.t
	t.Helper()
	for _, n := range []int{u.acked, u.sent} {
		if n == 0 {
			continue
		}
		for code := 0; code != http.StatusCreated; {
			var err error
			code, err = u.send(n)
			require.NoError(t, err)
			require.Contains(t, []int{http.StatusCreated, http.StatusTooManyRequests}, code, u.p)
			if code != http.StatusCreated {
				time.Sleep(20 * time.Millisecond)
			}
		}
	}
	u.whole()
	require.Equal(t, u.sent, u.acked)
}

// graded hands a visit in, twice where everything is, and waits for its one report.
func (u *pupil) graded() {
	t := u.p.t
	t.Helper()
	for range 2 {
		require.Equal(t, http.StatusAccepted, call(t, "POST", u.address("/finish"), u.token, "", nil))
		if !u.twice {
			break
		}
	}
	require.Eventually(t, func() bool { return call(t, "GET", u.address("/report"), u.token, "", nil) == http.StatusOK }, time.Minute, 20*time.Millisecond)
}

func acknowledged(all []*pupil) (n int) {
	for _, u := range all {
		n += u.acked
	}
	return n
}

// beside opens a school's file beside the server.
func beside(t *testing.T, data string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(data, "dewclaw.db"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

// sound holds a school's file to SQLite's own check, and counts what is in it.
func sound(t *testing.T, data string, acts int) {
	t.Helper()
	db := beside(t, data)
	for query, want := range map[string]string{
		"PRAGMA integrity_check":    "ok",
		"SELECT COUNT(*) FROM acts": strconv.Itoa(acts),
		"SELECT COUNT(*) FROM (SELECT transcript FROM acts GROUP BY transcript HAVING MAX(n) <> COUNT(*) OR MIN(n) <> 1)": "0",
	} {
		var got string
		require.NoError(t, db.QueryRow(query).Scan(&got))
		require.Equal(t, want, got, query)
	}
}

// middle is the middle one of some times.
func middle(of []time.Duration) time.Duration {
	of = slices.Sorted(slices.Values(of))
	return of[len(of)/2].Round(time.Millisecond)
}

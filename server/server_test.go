package server

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/store/storetest"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"
)

func TestZeroConfigWorksAndLeavesNothing(t *testing.T) {
	s, err := New(Config{})
	require.NoError(t, err)
	dir := s.DataDir()
	require.FileExists(t, filepath.Join(dir, databaseName))
	require.NoError(t, s.Close())
	require.NoDirExists(t, dir)
	require.NoError(t, s.Close(), "closing twice is closing once")
}

func TestServeDrains(t *testing.T) {
	t.Parallel()
	s, err := New(Config{Data: t.TempDir(), Hash: cheap, Drain: 300 * time.Millisecond, Metrics: "127.0.0.1:0"})
	require.NoError(t, err)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- s.Serve(ctx, l) }()
	status := func(path string) int {
		r, err := http.Get("http://" + l.Addr().String() + path)
		if err != nil {
			return 0
		}
		defer r.Body.Close()
		_, _ = io.Copy(io.Discard, r.Body)
		return r.StatusCode
	}
	require.Equal(t, http.StatusOK, status("/readyz"))
	require.Equal(t, http.StatusOK, status("/healthz"))
	require.Equal(t, http.StatusNotFound, status("/metrics"), "figures are for the private address")
	require.Equal(t, http.StatusNotFound, status("/debug/pprof/"))
	stop()
	require.Eventually(t, func() bool { return status("/readyz") == http.StatusServiceUnavailable }, time.Second, 5*time.Millisecond)
	require.Equal(t, http.StatusOK, status("/healthz"), "while it drains it still answers")
	require.NoError(t, <-served)
	require.Zero(t, status("/healthz"))
	require.NoError(t, s.Close())
}

func TestMetricsNameNobody(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	v.finish()
	c := &client{sc: sc}
	c.get("/made/up/path")
	r := newRecorder(sc.s.private(), "/metrics")
	body := r.Body.String()
	for _, want := range []string{`route="/api/v1/attempts/:id/acts"`, `dewclaw_acts_total{kind="examine"} 1`, "dewclaw_grading_duration_seconds_count 1",
		"dewclaw_act_group_size_count 1", "dewclaw_commit_duration_seconds_count 1", "dewclaw_acts_waiting 0", "dewclaw_media_cache_bytes 0",
		"dewclaw_backup_age_seconds -1", "dewclaw_database_damaged 0"} {
		require.Contains(t, body, want)
	}
	for _, disk := range []string{"dewclaw_disk_floor_bytes 2.68435456e+08", "dewclaw_disk_free_bytes "} {
		require.Equal(t, !storetest.OnPostgres(), strings.Contains(body, disk), "%s: PostgreSQL's disk is its server's", disk)
	}
	for _, no := range []string{v.id, "student", "zq", sc.plantedID(), "made/up"} {
		require.NotContains(t, body, no)
	}
	require.Equal(t, http.StatusOK, newRecorder(sc.s.private(), "/debug/pprof/").Code)
}

// TestGradingSurvivesRestart: the queue is in the database. An attempt that was
// handed in and not graded is graded by the next process.
func TestGradingSurvivesRestart(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	sc.s.stop() // the worker is gone before the visit is handed in
	sc.s.workers.Wait()
	v.send("POST", v.path("/finish"), nil).is(http.StatusAccepted)
	v.get(v.path("/report")).problem(http.StatusNotFound, "missing")
	require.Equal(t, "grading", v.state().State)
	sc.restart()
	require.Eventually(t, func() bool { return v.get(v.path("/report")).code == http.StatusOK }, 5*time.Second, 5*time.Millisecond)
	_, err = sc.s.store.Report(t.Context(), row.Transcript)
	require.NoError(t, err)
}

// TestBadAttemptDoesNotHoldUpOthers: one that cannot be graded waits for a person.
func TestBadAttemptDoesNotHoldUpOthers(t *testing.T) {
	sc := planted(t)
	bad := sc.as("student").begin(sc.plantedID())
	row, err := sc.s.store.Attempt(t.Context(), bad.id)
	require.NoError(t, err)
	_, err = sc.s.store.Append(t.Context(), store.NewAct{Transcript: row.Transcript, N: 1, By: row.Person, Retry: "damaged1", Act: []byte("{"), Outcome: []byte("?")})
	require.NoError(t, err)
	_, err = sc.s.store.Finish(t.Context(), row.Transcript, endedLeft)
	require.NoError(t, err)
	good := sc.as("student2").begin(sc.plantedID())
	good.do(look)
	good.finish()
	bad.get(bad.path("/report")).problem(http.StatusNotFound, "missing")
	p := bad.get(bad.path("")).problem(http.StatusInternalServerError, "internal")
	require.NotContains(t, p.Detail, "decode", "the cause stays in the log")
}

// TestOwnLibraryInTheDataFolder: a school's own patients lie over the built-in ones.
func TestOwnLibraryInTheDataFolder(t *testing.T) {
	data := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(data, "library", "cases"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(data, "library", "cases", "own.yaml"), []byte(plantedCase), 0o600))
	sc := newSchool(t, func(c *Config) { c.Data = data })
	require.NotNil(t, sc.s.library.Case(markCase))
	var list casesAnswer
	sc.as("student").get("/api/v1/cases").is(http.StatusOK).into(&list)
	require.Contains(t, list.Cases, face.Patient{ID: sc.plantedID(), Species: "dog", Name: "Bramble", Breed: "English springer spaniel",
		Sex: "female neutered", Age: "8 y", Presenting: "Two months of stiffness after rest; no fall seen."})
}

func TestPanicIsACleanError(t *testing.T) {
	sc := newSchool(t)
	var err error
	sc.s.handler, err = sc.s.engine(append(routes(), route{get, "/api/v1/panic", anyone, api, noBody, panics}))
	require.NoError(t, err)
	p := sc.anyone().get("/api/v1/panic").problem(http.StatusInternalServerError, "internal")
	require.NotContains(t, p.Detail, "zqtruthzq")
}

var panics = func(*Server, *gin.Context) error { panic("zqtruthzq") }

// TestHiddenTypesRefuseToBeAnswered: a truth that reaches the writer of answers is a 500, not a leak.
func TestHiddenTypesRefuseToBeAnswered(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	_, err = json.Marshal(row)
	require.Error(t, err)
	require.NotContains(t, fmt.Sprintf("%v %+v %#v", row, row, row), "osteoarthritis")
	require.NotContains(t, strings.ToLower(fmt.Sprintf("%v", row)), "findings")
}

// newRecorder asks a handler for a path.
func newRecorder(h http.Handler, path string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

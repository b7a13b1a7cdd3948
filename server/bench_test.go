package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/rubric"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"
)

// poster sends bodies over one kept connection.
type poster struct {
	b     *testing.B
	url   string
	token string
}

func (p poster) post(path string, body []byte) {
	r, err := http.NewRequest(http.MethodPost, p.url+path, bytes.NewReader(body))
	require.NoError(p.b, err)
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+p.token)
	got, err := http.DefaultClient.Do(r)
	require.NoError(p.b, err)
	_, err = io.Copy(io.Discard, got.Body)
	require.NoError(p.b, err)
	require.NoError(p.b, got.Body.Close())
	require.Less(p.b, got.StatusCode, 400)
}

// BenchmarkAct measures one act over HTTP, on the disk when it is answered,
// against an empty gin handler asked in the same way in the same run.
func BenchmarkAct(b *testing.B) {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.POST("/empty", func(c *gin.Context) { c.Data(http.StatusOK, "application/json", []byte("{}")) })
	empty := httptest.NewServer(e)
	defer empty.Close()
	sc := newSchool(b)
	ours := httptest.NewServer(sc.s.Handler())
	defer ours.Close()
	c := sc.as("student")
	record := sentAct{Kind: "record", Field: "mentation", Value: "bright"}
	body := func(after int) []byte {
		raw, err := json.Marshal(actForm{After: after, Retry: retryFor(after + 1), Act: record})
		require.NoError(b, err)
		return raw
	}
	var v *visit
	var nothing, acts time.Duration
	n := 0
	for b.Loop() {
		if n%100 == 0 { // as many acts as a visit has
			b.StopTimer()
			v = c.begin("")
			b.StartTimer()
		}
		raw := body(n % 100)
		began := time.Now()
		poster{b, empty.URL, c.token}.post("/empty", raw)
		between := time.Now()
		poster{b, ours.URL, c.token}.post(v.path("/acts"), raw)
		nothing, acts = nothing+between.Sub(began), acts+time.Since(between)
		n++
	}
	b.ReportMetric(float64(nothing.Microseconds())/float64(n), "us/empty")
	b.ReportMetric(float64(acts.Microseconds())/float64(n), "us/act")
	b.ReportMetric(float64(acts)/float64(nothing), "ratio")
}

// BenchmarkGrade measures the grade of one whole visit as the worker does it,
// reading and writing included.
func BenchmarkGrade(b *testing.B) {
	sc := newSchool(b)
	me, err := sc.s.store.PersonByLogin(b.Context(), "student")
	require.NoError(b, err)
	sc.s.stop()
	sc.s.workers.Wait()
	require.NoError(b, sc.s.PlayVisit(b.Context(), me.ID, sc.s.Practice()[0], "veterinary", robot.Ideal))
	rows, err := sc.s.store.ToGrade(b.Context(), 1)
	require.NoError(b, err)
	t, err := sc.s.transcript(b.Context(), rows[0])
	require.NoError(b, err)
	key, err := rubric.DecodeKey(rows[0].Key)
	require.NoError(b, err)
	scheme, err := sc.s.scheme(b.Context(), rows[0])
	require.NoError(b, err)
	b.Run(fmt.Sprintf("engine alone, %d acts", len(t)), func(b *testing.B) {
		for b.Loop() {
			rubric.Grade(scheme, key, t)
		}
	})
	b.Run("with the database", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, sc.s.gradeOne(b.Context(), rows[0]))
		}
	})
}

package server

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/http/pprof"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"dewclaw/server/store"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// meters are the server's figures. Their labels name routes and kinds, never
// an id, a case or a person.
type meters struct {
	registry *prometheus.Registry
	seconds  *prometheus.HistogramVec
	acts     *prometheus.CounterVec
	graded   prometheus.Histogram
	groups   prometheus.Histogram
	commits  prometheus.Histogram
	damaged  prometheus.Gauge
}

// buckets are those of OpenTelemetry's http.server.request.duration.
var buckets = []float64{.005, .01, .025, .05, .075, .1, .25, .5, .75, 1, 2.5, 5, 7.5, 10}

func newMeters() *meters {
	m := &meters{
		registry: prometheus.NewRegistry(),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "dewclaw_http_request_duration_seconds",
			Help: "Time to answer a request.", Buckets: buckets}, []string{"method", "route", "status"}),
		acts: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "dewclaw_acts_total",
			Help: "Acts that were stored, by kind."}, []string{"kind"}),
		graded: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "dewclaw_grading_duration_seconds",
			Help: "Time to grade one attempt, reading and writing included.", Buckets: buckets}),
		groups: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "dewclaw_act_group_size",
			Help: "Acts that were stored in one commit.", Buckets: prometheus.ExponentialBuckets(1, 2, 9)}),
		commits: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "dewclaw_commit_duration_seconds",
			Help: "Time of a commit of acts; on SQLite the flush of the disk (fsync).", Buckets: prometheus.ExponentialBuckets(.0001, 2, 16)}),
		damaged: prometheus.NewGauge(prometheus.GaugeOpts{Name: "dewclaw_database_damaged",
			Help: "1 once a damaged page was found while the server ran; the log names the table."}),
	}
	m.registry.MustRegister(m.seconds, m.acts, m.graded, m.groups, m.commits, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// count notes one answered request under its route's pattern.
func (s *Server) count(method, route string, status int, took time.Duration) {
	if route == "" {
		route, method = "none", "any" // else a stranger could make up labels
	}
	s.meters.seconds.WithLabelValues(method, route, strconv.Itoa(status)).Observe(took.Seconds())
}

// observe notes one commit of acts.
func (m *meters) observe(g store.Group) {
	m.groups.Observe(float64(g.Acts))
	m.commits.Observe(g.Commit.Seconds())
}

// openMeters adds the figures of what was opened: the store and its disk.
func (s *Server) openMeters() {
	s.meters.registry.MustRegister(
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "dewclaw_acts_waiting", Help: "Acts that wait for their commit now."},
			func() float64 { return float64(s.store.Stats().Waiting) }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "dewclaw_backup_age_seconds", Help: "Time since the last backup; -1 where there was none."}, s.backupAge),
		s.meters.damaged)
	if folder, here := s.databaseFolder(); here {
		s.room = newRoom(folder, s.cfg.DiskFloor, s.tellRoom)
		s.meters.registry.MustRegister(s.roomMeters()...)
	}
}

// databaseFolder is where the database's file is; here: there is one on this machine.
func (s *Server) databaseFolder() (folder string, here bool) {
	if s.cfg.Database == "" {
		return s.cfg.Data, true
	}
	path, here := strings.CutPrefix(s.cfg.Database, "sqlite:")
	return filepath.Dir(path), here
}

// backupAge is for the figure of that name: in seconds.
func (s *Server) backupAge() float64 {
	ctx, stop := context.WithTimeout(context.Background(), readyWithin)
	defer stop()
	at, err := s.store.LastBackup(ctx)
	if err != nil {
		return -1
	}
	return max(0, s.now().Sub(at).Seconds())
}

// lookOver looks for damage where the start had no time to.
func (s *Server) lookOver(ctx context.Context) {
	err := s.store.LookOver(ctx)
	switch {
	case err == nil || ctx.Err() != nil:
	case errors.Is(err, store.ErrDamaged):
		s.meters.damaged.Set(1)
		s.log.Error("the database is damaged: take a backup of what can be read and put back the last sound one", "cause", err.Error())
	default:
		s.log.Warn("the database could not be looked over", "cause", err.Error())
	}
}

// private is what the private address serves.
func (s *Server) private() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(s.meters.registry, promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /debug/pprof/", pprof.Index)
	mux.HandleFunc("GET /debug/pprof/cmdline", pprof.Cmdline)
	mux.HandleFunc("GET /debug/pprof/profile", pprof.Profile)
	mux.HandleFunc("GET /debug/pprof/symbol", pprof.Symbol)
	mux.HandleFunc("GET /debug/pprof/trace", pprof.Trace)
	return mux
}

// listenPrivate opens the private address where one is given.
func (s *Server) listenPrivate() (err error) {
	if s.cfg.Metrics == "" {
		return nil
	}
	if s.figures, err = net.Listen("tcp", s.cfg.Metrics); err != nil {
		return fmt.Errorf("the private address for metrics, %s, cannot be listened on: choose another with --metrics (%w)", s.cfg.Metrics, err)
	}
	return nil
}

// serveMetrics answers on the private address; stop closes it.
func (s *Server) serveMetrics() (stop func()) {
	l := s.figures
	if l == nil {
		return func() {}
	}
	h := &http.Server{Handler: s.private(), ReadHeaderTimeout: headerTimeout}
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := h.Serve(l); err != http.ErrServerClosed {
			s.log.Error("the private address closed", "cause", err)
		}
	}()
	s.log.Info("metrics", "address", l.Addr().String())
	return func() {
		if err := h.Close(); err != nil {
			s.log.Warn("the private address did not close", "cause", err)
		}
		<-done
	}
}

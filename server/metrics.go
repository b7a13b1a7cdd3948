package server

import (
	"fmt"
	"net"
	"net/http"
	"net/http/pprof"
	"strconv"
	"time"

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
	}
	m.registry.MustRegister(m.seconds, m.acts, m.graded, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// count notes one answered request under its route's pattern.
func (s *Server) count(method, route string, status int, took time.Duration) {
	if route == "" {
		route, method = "none", "any" // else a stranger could make up labels
	}
	s.meters.seconds.WithLabelValues(method, route, strconv.Itoa(status)).Observe(took.Seconds())
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

// serveMetrics opens the private address where one is given; stop closes it.
func (s *Server) serveMetrics() (stop func(), err error) {
	if s.cfg.Metrics == "" {
		return func() {}, nil
	}
	l, err := net.Listen("tcp", s.cfg.Metrics)
	if err != nil {
		return nil, fmt.Errorf("the private address for metrics: %w", err)
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
	}, nil
}

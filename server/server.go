package server

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"dewclaw/cases"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// Config says how a server runs. Every field works at its zero value.
type Config struct {
	Data        string           // folder of the database and of the school's own library; empty: a fresh one, removed by Close
	Database    string           // sqlite:PATH or postgres://...; empty: a SQLite file in Data
	Zone        string           // time zone of a school that has not chosen one, such as Europe/Vienna; empty: UTC
	TLS         *tls.Config      // how Serve speaks https; nil: plain http
	Proxies     []netip.Prefix   // peers whose forwarded address and protocol are believed; others then need TLS or this machine
	DiskFloor   int64            // free bytes below which no new visit begins; 0: 256 MiB, less: none
	Library     *cases.Library   // empty: the built-in library with Data/library laid over it
	Hash        auth.Params      // cost of password hashes; zero: auth.DefaultParams
	Now         func() time.Time // the clock; nil: time.Now
	Log         *slog.Logger     // nil: nothing is logged
	URL         string           // public address, such as https://dewclaw.example.edu; empty: plain http on this machine
	BehindProxy bool             // a proxy speaks https for us: cookies are Secure
	Drain       time.Duration    // how long readiness says 503 before connections close; zero: not at all
	Burst       int              // acts of one visit that may come one right after the other; 0: 100
	Metrics     string           // private address for /metrics and pprof; empty: none
	Draws       int              // how many draws of a case are measured before a sitting; zero: 500
	Visits      int              // how often each of these is visited at most; zero: as trial.DrawOptions
	Weigh       int              // how many robots weigh a rubric for its page, with one case for every 40; zero: 600, with one of every species and situation
	Mail        Mail             // how one-time links are sent; zero: they are printed only
}

// Server is one school.
type Server struct {
	cfg      Config
	store    *store.Store
	library  *cases.Library
	log      *slog.Logger
	now      func() time.Time
	clock    *steady // behind now; nil: Config has another
	secure   bool
	tempData string // to be removed by Close

	tokens   *auth.Tokens
	hasher   *auth.Hasher
	slow     *auth.Slowdown
	sessions sessions
	secret   []byte // of opaque case ids and sound phases

	origin     *http.CrossOriginProtection
	static     *static
	render     *renderer
	handler    http.Handler
	meters     *meters
	media      *mediaCache
	catalogues map[string]*face.Catalogue
	caseIDs    map[string]string // opaque id -> case id
	live       *liveAttempts
	seals      seals
	turns      turnCache
	scripts    scripts // of experts who are watched
	handing    handing // files of own data that are being written
	shelf      atomic.Pointer[shelf]
	settings   schoolCache
	reviews    atomic.Pointer[reviews]
	weighings  weighings
	atDraws    measuring // what is being measured
	rosters    keptRosters
	mailer     *mailer      // nil: no mail is sent
	figures    net.Listener // the private address; nil: none
	room       *diskRoom    // of the database's disk; nil: it is not on this machine
	earlier    earlierCases
	judged     judgedVisits
	table      atomic.Pointer[rangeTable] // reference ranges of new visits
	ranges     sync.Map                   // those of all visits, by the hash of their text
	schemes    sync.Map                   // marking schemes by the hash of their text; a school has a few

	draining atomic.Bool
	wake     chan struct{}
	regrade  chan struct{}   // there is something to mark anew
	measure  chan struct{}   // there is a sitting whose draws may have to be measured
	base     context.Context // of what is done in the background; ends with Close
	stop     context.CancelFunc
	workers  sync.WaitGroup
	closed   sync.Once
}

// headerTimeout and the others keep slow or idle clients from holding connections.
const (
	headerTimeout   = 5 * time.Second
	readTimeout     = 20 * time.Second
	writeTimeout    = 60 * time.Second
	idleTimeout     = 2 * time.Minute
	shutdownTimeout = 25 * time.Second
	mostHeader      = 16 << 10
)

// databaseName is the file of the database inside Config.Data.
const databaseName = "dewclaw.db"

// New opens the store, reads the library and starts the grading worker.
func New(cfg Config) (*Server, error) {
	s := &Server{cfg: cfg, log: cfg.Log, now: cfg.Now, secure: cfg.BehindProxy || cfg.TLS != nil || len(cfg.Proxies) > 0 || strings.HasPrefix(cfg.URL, "https://"),
		wake: make(chan struct{}, 1), regrade: make(chan struct{}, 1), measure: make(chan struct{}, 1), meters: newMeters(), media: newMediaCache(mostMedia), origin: http.NewCrossOriginProtection()}
	s.meters.registry.MustRegister(s.media.meters.collectors()...)
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.now == nil {
		s.clock = newSteady(s.log)
		s.now = s.clock.now
	}
	if s.cfg.Draws == 0 {
		s.cfg.Draws = drawsMeasured
	}
	if cfg.URL != "" { // a proxy may speak to us under another host name
		if err := s.origin.AddTrustedOrigin(cfg.URL); err != nil {
			return nil, fmt.Errorf("the public address %q: %w", cfg.URL, err)
		}
	}
	var err error
	if s.mailer, err = newMailer(cfg.Mail); err != nil {
		return nil, err
	}
	if err := s.open(); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	ctx, stop := context.WithCancel(context.Background())
	s.base, s.stop = ctx, stop
	s.workers.Go(func() { s.gradeForever(ctx) })
	s.workers.Go(func() { s.regradeForever(ctx) })
	s.workers.Go(func() { s.measureForever(ctx) })
	s.workers.Go(func() { s.lookOver(ctx) })
	return s, nil
}

// open does the parts of New that can fail.
func (s *Server) open() error {
	ctx := context.Background()
	if err := s.listenPrivate(); err != nil {
		return err
	}
	if err := s.openData(ctx); err != nil {
		return err
	}
	if err := s.openLibrary(); err != nil {
		return err
	}
	s.openShelf()
	s.openReviews()
	if err := s.openSecrets(ctx); err != nil {
		return err
	}
	s.hasher, s.slow = auth.NewHasher(s.cfg.Hash), auth.NewSlowdown(s.now)
	s.live = newLiveAttempts()
	if err := s.indexCases(); err != nil {
		return err
	}
	var err error
	if s.static, err = newStatic(web.Embedded()); err != nil {
		return err
	}
	if s.render, err = newRenderer(pages()); err != nil {
		return err
	}
	s.handler, err = s.engine(routes())
	return err
}

func (s *Server) openData(ctx context.Context) error {
	if s.cfg.Data == "" {
		dir, err := os.MkdirTemp("", "dewclaw-")
		if err != nil {
			return fmt.Errorf("a folder for the data: %w", err)
		}
		s.cfg.Data, s.tempData = dir, dir
	}
	if err := s.openFolder(); err != nil {
		return err
	}
	var err error
	s.store, err = store.Open(ctx, store.Config{URL: s.cfg.Database, Path: filepath.Join(s.cfg.Data, databaseName), Now: s.now, Observe: s.meters.observe})
	if err != nil {
		return fmt.Errorf("the database: %w", err)
	}
	if err := s.startClock(ctx); err != nil {
		return fmt.Errorf("the clock: %w", err)
	}
	s.openMeters()
	return s.openZone(ctx)
}

// openLibrary reads the library and the school's ranges, by which its own cases
// are checked.
func (s *Server) openLibrary() error {
	if s.library = s.cfg.Library; s.library != nil {
		s.openRanges()
		return nil
	}
	layers := cases.Layers(s.cfg.Data)
	var err error
	if len(layers) == 1 { // the school has none of its own
		s.library = cases.Builtin()
	} else if s.library, err = cases.Load(layers...); err != nil {
		return fmt.Errorf("the library: %w", err)
	}
	s.openRanges()
	if t := s.table.Load(); t.own() {
		if s.library, err = cases.LoadBy(t.Table, layers...); err != nil {
			return fmt.Errorf("the library: %w", err)
		}
	}
	return nil
}

// openSecrets reads the signing keys and the secret of opaque ids, which are
// made at the first start and shared by every process of the school.
func (s *Server) openSecrets(ctx context.Context) error {
	keys, err := s.signingKeys(ctx)
	if err != nil {
		return fmt.Errorf("signing keys: %w", err)
	}
	issuer := s.cfg.URL
	if issuer == "" {
		issuer = "dewclaw"
	}
	if s.tokens, err = auth.NewTokens(issuer, keys, s.now); err != nil {
		return err
	}
	text, err := s.store.EnsureSetting(ctx, "secret.ids", func() string { return auth.NewSecret() + auth.NewSecret() })
	if err != nil {
		return fmt.Errorf("the secret of ids: %w", err)
	}
	s.secret = []byte(text)
	return nil
}

// engine builds gin from the table of routes.
func (s *Server) engine(table []route) (http.Handler, error) {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	if err := e.SetTrustedProxies(s.proxyTexts()); err != nil {
		return nil, fmt.Errorf("proxies: %w", err)
	}
	e.HandleMethodNotAllowed, e.RedirectTrailingSlash, e.RedirectFixedPath = true, false, false
	e.Use(s.begin)
	e.NoRoute(s.nowhere)
	e.NoMethod(s.notOffered)
	for _, r := range table {
		if err := r.valid(); err != nil {
			return nil, err
		}
		e.Handle(r.method, r.path, s.serve(r))
		if r.method == http.MethodGet {
			e.Handle(http.MethodHead, r.path, s.serve(r))
		}
	}
	return e, nil
}

// valid refuses a route without a policy, a kind or a handler.
func (r route) valid() error {
	known := r.may == anyone || r.may == signedIn || auth.May(auth.Coordinator, r.may)
	if !known || r.handle == nil || (r.kind != page && r.kind != api) {
		return fmt.Errorf("route %s %s: policy, kind or handler is missing", r.method, r.path)
	}
	return nil
}

// Handler is everything the server answers.
func (s *Server) Handler() http.Handler { return s.handler }

// Store is the server's store, for demo data and tests.
func (s *Server) Store() *store.Store { return s.store }

// DataDir is the folder of the database.
func (s *Server) DataDir() string { return s.cfg.Data }

// Serve answers on l until ctx ends, then drains: readiness says 503, open
// requests are finished, and only then it returns. It closes l. It does not
// close the server: see Close.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	defer s.serveMetrics()()
	h := &http.Server{Handler: s.handler, ReadHeaderTimeout: headerTimeout, ReadTimeout: readTimeout, WriteTimeout: writeTimeout,
		IdleTimeout: idleTimeout, MaxHeaderBytes: mostHeader, TLSConfig: s.cfg.TLS, ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelWarn)}
	failed := make(chan error, 1)
	go func() {
		if s.cfg.TLS != nil {
			failed <- h.ServeTLS(l, "", "")
			return
		}
		failed <- h.Serve(l)
	}()
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	s.draining.Store(true)
	time.Sleep(s.cfg.Drain)
	stop, cancel := context.WithTimeout(context.Background(), shutdownTimeout)
	defer cancel()
	if err := h.Shutdown(stop); err != nil {
		return fmt.Errorf("shut down: %w", err)
	}
	return nil
}

// Close stops the worker and closes the store. What was acknowledged is on the
// disk; attempts waiting for their grade wait for the next start.
func (s *Server) Close() error {
	var err error
	s.closed.Do(func() {
		s.draining.Store(true)
		if s.stop != nil {
			s.stop()
		}
		s.workers.Wait()
		if s.figures != nil {
			_ = s.figures.Close() // Serve has closed it, where it was called
		}
		if s.store != nil {
			err = s.store.Close()
		}
		if s.tempData != "" {
			err = errors.Join(err, os.RemoveAll(s.tempData))
		}
	})
	return err
}

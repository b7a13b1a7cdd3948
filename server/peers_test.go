package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"dewclaw/cases/robot"
	"dewclaw/server/auth"
	"dewclaw/server/bench"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
	"github.com/golang-jwt/jwt/v5"
	"github.com/stretchr/testify/require"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
)

// peersAtOnce are the connections, each a student's with a visit of its own.
const peersAtOnce = 256

// peersRounds are how often each is measured, in turns.
const peersRounds = 3

// peer is somebody who takes acts.
type peer struct {
	name    string
	handler http.Handler
	rates   []float64 // acts a second, a round each
	acts    int
	cpu     time.Duration // of the client's too
}

// micros is what an act cost the processor.
func (p *peer) micros() float64 { return float64(p.cpu.Microseconds()) / float64(p.acts) }

// peerVisit is what one connection sends: the acts of a robot in the visit that
// stands under path, and who sends them.
type peerVisit struct {
	path, token string
	posts       []bench.Post
}

// BenchmarkPeers measures how many acts a second are taken and on the disk, beside
// what gin and gorm can do with the same acts: a handler that verifies the same
// token, decodes the same act and encodes the same reply; an empty one; and one
// that stores a row a request. Turns are taken so that whatever else the machine
// does meets all of them; the middle of three counts.
func BenchmarkPeers(b *testing.B) {
	sc := newSchool(b, func(c *Config) {
		c.Burst = 1 << 20
		c.Now = time.Now
		c.Log = slog.New(slog.NewJSONHandler(io.Discard, nil))
	})
	tokens := signPeersIn(b, sc)
	answers := recordAnswers(b, sc, openPeerVisits(b, sc, tokens[:1])[0])
	peers := []*peer{
		{name: "ours", handler: sc.s.Handler()},
		{name: "gin", handler: sameReply(newPlainToken(b, sc), answers)},
		{name: "empty", handler: emptyGin()},
		{name: "gorm", handler: ginGorm(b, newPlainToken(b, sc))},
	}
	var visits []peerVisit
	for b.Loop() {
		for range peersRounds {
			for _, p := range peers {
				if p == peers[0] { // to the others every visit is a new one
					b.StopTimer()
					visits = openPeerVisits(b, sc, tokens)
					b.StartTimer()
				}
				p.rates = append(p.rates, p.measure(b, visits))
			}
		}
	}
	ours := peers[0].middle()
	for _, p := range peers {
		b.ReportMetric(p.middle(), p.name+"/s")
		if p != peers[0] {
			b.ReportMetric(ours/p.middle(), "of-"+p.name)
		}
		b.Logf("%-6s %.0f acts/s, %.0f us of processor an act with the client's", p.name, p.rates, p.micros())
	}
}

// middle is the median of the rounds.
func (p *peer) middle() float64 {
	all := slices.Sorted(slices.Values(p.rates))
	return all[len(all)/2]
}

// measure sends every visit over a connection of its own and returns acts a second.
func (p *peer) measure(b *testing.B, visits []peerVisit) float64 {
	s := httptest.NewServer(p.handler)
	defer s.Close()
	addr := s.Listener.(*net.TCPListener).Addr().String()
	wires := make([]*bench.Wire, len(visits))
	for i, v := range visits { // the connections are open before the time runs
		wires[i] = bench.NewWire(addr)
		wires[i].Bearer(v.token)
		_, err := wires[i].Do(http.MethodGet, "/healthz", nil)
		require.NoError(b, err)
	}
	var all sync.WaitGroup
	failed := make(chan error, len(visits))
	began, busy := time.Now(), processor(b)
	for i, v := range visits {
		all.Go(func() {
			if err := v.send(wires[i]); err != nil {
				failed <- fmt.Errorf("%s: %w", p.name, err)
			}
		})
	}
	all.Wait()
	took := time.Since(began)
	p.cpu += processor(b) - busy
	close(failed)
	for err := range failed {
		require.NoError(b, err)
	}
	acts := 0 // some 30,000
	for i, v := range visits {
		acts += len(v.posts)
		require.NoError(b, wires[i].Close())
	}
	p.acts += acts
	return float64(acts) / took.Seconds()
}

// processor is the time that this process has had of the processors.
func processor(b *testing.B) time.Duration {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// send does the whole visit.
func (v peerVisit) send(w *bench.Wire) error {
	var body []byte
	for i, post := range v.posts {
		body = post.Body(body, i+1, retryFor(i+1))
		reply, err := w.Do(http.MethodPost, v.path, body)
		if err != nil {
			return err
		}
		if reply.Status >= 300 {
			return fmt.Errorf("act %d, %s: %d %s", i+1, post.Kind, reply.Status, reply.Body)
		}
	}
	return nil
}

func signPeersIn(b *testing.B, sc *school) []string {
	tokens := make([]string, peersAtOnce)
	for i := range tokens {
		login := fmt.Sprintf("peer%03d", i)
		_, err := sc.s.AddPerson(b.Context(), login, "Peer", auth.Student, testPassword)
		require.NoError(b, err)
		tokens[i] = sc.as(login).token
	}
	return tokens
}

// openPeerVisits begins a visit for every connection, as long as the shortest of them.
func openPeerVisits(b *testing.B, sc *school, tokens []string) []peerVisit {
	all := make([]peerVisit, len(tokens))
	ids := sc.s.Practice()
	for i, token := range tokens {
		me, err := sc.s.store.PersonByLogin(b.Context(), fmt.Sprintf("peer%03d", i))
		require.NoError(b, err)
		id, acts, err := sc.s.OpenVisit(b.Context(), me.ID, ids[i%len(ids)], "veterinary", robot.Ideal)
		require.NoError(b, err)
		posts, err := bench.Posts(acts)
		require.NoError(b, err)
		all[i] = peerVisit{"/api/v1/attempts/" + id + "/acts", token, posts}
		_, err = sc.s.attempt(b.Context(), face.Person{ID: me.ID}, id) // as the page does that shows it
		require.NoError(b, err)
	}
	return all
}

// recordAnswers keeps what the server answered to each act of a visit.
func recordAnswers(b *testing.B, sc *school, v peerVisit) []face.Answer {
	var all []face.Answer
	for i, post := range v.posts {
		r := httptest.NewRequest(http.MethodPost, v.path, bytes.NewReader(post.Body(nil, i+1, retryFor(i+1))))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+v.token)
		w := httptest.NewRecorder()
		sc.s.Handler().ServeHTTP(w, r)
		require.Less(b, w.Code, 300, w.Body.String())
		var a face.Answer
		require.NoError(b, json.Unmarshal(w.Body.Bytes(), &a))
		all = append(all, a)
	}
	return all
}

// plainToken is how a gin handler verifies the token by itself: every time anew.
type plainToken struct{ secret []byte }

func newPlainToken(b *testing.B, sc *school) plainToken {
	keys, err := sc.s.store.SigningKeys(b.Context())
	require.NoError(b, err)
	return plainToken{keys[0].Secret}
}

// bearer refuses a request without a good token.
func (p plainToken) bearer(c *gin.Context) bool {
	text := c.GetHeader("Authorization")
	var claims jwt.RegisteredClaims
	_, err := jwt.ParseWithClaims(text[min(len("Bearer "), len(text)):], &claims, func(*jwt.Token) (any, error) { return p.secret, nil },
		jwt.WithValidMethods([]string{"HS256"}), jwt.WithIssuer("dewclaw"), jwt.WithExpirationRequired())
	if err != nil {
		c.AbortWithStatus(http.StatusUnauthorized)
	}
	return err == nil
}

// sameReply is a gin handler that verifies the token, decodes the act and encodes
// the reply that this act had in a visit, and does nothing else.
func sameReply(token plainToken, answers []face.Answer) http.Handler {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.POST("/api/v1/attempts/:id/acts", func(c *gin.Context) {
		if !token.bearer(c) {
			return
		}
		var f actForm
		if err := c.ShouldBindJSON(&f); err != nil {
			c.AbortWithStatus(http.StatusBadRequest)
			return
		}
		c.JSON(http.StatusCreated, answers[f.After%len(answers)])
	})
	return e
}

func emptyGin() http.Handler {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.POST("/api/v1/attempts/:id/acts", func(c *gin.Context) { c.Status(http.StatusOK) })
	return e
}

// plainRow is an act as a plain service would keep it.
type plainRow struct {
	ID      uint `gorm:"primaryKey"`
	Attempt string
	N       int
	At      time.Time
	Retry   string
	Act     string
}

// ginGorm is the plain service: gin, gorm, one connection, one row a request, the
// same token, as durable as ours.
func ginGorm(b *testing.B, token plainToken) http.Handler {
	dsn := "file:" + filepath.Join(b.TempDir(), "plain.db") + "?_journal_mode=WAL&_synchronous=FULL&_busy_timeout=5000"
	db, err := gorm.Open(sqlite.Dialector{DriverName: "sqlite", DSN: dsn}, &gorm.Config{Logger: logger.Discard})
	require.NoError(b, err)
	pool, err := db.DB()
	require.NoError(b, err)
	pool.SetMaxOpenConns(1)
	b.Cleanup(func() { require.NoError(b, pool.Close()) })
	require.NoError(b, db.AutoMigrate(&plainRow{}))
	e := gin.New()
	e.POST("/api/v1/attempts/:id/acts", func(c *gin.Context) {
		if !token.bearer(c) {
			return
		}
		var f actForm
		if err := c.ShouldBindJSON(&f); err != nil {
			c.AbortWithStatus(http.StatusBadRequest)
			return
		}
		act, err := json.Marshal(f.Act)
		if err != nil {
			c.AbortWithStatus(http.StatusInternalServerError)
			return
		}
		row := plainRow{Attempt: c.Param("id"), N: f.After + 1, At: time.Now(), Retry: f.Retry, Act: string(act)}
		if err := db.WithContext(c.Request.Context()).Create(&row).Error; err != nil {
			c.AbortWithStatus(http.StatusInternalServerError)
			return
		}
		c.JSON(http.StatusCreated, row)
	})
	return e
}

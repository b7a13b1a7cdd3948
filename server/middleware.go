package server

import (
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"runtime/debug"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"dewclaw/server/auth"

	"github.com/gin-gonic/gin"
)

// What a request carries in its gin context.
const (
	keyRequest = "dewclaw.request"
	keyWho     = "dewclaw.who"
	keyKind    = "dewclaw.kind"
)

// policy is the content security policy of every answer: nothing inline,
// nothing from elsewhere.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; media-src 'self' blob:; " +
	"connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// security are the headers of every answer.
var security = [][2]string{
	{"Content-Security-Policy", policy},
	{"X-Content-Type-Options", "nosniff"},
	{"Referrer-Policy", "no-referrer"},
	{"Cross-Origin-Opener-Policy", "same-origin"},
	{"Cross-Origin-Resource-Policy", "same-origin"},
	{"Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"},
	{"Cache-Control", "no-store"}, // static files say otherwise
}

// begin wraps every request: an id, the headers, the log line, and an answer
// even where a handler panics.
func (s *Server) begin(c *gin.Context) {
	start := time.Now()
	c.Set(keyRequest, rand.Text()[:16])
	h := c.Writer.Header()
	h.Set("X-Request-Id", requestID(c))
	for _, row := range security {
		h.Set(row[0], row[1])
	}
	if s.secure {
		h.Set("Strict-Transport-Security", "max-age=31536000")
	}
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("panic", "request", requestID(c), "route", c.FullPath(), "cause", fmt.Sprintf("%T", cause), "stack", string(debug.Stack()))
			s.fail(c, kindOf(c), fmt.Errorf("panic of type %T", cause)) // the value itself may hold anything
		}
		took := time.Since(start)
		s.count(c.Request.Method, c.FullPath(), c.Writer.Status(), took)
		s.log.Info("request", "request", requestID(c), "method", c.Request.Method, "route", c.FullPath(),
			"status", c.Writer.Status(), "bytes", c.Writer.Size(), "micros", took.Microseconds())
	}()
	if err := s.secureLine(c); err != nil || c.Writer.Written() {
		if err != nil {
			s.fail(c, kindOf(c), err)
		}
		c.Abort()
		return
	}
	if err := s.origin.Check(c.Request); err != nil {
		s.fail(c, kindOf(c), &Fault{Kind: ErrOrigin, Cause: err})
		c.Abort()
		return
	}
	c.Next()
}

// serve turns a row of the table into a gin handler.
func (s *Server) serve(r route) gin.HandlerFunc {
	return func(c *gin.Context) {
		c.Set(keyKind, r.kind)
		err := s.enter(c, r)
		if err == nil && odd(c.Params) {
			err = ErrMissing
		}
		if err != nil {
			s.fail(c, r.kind, err)
			return
		}
		if err := r.handle(s, c); err != nil {
			s.fail(c, r.kind, err)
		}
	}
}

// odd reports whether a place of a path holds what no id has: there is nothing
// to look up, and PostgreSQL refuses the question.
func odd(places gin.Params) bool {
	return slices.ContainsFunc(places, func(p gin.Param) bool {
		return strings.ContainsRune(p.Value, 0) || !utf8.ValidString(p.Value)
	})
}

// enter holds the policy and the limits of a route.
func (s *Server) enter(c *gin.Context, r route) error {
	if c.Request.ContentLength > r.limit {
		c.Header("Connection", "close") // the rest of the body is not read
		return &Fault{Kind: ErrLarge, Text: fmt.Sprintf("At most %d bytes are read here.", r.limit)}
	}
	c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, r.limit)
	if r.may == anyone {
		return s.recognise(c, false)
	}
	if err := s.recognise(c, true); err != nil {
		return err
	}
	if r.may != signedIn && !auth.May(auth.Role(person(c).Role), r.may) {
		if auth.Absent(r.may) {
			return ErrMissing
		}
		return ErrForbidden
	}
	return nil
}

// nowhere answers where no route is, as where one is that this person may not
// see: with the same page around it.
func (s *Server) nowhere(c *gin.Context) {
	if err := s.recognise(c, false); err != nil {
		s.fail(c, kindOf(c), err)
		return
	}
	s.fail(c, kindOf(c), ErrMissing)
}

// notOffered answers a method that a path does not take. gin has set Allow.
func (s *Server) notOffered(c *gin.Context) {
	s.fail(c, kindOf(c), &Fault{Kind: ErrMethod, Allow: c.Writer.Header().Get("Allow")})
}

func requestID(c *gin.Context) string { return c.GetString(keyRequest) }

// kindOf is the route's kind; where there is no route the path decides.
func kindOf(c *gin.Context) kind {
	if k, ok := c.Get(keyKind); ok {
		return k.(kind)
	}
	if strings.HasPrefix(c.Request.URL.Path, "/api/") {
		return api
	}
	return page
}

// logFailure writes what went wrong with its cause. It names the route, never
// the path: a path holds ids.
func (s *Server) logFailure(c *gin.Context, row statusRow, err error) {
	if row.status >= http.StatusInternalServerError {
		s.log.Error("failed", "request", requestID(c), "route", c.FullPath(), "cause", err.Error())
		return
	}
	if errors.Is(row.kind, ErrLogin) {
		s.logSignIn(c)
		return
	}
	s.log.Debug("refused", "request", requestID(c), "route", c.FullPath(), "cause", row.slug)
}

// logSignIn writes down a sign-in that failed and where it came from, so that
// whoever runs the server can shut an address out. It names no login: one that is
// mistyped may be a password.
func (s *Server) logSignIn(c *gin.Context) {
	s.log.Warn("sign-in refused", "request", requestID(c), "route", c.FullPath(), "from", clientOf(c))
}

// signInPath is the sign-in page with the way back. Only a GET can be repeated.
func signInPath(r *http.Request) string {
	if r.Method != http.MethodGet || r.URL.Path == "/" {
		return "/login"
	}
	return "/login?next=" + url.QueryEscape(r.URL.RequestURI())
}

// redirect sends a browser on after a form.
func (s *Server) redirect(c *gin.Context, path string) error {
	c.Header("Location", path)
	c.Status(http.StatusSeeOther)
	c.Writer.WriteHeaderNow()
	return nil
}

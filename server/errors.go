package server

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// What can go wrong, as the rest of the package says it. Match with errors.Is.
var (
	ErrMissing   = errors.New("not here for this person") // absent, not theirs or not released: one answer
	ErrSignIn    = errors.New("nobody is signed in")
	ErrLogin     = errors.New("login and password do not fit")
	ErrToken     = errors.New("the token is not valid")
	ErrForbidden = errors.New("this role may not")
	ErrOrigin    = errors.New("sent by another site")
	ErrForm      = errors.New("cannot be read")
	ErrMedia     = errors.New("not the content type that is read here")
	ErrMethod    = errors.New("method not offered here")
	ErrLarge     = errors.New("body too large")
	ErrInvalid   = errors.New("not valid")
	ErrTaken     = errors.New("the act's number is taken")
	ErrRetry     = errors.New("retry used with another body")
	ErrOver      = errors.New("the visit is over")
	ErrElsewhere = errors.New("another browser is in the room")
	ErrPaused    = errors.New("the sitting is paused")
	ErrNotNow    = errors.New("not at this time")
	ErrPart      = errors.New("no such part of a medium")
	ErrSlow      = errors.New("too many tries")
	ErrBusy      = errors.New("cannot be done now")
	ErrRoom      = errors.New("the disk is nearly full")
	ErrClear     = errors.New("sent in the clear")
)

// statusRow says how one kind of error is told. Text is for the case that the
// fault carries none.
type statusRow struct {
	kind   error
	status int
	slug   string // the last part of the problem's type
	title  string
	text   string
}

// statuses is the one place that picks a status. The first row that matches is
// used; an error that no row knows is a 500 whose cause stays in the log.
var statuses = []statusRow{
	{ErrMissing, http.StatusNotFound, "missing", "Not found", "There is nothing here that you may see."},
	{ErrSignIn, http.StatusUnauthorized, "sign-in", "Sign in first", "Sign in with POST /api/v1/session, then send the cookie or the bearer token."},
	{ErrLogin, http.StatusUnauthorized, "login", "Login and password do not fit", "Check both: capital letters count."},
	{ErrToken, http.StatusUnauthorized, "token", "The token is not valid", "It may have expired or been signed out. Sign in again."},
	{ErrForbidden, http.StatusForbidden, "forbidden", "Not for this role", "Your role may not do this."},
	{ErrOrigin, http.StatusForbidden, "origin", "Sent from another site", "The browser says that this was sent from another site. Open the page here and try again."},
	{ErrForm, http.StatusBadRequest, "unreadable", "The body cannot be read", "Send one JSON object as the description of the API says."},
	{ErrMethod, http.StatusMethodNotAllowed, "method", "Not offered here", "This address does not take this method."},
	{ErrMedia, http.StatusUnsupportedMediaType, "content-type", "Not a content type that is read here", "Send Content-Type: application/json."},
	{ErrLarge, http.StatusRequestEntityTooLarge, "too-large", "The body is too large", "Send less at once."},
	{ErrInvalid, http.StatusUnprocessableEntity, "invalid", "Not valid", "Something in what you sent is not valid."},
	{ErrTaken, http.StatusConflict, "taken", "The act's number is taken", "Somebody, perhaps you in another window, was faster. The newer acts are in this answer; look at them, then send again after the last of them."},
	{ErrRetry, http.StatusUnprocessableEntity, "retry", "Retry used with another body", "This retry belongs to an act that said something else. Use a new retry for a new act."},
	{ErrOver, http.StatusConflict, "over", "The visit is over", "This visit takes no more acts. What was done before is kept."},
	{ErrElsewhere, http.StatusConflict, "elsewhere", "Open in another window", "This sitting was opened in another window or on another device, which took over. Take it back there, or here from the page of the sitting."},
	{ErrPaused, http.StatusConflict, "paused", "The sitting stands still", "This sitting is paused; its clock stands still. Nothing is lost. Go on when it is resumed."},
	{ErrNotNow, http.StatusConflict, "not-now", "Not at this time", "This cannot be done at this time."},
	{ErrPart, http.StatusRequestedRangeNotSatisfiable, "part", "No such part", "This medium has no such part. Content-Range says how many bytes it has; ask for some of them, or leave Range out."},
	{ErrRoom, http.StatusServiceUnavailable, "no-room", "No new visit can begin", "The server's disk is nearly full, so nothing new is begun. What has begun goes on and is kept. Tell whoever runs this server; once there is room, try again."},
	{ErrClear, http.StatusForbidden, "plain-http", "Use https", "This was sent over a line that others can read. Use the public address, which begins with https://."},
	{ErrSlow, http.StatusTooManyRequests, "slow", "Too many tries", "Wait a little, then try again."},
	{ErrBusy, http.StatusServiceUnavailable, "busy", "Not now", "Try again in a moment. What was acknowledged is kept."},
}

// unknown is told when no row matches.
var unknown = statusRow{nil, http.StatusInternalServerError, "internal", "Something went wrong on our side", "It was written to the log under the id in X-Request-Id. What was acknowledged is kept; try again."}

// FieldProblem is one member that is wrong and what would be right.
type FieldProblem struct {
	Pointer string `json:"pointer"` // RFC 6901
	Detail  string `json:"detail"`
}

// Fault is an error with what may be told. Only Text, Fields, Last and Acts
// leave the process; Cause goes to the log.
type Fault struct {
	Kind   error // one of the errors above
	Text   string
	Fields []FieldProblem
	Last   int        // ErrTaken: number of the last act
	Acts   []face.Act // ErrTaken: the newer acts
	Wait   int        // ErrSlow: seconds
	Allow  string     // ErrMethod: the methods that are offered
	Cause  error
}

// Error is for the log.
func (f *Fault) Error() string {
	text := f.Kind.Error()
	if f.Cause != nil {
		text += ": " + f.Cause.Error()
	}
	return text
}

// Unwrap lets errors.Is find both the kind and the cause.
func (f *Fault) Unwrap() []error {
	if f.Cause == nil {
		return []error{f.Kind}
	}
	return []error{f.Kind, f.Cause}
}

// invalid is a fault about one member.
func invalid(pointer, detail string) *Fault {
	return &Fault{Kind: ErrInvalid, Fields: []FieldProblem{{pointer, detail}}}
}

// problem is RFC 9457's problem details. It holds neither the address nor the
// request's id, so that absent, not yours and not released are the same bytes.
type problem struct {
	Type   string         `json:"type"`
	Title  string         `json:"title"`
	Status int            `json:"status"`
	Detail string         `json:"detail"`
	Errors []FieldProblem `json:"errors,omitempty"`
	Last   *int           `json:"last,omitempty"`
	Acts   []face.Act     `json:"acts,omitempty"`
}

// ours says what an error of the rooms below means to who asked.
var ours = []struct{ theirs, kind error }{
	{store.ErrBusy, ErrBusy},
	{store.ErrShut, ErrBusy},
	{store.ErrFull, ErrBusy},
	{store.ErrReadOnly, ErrBusy},
	{store.ErrClosed, ErrOver},
	{store.ErrRetryReused, ErrRetry},
	{store.ErrText, ErrInvalid},
	{context.Canceled, ErrBusy}, // the client left; nobody reads this
	{context.DeadlineExceeded, ErrBusy},
}

// tell finds the row and the fault of an error.
func tell(err error) (statusRow, *Fault) {
	var f *Fault
	errors.As(err, &f)
	for _, row := range ours {
		if f == nil && errors.Is(err, row.theirs) {
			f = &Fault{Kind: row.kind, Cause: err}
			err = f
		}
	}
	for _, row := range statuses {
		if errors.Is(err, row.kind) {
			if f == nil || !errors.Is(f.Kind, row.kind) {
				f = &Fault{Kind: row.kind}
			}
			if f.Text != "" {
				row.text = f.Text
			}
			return row, f
		}
	}
	return unknown, &Fault{}
}

// fail answers with an error: problem details for programs, a page for people.
func (s *Server) fail(c *gin.Context, kind kind, err error) {
	row, f := tell(err)
	s.logFailure(c, row, err)
	if c.Writer.Written() {
		return // the answer is on its way; the log has the rest
	}
	if f.Wait > 0 {
		c.Header("Retry-After", strconv.Itoa(f.Wait))
	}
	if f.Allow != "" {
		c.Header("Allow", f.Allow)
	}
	if kind == page {
		s.failPage(c, row, f)
		return
	}
	p := problem{Type: "urn:dewclaw:problem:" + row.slug, Title: row.title, Status: row.status, Detail: row.text, Errors: f.Fields, Acts: f.Acts}
	if errors.Is(f.Kind, ErrTaken) && f.Kind != nil {
		p.Last = &f.Last
	}
	if row.status == http.StatusUnauthorized {
		c.Header("WWW-Authenticate", `Bearer realm="dewclaw"`)
	}
	body, err := json.Marshal(p)
	if err != nil { // a problem holds only text and numbers
		body = []byte(`{"type":"about:blank","title":"Internal error","status":500}`)
	}
	c.Data(row.status, "application/problem+json", body)
}

// failPage shows an error to a person, or sends who is not signed in to the
// sign-in page and back.
func (s *Server) failPage(c *gin.Context, row statusRow, f *Fault) {
	if errors.Is(row.kind, ErrSignIn) || errors.Is(row.kind, ErrToken) {
		s.dropCookie(c)
		c.Header("Location", signInPath(c.Request))
		c.Status(http.StatusSeeOther)
		c.Writer.WriteHeaderNow()
		return
	}
	p := &errorPage{Base: Base{Title: row.title}, Status: row.status, Text: row.text, Fields: f.Fields, Request: requestID(c)}
	if err := s.write(c, row.status, "error", p); err != nil {
		s.log.Error("the error page failed", "request", requestID(c), "cause", err)
		c.Data(http.StatusInternalServerError, "text/plain; charset=utf-8", []byte(unknown.title+"\n"))
	}
}

package server

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// TestMembersThatNobodyAskedForAreRefused: no route that reads JSON takes a member
// that it does not know, such as a role or an owner, and nothing of the rest is done.
func TestMembersThatNobodyAskedForAreRefused(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	eye, tried := w.watch(), 0
	clients := map[bool]*client{true: w.as(head), false: w.as(owner)}
	for _, r := range routes() {
		if r.method != post || r.kind != api || ends(r) {
			continue
		}
		body, ok := sampleBody(t, r).(map[string]any)
		if !ok {
			continue
		}
		body["role"+"_of_mine"], body["person_id"] = "coordinator", w.people[head]
		c := clients[strings.HasPrefix(r.path, "/api/v1/people") || strings.HasPrefix(r.path, "/api/v1/cohorts") || strings.Contains(r.path, "/marks") || strings.Contains(r.path, "release") || strings.Contains(r.path, "decisions") || strings.Contains(r.path, "answer") || strings.Contains(r.path, "erase") || strings.HasPrefix(r.path, "/api/v1/assignments")]
		for _, path := range w.allPaths(r) {
			got := c.send(r.method, path, body)
			require.Contains(t, []int{http.StatusBadRequest, http.StatusNotFound, http.StatusForbidden}, got.code, "%s %s: %s", r.method, path, got.body)
			if got.code == http.StatusBadRequest {
				if strings.Contains(got.problem(http.StatusBadRequest, "unreadable").Detail, "a member that is not known here") {
					tried++ // of the others the description's sample is refused for something before it
				}
			}
			require.False(t, eye.changed(), "%s %s changed something", r.method, path)
		}
	}
	require.Greater(t, tried, 20)
}

// TestAnotherSiteSendsNothing: whatever changes something is refused where the
// browser says that another site sent it.
func TestAnotherSiteSendsNothing(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	eye, tried := w.watch(), 0
	for _, from := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"}} {
		c := w.at(head)
		eye.changed()
		for _, r := range routes() {
			if r.method == get {
				continue
			}
			c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
			for k, v := range from {
				c.header[k] = v
			}
			path := w.allPaths(r)[0]
			got := c.send(r.method, path, "deed=delete&confirm=Second+year")
			require.Equal(t, http.StatusForbidden, got.code, "%s %s from %v", r.method, path, from)
			require.Contains(t, got.text(), "another site", path)
			tried++
		}
		require.False(t, eye.changed(), "%v changed something", from)
	}
	require.Greater(t, tried, 150)
}

// TestOddPlacesInAPath: dots, a zero byte, bytes that are no text, and 4,000
// characters in every place of every path are no more than something absent.
func TestOddPlacesInAPath(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	c, eye := w.at(head), w.watch()
	eye.changed()
	for _, r := range routes() {
		if !strings.ContainsAny(r.path, ":*") || ends(r) {
			continue
		}
		for _, odd := range []string{"..", "%2e%2e", "%2e%2e%2f%2e%2e%2fetc%2fpasswd", "%00", "x%00y", "%ff%fe", "x%0d%0aSet-Cookie:%20a=b", "'%20OR%201=1--", strings.Repeat("x", 4000), "-1", "%F0%9F%90%95"} {
			path := placeName.ReplaceAllLiteralString(r.path, odd)
			got := c.send(r.method, path, nil)
			require.Contains(t, []int{http.StatusNotFound, http.StatusBadRequest, http.StatusUnprocessableEntity, http.StatusMethodNotAllowed, http.StatusUnsupportedMediaType, http.StatusForbidden}, got.code, "%s %.60s: %.200s", r.method, path, got.body)
			require.NotContains(t, strings.Join(keysOf(got.header), " "), "Set-Cookie: a", path)
			require.NotContains(t, string(got.body), "root:", path)
		}
	}
	require.False(t, eye.changed(), "something was changed")
}

// TestLineBreaksInNames: a name with a line break gets into no header, whoever it names.
func TestLineBreaksInNames(t *testing.T) {
	sc := newSchool(t)
	c, staff := sc.as("coordinator"), sc.browser("instructor")
	const bad = "Kim\r\nSet-Cookie: dewclaw=x"
	for _, f := range []personForm{{"kim", bad, "student"}, {"kim\r\nx", "Kim", "student"}, {"kim", "Kim\x00", "student"}} {
		c.send("POST", "/api/v1/people", f).problem(http.StatusUnprocessableEntity, "invalid")
	}
	f := asked()
	f.Set("title", bad)
	got := staff.sends("/cohorts/"+sc.cohort+"/assignments", f)
	require.NotContains(t, got.header.Get("Set-Cookie"), "dewclaw=x")
	f.Set("title", `Finals"; filename="x.exe`)
	id := staff.draft(f)
	book := staff.get("/assignments/" + id + "/gradebook.csv").is(http.StatusOK)
	require.NotContains(t, book.header.Get("Content-Disposition"), "x.exe")
	next := sc.anyone().post("/login", "login", "student", "password", testPassword, "next", "//elsewhere.example\r\nX: y").is(http.StatusSeeOther)
	require.Equal(t, "/", next.header.Get("Location"))
	require.Empty(t, next.header.Get("X"))
	require.NotContains(t, url.QueryEscape(bad), "\n")
}

// TestForwardedHeadersAreNotBelieved: neither the address nor the name of the
// server is taken from a header that anybody can send.
func TestForwardedHeadersAreNotBelieved(t *testing.T) {
	sc := newSchool(t, func(c *Config) { c.URL = "https://dewclaw.example.edu" })
	c := sc.as("coordinator")
	c.header = map[string]string{"X-Forwarded-For": "198.51.100.7", "X-Forwarded-Host": "elsewhere.example", "X-Forwarded-Proto": "http", "Forwarded": "host=elsewhere.example", "X-Real-Ip": "198.51.100.7"}
	var made inviteAnswer
	got := c.send("POST", "/api/v1/people", personForm{"kim", "Kim Example", "student"}).is(http.StatusCreated)
	got.into(&made)
	require.NotContains(t, string(got.body), "elsewhere.example")
	require.NotEmpty(t, got.header.Get("Strict-Transport-Security"), "it stays https whatever a header says")
	wrong := sc.anyone()
	for i := range 6 { // another address every time is slowed as one
		wrong.header = map[string]string{"X-Forwarded-For": "198.51.100." + string(rune('0'+i))}
		got = wrong.send("POST", "/api/v1/session", signInForm{Login: "student", Password: "wrong"})
	}
	got.problem(http.StatusTooManyRequests, "slow")
}

// TestAFloodOfActs: what comes faster than a person is slowed, the 2,001st act and
// one of 17 kB are refused, and all that was taken is there and is marked.
func TestAFloodOfActs(t *testing.T) {
	t.Parallel()
	sc := newSchool(t, func(c *Config) { c.Burst = 0 })
	v := sc.as("student").begin("")
	wait, refused := sentAct{Kind: "wait", Seconds: 1}, 0
	for refused == 0 && v.last < 1000 {
		got := v.try(wait)
		if got.code == http.StatusTooManyRequests {
			refused++
			require.NotEmpty(t, got.header.Get("Retry-After"))
			continue
		}
		got.is(http.StatusCreated)
		v.last++
	}
	require.Equal(t, 1, refused, "a thousand acts in a row were never slowed")
	require.GreaterOrEqual(t, v.last, actsBurst)
	require.Equal(t, v.last, v.state().Last, "what was refused was not taken")

	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	l, err := sc.s.liveOf(t.Context(), row)
	require.NoError(t, err)
	for v.last < mostActs {
		l.mu.Lock()
		l.pace.next = time.Time{} // as if somebody had done one every tenth of a second
		l.mu.Unlock()
		v.try(wait).is(http.StatusCreated)
		v.last++
	}
	require.Contains(t, v.try(wait).problem(http.StatusConflict, "over").Detail, "hand it in")
	large := `{"after":2000,"retry":"retry-900001","act":{"kind":"record","field":"heart.rate","value":"` + strings.Repeat("1", 17_000) + `"}}`
	require.Contains(t, v.send("POST", v.path("/acts"), large).problem(http.StatusRequestEntityTooLarge, "too-large").Detail, "16384")
	require.Equal(t, mostActs, v.state().Last)
	require.NotZero(t, v.finish().Total+1)
}

// TestARoleTakenAwayIsGoneAtOnce: within the moment for which a session is believed.
func TestARoleTakenAwayIsGoneAtOnce(t *testing.T) {
	sc := newSchool(t)
	p, err := sc.s.AddPerson(t.Context(), "helper", "Person helper", "student", testPassword)
	require.NoError(t, err)
	sc.enrol(p.ID, "instructor")
	c := sc.as("helper")
	c.get("/api/v1/cohorts/" + sc.cohort + "/members").is(http.StatusOK)
	require.NoError(t, sc.s.store.SetMember(t.Context(), sc.cohort, p.ID, "", store.Note{Deed: deedTakeOut}))
	c.get("/api/v1/cohorts/"+sc.cohort+"/members").problem(http.StatusNotFound, "missing")
	sc.clock.Pass(trustFor)
	c.get("/api/v1/cohorts/"+sc.cohort+"/members").problem(http.StatusForbidden, "forbidden")
}

// handsOut are the files that are handed out: that is written into the log.
var handsOut = regexp.MustCompile(`/me/data$|/appeal\.|/gradebook\.csv$|/log`)

// TestLookingChangesNothing: no GET changes a row, apart from the sign of life of
// the browser that sits in a sitting, and the line in the log of what is handed out.
func TestLookingChangesNothing(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	eye := w.watch()
	for _, k := range w.walkers() {
		eye.changed() // signing in is written down
		for _, r := range routes() {
			if r.method != get || ends(r) || strings.HasSuffix(r.path, "/clock") || strings.HasPrefix(r.path, "/static/") {
				continue
			}
			for _, path := range w.allPaths(r) {
				k.client(r).get(path)
				changed := eye.changed()
				require.False(t, changed && !handsOut.MatchString(r.path), "%s GET %s changed something", cmpName(k.who), path)
			}
		}
	}
}

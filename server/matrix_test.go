package server

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"database/sql"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"dewclaw/server/auth"
	"dewclaw/server/store/storetest"

	"github.com/stretchr/testify/require"
)

// neverWas is an id of the shape of ours that was never given.
const neverWas = "NEVERWASNEVERWASNEVERWASNE"

// TestEveryPlaceOfAPathIsKnown fails for a new route whose place in the path is
// not in the tables of the matrix, so that none is left out of it.
func TestEveryPlaceOfAPathIsKnown(t *testing.T) {
	for _, r := range routes() {
		_, _, known := objectOf(r.path)
		require.True(t, known, "%s: say in kindsOfPaths or placeValues what stands there", r.path)
	}
	_, _, known := objectOf("/somewhere/:new")
	require.False(t, known)
}

// walker is one of the cast with both ways of signing in.
type walker struct {
	who              string
	program, browser *client
}

func (w *world) walkers() (all []walker) {
	for _, who := range cast {
		one := walker{who, w.anyone(), w.anyone()}
		if who != nobody {
			one.program, one.browser = w.as(who), w.at(who)
		}
		all = append(all, one)
	}
	return all
}

func (k walker) client(r route) *client {
	if r.kind == api && !strings.HasPrefix(r.path, "/healthz") {
		return k.program
	}
	return k.browser
}

// ends reports whether a route would end the session of who asks.
func ends(r route) bool {
	return strings.HasSuffix(r.path, "/session") && r.method != get || r.path == "/logout" || r.path == "/login" || r.path == "/join" || r.path == "/setup" || r.path == "/api/v1/token/refresh"
}

// TestRoutesRolesAndStates asks every route of the table for every object in
// every state as everybody. What one may not see is, byte for byte, what never
// was, and asking changes nothing; what one may see is there.
func TestRoutesRolesAndStates(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	all, asked, hidden := w.walkers(), 0, 0
	w.eye = w.watch()
	for _, r := range routes() {
		kind, place, _ := objectOf(r.path)
		if kind == "" || ends(r) {
			continue
		}
		for _, who := range all {
			for _, x := range w.things {
				if x.kind != kind {
					continue
				}
				asked++
				if !w.ask(who, r, place, x) {
					hidden++
				}
			}
		}
	}
	t.Logf("%d routes with an object, %d questions, %d of them about what is not there for who asks", countObjects(), asked, hidden)
	require.Empty(t, strings.Join(w.wrong[:min(len(w.wrong), 40)], "\n"), "%d answers are wrong", len(w.wrong))
	require.Greater(t, asked, 3000)
	require.Greater(t, hidden, asked/3)
}

func countObjects() (n int) {
	for _, r := range routes() {
		if kind, _, _ := objectOf(r.path); kind != "" {
			n++
		}
	}
	return n
}

// ask asks one route for one object as one person; it says whether it is there.
func (w *world) ask(who walker, r route, place string, x thing) bool {
	role, c := roles[who.who], who.client(r)
	for i, path := range filled(r.path, place, x.id) {
		name := fmt.Sprintf("%s: %s %s of %s", cmpName(who.who), r.method, r.path, x.name)
		switch {
		case r.may == anyone:
		case who.who == nobody:
			w.refused(name, r, c, path)
		case r.may != signedIn && !auth.May(role, r.may):
			w.forbidden(name, r, c, path)
		case whoSees(who.who, r, x):
			if r.method == get && !strings.Contains(r.path, "/:n/") {
				w.there(name, c.get(path))
				w.eye.changed() // to look may close what is over
			}
			return true
		default:
			w.absent(name, r, c, path, filled(r.path, place, neverWas)[i])
		}
	}
	return false
}

func cmpName(who string) string {
	if who == nobody {
		return "nobody"
	}
	return who
}

// refused is what somebody who is not signed in gets.
func (w *world) refused(name string, r route, c *client, path string) {
	for _, body := range w.bodies(r) {
		got := body.send(c, r.method, path)
		if r.kind == api {
			w.hold(got.code == http.StatusUnauthorized, name, body, got, "is not asked to sign in")
			continue
		}
		w.hold(got.code == http.StatusSeeOther && strings.HasPrefix(got.header.Get("Location"), "/login"), name, body, got, "is not sent to the sign-in page")
	}
}

// forbidden is what a role gets that may not.
func (w *world) forbidden(name string, r route, c *client, path string) {
	want := http.StatusForbidden
	if auth.Absent(r.may) {
		want = http.StatusNotFound
	}
	for _, body := range w.bodies(r) {
		got := body.send(c, r.method, path)
		w.hold(got.code == want, name, body, got, "is not refused by role")
	}
}

// there is what one may see.
func (w *world) there(name string, got *reply) {
	w.hold(!slices.Contains([]int{http.StatusUnauthorized, http.StatusForbidden, http.StatusNotFound}, got.code) && got.code < 500, name, sentBody{}, got, "is not shown what may be seen")
}

// refusals are what a request gets that is about nothing, or that cannot be read.
var refusals = []int{http.StatusNotFound, http.StatusBadRequest, http.StatusUnprocessableEntity, http.StatusUnsupportedMediaType}

// hold notes what is wrong; the walk goes on.
func (w *world) hold(ok bool, name string, sent sentBody, got *reply, wrong string) {
	if !ok {
		w.wrong = append(w.wrong, fmt.Sprintf("%s, sent %s: %s: %d %s", name, cmp.Or(sent.name, "nothing"), wrong, got.code, strings.Join(strings.Fields(string(got.body[:min(len(got.body), 300)])), " ")))
	}
}

// absent is what one may not see: as if it had never been, whatever is sent.
func (w *world) absent(name string, r route, c *client, path, never string) {
	for _, body := range w.bodies(r) {
		got, want := body.send(c, r.method, path), body.send(c, r.method, never)
		w.hold(slices.Contains(refusals, got.code) && (r.method != get || got.code == http.StatusNotFound), name, body, got, "is shown what may not be seen")
		w.hold(bare(want) == bare(got), name, body, got, "is told that there is something")
		if r.method != get {
			w.hold(!w.eye.changed(), name, body, got, "changed something")
		}
	}
}

// bare is an answer without what differs from request to request.
func bare(r *reply) string {
	id := r.header.Get("X-Request-Id")
	h := r.header.Clone()
	h.Del("X-Request-Id")
	var lines []string
	for k, v := range h {
		lines = append(lines, k+": "+strings.Join(v, ","))
	}
	slices.Sort(lines)
	return fmt.Sprint(r.code) + "\n" + strings.Join(lines, "\n") + "\n" + strings.ReplaceAll(string(r.body), id, "")
}

// volatile are the tables that change by asking alone: when a session was used,
// and what a background worker measures.
var volatile = []string{"sessions", "refresh_tokens", "assignment_draws", "sqlite_sequence"}

// watch is a connection of its own that sees whether anything was changed.
type watch struct {
	t       testing.TB
	db      *sql.DB
	version int64
	digest  string
}

func (w *world) watch() *watch {
	db := storetest.Raw(w.t, w.url())
	db.SetMaxOpenConns(1)
	out := &watch{t: w.t, db: db}
	out.changed()
	return out
}

// changed reports whether a row changed since it was asked last, outside of volatile.
func (x *watch) changed() bool {
	version := storetest.Version(x.t, x.db)
	if version == x.version {
		return false
	}
	h := sha256.New()
	for _, name := range storetest.Tables(x.t, x.db) {
		if !slices.Contains(volatile, name) {
			fmt.Fprintln(h, name, strings.Join(column(x.t, x.db, "SELECT * FROM \""+name+"\" ORDER BY 1, 2"), "\n"))
		}
	}
	was := x.digest
	x.version, x.digest = version, fmt.Sprintf("%x", h.Sum(nil))
	return was != x.digest
}

// column is what a query yields, a line a row.
func column(t testing.TB, db *sql.DB, query string) (out []string) {
	rows, err := db.Query(query)
	require.NoError(t, err)
	defer func() { require.NoError(t, rows.Close()) }()
	names, err := rows.Columns()
	require.NoError(t, err)
	for rows.Next() {
		row := make([]any, len(names))
		for i := range row {
			row[i] = new(any)
		}
		require.NoError(t, rows.Scan(row...))
		var line bytes.Buffer
		for i, v := range row {
			if i > 0 {
				line.WriteByte('|')
			}
			fmt.Fprint(&line, *v.(*any))
		}
		out = append(out, line.String())
	}
	require.NoError(t, rows.Err())
	return out
}

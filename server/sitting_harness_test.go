package server

import (
	"context"
	"net/http"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// sat is a sitting in the school's cohort: it opens in ten minutes for two hours,
// with two dogs and 40 minutes for both.
func (sc *school) sat(change ...func(*store.Assignment)) store.Assignment {
	sc.t.Helper()
	now := sc.clock.Now()
	a := store.Assignment{Cohort: sc.cohort, Title: "Finals", Kind: string(exam.Sitting), Track: defaultTrack, Opens: now.Add(10 * time.Minute), Closes: now.Add(130 * time.Minute),
		Minutes: 40, Tries: 1, Cue: "headings", Places: "unlabelled", State: store.AssignmentSet, Slots: [][]string{{"tansy"}, {"nettle"}}}
	for _, f := range change {
		f(&a)
	}
	a, err := sc.s.store.SaveAssignment(context.Background(), a, store.Note{Deed: "make assignment"})
	require.NoError(sc.t, err)
	return a
}

// begun is a student's turn at a sitting, ten minutes on, with its first patient.
func (sc *school) begun(c *client, a store.Assignment) (face.Clock, *visit) {
	sc.t.Helper()
	if sc.clock.Now().Before(a.Opens) {
		sc.clock.Pass(a.Opens.Sub(sc.clock.Now()))
	}
	var k face.Clock
	c.send("POST", "/api/v1/assigned/"+a.ID+"/begin", nil).is(http.StatusCreated).into(&k)
	return k, c.next(k.Turn)
}

// next begins the next patient of a turn.
func (c *client) next(turn string) *visit {
	c.sc.t.Helper()
	var k face.Clock
	c.send("POST", "/api/v1/turns/"+turn+"/next", nil).is(http.StatusOK).into(&k)
	require.NotEmpty(c.sc.t, k.Visit)
	return &visit{client: c, id: k.Visit}
}

// at signs in at a browser: a session that outlasts a sitting.
func (sc *school) at(login string) *client {
	sc.t.Helper()
	r := sc.anyone().post("/login", "login", login, "password", testPassword).is(http.StatusSeeOther)
	for _, c := range (&http.Response{Header: r.header}).Cookies() {
		if c.Name == sc.s.cookieName() {
			return &client{sc: sc, cookie: c.Value}
		}
	}
	require.Fail(sc.t, "no cookie of "+login)
	return nil
}

func (c *client) clock(turn string) face.Clock {
	c.sc.t.Helper()
	var k face.Clock
	c.get("/api/v1/turns/" + turn + "/clock").is(http.StatusOK).into(&k)
	return k
}

// deed is something that an invigilator does.
func (c *client) deed(a store.Assignment, deed, whom, minutes string) *reply {
	c.sc.t.Helper()
	return c.post("/assignments/"+a.ID+"/seats", "deed", deed, "for", whom, "minutes", minutes, "reason", "fire drill")
}

func (sc *school) personID(login string) string {
	sc.t.Helper()
	p, err := sc.s.store.PersonByLogin(context.Background(), login)
	require.NoError(sc.t, err)
	return p.ID
}

// seat is how a student stands on the seating sheet.
func (c *client) seat(a store.Assignment, login string) seatWords {
	c.sc.t.Helper()
	var out seatsAnswer
	c.get("/api/v1/assignments/" + a.ID + "/seats").is(http.StatusOK).into(&out)
	for _, s := range out.Seats {
		if s.Person == c.sc.personID(login) {
			return s
		}
	}
	require.Fail(c.sc.t, "no seat of "+login)
	return seatWords{}
}

var listen = sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"}

// turnOf is the id of one's own last turn at an assignment.
func (c *client) turnOf(a store.Assignment) string {
	c.sc.t.Helper()
	var f face.Assignment
	c.get("/api/v1/assigned/" + a.ID).is(http.StatusOK).into(&f)
	require.NotEmpty(c.sc.t, f.Turns)
	return f.Turns[len(f.Turns)-1].ID
}

// text is a page's text in one line.
func (r *reply) text() string {
	return strings.Join(strings.Fields(tags.ReplaceAllString(string(r.body), " ")), " ")
}

// sessionOf is the session of a browser.
func (sc *school) sessionOf(c *client) string {
	sc.t.Helper()
	id, err := sc.s.tokens.Read(auth.ForBrowser, c.cookie)
	require.NoError(sc.t, err)
	return id
}

package server

import (
	"bytes"
	"context"
	"io"
	"mime/quotedprintable"
	"net/http"
	"net/mail"
	"regexp"
	"strings"
	"testing"
	"time"

	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// withPostbox is a school whose letters go to a postbox.
func withPostbox(t *testing.T) (*school, *postbox) {
	b := newPostbox(t)
	sc := newSchool(t, func(c *Config) {
		c.URL = "https://school.example"
		c.Mail = Mail{Host: b.l.Addr().String(), From: "Dewclaw <dewclaw@school.example>"}
	})
	return sc, b
}

// enrolled makes an account in the cohort that has no password yet.
func (sc *school) enrolled(login, email string) string {
	line := []store.Enrolment{{Member: "student", NewPerson: store.NewPerson{Login: login, Role: "student", Name: "Person " + login, Number: login, Email: email}}}
	require.NoError(sc.t, sc.s.store.Enrol(sc.t.Context(), sc.cohort, line, store.Note{Deed: "test"}, func(int) {}))
	return line[0].Person
}

// ended waits until a task of the cohort has ended.
func (sc *school) ended(kind string) taskState {
	sc.t.Helper()
	require.Eventually(sc.t, func() bool { is := sc.task(kind); return !is.Began.IsZero() && !is.Running() }, 30*time.Second, 5*time.Millisecond)
	return sc.task(kind)
}

func (sc *school) task(kind string) taskState {
	is, err := sc.s.taskOf(context.Background(), kind, sc.cohort)
	require.NoError(sc.t, err)
	return is
}

// form posts a form as a browser does.
func (c *client) form(path, body string) *reply {
	c.sc.t.Helper()
	c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	defer func() { c.header = nil }()
	return c.send("POST", path, body)
}

var linkShape = regexp.MustCompile(`https?://[^\s"<]+/join\?token=[A-Z2-7]+`)

func TestLinksGoByMail(t *testing.T) {
	sc, b := withPostbox(t)
	sc.enrolled("kim", "kim@example.org")
	sc.enrolled("ash", "")
	sc.enrolled("lou", "lou@example.org")
	sc.enrolled("evil", "e@example.org\r\nRCPT TO:<x@example.org>") // a roster would not take it; the letter does not either
	b.lock(func() { b.refuse["lou@example.org"] = "550 no such box" })
	c := sc.as("instructor")
	c.form("/cohorts/"+sc.cohort+"/slips", "deed=mail&choice=waiting").is(http.StatusSeeOther)
	is := sc.ended(taskMail)
	require.Equal(t, 4, is.Done)
	require.Equal(t, "1 letter was handed to the mail server.", is.Words)
	page := string(c.get("/cohorts/" + sc.cohort + "/slips").is(http.StatusOK).body)
	for _, told := range []string{"550 no such box", "No address is known", "The address cannot be written to"} {
		require.Contains(t, page, told)
	}
	letters := b.got()
	require.Len(t, letters, 1)
	m, err := mail.ReadMessage(strings.NewReader(letters[0].text))
	require.NoError(t, err)
	raw, err := io.ReadAll(quotedprintable.NewReader(m.Body))
	require.NoError(t, err)
	link := linkShape.FindString(string(raw))
	require.True(t, strings.HasPrefix(link, "https://school.example/join?token="), "%s", raw)
	token := link[strings.Index(link, "=")+1:]
	sc.anyone().form("/join", "token="+token+"&password=harbour+velvet+nine").is(http.StatusSeeOther)
	require.NotContains(t, page, token, "what was sent is shown nowhere")

	// Those who failed are tried again, and nobody else.
	b.lock(func() { delete(b.refuse, "lou@example.org") })
	c.form("/cohorts/"+sc.cohort+"/slips", "deed=mail&choice=failed").is(http.StatusSeeOther)
	is = sc.ended(taskMail)
	require.Equal(t, 3, is.Total)
	require.Len(t, b.got(), 2)
	require.Equal(t, "lou@example.org", b.got()[1].to)
}

func TestALineThatBreaksLosesOneLetter(t *testing.T) {
	sc, b := withPostbox(t)
	for _, who := range []string{"a1", "b1", "c1"} {
		sc.enrolled(who, who+"@example.org")
	}
	b.lock(func() { b.dropNext = true })
	sc.as("instructor").form("/cohorts/"+sc.cohort+"/slips", "deed=mail&choice=waiting").is(http.StatusSeeOther)
	is := sc.ended(taskMail)
	require.Len(t, is.Failed, 1)
	require.Contains(t, is.Failed[0].Why, "the line broke")
	require.Len(t, b.got(), 2, "the connection is opened again")
	require.Equal(t, 2, b.counted(&b.conns))
}

func TestAMailServerThatIsDownBreaksNoLink(t *testing.T) {
	sc, b := withPostbox(t)
	kim := sc.enrolled("kim", "kim@example.org")
	slips := string(sc.as("instructor").form("/cohorts/"+sc.cohort+"/slips", "deed=print&choice=waiting").is(http.StatusOK).body)
	token := strings.TrimPrefix(linkShape.FindString(slips), "https://school.example/join?token=")
	require.NoError(t, b.l.Close())
	sc.as("instructor").form("/cohorts/"+sc.cohort+"/slips", "deed=mail&choice=waiting").is(http.StatusSeeOther)
	require.Len(t, sc.ended(taskMail).Failed, 1)
	i, err := sc.s.store.Invite(t.Context(), token)
	require.NoError(t, err)
	require.Equal(t, kim, i.Person)
}

func TestWithoutAMailServerNothingIsSent(t *testing.T) {
	sc := newSchool(t)
	sc.enrolled("kim", "kim@example.org")
	got := sc.as("instructor").form("/cohorts/"+sc.cohort+"/slips", "deed=mail&choice=waiting").is(http.StatusConflict)
	require.Contains(t, string(got.body), "This server sends no mail")
	require.False(t, bytes.Contains(got.body, []byte("Send the links by mail")))
	sc.enrolled("a1", "")
	got = sc.as("instructor").form("/cohorts/"+sc.cohort+"/slips", "deed=print&choice=failed").is(http.StatusUnprocessableEntity)
	require.Contains(t, string(got.body), "There is nobody to whom this applies")
}

package server

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"math/big"
	"mime"
	"mime/quotedprintable"
	"net"
	"net/mail"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// postbox is a little mail server by RFC 5321 (4.1.1, 4.2), with STARTTLS of RFC
// 3207 and AUTH PLAIN of RFC 4954 where it is told so. It answers one command at
// a time and keeps what it was given.
type postbox struct {
	l        net.Listener
	cert     *tls.Certificate  // nil: no STARTTLS
	auth     string            // what AUTH PLAIN must give; empty: not offered
	refuse   map[string]string // receiver to the answer that it gets
	dropNext bool              // the line breaks after the next DATA

	mu      sync.Mutex
	letters []posted
	secured int
	conns   int
}

type posted struct{ from, to, text string }

func newPostbox(t *testing.T) *postbox {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	b := &postbox{l: l, refuse: map[string]string{}}
	var wg sync.WaitGroup
	wg.Go(func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			b.count(&b.conns)
			wg.Go(func() { b.talk(conn) })
		}
	})
	t.Cleanup(func() { _ = l.Close(); wg.Wait() })
	return b
}

func (b *postbox) got() []posted {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append([]posted(nil), b.letters...)
}

func (b *postbox) count(n *int) { b.lock(func() { *n++ }) }

// lock does something that a line in another goroutine must not see half done.
func (b *postbox) lock(f func()) { b.mu.Lock(); defer b.mu.Unlock(); f() }

func (b *postbox) counted(n *int) (is int) { b.lock(func() { is = *n }); return is }

// drops reports whether the line is to break now, which it does once.
func (b *postbox) drops() (is bool) { b.lock(func() { is, b.dropNext = b.dropNext, false }); return is }

// refusal is what a receiver is answered; empty: taken.
func (b *postbox) refusal(to string) (text string) {
	b.lock(func() { text = b.refuse[to] })
	return text
}

// terms are the certificate and what AUTH must give.
func (b *postbox) terms() (cert *tls.Certificate, auth string) {
	b.lock(func() { cert, auth = b.cert, b.auth })
	return cert, auth
}

// talk speaks with one client until it leaves.
func (b *postbox) talk(conn net.Conn) {
	defer func() { _ = conn.Close() }()
	_ = conn.SetDeadline(time.Now().Add(20 * time.Second))
	r := bufio.NewReader(conn)
	say := func(text string) { _, _ = fmt.Fprintf(conn, "%s\r\n", text) }
	say("220 post.example ready")
	var now posted
	cert, auth := b.terms()
	safe, signed := false, auth == ""
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return
		}
		verb, rest, _ := strings.Cut(strings.TrimRight(line, "\r\n"), " ")
		switch strings.ToUpper(verb) {
		case "EHLO":
			say(offers(cert != nil && !safe, auth != ""))
		case "STARTTLS":
			say("220 go ahead")
			c := tls.Server(conn, &tls.Config{Certificates: []tls.Certificate{*cert}})
			if c.Handshake() != nil {
				return
			}
			b.count(&b.secured)
			conn, r, safe = c, bufio.NewReader(c), true
		case "AUTH":
			if signed = rest == "PLAIN "+auth; signed {
				say("235 welcome")
			} else {
				say("535 no")
			}
		case "MAIL":
			if !signed {
				say("530 sign in first")
				continue
			}
			now = posted{from: inAngles(rest)}
			say("250 ok")
		case "RCPT":
			now.to = inAngles(rest)
			say(cmp.Or(b.refusal(now.to), "250 ok"))
		case "DATA":
			say("354 go on")
			now.text = dotted(r)
			if b.drops() {
				return
			}
			b.keep(now)
			say("250 taken")
		case "RSET", "NOOP":
			say("250 ok")
		case "QUIT":
			say("221 bye")
			return
		default:
			say("500 what")
		}
	}
}

// offers answers EHLO (RFC 5321, 4.1.1.1).
func offers(secure, sign bool) string {
	text := "250-post.example\r\n"
	if secure {
		text += "250-STARTTLS\r\n"
	}
	if sign {
		text += "250-AUTH PLAIN\r\n"
	}
	return text + "250 8BITMIME"
}

func (b *postbox) keep(p posted) { b.mu.Lock(); defer b.mu.Unlock(); b.letters = append(b.letters, p) }

func inAngles(text string) string {
	_, rest, _ := strings.Cut(text, "<")
	in, _, _ := strings.Cut(rest, ">")
	return in
}

// dotted reads a letter up to the line with a dot (RFC 5321, 4.5.2).
func dotted(r *bufio.Reader) string {
	var b strings.Builder
	for {
		line, err := r.ReadString('\n')
		if err != nil || line == ".\r\n" {
			return b.String()
		}
		b.WriteString(strings.TrimPrefix(line, "."))
	}
}

// secured gives the postbox a certificate for a name, and the pool that trusts it.
func (b *postbox) withTLS(t *testing.T, name string) *x509.CertPool {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{name}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour)}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	made := &tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}
	b.lock(func() { b.cert = made })
	pool := x509.NewCertPool()
	cert, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	pool.AddCert(cert)
	return pool
}

// elsewhere is a mailer to a host that is not this machine by its name, though
// the line leads to the postbox.
func (b *postbox) elsewhere(t *testing.T, m Mail) *mailer {
	m.Host, m.From = "post.example:587", "Dewclaw <dewclaw@school.example>"
	out, err := newMailer(m)
	require.NoError(t, err)
	out.dial = func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, network, b.l.Addr().String())
	}
	return out
}

func testLetter(to string) letter {
	return letter{mail.Address{Name: "Ödön Ágoston", Address: to}, "Your login", "Hello.\n.\nA line with a dot alone stands above; 日本.\n"}
}

// What is sent can be read again by the library's reader of RFC 5322 and MIME.
func TestLetterIsReadAsItWasWritten(t *testing.T) {
	from := mail.Address{Name: "The school", Address: "dewclaw@school.example"}
	raw, err := testLetter("odon@example.org").write(from, exampleTime)
	require.NoError(t, err)
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	to, err := m.Header.AddressList("To")
	require.NoError(t, err)
	require.Equal(t, []*mail.Address{{Name: "Ödön Ágoston", Address: "odon@example.org"}}, to)
	at, err := m.Header.Date()
	require.NoError(t, err)
	require.True(t, at.Equal(exampleTime))
	subject, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
	require.NoError(t, err)
	require.Equal(t, "Your login", subject)
	require.NotEmpty(t, m.Header.Get("Message-Id"))
	text, err := io.ReadAll(quotedprintable.NewReader(m.Body))
	require.NoError(t, err)
	require.Equal(t, "Hello.\r\n.\r\nA line with a dot alone stands above; 日本.\r\n", string(text))
	for _, line := range strings.Split(string(raw), "\r\n") {
		require.LessOrEqual(t, len(line), 998, "RFC 5322, 2.1.1")
		require.NotContains(t, line, "\n")
	}
}

func TestNothingGetsIntoAHeader(t *testing.T) {
	from := mail.Address{Address: "dewclaw@school.example"}
	for _, address := range []string{"", "nowhere", "a@b\r\nBcc: c@d", "a@b, c@d", "Kim <a@b.example>", "a@b.example\n", "a b@c.example", "-f@b.example", "ä@b.example",
		"a@", "@b", strings.Repeat("a", 65) + "@b.example", "a@" + strings.Repeat("b", 300)} {
		require.False(t, mailable(address), "%q", address)
		_, err := letter{to: mail.Address{Address: address}, subject: "x"}.write(from, exampleTime)
		require.Error(t, err, "%q", address)
	}
	for _, l := range []letter{{mail.Address{Name: "Kim\r\nBcc: c@d.example", Address: "a@b.example"}, "x", ""}, {mail.Address{Address: "a@b.example"}, "x\r\nBcc: c@d.example", ""}} {
		_, err := l.write(from, exampleTime)
		require.Error(t, err)
	}
	name := `Kim" <evil@b.example>, "` // a name is no syntax
	raw, err := letter{mail.Address{Name: name, Address: "a@b.example"}, "x", ""}.write(from, exampleTime)
	require.NoError(t, err)
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	to, err := m.Header.AddressList("To")
	require.NoError(t, err)
	require.Equal(t, []*mail.Address{{Name: name, Address: "a@b.example"}}, to)
	for _, good := range []string{"kim@example.org", "first.last+tag@sub.example.org", "o'neil@example.org"} {
		require.True(t, mailable(good), good)
	}
}

func sendAll(m *mailer, to ...string) error {
	p, err := m.open(context.Background())
	if err != nil {
		return err
	}
	defer p.close()
	for _, address := range to {
		raw, err := testLetter(address).write(*m.from, exampleTime)
		if err == nil {
			err = p.send(address, raw)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func TestLettersGoOverASecuredLineOnly(t *testing.T) {
	open := newPostbox(t)
	require.ErrorIs(t, sendAll(open.elsewhere(t, Mail{}), "kim@example.org"), errNoTLS)
	require.Empty(t, open.got())

	b := newPostbox(t)
	pool := b.withTLS(t, "post.example")
	b.lock(func() { b.auth = "AGRld2NsYXcAb3BlbiBzZXNhbWU=" }) // \0dewclaw\0open sesame (RFC 4616, 2)
	m := b.elsewhere(t, Mail{User: "dewclaw", Password: "open sesame"})
	require.Error(t, sendAll(m, "kim@example.org"), "a certificate that nobody vouches for")
	m.tls.RootCAs = pool
	require.NoError(t, sendAll(m, "kim@example.org", "ash@example.org"))
	require.Equal(t, 1, b.counted(&b.secured))
	require.Len(t, b.got(), 2)
	require.Equal(t, "dewclaw@school.example", b.got()[0].from)
	require.Equal(t, "ash@example.org", b.got()[1].to)
	require.Contains(t, b.got()[0].text, "\r\n\r\nHello.\r\n.\r\n", "a dot alone ends no letter")

	wrong := b.elsewhere(t, Mail{User: "dewclaw", Password: "guess"})
	wrong.tls.RootCAs = pool
	require.Equal(t, 535, mailCode(sendAll(wrong, "kim@example.org")))
	other := b.elsewhere(t, Mail{})
	other.tls.RootCAs, other.tls.ServerName = pool, "other.example"
	require.Error(t, sendAll(other, "kim@example.org"), "a certificate for another name")
}

func TestMailSettings(t *testing.T) {
	m, err := newMailer(Mail{})
	require.NoError(t, err)
	require.Nil(t, m)
	for _, row := range []struct {
		mail Mail
		is   error
	}{
		{Mail{Host: "post.example", From: "a@b.example"}, errMailHost}, {Mail{From: "a@b.example"}, errMailHost},
		{Mail{Host: "post.example:25", From: "nowhere"}, errMailFrom}, {Mail{Host: "post.example:25", From: "a@b.example\r\nBcc: c@d.example"}, errMailFrom},
		{Mail{Host: "post.example:25"}, errMailFrom},
	} {
		_, err := newMailer(row.mail)
		require.ErrorIs(t, err, row.is)
		_, err = New(Config{Data: t.TempDir(), Hash: cheap, Mail: row.mail})
		require.ErrorIs(t, err, row.is, "the server does not start")
	}
	for host, loop := range map[string]bool{"localhost:25": true, "127.0.0.1:25": true, "[::1]:25": true, "post.example:25": false, "192.0.2.1:25": false} {
		m, err := newMailer(Mail{Host: host, From: "a@b.example"})
		require.NoError(t, err)
		require.Equal(t, loop, m.loopback, host)
	}
}

func TestRefusalsAreToldWithoutLineBreaks(t *testing.T) {
	b := newPostbox(t)
	refused := "550-no\r\n550 such person " + strings.Repeat("x", 300)
	b.lock(func() { b.refuse["kim@example.org"] = refused })
	m, err := newMailer(Mail{Host: b.l.Addr().String(), From: "dewclaw@school.example"})
	require.NoError(t, err)
	err = sendAll(m, "kim@example.org")
	text := mailRefusal(err)
	require.Equal(t, 550, mailCode(err))
	require.True(t, strings.HasPrefix(text, "The mail server refused it: 550 no such person xxx"), text)
	require.Less(t, len(text), 200)
	require.NotContains(t, text, "\n")
	require.Equal(t, "The mail server could not be reached, or the line broke.", mailRefusal(errors.New("dial tcp 192.0.2.1: refused")))
}

// TestTryMail: each step is told, and where it stops a sentence says what to do.
func TestTryMail(t *testing.T) {
	t.Parallel()
	b := newPostbox(t)
	b.refuse["gone@example.org"] = "550 no such box"
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	nobody := free.Addr().String()
	require.NoError(t, free.Close())
	const from = "Dewclaw <dewclaw@example.edu>"
	for _, row := range []struct {
		host, from, to string
		wants          string // of the error; empty: the letter is taken
	}{
		{b.l.Addr().String(), from, "kim@example.org", ""},
		{b.l.Addr().String(), from, "gone@example.org", `refused at the step receiver: 550 "no such box"; ask whoever runs it`},
		{b.l.Addr().String(), from, "no address", "right would be such as you@example.edu"},
		{b.l.Addr().String(), "nobody", "kim@example.org", "the sender is an address"},
		{"mail.example.edu", from, "kim@example.org", "a host and a port"},
		{nobody, from, "kim@example.org", "does not answer as one; look at host and port of --smtp"},
	} {
		var steps []string
		err := TryMail(t.Context(), Mail{Host: row.host, From: row.from}, row.to, func(step string) { steps = append(steps, step) })
		if row.wants != "" {
			require.ErrorContains(t, err, row.wants)
			require.NotContains(t, err.Error(), "\n", "one sentence")
			continue
		}
		require.NoError(t, err)
		require.Len(t, steps, 2)
		require.Contains(t, steps[0], "on this machine, without TLS")
		require.Contains(t, steps[1], "to kim@example.org")
	}
	require.Len(t, b.got(), 1)
	require.Contains(t, b.got()[0].text, "Nothing is to be done.")
	require.NotContains(t, b.got()[0].text, "http", "a test holds no link")
}

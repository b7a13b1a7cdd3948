package server

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/mail"
	"net/smtp"
	"net/textproto"
	"strings"
	"time"
)

// Mail says how letters are sent. The zero value: they are not.
type Mail struct {
	Host     string // name and port of the mail server, such as mail.example.edu:587
	From     string // the sender's address, such as Dewclaw <dewclaw@example.edu>
	User     string // empty: without signing in
	Password string
}

// How long a mail server may take. RFC 5321, 4.5.3.2 recommends minutes for
// programs that queue; here a person waits, and what failed is told and can be
// sent again.
const (
	dialFor   = 15 * time.Second
	letterFor = 60 * time.Second
)

// tlsPort takes TLS from the first byte on (RFC 8314, 3.3).
const tlsPort = "465"

// Why the settings cannot be used.
var (
	errMailHost = errors.New("the mail server is a host and a port, such as mail.example.edu:587")
	errMailFrom = errors.New("the sender is an address, such as dewclaw@example.edu")
	errNoTLS    = errors.New("the mail server does not offer STARTTLS; passwords and links would be sent in the clear")
)

// mailer sends letters through one mail server.
type mailer struct {
	host, port string
	from       *mail.Address
	auth       smtp.Auth
	tls        *tls.Config
	loopback   bool // on this machine: nothing is on a wire
	dial       func(ctx context.Context, network, address string) (net.Conn, error)
}

// newMailer checks the settings; nil: letters are not sent.
func newMailer(m Mail) (*mailer, error) {
	if m == (Mail{}) {
		return nil, nil
	}
	host, port, err := net.SplitHostPort(m.Host)
	if err != nil || host == "" || port == "" {
		return nil, fmt.Errorf("%w, not %q", errMailHost, m.Host)
	}
	from, err := mail.ParseAddress(m.From)
	if err != nil || !mailable(from.Address) || !clean(from.Name) {
		return nil, fmt.Errorf("%w, not %q", errMailFrom, m.From)
	}
	out := &mailer{host: host, port: port, from: from, tls: &tls.Config{ServerName: host, MinVersion: tls.VersionTLS12},
		loopback: host == "localhost" || net.ParseIP(host).IsLoopback(), dial: (&net.Dialer{Timeout: dialFor}).DialContext}
	if m.User != "" {
		out.auth = smtp.PlainAuth("", m.User, m.Password, host) // it refuses over a line in the clear
	}
	return out, nil
}

// courier is a connection over which letters are sent one after the other.
type courier struct {
	m      *mailer
	conn   net.Conn
	client *smtp.Client
}

// open connects, secures the line and signs in.
func (m *mailer) open(ctx context.Context) (*courier, error) {
	conn, err := m.dial(ctx, "tcp", net.JoinHostPort(m.host, m.port))
	if err != nil {
		return nil, fmt.Errorf("connect: %w", err)
	}
	if err := conn.SetDeadline(time.Now().Add(letterFor)); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	if m.port == tlsPort {
		conn = tls.Client(conn, m.tls)
	}
	client, err := smtp.NewClient(conn, m.host)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("greeting: %w", err), conn.Close())
	}
	p := &courier{m, conn, client}
	if err := p.secure(); err != nil {
		return nil, errors.Join(err, client.Close())
	}
	return p, nil
}

// secure starts TLS, which only a server on this machine may lack, and signs in.
func (p *courier) secure() error {
	if err := p.client.Hello("localhost"); err != nil {
		return fmt.Errorf("hello: %w", err)
	}
	_, already := p.conn.(*tls.Conn)
	if offered, _ := p.client.Extension("STARTTLS"); !already && !p.m.loopback {
		if !offered {
			return errNoTLS
		}
		if err := p.client.StartTLS(p.m.tls); err != nil {
			return fmt.Errorf("starttls: %w", err)
		}
	}
	if p.m.auth == nil {
		return nil
	}
	if err := p.client.Auth(p.m.auth); err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	return nil
}

// send hands one letter over. After a refusal the connection can be used for the next.
func (p *courier) send(to string, letter []byte) error {
	if err := p.conn.SetDeadline(time.Now().Add(letterFor)); err != nil {
		return err
	}
	if err := p.client.Mail(p.m.from.Address); err != nil {
		return p.again(fmt.Errorf("sender: %w", err))
	}
	if err := p.client.Rcpt(to); err != nil {
		return p.again(fmt.Errorf("receiver: %w", err))
	}
	w, err := p.client.Data()
	if err != nil {
		return p.again(fmt.Errorf("letter: %w", err))
	}
	if _, err := w.Write(letter); err != nil {
		return errors.Join(fmt.Errorf("letter: %w", err), w.Close())
	}
	if err := w.Close(); err != nil {
		return p.again(fmt.Errorf("letter: %w", err))
	}
	return nil
}

// again makes the connection ready for the next letter after the server refused one.
func (p *courier) again(err error) error {
	var refused *textproto.Error
	if errors.As(err, &refused) {
		return errors.Join(err, p.client.Reset())
	}
	return err
}

func (p *courier) close() {
	if p.client.Quit() != nil {
		_ = p.client.Close() // the server was not polite; the letters are handed over or told as failed
	}
}

// mailCode is the mail server's code; 0: it gave none.
func mailCode(err error) int {
	var refused *textproto.Error
	if errors.As(err, &refused) {
		return refused.Code
	}
	return 0
}

// mailRefusal is what a mail server answered to one letter, for the person who sent
// it: what it said, cut short and without line breaks.
func mailRefusal(err error) string {
	var refused *textproto.Error
	switch {
	case errors.As(err, &refused):
		return fmt.Sprintf("The mail server refused it: %d %s", refused.Code, shorten(refused.Msg, 120))
	case errors.Is(err, errNoTLS):
		return sentence(errNoTLS.Error())
	case errors.Is(err, context.Canceled):
		return "The server was stopped before it was sent."
	}
	return "The mail server could not be reached, or the line broke."
}

func shorten(text string, most int) string {
	r := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(text, "?")), " "))
	if len(r) > most {
		return string(r[:most]) + "…"
	}
	return string(r)
}

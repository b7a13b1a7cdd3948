package server

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/mail"
	"net/textproto"
	"time"
)

// TryMail sends one letter without a link through a mail server and tells each
// step that was made. An error says in one sentence where it stopped and what to do.
func TryMail(ctx context.Context, settings Mail, to string, tell func(step string)) error {
	m, err := newMailer(settings)
	if err != nil {
		return err
	}
	if !mailable(to) {
		return fmt.Errorf("%q is no address that can be written to; right would be such as you@example.edu", to)
	}
	p, err := m.open(ctx)
	if err != nil {
		return adviseMail(m, err)
	}
	defer p.close()
	tell(fmt.Sprintf("%s answers%s.", settings.Host, p.line()))
	l := letter{to: mail.Address{Address: to}, subject: "A test of Dewclaw's mail",
		text: "This letter was sent to see whether Dewclaw can send any.\nIt can. Nothing is to be done.\n"}
	text, err := l.write(*m.from, time.Now())
	if err != nil {
		return err
	}
	if err := p.send(to, text); err != nil {
		return adviseMail(m, err)
	}
	tell(fmt.Sprintf("It took a letter from %s to %s. Look whether it arrives, and not among the unwanted.", m.from.Address, to))
	return nil
}

// line says how safe the line is and whether we signed in, for a sentence.
func (p *courier) line() string {
	text := ", on this machine, without TLS"
	if state, on := p.client.TLSConnectionState(); on {
		text = ", by " + tls.VersionName(state.Version)
	}
	if p.m.auth != nil {
		text += ", and lets us in"
	}
	return text
}

// adviseMail turns an error into one sentence that says what to do.
func adviseMail(m *mailer, err error) error {
	server := net.JoinHostPort(m.host, m.port)
	var refused *textproto.Error
	var unknown *net.DNSError
	var badCertificate *tls.CertificateVerificationError
	switch {
	case errors.As(err, &refused):
		return fmt.Errorf("the mail server %s refused at the step %s; ask whoever runs it, or look at sender, user and password", server, shorten(err.Error(), 200))
	case errors.Is(err, errNoTLS):
		return fmt.Errorf("%s: %w; use its port with TLS, mostly 465 or 587", server, errNoTLS)
	case errors.As(err, &badCertificate):
		return fmt.Errorf("the certificate of %s is not one that this machine believes; name the server as its certificate does (%w)", server, err)
	case errors.As(err, &unknown):
		return fmt.Errorf("nothing is known under the name %s; look at the spelling of --smtp (%w)", m.host, err)
	}
	return fmt.Errorf("the mail server %s does not answer as one; look at host and port of --smtp, and whether a firewall is between (%w)", server, err)
}

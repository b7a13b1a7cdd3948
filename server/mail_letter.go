package server

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"mime"
	"mime/quotedprintable"
	"net/mail"
	"strings"
	"time"
	"unicode"
)

// letter is what is sent to one person.
type letter struct {
	to      mail.Address
	subject string
	text    string // lines end with \n
}

// clean reports whether a text holds no control character: what goes into a
// header can then not begin another.
func clean(text string) bool { return !strings.ContainsFunc(text, unicode.IsControl) }

// mailable reports whether an address can be written to: one address and nothing
// else (RFC 5321, 4.1.2), without control characters or spaces, in ASCII, for
// not every server on the way takes others.
func mailable(address string) bool {
	a, err := mail.ParseAddress(address)
	if err != nil || a.Address != address || a.Name != "" || len(address) > 254 {
		return false
	}
	local, domain, _ := strings.Cut(address, "@")
	return len(local) <= 64 && domain != "" && !strings.HasPrefix(address, "-") &&
		!strings.ContainsFunc(address, func(r rune) bool { return r <= ' ' || r >= 127 })
}

// write gives a letter the form of RFC 5322 with MIME: every value in a header is
// encoded by the library or our own, none as it came.
func (l letter) write(from mail.Address, at time.Time) ([]byte, error) {
	if !mailable(l.to.Address) || !clean(l.to.Name) || !clean(l.subject) {
		return nil, fmt.Errorf("letter: an address, name or subject that cannot stand in a header")
	}
	_, domain, _ := strings.Cut(from.Address, "@")
	var b bytes.Buffer
	for _, h := range [][2]string{
		{"From", from.String()},
		{"To", l.to.String()},
		{"Subject", mime.QEncoding.Encode("utf-8", l.subject)},
		{"Date", at.Format(time.RFC1123Z)},
		{"Message-ID", "<" + strings.ToLower(rand.Text()) + "@" + domain + ">"},
		{"Auto-Submitted", "auto-generated"}, // RFC 3834, 5: no holiday notice comes back
		{"MIME-Version", "1.0"},
		{"Content-Type", "text/plain; charset=utf-8"},
		{"Content-Transfer-Encoding", "quoted-printable"},
	} {
		fmt.Fprintf(&b, "%s: %s\r\n", h[0], h[1])
	}
	b.WriteString("\r\n")
	w := quotedprintable.NewWriter(&b)
	if _, err := w.Write([]byte(strings.ReplaceAll(l.text, "\n", "\r\n"))); err != nil {
		return nil, fmt.Errorf("letter: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("letter: %w", err)
	}
	return b.Bytes(), nil
}

// linkLetter is the letter with a one-time link.
func linkLetter(s slip, until string) letter {
	return letter{to: mail.Address{Name: s.Name, Address: s.Email}, subject: "Choose your password for Dewclaw",
		text: "Hello " + s.Name + ",\n\n" +
			"your school uses Dewclaw to practise the examination of animals on simulated patients. " +
			"With this link you choose your password:\n\n" + s.Link + "\n\n" +
			"Your login is: " + s.Login + "\n\n" +
			"The link works once, until " + until + ". An earlier link works no more.\n" +
			"If you expected no such letter, do nothing and tell your instructor.\n"}
}

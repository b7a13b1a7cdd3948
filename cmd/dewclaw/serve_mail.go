package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/pflag"

	"dewclaw/server"
)

// Where user and password of the mail server stand, where it asks for them: never
// on the command line, which every user of the machine can read.
const (
	mailUser     = "DEWCLAW_SMTP_USER"
	mailPassword = "DEWCLAW_SMTP_PASSWORD"
)

// mailFlags are the words of serve about letters.
type mailFlags struct{ host, from, secret string }

func (f *mailFlags) add(flags *pflag.FlagSet) {
	flags.StringVar(&f.host, "smtp-host", "", "mail server that takes one-time links, such as mail.example.edu:587; none if empty")
	flags.StringVar(&f.from, "smtp-from", "", "sender of the letters, such as 'Dewclaw <dewclaw@example.edu>'")
	flags.StringVar(&f.secret, "smtp-secret", "", "file with user and password of the mail server, a line each; else "+mailUser+" and "+mailPassword+" of the environment")
}

// mail is what the server is told. url is its public address, which the links in
// letters begin with.
func (f mailFlags) mail(url string) (server.Mail, error) {
	switch {
	case f == (mailFlags{}):
		return server.Mail{}, nil
	case f.host == "" || f.from == "":
		return server.Mail{}, &usageError{fmt.Errorf("letters need both --smtp-host and --smtp-from")}
	case url == "":
		return server.Mail{}, &usageError{fmt.Errorf("--smtp-host needs --url too: the links in letters begin with the public address")}
	}
	m := server.Mail{Host: f.host, From: f.from, User: os.Getenv(mailUser), Password: os.Getenv(mailPassword)}
	if f.secret == "" {
		return m, nil
	}
	raw, err := os.ReadFile(f.secret)
	if err != nil {
		return m, fmt.Errorf("--smtp-secret: %w", err)
	}
	lines := strings.Split(strings.TrimRight(strings.ReplaceAll(string(raw), "\r\n", "\n"), "\n"), "\n")
	if len(lines) != 2 || lines[0] == "" || lines[1] == "" {
		return m, &usageError{fmt.Errorf("--smtp-secret %s has %d lines; right would be two: the user, then the password", f.secret, len(lines))}
	}
	m.User, m.Password = lines[0], lines[1]
	return m, nil
}

package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"dewclaw/server"
)

// mailFlags are the words of serve and mail-test about letters.
type mailFlags struct{ host, from, secret string }

func (f *mailFlags) add(flags *pflag.FlagSet) {
	flags.StringVar(&f.host, "smtp", "", "mail server that takes one-time links, such as mail.example.edu:587; none if empty")
	flags.StringVar(&f.from, "smtp-from", "", "sender of the letters, such as 'Dewclaw <dewclaw@example.edu>'")
	flags.StringVar(&f.secret, "smtp-secret", "", "file with user and password of the mail server, a line each; else "+mailUser+" and "+mailPassword+" of the environment")
}

// mail is what the server is told.
func (f mailFlags) mail() (server.Mail, error) {
	switch {
	case f == (mailFlags{}):
		return server.Mail{}, nil
	case f.host == "" || f.from == "":
		return server.Mail{}, &usageError{fmt.Errorf("letters need both --smtp and --smtp-from")}
	}
	m := server.Mail{Host: f.host, From: f.from, User: os.Getenv(mailUser), Password: os.Getenv(mailPassword)}
	if f.secret == "" {
		return m, nil
	}
	raw, err := os.ReadFile(f.secret)
	if err != nil {
		return m, fmt.Errorf("--smtp-secret %s cannot be read; give this user the right to it, or name another file (%w)", f.secret, err)
	}
	lines := strings.Split(strings.TrimRight(strings.ReplaceAll(string(raw), "\r\n", "\n"), "\n"), "\n")
	if len(lines) != 2 || lines[0] == "" || lines[1] == "" {
		return m, &usageError{fmt.Errorf("--smtp-secret %s has %d lines; right would be two: the user, then the password", f.secret, len(lines))}
	}
	m.User, m.Password = lines[0], lines[1]
	return m, nil
}

func newMailTestCommand() *cobra.Command {
	var f mailFlags
	cmd := &cobra.Command{
		Use:   "mail-test ADDRESS",
		Short: "Send one letter, to see whether the mail server takes any",
		Long: "Send one letter to ADDRESS through the mail server that serve would use, and say\n" +
			"step by step how far it came. The letter says that it is a test; it holds no link.\n\n" +
			"Every flag may stand in the environment instead, under the name in brackets.",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return &usageError{fmt.Errorf("mail-test takes one address, such as you@example.edu")}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return mailTest(cmd.Context(), f, args[0], cmd.OutOrStdout())
		},
	}
	f.add(cmd.Flags())
	return withEnvironment(cmd)
}

func mailTest(ctx context.Context, f mailFlags, to string, out io.Writer) error {
	m, err := f.mail()
	if err != nil {
		return err
	}
	if f.host == "" {
		return &usageError{fmt.Errorf("mail-test needs --smtp and --smtp-from, as serve does")}
	}
	return server.TryMail(ctx, m, to, func(step string) { fmt.Fprintln(out, step) })
}

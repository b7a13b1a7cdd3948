package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"dewclaw/server"
	"dewclaw/server/store"
)

// defaultAddr is where serve and demo listen unless told otherwise.
const defaultAddr = "127.0.0.1:8080"

// drain is how long readiness says no before connections are closed, so that
// the proxy in front sends no more of them.
const drain = 3 * time.Second

func newServeCommand() *cobra.Command {
	var f serveFlags
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Run the server of one school",
		Long: "Run the server of one school. Its database, and the school's own patients in\n" +
			"library/cases, are in the data folder. The first start prints a link that works\n" +
			"once and makes the coordinator's account; the coordinator invites the others.\n\n" +
			"Plain http is served on this machine only. For others give --tls-cert and --tls-key,\n" +
			"or put a proxy that speaks https before it and name it with --trusted-proxy (or say\n" +
			"--behind-proxy where nobody else can reach the address), with --url.\n\n" +
			"Every flag may stand in the environment instead, under the name in brackets.\n" +
			"SIGHUP reads certificate and key again; SIGTERM finishes what was asked and ends.",
		Args: noWords,
		RunE: func(cmd *cobra.Command, _ []string) error {
			log := slog.New(slog.NewJSONHandler(cmd.ErrOrStderr(), nil))
			return serve(cmd.Context(), f, cmd.OutOrStdout(), log)
		},
	}
	f.add(cmd.Flags())
	return withEnvironment(cmd)
}

// noWords refuses words that are no flags.
func noWords(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return &usageError{fmt.Errorf("%s takes no word %q; see 'dewclaw %s --help'", cmd.Name(), args[0], cmd.Name())}
	}
	return nil
}

func serve(ctx context.Context, f serveFlags, out io.Writer, log *slog.Logger) error {
	boundMemory(ctx)
	cfg, err := f.config(log)
	if err != nil {
		return err
	}
	stop, err := f.secure(ctx, &cfg)
	if err != nil {
		return err
	}
	defer stop()
	l, err := listen(f.addr)
	if err != nil {
		return err
	}
	s, err := server.New(cfg)
	if errors.Is(err, store.ErrURL) {
		err = &usageError{fmt.Errorf("--database: %w", err)}
	}
	if err != nil {
		return errors.Join(err, l.Close())
	}
	public := f.public(l.Addr())
	link, err := s.SetupLink(ctx)
	if ctx.Err() != nil { // told to stop before it had begun: that is no failure
		return errors.Join(l.Close(), s.Close())
	}
	if err != nil {
		return errors.Join(err, l.Close(), s.Close())
	}
	where := s.DataDir()
	if f.database != "" {
		where = s.Store().Name()
	}
	fmt.Fprintf(out, "Dewclaw answers on %s. Its data is in %s.\n", public, where)
	if link != "" {
		fmt.Fprintf(out, "Nobody has an account yet. Make the coordinator's here; the link works once:\n\n  %s%s\n\n", public, link)
	}
	return errors.Join(s.Serve(ctx, l), s.Close())
}

// secure makes the server speak https where a certificate is named, and listens for
// the signal to read it again, until stop. Without one the signal changes nothing.
func (f serveFlags) secure(ctx context.Context, cfg *server.Config) (stop func(), err error) {
	var c *certificate
	if f.tlsCert != "" {
		if c, err = loadCertificate(f.tlsCert, f.tlsKey); err != nil {
			return nil, err
		}
		c.warn(cfg.Log, time.Now())
		cfg.TLS = &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: c.get}
	}
	return onHangUp(ctx, func() {
		if c == nil {
			cfg.Log.Info("told to read the certificate again, but none is named")
			return
		}
		c.reload(cfg.Log)
	}), nil
}

// public is the address that people type, without a slash at the end.
func (f serveFlags) public(at net.Addr) string {
	switch {
	case f.url != "":
		return strings.TrimSuffix(f.url, "/")
	case f.tlsCert != "":
		return "https://" + at.String()
	}
	return "http://" + at.String()
}

// nextPort is the same host with the next port.
func nextPort(addr string) string {
	host, port, err := net.SplitHostPort(addr)
	n, err2 := strconv.Atoi(port)
	if err != nil || err2 != nil || n >= 65535 {
		return "127.0.0.1:0"
	}
	return net.JoinHostPort(host, strconv.Itoa(n+1))
}

// listen opens the address, or says in one sentence what to do.
func listen(addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	switch {
	case err == nil:
		return l, nil
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("%s is in use by another program: stop that one, or choose another port, for example --addr %s", addr, nextPort(addr))
	case errors.Is(err, syscall.EACCES) || errors.Is(err, os.ErrPermission):
		return nil, fmt.Errorf("this user may not listen on %s: choose a port above 1023, for example --addr %s", addr, defaultAddr)
	}
	return nil, fmt.Errorf("cannot listen on %s: choose an address of this machine, for example --addr %s (%w)", addr, defaultAddr, err)
}

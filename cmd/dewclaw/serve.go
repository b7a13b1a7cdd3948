package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/url"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"dewclaw/server"
)

// defaultAddr is where serve and demo listen unless told otherwise.
const defaultAddr = "127.0.0.1:8080"

// drain is how long readiness says no before connections are closed, so that
// the proxy in front sends no more of them.
const drain = 3 * time.Second

// serveFlags are the words of serve.
type serveFlags struct {
	addr, data, url, metrics string
	behindProxy              bool
	mail                     mailFlags
}

func newServeCommand() *cobra.Command {
	var f serveFlags
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Run the server of one school",
		Long: "Run the server of one school. Its database, and the school's own patients in\n" +
			"library/cases, are in the data folder. The first start prints a link that works\n" +
			"once and makes the coordinator's account; the coordinator invites the others.\n\n" +
			"Plain http is served on this machine only. For others put a proxy that speaks\n" +
			"https before it, and say so with --behind-proxy and --url.",
		Args: noWords,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return serve(cmd.Context(), f, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.addr, "addr", defaultAddr, "address to listen on")
	flags.StringVar(&f.data, "data", "dewclaw-data", "folder of the database and of the school's own library")
	flags.StringVar(&f.url, "url", "", "public address, such as https://dewclaw.example.edu")
	flags.BoolVar(&f.behindProxy, "behind-proxy", false, "a proxy before this server speaks https")
	f.mail.add(flags)
	flags.StringVar(&f.metrics, "metrics", "", "private address for /metrics and /debug/pprof; none if empty")
	return cmd
}

// noWords refuses words that are no flags.
func noWords(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return &usageError{fmt.Errorf("%s takes no word %q; see 'dewclaw %s --help'", cmd.Name(), args[0], cmd.Name())}
	}
	return nil
}

func serve(ctx context.Context, f serveFlags, out, errw io.Writer) error {
	if err := f.check(); err != nil {
		return err
	}
	letters, err := f.mail.mail(f.url)
	if err != nil {
		return err
	}
	l, err := listen(f.addr)
	if err != nil {
		return err
	}
	cfg := server.Config{Data: f.data, URL: strings.TrimSuffix(f.url, "/"), BehindProxy: f.behindProxy, Metrics: f.metrics, Mail: letters,
		Log: slog.New(slog.NewJSONHandler(errw, nil))}
	if f.behindProxy {
		cfg.Drain = drain
	}
	s, err := server.New(cfg)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	public := f.url
	if public == "" {
		public = "http://" + l.Addr().String()
	}
	link, err := s.SetupLink(ctx)
	if ctx.Err() != nil { // told to stop before it had begun: that is no failure
		return errors.Join(l.Close(), s.Close())
	}
	if err != nil {
		return errors.Join(err, l.Close(), s.Close())
	}
	fmt.Fprintf(out, "Dewclaw answers on %s. Its data is in %s.\n", public, s.DataDir())
	if link != "" {
		fmt.Fprintf(out, "Nobody has an account yet. Make the coordinator's here; the link works once:\n\n  %s%s\n\n", strings.TrimSuffix(public, "/"), link)
	}
	return errors.Join(s.Serve(ctx, l), s.Close())
}

// check refuses what would send passwords over a network in the clear.
func (f serveFlags) check() error {
	if f.url != "" {
		u, err := url.Parse(f.url)
		if err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https") || strings.Trim(u.Path, "/") != "" {
			return &usageError{fmt.Errorf("--url %q is no address; right would be https:// and a host, without a path", f.url)}
		}
	}
	if f.behindProxy {
		return nil
	}
	loopback, err := isLoopback(f.addr)
	if err != nil {
		return &usageError{err}
	}
	if !loopback {
		return &usageError{fmt.Errorf("--addr %s can be reached from other machines, and plain http would show passwords on the way; listen on %s, or put a proxy that speaks https before it and add --behind-proxy", f.addr, defaultAddr)}
	}
	return nil
}

// isLoopback says whether an address is reachable from this machine only.
func isLoopback(addr string) (bool, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return false, fmt.Errorf("--addr %q is no address; right would be a host and a port, such as %s", addr, defaultAddr)
	}
	if host == "localhost" {
		return true, nil
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback(), nil
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
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("this user may not listen on %s: choose a port above 1023, for example --addr %s", addr, defaultAddr)
	}
	return nil, fmt.Errorf("cannot listen on %s: choose an address of this machine, for example --addr %s (%w)", addr, defaultAddr, err)
}

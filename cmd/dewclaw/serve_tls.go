package main

import (
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"sync"
	"sync/atomic"
	"syscall"
	"time"
)

// certificateSoon is how long before its end a certificate is warned of.
const certificateSoon = 14 * 24 * time.Hour

// certificate is what the server shows to browsers; it can be read again while it runs.
type certificate struct {
	cert, key string // files
	now       atomic.Pointer[tls.Certificate]
}

func loadCertificate(cert, key string) (*certificate, error) {
	c := &certificate{cert: cert, key: key}
	return c, c.load()
}

// load reads both files; where that fails the one in use stays.
func (c *certificate) load() error {
	for flag, path := range map[string]string{"--tls-cert": c.cert, "--tls-key": c.key} {
		f, err := os.Open(path)
		if err != nil {
			return fmt.Errorf("%s %s cannot be read; give this user the right to it, or name another file (%w)", flag, path, err)
		}
		_ = f.Close() // nothing was written
	}
	pair, err := tls.LoadX509KeyPair(c.cert, c.key)
	if err != nil {
		return fmt.Errorf("--tls-cert %s and --tls-key %s are no pair of a certificate and its key in PEM; name the chain of the certificate and the key that it was made with (%w)", c.cert, c.key, err)
	}
	c.now.Store(&pair)
	return nil
}

func (c *certificate) get(*tls.ClientHelloInfo) (*tls.Certificate, error) { return c.now.Load(), nil }

// reload reads the files again and says what came of it.
func (c *certificate) reload(log *slog.Logger) {
	if err := c.load(); err != nil {
		log.Error("the certificate of before stays", "cause", err.Error())
		return
	}
	log.Info("the certificate was read again", "until", c.now.Load().Leaf.NotAfter)
	c.warn(log, time.Now())
}

// warn says where a certificate is over or nearly so.
func (c *certificate) warn(log *slog.Logger, now time.Time) {
	if end := c.now.Load().Leaf.NotAfter; end.Sub(now) < certificateSoon {
		log.Warn("the certificate ends soon or has ended: renew it, then send SIGHUP", "until", end)
	}
}

// onHangUp calls f for every SIGHUP until stop or the end of ctx.
func onHangUp(ctx context.Context, f func()) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	came := make(chan os.Signal, 1)
	signal.Notify(came, syscall.SIGHUP)
	var ended sync.WaitGroup
	ended.Go(func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-came:
				f()
			}
		}
	})
	return func() {
		signal.Stop(came)
		cancel()
		ended.Wait()
	}
}

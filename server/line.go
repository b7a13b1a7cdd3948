package server

import (
	"net/http"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// peerOf is the address that a connection comes from; the zero one where it has none.
func peerOf(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return at.Addr().Unmap().WithZone("")
}

// trusts says whether a peer is a proxy of ours, so that what it forwards is believed.
func (s *Server) trusts(peer netip.Addr) bool {
	for _, p := range s.cfg.Proxies {
		if p.Contains(peer) {
			return true
		}
	}
	return false
}

// inTheClear says whether a request came over a line that others can read. Where
// proxies are named, only they and this machine may come without TLS; of what a
// proxy forwards the last word counts, for the proxy itself has written it.
func (s *Server) inTheClear(r *http.Request) bool {
	if r.TLS != nil || len(s.cfg.Proxies) == 0 {
		return false // package main has seen to it that the address is not for others
	}
	peer := peerOf(r)
	if !s.trusts(peer) {
		return !peer.IsLoopback()
	}
	all := r.Header.Values("X-Forwarded-Proto")
	if len(all) == 0 {
		return false // it speaks https: that is why it was named
	}
	last := all[len(all)-1]
	last = strings.TrimSpace(last[strings.LastIndex(last, ",")+1:])
	return !strings.EqualFold(last, "https")
}

// secureLine refuses what came in the clear, or sends a browser to the public
// address. Whether the server lives may be asked over any line.
func (s *Server) secureLine(c *gin.Context) error {
	if path := c.FullPath(); path == "/healthz" || path == "/readyz" || !s.inTheClear(c.Request) {
		return nil
	}
	looks := c.Request.Method == http.MethodGet || c.Request.Method == http.MethodHead
	if looks && kindOf(c) == page && strings.HasPrefix(s.cfg.URL, "https://") {
		return s.redirect(c, s.cfg.URL+c.Request.URL.RequestURI())
	}
	return ErrClear
}

// clientOf is the address of who sent a request, through the proxies that are
// trusted. It is written down where a sign-in fails, and nowhere else.
func clientOf(c *gin.Context) string { return c.ClientIP() }

// proxyTexts are the trusted proxies as gin takes them.
func (s *Server) proxyTexts() []string {
	var all []string
	for _, p := range s.cfg.Proxies {
		all = append(all, p.String())
	}
	return all
}

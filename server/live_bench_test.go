package server

import (
	"net/http"
	"runtime"
	"testing"
)

// BenchmarkLive measures what a visit holds in memory: just opened, and after all
// acts of a robot that does everything.
func BenchmarkLive(b *testing.B) {
	sc := newSchool(b, func(c *Config) { c.Burst = 1 << 20 })
	tokens := signPeersIn(b, sc)
	for b.Loop() {
		before := heap()
		visits := openPeerVisits(b, sc, tokens)
		opened := heap()
		acts := 0
		for _, v := range visits {
			c := &client{sc: sc, token: v.token}
			for i, post := range v.posts {
				c.send(http.MethodPost, v.path, post.Body(nil, i+1, retryFor(i+1))).is(http.StatusCreated)
			}
			acts += len(v.posts)
		}
		after := heap()
		b.ReportMetric((opened-before)/float64(len(visits)), "KB-opened")
		b.ReportMetric((after-before)/float64(len(visits)), "KB-done")
		b.ReportMetric(float64(acts)/float64(len(visits)), "acts")
		runtime.KeepAlive(visits)
	}
}

// heap is what is in use, in KB of 1,000 bytes.
func heap() float64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc) / 1000
}

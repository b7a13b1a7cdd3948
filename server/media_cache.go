package server

import (
	"container/list"
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// mostMedia bytes of clips are kept, and renders hold one core at most.
const (
	mostMedia   = 32 << 20
	mostRenders = 1
	clipExtra   = 512 // bytes that a kept clip takes besides its own: keys, list, map
)

// clipKey names a clip: whose visit, which act, heard or seen.
type clipKey struct {
	of   string // an attempt's id, or what else a clip belongs to
	n    int
	what string
}

// clip is a rendered medium. Its bytes are shared and never change.
type clip struct {
	kind string // media type
	body []byte
}

// mediaCache renders a clip once for all who ask, however they ask, and keeps
// the clips used last.
type mediaCache struct {
	most   int
	places chan struct{} // of those who render
	meters mediaMeters

	mu      sync.Mutex
	size    int
	kept    map[clipKey]*list.Element // of keptClip
	order   *list.List                // used last stands first
	flights map[clipKey]*flight
}

type keptClip struct {
	key clipKey
	clip
}

// flight is a clip that is being rendered, or waits for its turn.
type flight struct {
	done    chan struct{} // closed once clip and err stand
	clip    clip
	err     error
	waiting int // requests; guarded by mediaCache.mu
	stop    context.CancelFunc
}

// mediaMeters are figures for the private address: no label names a visit.
type mediaMeters struct {
	asked   *prometheus.CounterVec
	bytes   prometheus.Gauge
	clips   prometheus.Gauge
	renders prometheus.Histogram
}

func newMediaMeters() mediaMeters {
	return mediaMeters{
		asked: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "dewclaw_media_requests_total",
			Help: "Sounds and pictures asked for: hit (kept), joined (another request renders it), miss (rendered for it)."}, []string{"result"}),
		bytes: prometheus.NewGauge(prometheus.GaugeOpts{Name: "dewclaw_media_cache_bytes", Help: "Bytes of sounds and pictures that are kept."}),
		clips: prometheus.NewGauge(prometheus.GaugeOpts{Name: "dewclaw_media_cache_clips", Help: "Sounds and pictures that are kept."}),
		renders: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "dewclaw_media_render_duration_seconds",
			Help: "Time to render one sound or picture, waiting left out.", Buckets: buckets}),
	}
}

func (m mediaMeters) collectors() []prometheus.Collector {
	return []prometheus.Collector{m.asked, m.bytes, m.clips, m.renders}
}

func newMediaCache(most int) *mediaCache {
	return &mediaCache{most: most, places: make(chan struct{}, mostRenders), meters: newMediaMeters(),
		kept: map[clipKey]*list.Element{}, order: list.New(), flights: map[clipKey]*flight{}}
}

// get returns a kept clip, or has it rendered. Requests for the same clip share
// one rendering; one that gives up leaves the others theirs, and when the last
// one gives up, a rendering that has not begun leaves its place in the queue.
func (m *mediaCache) get(ctx context.Context, key clipKey, render func() (clip, error)) (clip, error) {
	m.mu.Lock()
	if e := m.kept[key]; e != nil {
		m.order.MoveToFront(e)
		m.mu.Unlock()
		m.meters.asked.WithLabelValues("hit").Inc()
		return e.Value.(keptClip).clip, nil
	}
	f, result := m.flights[key], "joined"
	if f == nil {
		f, result = m.take(key, render), "miss"
	}
	f.waiting++
	m.mu.Unlock()
	m.meters.asked.WithLabelValues(result).Inc()
	select {
	case <-f.done:
		return f.clip, f.err
	case <-ctx.Done():
		m.leave(key, f)
		return clip{}, ctx.Err()
	}
}

// take begins a rendering that outlives whoever asked first. The caller holds m.mu.
func (m *mediaCache) take(key clipKey, render func() (clip, error)) *flight {
	ctx, stop := context.WithCancel(context.Background())
	f := &flight{done: make(chan struct{}), stop: stop}
	m.flights[key] = f
	go func() {
		defer stop()
		f.clip, f.err = m.render(ctx, render)
		m.land(key, f)
	}()
	return f
}

// leave takes a request off a flight. A flight that nobody waits for is no
// longer joined: whoever comes next begins anew.
func (m *mediaCache) leave(key clipKey, f *flight) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if f.waiting--; f.waiting > 0 {
		return
	}
	f.stop()
	if m.flights[key] == f {
		delete(m.flights, key)
	}
}

// render waits for its turn and renders. A panic is an error of this clip.
func (m *mediaCache) render(ctx context.Context, render func() (clip, error)) (c clip, err error) {
	select {
	case m.places <- struct{}{}:
	case <-ctx.Done():
		return clip{}, ctx.Err()
	}
	defer func() { <-m.places }()
	if ctx.Err() != nil { // given up while it waited
		return clip{}, ctx.Err()
	}
	defer func() {
		if cause := recover(); cause != nil {
			c, err = clip{}, fmt.Errorf("panic of type %T while rendering", cause)
		}
	}()
	began := time.Now()
	c, err = render()
	m.meters.renders.Observe(time.Since(began).Seconds())
	return c, err
}

// land hands a rendered clip to all who wait, and keeps it.
func (m *mediaCache) land(key clipKey, f *flight) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.flights[key] == f {
		delete(m.flights, key)
	}
	if f.err == nil {
		m.keep(key, f.clip)
	}
	close(f.done)
}

// keep puts a clip in front and drops the ones used longest ago until all fit.
func (m *mediaCache) keep(key clipKey, c clip) {
	size := len(c.body) + clipExtra
	if m.kept[key] != nil || size > m.most {
		return
	}
	for m.size+size > m.most {
		last := m.order.Back()
		old := m.order.Remove(last).(keptClip)
		delete(m.kept, old.key)
		m.size -= len(old.body) + clipExtra
	}
	m.kept[key] = m.order.PushFront(keptClip{key, c})
	m.size += size
	m.meters.bytes.Set(float64(m.size))
	m.meters.clips.Set(float64(m.order.Len()))
}

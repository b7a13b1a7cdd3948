package server

import (
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// enoughRoom is the free disk below which no new visit begins, where Config does
// not say: it holds the acts of more than 10,000 visits. Our own figure, no source.
const enoughRoom = 256 << 20

// roomFor is how long a look at the disk is believed.
const roomFor = 2 * time.Second

// diskRoom knows how much of the database's disk is free. Below the floor nothing new
// is begun, so that what has begun can go on to its end.
type diskRoom struct {
	floor uint64 // bytes; 0: there is none
	look  func() (free uint64, known bool)
	tell  func(free, floor uint64, short bool) // called when it changes

	mu    sync.Mutex
	at    time.Time // of the last look, by the machine's clock
	free  uint64
	known bool
	short bool
}

// newRoom watches the disk of a folder. floor as in Config.
func newRoom(folder string, floor int64, tell func(free, floor uint64, short bool)) *diskRoom {
	r := &diskRoom{tell: tell, look: func() (uint64, bool) { return freeOn(folder) }}
	switch {
	case floor == 0:
		r.floor = enoughRoom
	case floor > 0:
		r.floor = uint64(floor)
	}
	return r
}

// now is how much is free, and whether that is known and below the floor.
func (r *diskRoom) now() (free uint64, known, short bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.at.IsZero() || time.Since(r.at) > roomFor {
		r.at = time.Now()
		r.free, r.known = r.look()
		short := r.known && r.free < r.floor
		if short != r.short {
			r.short = short
			r.tell(r.free, r.floor, short)
		}
	}
	return r.free, r.known, r.short
}

// hasRoom refuses to begin something new on a disk that is nearly full. What has
// begun goes on: acts, sheets and the next patients of a sitting are not asked.
func (s *Server) hasRoom() error {
	if s.room == nil {
		return nil
	}
	if _, _, short := s.room.now(); short {
		return ErrRoom
	}
	return nil
}

// tellRoom writes down that the disk became nearly full, or has room again.
func (s *Server) tellRoom(free, floor uint64, short bool) {
	if short {
		s.log.Error("the disk is nearly full: no new visit begins until there is room", "free_bytes", free, "floor_bytes", floor)
		return
	}
	s.log.Info("the disk has room again", "free_bytes", free, "floor_bytes", floor)
}

// roomMeters are the figures of the disk.
func (s *Server) roomMeters() []prometheus.Collector {
	return []prometheus.Collector{
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "dewclaw_disk_free_bytes", Help: "Free bytes of the disk of the data folder; -1 where the system does not say."}, func() float64 {
			free, known, _ := s.room.now()
			if !known {
				return -1
			}
			return float64(free)
		}),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "dewclaw_disk_floor_bytes", Help: "Below this no new visit begins; 0 is none."}, func() float64 { return float64(s.room.floor) }),
	}
}

package main

import (
	"context"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"time"
)

// What a server may hold: half again of what is in use, and some for what comes and
// goes at once, such as the 19 MB of a password's hash. With it a hall of a thousand
// fits into 300 MB. Without a limit the system would get back what was freed only
// slowly.
const (
	collectAt   = 50       // garbage before it is collected, in percent of what is in use
	limitAt     = 140      // limit, in percent of what is in use
	limitBeside = 32 << 20 // and as much beside
	limitLeast  = 96 << 20
	limitEvery  = time.Second
)

// boundMemory keeps memory near what is in use until ctx ends. Whoever sets GOGC or
// GOMEMLIMIT knows better.
func boundMemory(ctx context.Context) {
	if os.Getenv("GOGC")+os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(collectAt)
	go func() {
		tick := time.NewTicker(limitEvery)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
				debug.SetMemoryLimit(memoryLimit(inUse()))
			}
		}
	}()
}

// memoryLimit is the limit where so many bytes are in use.
func memoryLimit(used uint64) int64 { return max(limitLeast, int64(used)/100*limitAt+limitBeside) }

// inUse is what the last collection of garbage left.
func inUse() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(s)
	if s[0].Value.Kind() != metrics.KindUint64 {
		return 0
	}
	return s[0].Value.Uint64()
}

package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// bar shows how far something is: drawn over itself on a terminal, else a line at
// every tenth.
type bar struct {
	mu    sync.Mutex
	out   io.Writer
	live  bool // a terminal
	label string
	shown int // the last tenth, or the width of the last line on a terminal
	drawn time.Time
}

const barWidth = 30

func newBar(out io.Writer) *bar {
	b := &bar{out: out}
	if f, ok := out.(*os.File); ok {
		info, err := f.Stat()
		b.live = err == nil && info.Mode()&os.ModeCharDevice != 0
	}
	return b
}

// of returns what draws the bar of a label.
func (b *bar) of(label string) func(n, of int) {
	return func(n, of int) { b.draw(label, float64(n)/float64(of), fmt.Sprintf("%d of %d", n, of)) }
}

func (b *bar) draw(label string, part float64, words string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if label != b.label {
		b.line()
		b.label, b.shown, b.drawn = label, 0, time.Time{}
	}
	if !b.live {
		if tenth := int(part * 10); tenth > b.shown {
			b.shown = tenth
			fmt.Fprintf(b.out, "%s: %s\n", label, words)
		}
		return
	}
	if part < 1 && time.Since(b.drawn) < 100*time.Millisecond {
		return
	}
	b.drawn = time.Now()
	full := int(min(part, 1) * barWidth)
	text := fmt.Sprintf("%-18s [%s%s] %s", label, strings.Repeat("#", full), strings.Repeat(".", barWidth-full), words)
	fmt.Fprintf(b.out, "\r%-*s", b.shown, text)
	b.shown = len(text)
}

// line ends the bar that stands.
func (b *bar) line() {
	if b.live && b.label != "" {
		fmt.Fprintln(b.out)
	}
}

func (b *bar) end() { b.mu.Lock(); defer b.mu.Unlock(); b.line(); b.label = "" }

// watch shows the run until it has ended.
func (b *bar) watch(ended <-chan struct{}, whole time.Duration, acts *atomic.Int64) {
	began, tick := time.Now(), time.NewTicker(time.Second)
	defer tick.Stop()
	last := int64(0)
	for {
		select {
		case <-ended:
			b.draw("the hall", 1, fmt.Sprintf("%d acts in %s", acts.Load(), time.Since(began).Round(time.Second)))
			return
		case <-tick.C:
			now := acts.Load()
			b.draw("the hall", min(.99, time.Since(began).Seconds()/whole.Seconds()), fmt.Sprintf("%d acts, %d in the last second", now, now-last))
			last = now
		}
	}
}

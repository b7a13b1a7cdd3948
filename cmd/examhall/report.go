package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"text/tabwriter"
	"time"

	"dewclaw/server/bench"
)

// report is everything that was measured. Times are milliseconds.
type report struct {
	Machine  machine       `json:"machine"`
	Command  string        `json:"command"`
	Options  options       `json:"options"`
	Fsync    bench.Spread  `json:"fsync"`
	Start    float64       `json:"start_ms"`
	Seconds  float64       `json:"seconds"`
	Acts     bench.Spread  `json:"acts"`
	PerSec   float64       `json:"acts_per_second"`
	Steps    []step        `json:"steps"`
	Sounds   bench.Spread  `json:"sounds"`
	Pictures bench.Spread  `json:"pictures"`
	SignIns  bench.Spread  `json:"sign_ins"`
	Finishes bench.Spread  `json:"finishes"`
	Again    int           `json:"sent_again"`
	Errors   int           `json:"errors"`
	Words    []string      `json:"error_words,omitempty"`
	Idle     int           `json:"students_idle"`
	Server   serverFigures `json:"server"`
	Restart  float64       `json:"restart_after_kill_ms"`
	Checked  checked       `json:"checked"`
}

// step is one part of a rising load, or all of one that does not rise.
type step struct {
	Rate   float64      `json:"due_per_second"` // 0: as many as go
	PerSec float64      `json:"acts_per_second"`
	Acts   bench.Spread `json:"acts"`
}

// machine is what it was measured on.
type machine struct {
	Processor string `json:"processor"`
	Cores     int    `json:"cores"`
	System    string `json:"system"`
	Go        string `json:"go"`
	Load      string `json:"load_before"` // of the system's last minute, before the run
}

func thisMachine() machine {
	m := machine{Cores: runtime.NumCPU(), System: runtime.GOOS + "/" + runtime.GOARCH, Go: runtime.Version()}
	if text, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		for line := range strings.Lines(string(text)) {
			if name, value, ok := strings.Cut(line, ":"); ok && strings.TrimSpace(name) == "model name" {
				m.Processor = strings.TrimSpace(value)
				break
			}
		}
	}
	if text, err := os.ReadFile("/proc/loadavg"); err == nil {
		m.Load, _, _ = strings.Cut(string(text), " ")
	}
	return m
}

// fsyncs measures what a flush of the disk takes in a folder.
func fsyncs(dir string) (bench.Spread, error) {
	const flushes = 200
	name := filepath.Join(dir, "examhall.fsync")
	f, err := os.Create(name)
	if err != nil {
		return bench.Spread{}, fmt.Errorf("fsync: %w", err)
	}
	defer os.Remove(name)
	defer f.Close()
	page := make([]byte, 4096)
	var all bench.Series
	for range flushes {
		began := time.Now()
		if _, err := f.Write(page); err != nil {
			return bench.Spread{}, fmt.Errorf("fsync: %w", err)
		}
		if err := f.Sync(); err != nil {
			return bench.Spread{}, fmt.Errorf("fsync: %w", err)
		}
		all = append(all, time.Since(began))
	}
	return all.Spread(), nil
}

// into writes what was measured into the report.
func (m *measured) into(r *report) {
	var all bench.Series
	r.Seconds = m.took.Seconds()
	for i, series := range m.acts {
		_, rate := m.load.at(time.Duration(i) * m.load.step)
		r.Steps = append(r.Steps, step{Rate: rate, PerSec: float64(len(series)) / m.load.step.Seconds(), Acts: series.Spread()})
		all = append(all, series...)
	}
	r.Acts, r.PerSec = all.Spread(), float64(len(all))/m.took.Seconds()
	r.Sounds, r.Pictures = m.sounds.Spread(), m.pictures.Spread()
	r.SignIns, r.Finishes = m.signIns.Spread(), m.finishes.Spread()
	r.Again, r.Errors, r.Words, r.Idle = m.again, m.errors, m.words, m.idle
}

// verdict is an error where an act was lost or doubled, or anything failed.
func (r *report) verdict() error {
	c := r.Checked
	if c.Lost+c.Doubled+c.NotHandedIn+r.Errors > 0 {
		return fmt.Errorf("%d acts lost, %d doubled, %d visits not handed in, %d errors", c.Lost, c.Doubled, c.NotHandedIn, r.Errors)
	}
	return nil
}

// write prints the report, and as JSON into a file where one is named.
func (r *report) write(file string, out io.Writer) error {
	if file != "" {
		body, err := json.MarshalIndent(r, "", "  ")
		if err != nil {
			return fmt.Errorf("report: %w", err)
		}
		if err := os.WriteFile(file, append(body, '\n'), 0o644); err != nil {
			return fmt.Errorf("report: %w", err)
		}
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	r.head(w)
	r.times(w)
	r.tail(w)
	return w.Flush()
}

func (r *report) head(w io.Writer) {
	fmt.Fprintf(w, "%s\n%s, %d cores, %s, %s; load before %s\n", r.Command, r.Machine.Processor, r.Machine.Cores, r.Machine.System, r.Machine.Go, r.Machine.Load)
	fmt.Fprintf(w, "fsync p50 %.2f ms, p99 %.2f ms; the server was ready after %.0f ms\n\n", r.Fsync.P50, r.Fsync.P99, r.Start)
}

func (r *report) times(w io.Writer) {
	fmt.Fprintln(w, "what\tnumber\ta second\tp50 ms\tp95 ms\tp99 ms\tmost ms")
	row := func(name string, s bench.Spread, rate float64) {
		if s.Count > 0 {
			fmt.Fprintf(w, "%s\t%d\t%.0f\t%.2f\t%.2f\t%.2f\t%.1f\n", name, s.Count, rate, s.P50, s.P95, s.P99, s.Most)
		}
	}
	row("acts", r.Acts, r.PerSec)
	if len(r.Steps) > 1 {
		for _, st := range r.Steps {
			row(fmt.Sprintf("  %.0f due", st.Rate), st.Acts, st.PerSec)
		}
	}
	for _, x := range []struct {
		name string
		s    bench.Spread
	}{{"sounds", r.Sounds}, {"pictures", r.Pictures}, {"sign-ins", r.SignIns}, {"finishes", r.Finishes}} {
		row(x.name, x.s, float64(x.s.Count)/r.Seconds)
	}
}

func (r *report) tail(w io.Writer) {
	c := r.Checked
	fmt.Fprintf(w, "\n%d errors, %d sent again, %d students had nothing left to do\n", r.Errors, r.Again, r.Idle)
	fmt.Fprintf(w, "memory %.0f MB at the end, %.0f MB at most; %.1f s of processor; %.1f acts a commit of %.2f ms\n",
		r.Server.Memory, r.Server.MemoryMost, r.Server.Processor, r.Server.Group, r.Server.Commit)
	fmt.Fprintf(w, "killed and started again in %.0f ms; of %d acknowledged acts in %d visits %d are lost and %d doubled\n",
		r.Restart, c.Acknowledged, c.Visits, c.Lost, c.Doubled)
	for _, text := range append(r.Words, c.Words...) {
		fmt.Fprintf(w, "  %s\n", text)
	}
}

package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"dewclaw/server/bench"
)

// process is the server that is measured.
type process struct {
	cmd     *exec.Cmd
	addr    string
	metrics string
	log     *os.File
}

// readyWithin is how long a server may take to answer.
const readyWithin = time.Minute

// start runs the server and waits until it is ready; took is how long that was.
func (s *school) start(ctx context.Context, o options) (took float64, err error) {
	p := &process{}
	if s.server != nil {
		p.addr, p.metrics = s.server.addr, s.server.metrics
	} else if p.addr, p.metrics, err = freeAddrs(); err != nil {
		return 0, err
	}
	if p.log, err = os.OpenFile(filepath.Join(s.data, "examhall.log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600); err != nil {
		return 0, err
	}
	args := []string{"serve", "--data", s.data, "--addr", p.addr, "--metrics", p.metrics}
	p.cmd = exec.Command(o.program, args...)
	p.cmd.Env = append(os.Environ(), o.environment...)
	if o.Database != "" { // not among the words, which everybody on the machine can read
		p.cmd.Env = append(p.cmd.Env, "DEWCLAW_DATABASE="+o.Database)
	}
	p.cmd.Stdout, p.cmd.Stderr = p.log, p.log
	began := time.Now()
	if err := p.cmd.Start(); err != nil {
		return 0, fmt.Errorf("start %s: %w", o.program, err)
	}
	s.server = p
	for time.Since(began) < readyWithin && ctx.Err() == nil {
		w := bench.NewWire(p.addr)
		reply, err := w.Do(http.MethodGet, "/readyz", nil)
		_ = w.Close()
		if err == nil && reply.Status == http.StatusOK {
			return bench.Millis(time.Since(began)), nil
		}
		time.Sleep(5 * time.Millisecond)
	}
	return 0, errors.Join(ctx.Err(), fmt.Errorf("the server was not ready within %s: %s", readyWithin, p.lastWords()))
}

// freeAddrs are two addresses of this machine on which nobody listens.
func freeAddrs() (one, two string, err error) {
	a, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", "", err
	}
	b, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", "", errors.Join(err, a.Close())
	}
	return a.Addr().String(), b.Addr().String(), errors.Join(a.Close(), b.Close())
}

// lastWords are the end of what the server printed.
func (p *process) lastWords() string {
	text, err := os.ReadFile(p.log.Name())
	if err != nil {
		return err.Error()
	}
	return strings.TrimSpace(string(text[max(0, len(text)-500):]))
}

// kill ends the server at once, without a word.
func (p *process) kill() error {
	if p.cmd == nil || p.cmd.Process == nil || p.cmd.ProcessState != nil {
		return nil
	}
	if err := p.cmd.Process.Kill(); err != nil {
		return fmt.Errorf("kill the server: %w", err)
	}
	_ = p.cmd.Wait() // it was killed
	return p.log.Close()
}

// killAndStart kills the server and starts it again; took is how long it was away.
func (s *school) killAndStart(ctx context.Context, o options) (took float64, err error) {
	if err := s.server.kill(); err != nil {
		return 0, err
	}
	for _, one := range s.students { // their connections are dead
		_ = errors.Join(one.wire.Close(), one.media.Close())
	}
	return s.start(ctx, o)
}

// serverFigures is what the server needed and said of itself.
type serverFigures struct {
	Memory     float64 `json:"memory_mb"`      // at the end
	MemoryMost float64 `json:"memory_most_mb"` // at any time
	Processor  float64 `json:"processor_s"`
	Group      float64 `json:"acts_a_commit"`
	Commit     float64 `json:"commit_mean_ms"`
}

// figures asks the system and the server itself.
func (p *process) figures() (f serverFigures, err error) {
	if f.Memory, f.MemoryMost, err = memoryOf(p.cmd.Process.Pid); err != nil {
		return f, err
	}
	resp, err := http.Get("http://" + p.metrics + "/metrics")
	if err != nil {
		return f, fmt.Errorf("metrics: %w", err)
	}
	defer resp.Body.Close()
	values := map[string]float64{} // those without labels are enough
	for lines := bufio.NewScanner(resp.Body); lines.Scan(); {
		if name, value, ok := strings.Cut(lines.Text(), " "); ok && !strings.HasPrefix(name, "#") {
			if n, err := strconv.ParseFloat(value, 64); err == nil {
				values[name] = n
			}
		}
	}
	mean := func(name string) float64 { return values[name+"_sum"] / max(1, values[name+"_count"]) }
	f.Group, f.Commit = mean("dewclaw_act_group_size"), 1000*mean("dewclaw_commit_duration_seconds")
	f.Processor = values["process_cpu_seconds_total"]
	return f, nil
}

// memoryOf is what a process holds and what it held at most, in MB of 10^6 bytes.
// Where the system does not say so, both are 0.
func memoryOf(pid int) (now, most float64, err error) {
	f, err := os.Open(fmt.Sprintf("/proc/%d/status", pid))
	if errors.Is(err, os.ErrNotExist) {
		return 0, 0, nil
	}
	if err != nil {
		return 0, 0, err
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		words := strings.Fields(lines.Text())
		if len(words) != 3 || words[2] != "kB" {
			continue
		}
		n, err := strconv.ParseFloat(words[1], 64)
		if err != nil {
			return 0, 0, err
		}
		switch words[0] {
		case "VmRSS:":
			now = n * 1024 / 1e6
		case "VmHWM:":
			most = n * 1024 / 1e6
		}
	}
	return now, most, nil
}

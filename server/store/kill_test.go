package store_test

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

var long = flag.Bool("long", false, "break the store oftener and for longer: 50 kills, a server that is away for 30 s")

// childURL tells the test binary that it is the child of the kill test.
const childURL = "DEWCLAW_STORE_TEST_CHILD"

func TestMain(m *testing.M) {
	if url := os.Getenv(childURL); url != "" {
		if err := appendForever(url); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// appendForever writes acts into every transcript of a database from several
// goroutines, and says on standard output which were acknowledged.
func appendForever(url string) error {
	ctx := context.Background()
	s, err := store.Open(ctx, store.Config{URL: url})
	if err != nil {
		return err
	}
	all, err := s.Attempts(ctx, store.Filter{})
	if err != nil {
		return err
	}
	failed := make(chan error, len(all))
	var out sync.Mutex
	for _, a := range all {
		go func() {
			for n := a.Acts + 1; ; n++ {
				act := store.NewAct{Transcript: a.Transcript, N: n, By: a.Person, Retry: fmt.Sprint(n),
					Act: fmt.Appendf(nil, "act %d of %d", n, a.Transcript), Outcome: make([]byte, 300)}
				if _, err := s.Append(ctx, act); err != nil {
					failed <- err
					return
				}
				out.Lock()
				fmt.Println(a.Transcript, n)
				out.Unlock()
			}
		}()
	}
	return <-failed
}

// TestAcknowledgedActsSurviveAKill kills a writing process without warning and
// counts: every acknowledged act is there, once, and nothing has a gap. (A
// killed process proves order and completeness, not that the disk was flushed;
// that is what the synchronous pragma is tested for.)
func TestAcknowledgedActsSurviveAKill(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	for range 20 {
		s.MakeAttempt(p.ID, "stairs")
	}
	require.NoError(t, s.Close())
	total, rounds, has := 0, 3, map[int64]int{}
	if *long {
		rounds = 50
	}
	var slowest time.Duration
	for round := range rounds {
		acked := killAfter(t, s.URL, time.Duration(100+rand.IntN(200))*time.Millisecond)
		begun := time.Now()
		opened, err := store.Open(t.Context(), store.Config{URL: s.URL})
		require.NoError(t, err)
		slowest = max(slowest, time.Since(begun))
		for transcript, last := range acked {
			has[transcript] = max(has[transcript], last)
		}
		stored := 0
		for transcript, last := range has {
			acts, err := opened.Acts(t.Context(), transcript, 0)
			require.NoError(t, err)
			require.GreaterOrEqual(t, len(acts), last, "round %d: acknowledged and not there", round)
			require.LessOrEqual(t, len(acts), last+1, "round %d: only one can have been under way", round)
			for i, act := range acts {
				require.Equal(t, i+1, act.N)
				require.Equal(t, fmt.Sprintf("act %d of %d", i+1, transcript), string(act.Act))
			}
			has[transcript] = len(acts)
			stored += len(acts)
		}
		require.Greater(t, stored, total, "the child wrote something")
		total = stored
		require.NoError(t, opened.Close())
	}
	if !storetest.OnPostgres() {
		var verdict string
		require.NoError(t, s.Raw().QueryRow("PRAGMA integrity_check").Scan(&verdict))
		require.Equal(t, "ok", verdict)
	}
	t.Logf("%d kills, %d acts, none lost or doubled; opened again within %v", rounds, total, slowest.Round(time.Millisecond))
}

// killAfter runs the child for a while after its first act and returns the last
// acknowledged number of each transcript.
func killAfter(t *testing.T, url string, life time.Duration) map[int64]int {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childURL+"="+url)
	var complaint strings.Builder
	child.Stderr = &complaint
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	acked := map[int64]int{}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		var transcript int64
		var n int
		if _, err := fmt.Sscan(lines.Text(), &transcript, &n); err != nil {
			break // a line that was being written when the end came
		}
		if len(acked) == 0 {
			time.AfterFunc(life, func() { _ = child.Process.Kill() })
		}
		acked[transcript] = max(acked[transcript], n)
	}
	require.Error(t, child.Wait(), "it ends by being killed")
	require.NotEmpty(t, acked, complaint.String())
	return acked
}

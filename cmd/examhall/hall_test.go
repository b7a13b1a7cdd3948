package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"dewclaw/rubric"
	"dewclaw/server"
	"dewclaw/server/bench"

	"github.com/stretchr/testify/require"
)

// asServer makes this test program the server that is measured, so that none has
// to be built for it.
const asServer = "EXAMHALL_TEST_SERVE"

func TestMain(m *testing.M) {
	if os.Getenv(asServer) == "" {
		os.Exit(m.Run())
	}
	if err := serve(os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func serve(args []string) error {
	var c server.Config
	f := flag.NewFlagSet("serve", flag.ContinueOnError)
	addr := f.String("addr", "", "")
	f.StringVar(&c.Data, "data", "", "")
	f.StringVar(&c.Metrics, "metrics", "", "")
	if err := f.Parse(args); err != nil {
		return err
	}
	l, err := net.Listen("tcp", *addr)
	if err != nil {
		return err
	}
	s, err := server.New(c)
	if err != nil {
		return err
	}
	return s.Serve(context.Background(), l)
}

// A small hall for two seconds: everything is done and measured, and what was
// acknowledged is there after the server was killed.
func TestASmallHall(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	o := options{Students: 12, Acts: "60-120", For: 3 * time.Second, Sound: 20, Picture: 20, SignIns: 3, SignInsIn: 2 * time.Second,
		Finishes: 4, FinishesIn: time.Second, Seed: 1, program: os.Args[0], data: filepath.Join(dir, "school"), json: filepath.Join(dir, "report.json"),
		environment: []string{asServer + "=1"}, checkAtATime: 4}
	require.NoError(t, o.check())
	var out, progress bytes.Buffer
	require.NoError(t, hall(t.Context(), o, &out, &progress), "%s%s", out.String(), progress.String())
	t.Log(out.String())
	body, err := os.ReadFile(o.json)
	require.NoError(t, err)
	var r report
	require.NoError(t, json.Unmarshal(body, &r))
	require.Greater(t, r.Acts.Count, 100)
	require.GreaterOrEqual(t, r.Checked.Acknowledged, r.Acts.Count, "with those that were done before")
	require.Equal(t, r.Checked.Acknowledged, r.Checked.Stored)
	require.Len(t, r.Steps, risingSteps)
	require.NotZero(t, r.Sounds.Count)
	require.NotZero(t, r.Pictures.Count)
	require.Equal(t, 3, r.SignIns.Count)
	require.Equal(t, 4, r.Finishes.Count)
	require.Zero(t, r.Checked.NotHandedIn)
	require.NotZero(t, r.Server.Group)
	require.Contains(t, out.String(), "0 are lost and 0 doubled")
	require.Contains(t, progress.String(), "the hall: ")

	o.program = os.Args[0]
	require.ErrorContains(t, hall(t.Context(), o, &out, &progress), "not an empty folder")
}

func TestWhatTheHallCannotMean(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--acts", "lots"}, `--acts "lots": a number such as 500, two such as 100-2000, or max`},
		{[]string{"--acts", "100-"}, "--acts"},
		{[]string{"--acts", "-5"}, "--acts"},
		{[]string{"--students", "0"}, "--students 0: 1 to 10000"},
		{[]string{"--for", "1ms"}, "--for 1ms: 1s to 4h0m0s"},
		{[]string{"--sound", "101"}, "--sound is of a hundred acts"},
		{[]string{"--for", "10s", "--sign-ins", "5", "--sign-ins-in", "20s"}, "--sign-ins-in is longer than the run"},
		{[]string{"--for", "10s", "--finishes", "5", "--finishes-in", "9s"}, "--finishes-in is longer than half the run"},
		{[]string{"--program", "/nowhere/dewclaw"}, "there is no program /nowhere/dewclaw to measure"},
		{[]string{"--wings"}, "see 'examhall --help'"},
	} {
		var out, errw bytes.Buffer
		require.Equal(t, 2, run(t.Context(), c.args, &out, &errw), "%v", c.args)
		require.Contains(t, errw.String(), c.want)
	}
}

// An act that is not there, one that stands twice and one that says something else
// are told; one whose answer got lost is no fault.
func TestReadingBackFindsWhatIsWrong(t *testing.T) {
	t.Parallel()
	posts, err := bench.Posts(threeActs())
	require.NoError(t, err)
	stored := []json.RawMessage{[]byte(`{"n":1,"kind":"ask","topic":"diet","clock":3}`), []byte(`{"n":2,"kind":"handle","how":"calm"}`), []byte(`{"n":3,"kind":"ask","topic":"water"}`)}
	for _, c := range []struct {
		name          string
		taken         int
		unsure        bool
		stored        []json.RawMessage
		lost, doubled int
	}{
		{"as it was sent", 3, false, stored, 0, 0},
		{"one is missing", 3, false, stored[:2], 1, 0},
		{"the answer got lost", 2, true, stored, 0, 0},
		{"one too many", 2, false, stored, 0, 1},
		{"another act", 3, false, []json.RawMessage{stored[0], []byte(`{"n":2,"kind":"handle","how":"firm"}`), stored[2]}, 1, 0},
		{"twice", 3, false, []json.RawMessage{stored[0], stored[0], stored[2]}, 1, 0},
	} {
		var got checked
		require.NoError(t, got.hold(&visit{id: "v", posts: posts, taken: c.taken, unsure: c.unsure}, storedVisit{Acts: c.stored}))
		require.Equal(t, c.lost, got.Lost, c.name)
		require.Equal(t, c.doubled, got.Doubled, c.name)
	}
}

func threeActs() []rubric.Act {
	return []rubric.Act{{N: 1, Kind: rubric.Ask, Topic: "diet"}, {N: 2, Kind: rubric.Handle, How: "calm"}, {N: 3, Kind: rubric.Ask, Topic: "water"}}
}

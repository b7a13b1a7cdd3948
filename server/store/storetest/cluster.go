package storetest

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
)

// variable chooses the database of all tests: unset, a SQLite file each; "own", a
// PostgreSQL that the tests start for themselves and throw away; or the URL of a
// server, of a user who may make databases.
const variable = "DEWCLAW_TEST_POSTGRES"

var flagged = flag.Bool("postgres", false, "run on a PostgreSQL: that of "+variable+", or one that is started and thrown away")

// OnPostgres reports whether tests run on PostgreSQL.
func OnPostgres() bool { return *flagged || os.Getenv(variable) != "" }

// OnlySQLite skips a test of what only SQLite has.
func OnlySQLite(t testing.TB, why string) {
	t.Helper()
	if OnPostgres() {
		t.Skip("on SQLite only: " + why)
	}
}

// OnlyPostgres skips a test of what only PostgreSQL has.
func OnlyPostgres(t testing.TB) {
	t.Helper()
	if !OnPostgres() {
		t.Skip("on PostgreSQL only: run with -postgres or " + variable)
	}
}

// URL makes a new database for one test and returns its address; on SQLite it is
// empty, for there a test's folder is enough. It is gone when the test ends.
func URL(t testing.TB) string {
	t.Helper()
	if !OnPostgres() {
		return ""
	}
	server, err := theServer()
	require.NoError(t, err)
	name := fmt.Sprintf("dewclaw_test_%d_%d", os.Getpid(), serial.Add(1))
	require.NoError(t, server.do("CREATE DATABASE "+name+" TEMPLATE "+server.template))
	t.Cleanup(func() { require.NoError(t, server.do("DROP DATABASE "+name+" WITH (FORCE)")) })
	return server.at(name)
}

// Server makes a new and empty database on a PostgreSQL, wherever the other tests
// run, and returns its address. Where none is installed the test is skipped, but
// never on a machine that checks changes (the variable CI).
func Server(t testing.TB) string {
	t.Helper()
	server, err := theServer()
	if errors.Is(err, errNotHere) && os.Getenv("CI") == "" {
		t.Skip(err)
	}
	require.NoError(t, err)
	name := fmt.Sprintf("dewclaw_test_%d_%d", os.Getpid(), serial.Add(1))
	require.NoError(t, server.do("CREATE DATABASE "+name))
	t.Cleanup(func() { require.NoError(t, server.do("DROP DATABASE "+name+" WITH (FORCE)")) })
	return server.at(name)
}

var errNotHere = errors.New("no PostgreSQL is installed here (Debian's package postgresql), and " + variable + " names none")

var (
	serial    atomic.Int64
	theServer = sync.OnceValues(startServer)
)

// server is the PostgreSQL of this test process.
type server struct {
	url      *url.URL
	template string // a database with the schema, to be copied
}

func startServer() (*server, error) {
	text := os.Getenv(variable)
	if text == "" || text == "own" {
		var err error
		if text, err = startCluster(); err != nil {
			return nil, fmt.Errorf("a PostgreSQL to throw away: %w", err)
		}
	}
	u, err := url.Parse(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", variable, err)
	}
	s := &server{url: u, template: fmt.Sprintf("dewclaw_template_%d", os.Getpid())}
	if err := s.do("DROP DATABASE IF EXISTS " + s.template); err != nil {
		return nil, err
	}
	if err := s.do("CREATE DATABASE " + s.template); err != nil {
		return nil, err
	}
	full, err := store.Open(context.Background(), store.Config{URL: s.at(s.template)})
	if err != nil {
		return nil, err
	}
	return s, full.Close()
}

// at is the address of a database of this server.
func (s *server) at(name string) string {
	u := *s.url
	u.Path = "/" + name
	return u.String()
}

// do says one statement to the server.
func (s *server) do(statement string) error {
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, s.url.String())
	if err != nil {
		return err
	}
	_, err = conn.Exec(ctx, statement)
	return errors.Join(err, conn.Close(ctx))
}

// held are closed by the end of this process: what nobody holds is closed sooner.
var held struct{ alive io.Closer }

// startCluster starts a PostgreSQL in a new folder, on a socket in it, that ends
// with this process, whatever ends that: a shell waits for its input to close. It
// writes as safely as one of a school, and sorts as people do, so that whoever
// relies on another order than that of bytes is found out.
func startCluster() (string, error) {
	bin, err := binaries()
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp("", "dewclaw-pg-")
	if err != nil {
		return "", err
	}
	who, err := servant(dir)
	if err != nil {
		return "", err
	}
	data := filepath.Join(dir, "data")
	make := exec.Command(filepath.Join(bin, "initdb"), "-D", data, "-U", "dewclaw", "--auth=trust", "-E", "UTF8", "-N",
		"--locale=C", "--locale-provider=icu", "--icu-locale=en")
	make.SysProcAttr, make.Dir = who, dir
	if out, err := make.CombinedOutput(); err != nil {
		return "", fmt.Errorf("initdb: %w: %s", err, out)
	}
	const keep = `"$0" -D "$1/data" -k "$1" -c listen_addresses= -c max_connections=400 -c shared_buffers=64MB >"$1/log" 2>&1 &
		cat >/dev/null; kill -INT $!; wait $!; rm -rf "$1"`
	run := exec.Command("/bin/sh", "-c", keep, filepath.Join(bin, "postgres"), dir)
	run.SysProcAttr, run.Dir = who, dir
	who.Setsid = true
	if held.alive, err = run.StdinPipe(); err != nil {
		return "", err
	}
	if err := run.Start(); err != nil {
		return "", err
	}
	address := "postgres://dewclaw@/postgres?host=" + url.QueryEscape(dir)
	return address, await(address, filepath.Join(dir, "log"))
}

// await waits until a server answers.
func await(address, log string) error {
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		ctx, stop := context.WithTimeout(context.Background(), 10*time.Second)
		conn, err := pgx.Connect(ctx, address)
		if err == nil {
			err = conn.Close(ctx)
		}
		stop()
		if err == nil {
			return nil
		}
		if time.Now().After(end) {
			said, _ := os.ReadFile(log)
			return fmt.Errorf("it does not answer: %w: %s", err, said)
		}
	}
}

// binaries finds the folder with initdb and postgres.
func binaries() (string, error) {
	places, err := filepath.Glob("/usr/lib/postgresql/*/bin/postgres") // where Debian has them
	if err != nil {
		return "", err
	}
	if len(places) > 0 {
		return filepath.Dir(places[len(places)-1]), nil
	}
	found, err := exec.LookPath("postgres")
	if err != nil {
		return "", errNotHere
	}
	return filepath.Dir(found), nil
}

// servant is somebody else where we are root, as whom PostgreSQL does not run;
// the folder becomes theirs.
func servant(dir string) (*syscall.SysProcAttr, error) {
	attr := &syscall.SysProcAttr{}
	if os.Getuid() != 0 {
		return attr, nil
	}
	them, err := user.Lookup("postgres")
	if err != nil {
		if them, err = user.Lookup("nobody"); err != nil {
			return nil, err
		}
	}
	uid, err1 := strconv.ParseUint(strings.TrimSpace(them.Uid), 10, 32)
	gid, err2 := strconv.ParseUint(them.Gid, 10, 32)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	attr.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return attr, os.Chown(dir, int(uid), int(gid))
}

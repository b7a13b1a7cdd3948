package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/require"
)

// How long a test waits for what must come, and how often it looks.
const (
	patience = time.Minute
	tick     = 20 * time.Millisecond
)

// someone is the first patient that a student may take.
func someone(t *testing.T, u *pupil) (id string) {
	t.Helper()
	var list struct{ Cases []struct{ ID string } }
	require.Equal(t, http.StatusOK, call(t, "GET", u.p.base+"/api/v1/cases", u.token, "", &list))
	return list.Cases[0].ID
}

// TestTheDatabaseIsLocked: another program holds the file while students act. Acts wait for
// it, those that wait too long are refused and sent again, and what is stored can be read all
// the while.
func TestTheDatabaseIsLocked(t *testing.T) {
	t.Parallel()
	hold := 2 * time.Second
	if *long {
		hold = 30 * time.Second
	}
	data := t.TempDir()
	students(t, data, 4)
	p := serving(t, data)
	all := signedPupils(p, 4)
	for _, u := range all {
		_, err := u.next()
		require.NoError(t, err)
	}
	conn, err := beside(t, data).Conn(t.Context())
	require.NoError(t, err)
	_, err = conn.ExecContext(t.Context(), "BEGIN IMMEDIATE")
	require.NoError(t, err)
	before, begun := acknowledged(all), time.Now()
	end := load(t, all)
	var group sync.WaitGroup
	slowest := time.Duration(0)
	group.Go(func() {
		for time.Since(begun) < hold {
			asked := time.Now()
			if p.ready() == http.StatusOK {
				slowest = max(slowest, time.Since(asked))
			}
			time.Sleep(tick)
		}
	})
	group.Wait()
	_, err = conn.ExecContext(t.Context(), "ROLLBACK")
	require.NoError(t, err)
	held := time.Since(begun)
	require.NoError(t, conn.Close())
	time.Sleep(hold / 4) // they act on
	end()
	require.Greater(t, acknowledged(all), before)
	refused := 0
	for _, u := range all {
		u.whole()
		u.again()
		refused += u.busy
	}
	require.Equal(t, hold > 5*time.Second, refused > 0, "the server waits five seconds for a lock before it says that it is busy; %v", p)
	require.Zero(t, p.terminate())
	sound(t, data, acknowledged(all))
	t.Logf("locked for %v: %d acts acknowledged, none lost or doubled, %d refusals; readiness answered within %v", held.Round(time.Millisecond), acknowledged(all), refused, slowest.Round(time.Millisecond))
}

// TestEverythingIsSentTwice: a client that sends each request twice at the same moment has
// done everything once.
func TestEverythingIsSentTwice(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	students(t, data, 1)
	p := serving(t, data)
	u := signedPupils(p, 1)[0]
	for n := 1; n <= 30; n++ {
		var group sync.WaitGroup
		other := *u
		codes, errs := [2]int{}, [2]error{}
		group.Go(func() { codes[0], errs[0] = u.send(n) })
		group.Go(func() { codes[1], errs[1] = other.send(n) })
		group.Wait()
		require.Equal(t, [2]error{}, errs)
		require.Equal(t, [2]int{http.StatusCreated, http.StatusCreated}, codes)
	}
	u.whole()
	u.twice = true
	u.graded()
	require.Zero(t, p.terminate())
	sound(t, data, 30)
	var reports int
	require.NoError(t, beside(t, data).QueryRow("SELECT COUNT(*) FROM reports").Scan(&reports))
	require.Equal(t, 1, reports)
}

// TestAnUpgradeInTheMiddleOfAVisit: a visit that was begun under the first schema is gone on
// with by today's program, and marked.
func TestAnUpgradeInTheMiddleOfAVisit(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	students(t, data, 1)
	p := serving(t, data)
	u := signedPupils(p, 1)[0]
	for range 5 {
		_, err := u.next()
		require.NoError(t, err)
	}
	require.Zero(t, p.terminate())
	asFirstWritten(t, filepath.Join(data, "dewclaw.db"))

	p.start()
	u.whole()
	u.again()
	for range 3 {
		code, err := u.next()
		require.NoError(t, err)
		require.Equal(t, http.StatusCreated, code)
	}
	u.graded()
	require.Zero(t, p.terminate())
	sound(t, data, 8)
	copies, err := filepath.Glob(filepath.Join(data, "dewclaw.db.before-schema-*"))
	require.NoError(t, err)
	require.Len(t, copies, 1)
}

// asFirstWritten puts a file in the place of another that holds the same as far as the
// first schema has a place for it.
func asFirstWritten(t *testing.T, path string) {
	t.Helper()
	ctx := context.Background()
	first, err := os.ReadFile("../../server/store/migrations/00001_start.sql")
	require.NoError(t, err)
	old := filepath.Dir(path) + "-old"
	require.NoError(t, os.Mkdir(old, 0o700))
	db := beside(t, old)
	db.SetMaxOpenConns(1)
	m, err := goose.NewProvider(goose.DialectSQLite3, db, fstest.MapFS{"00001_start.sql": {Data: first}}, goose.WithDisableGlobalRegistry(true))
	require.NoError(t, err)
	_, err = m.Up(ctx)
	require.NoError(t, err)
	var text string
	require.NoError(t, db.QueryRow(`SELECT json_group_object(m.name, (SELECT group_concat('"' || o.name || '"', ', ') FROM pragma_table_info(m.name) o))
		FROM sqlite_master m WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' AND m.name <> 'goose_db_version'`).Scan(&text))
	columns := map[string]string{}
	require.NoError(t, json.Unmarshal([]byte(text), &columns))
	statements := []string{fmt.Sprintf("ATTACH %s AS today", "'"+path+"'")}
	for table, names := range columns {
		statements = append(statements, fmt.Sprintf("INSERT OR REPLACE INTO %[1]s (%[2]s) SELECT %[2]s FROM today.%[1]s", table, names))
	}
	statements = append(statements, "DELETE FROM counters WHERE name <> 'transcript'")
	statements = append(statements, "DETACH today", fmt.Sprintf("PRAGMA application_id = %d", 0x44657763))
	for _, text := range statements {
		_, err := db.Exec(text)
		require.NoError(t, err, text)
	}
	for _, end := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(path + end)
	}
	require.NoError(t, os.Rename(filepath.Join(old, "dewclaw.db"), path))
}

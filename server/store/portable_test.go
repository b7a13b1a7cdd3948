package store_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// filled is a store with something in it that a text format could spoil.
func filled(t *testing.T) *storetest.Store {
	t.Helper()
	s := storetest.New(t)
	ctx := t.Context()
	p := s.MakePerson("student")
	require.NoError(t, s.Rename(ctx, p.ID, "Zoë \"O'Neil\" <b>\u2028 \\ 犬"))
	for _, odd := range [][]byte{{}, {0, 1, 2, 0xff}, []byte("text\r\n"), bytes.Repeat([]byte{0xfe}, 100_000), []byte("\xc3\x28")} {
		_, err := s.PutContent(ctx, odd)
		require.NoError(t, err)
	}
	for i := range 3 {
		a := s.MakeAttempt(p.ID, fmt.Sprint("case", i))
		s.AppendActs(a, 7)
		if i == 0 {
			_, err := s.Finish(ctx, a.Transcript, "left")
			require.NoError(t, err)
			require.NoError(t, s.SaveReport(ctx, a.Transcript, store.Report{Engine: "test", Total: -5, Packed: []byte(`{"total":1}`)}))
		}
	}
	require.NoError(t, s.Record(ctx, store.Note{Deed: "look", About: "person:" + p.ID, Reason: "why"}))
	require.NoError(t, s.SetSetting(ctx, "secret.ids", "never told"))
	require.NoError(t, s.SetSetting(ctx, "zone", "Europe/Vienna"))
	require.NoError(t, s.AddSigningKey(ctx, "kid", []byte("never told either")))
	return s
}

func packed(t *testing.T, s *store.Store, o store.BackupOptions) ([]byte, store.Manifest) {
	t.Helper()
	var b bytes.Buffer
	m, err := s.Backup(t.Context(), &b, o)
	require.NoError(t, err)
	return b.Bytes(), m
}

func opened(t *testing.T, data []byte) *store.Backup {
	t.Helper()
	b, err := store.OpenBackup(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	return b
}

// place is the config of a database that is not there yet, on SQLite or where the tests run.
func place(t *testing.T, sqlite bool) store.Config {
	t.Helper()
	url := ""
	if !sqlite {
		url = storetest.URL(t)
	}
	if url != "" { // the tests' databases have their tables already
		db, err := sql.Open("pgx", url)
		require.NoError(t, err)
		_, err = db.Exec("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
		require.NoError(t, errors.Join(err, db.Close()))
	}
	if url == "" {
		url = "sqlite:" + filepath.Join(t.TempDir(), "new", "dewclaw.db")
	}
	return store.Config{URL: url, Now: func() time.Time { return storetest.Start }, Writers: 1}
}

// sums are what a backup holds, table by table.
func sums(m store.Manifest) map[string]string {
	all := map[string]string{}
	for _, t := range m.Tables {
		all[t.Name] = fmt.Sprint(t.Rows, " rows ", t.SHA256)
	}
	return all
}

// TestABackupIsTheWholeDatabase moves a database from where it is to SQLite and
// back, and finds every table the same to the byte.
func TestABackupIsTheWholeDatabase(t *testing.T) {
	t.Parallel()
	s := filled(t)
	data, m := packed(t, s.Store, store.BackupOptions{Keys: true, Program: "test"})
	names := []string{"goose_db_version"}
	for _, kept := range m.Tables {
		names = append(names, kept.Name)
	}
	there := slices.DeleteFunc(s.Tables(), func(name string) bool { return strings.HasPrefix(name, "sqlite_") })
	require.ElementsMatch(t, there, names, "no table is forgotten")
	require.Equal(t, store.NewestSchema(), m.Schema)

	for _, sqlite := range []bool{true, false} {
		c := place(t, sqlite)
		require.NoError(t, store.Restore(t.Context(), c, opened(t, data)))
		moved, err := store.Open(t.Context(), c)
		require.NoError(t, err)
		again, m2 := packed(t, moved, store.BackupOptions{Keys: true, Program: "test"})
		require.Equal(t, sums(m), sums(m2))
		data = again
		a, err := moved.AttemptByTranscript(t.Context(), 2)
		require.NoError(t, err)
		_, err = moved.Append(t.Context(), s.MakeAct(a, 8)) // it goes on
		require.NoError(t, err)
		require.NoError(t, moved.Close())
		require.ErrorIs(t, store.Restore(t.Context(), c, opened(t, data)), store.ErrInUse)
	}
}

func TestABackupHasNoKeysUnlessAsked(t *testing.T) {
	t.Parallel()
	s := filled(t)
	data, m := packed(t, s.Store, store.BackupOptions{})
	keys, _ := m.Table("signing_keys")
	settings, _ := m.Table("settings")
	require.Zero(t, keys.Rows)
	require.EqualValues(t, 1, settings.Rows)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NotContains(t, string(text), "never told", f.Name)
		for line := range strings.Lines(string(text)) {
			require.True(t, f.Name == "manifest.json" || json.Valid([]byte(line)), f.Name)
		}
	}
}

// TestABackupIsOneMoment: while acts arrive a backup holds each transcript up to
// some act and no later row without an earlier one.
func TestABackupIsOneMoment(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	p := s.MakePerson("student")
	a := s.MakeAttempt(p.ID, "dog")
	going, gone := make(chan struct{}), make(chan int)
	go func() {
		n := 0
		defer func() { gone <- n }()
		for {
			select {
			case <-going:
				return
			default:
			}
			if _, err := s.Append(t.Context(), s.MakeAct(a, n+1)); err != nil {
				t.Error(err)
				return
			}
			n++
		}
	}()
	var counts []int64
	for range 3 {
		data, m := packed(t, s.Store, store.BackupOptions{})
		acts, _ := m.Table("acts")
		counts = append(counts, acts.Rows)
		require.NoError(t, opened(t, data).Check(t.Context()))
		c := place(t, true)
		require.NoError(t, store.Restore(t.Context(), c, opened(t, data)))
		back, err := store.Peek(t.Context(), c)
		require.NoError(t, err)
		list, err := back.Acts(t.Context(), a.Transcript, 0)
		require.NoError(t, err)
		require.Len(t, list, int(acts.Rows))
		for i, act := range list {
			require.Equal(t, i+1, act.N)
		}
		require.NoError(t, back.Close())
	}
	close(going)
	require.GreaterOrEqual(t, <-gone, int(counts[2]))
	require.Greater(t, counts[2], counts[0], "acts went on meanwhile")
}

// TestABackupOfAnOlderSchema: what a former program kept is laid in its own schema
// and brought on from there.
func TestABackupOfAnOlderSchema(t *testing.T) {
	t.Parallel()
	s := filled(t)
	data, _ := packed(t, s.Store, store.BackupOptions{Keys: true})
	old := olderBackup(t, data)
	c := place(t, false)
	require.NoError(t, store.Restore(t.Context(), c, opened(t, old)))
	moved, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	defer moved.Close()
	acts, err := moved.Acts(t.Context(), 1, 0)
	require.NoError(t, err)
	require.Len(t, acts, 7)
	people, err := moved.People(t.Context())
	require.NoError(t, err)
	require.Len(t, people, 1)
}

// olderBackup makes of a backup the one that the first schema would have given.
func olderBackup(t *testing.T, data []byte) []byte {
	t.Helper()
	columns := map[string][]string{
		"counters": {"name", "value"}, "people": {"id", "login", "login_key", "role", "password_hash", "created", "erased"}, "names": {"person", "name"},
		"invites": nil, "sessions": nil, "refresh_tokens": nil, "signing_keys": nil, "content": nil, "acts": nil, "reports": nil, "settings": nil,
		"attempts": {"transcript", "id", "person", "case_id", "track", "state", "case_hash", "catalogue_hash", "rubric_hash", "ranges_hash", "engine", "seed",
			"answer_key", "started", "finished", "ended"},
	}
	return remade(t, data, func(m *store.Manifest, members map[string][]byte) {
		m.Schema = 1
		m.Tables = slices.DeleteFunc(m.Tables, func(k store.TableKept) bool {
			_, there := columns[k.Name]
			if !there {
				delete(members, k.Member)
			}
			return !there
		})
		for i := range m.Tables {
			k := &m.Tables[i]
			keep := columns[k.Name]
			if keep == nil {
				continue
			}
			k.Rows = 0
			for j := len(k.Columns) - 1; j >= 0; j-- {
				if !slices.Contains(keep, k.Columns[j].Name) {
					k.Columns = slices.Delete(k.Columns, j, j+1)
				}
			}
			var out bytes.Buffer
			for line := range bytes.Lines(members[k.Member]) {
				row := map[string]json.RawMessage{}
				require.NoError(t, json.Unmarshal(line, &row))
				if string(row["name"]) == `"audit"` { // the counter of a log that came later
					continue
				}
				for name := range row {
					if !slices.Contains(keep, name) {
						delete(row, name)
					}
				}
				text, err := json.Marshal(row)
				require.NoError(t, err)
				out.Write(append(text, '\n'))
				k.Rows++
			}
			members[k.Member] = out.Bytes()
		}
	})
}

// remade changes a backup so that sizes and sums are right again.
func remade(t *testing.T, data []byte, change func(m *store.Manifest, members map[string][]byte)) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	members := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		members[f.Name], err = io.ReadAll(r)
		require.NoError(t, err)
	}
	var m store.Manifest
	require.NoError(t, json.Unmarshal(members["manifest.json"], &m))
	change(&m, members)
	for i := range m.Tables {
		m.Tables[i].Bytes, m.Tables[i].SHA256 = int64(len(members[m.Tables[i].Member])), sha256Of(members[m.Tables[i].Member])
	}
	for i := range m.Files {
		m.Files[i].Bytes, m.Files[i].SHA256 = int64(len(members[m.Files[i].Member])), sha256Of(members[m.Files[i].Member])
	}
	members["manifest.json"], err = json.Marshal(m)
	require.NoError(t, err)
	return zipped(t, members)
}

func sha256Of(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// offset is where the packed bytes of a member begin.
func offset(t *testing.T, data []byte, name string) int64 {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	i := slices.IndexFunc(z.File, func(f *zip.File) bool { return f.Name == name })
	n, err := z.File[i].DataOffset()
	require.NoError(t, err)
	return n
}

func zipped(t *testing.T, members map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range members {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(text)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

func TestOwnFilesGoWithABackup(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	from := t.TempDir()
	for name, text := range map[string]string{"library/cases/rex.yaml": "id: rex\n", "rubrics/own.yaml": "id: own\n", "ranges.csv": "a,b\n", "dewclaw.db": "not this"} {
		require.NoError(t, os.MkdirAll(filepath.Join(from, filepath.Dir(name)), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(from, name), []byte(text), 0o600))
	}
	under := []string{"library", "rubrics", "ranges.csv", "reviews.csv"}
	data, m := packed(t, s.Store, store.BackupOptions{Files: os.DirFS(from), Under: under})
	require.Len(t, m.Files, 3)
	to := t.TempDir()
	n, err := opened(t, data).RestoreFiles(to, under)
	require.NoError(t, err)
	require.Equal(t, 3, n)
	text, err := os.ReadFile(filepath.Join(to, "library/cases/rex.yaml"))
	require.NoError(t, err)
	require.Equal(t, "id: rex\n", string(text))
	_, err = opened(t, data).RestoreFiles(to, under)
	require.ErrorIs(t, err, os.ErrExist, "nothing is overwritten")
	_, err = opened(t, data).RestoreFiles(t.TempDir(), under[1:])
	require.ErrorContains(t, err, "for which there is no place")

	require.NoError(t, os.Symlink(t.TempDir(), filepath.Join(from, "library", "linked")))
	_, err = s.Backup(t.Context(), io.Discard, store.BackupOptions{Files: os.DirFS(from), Under: under})
	require.ErrorContains(t, err, "library/linked is no file that can be kept")
}

func TestPeekMakesNothing(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "none", "dewclaw.db")
	_, err := store.Peek(t.Context(), store.Config{Path: path})
	require.ErrorIs(t, err, store.ErrNoDatabase)
	require.NoDirExists(t, filepath.Dir(path))

	if storetest.OnPostgres() {
		_, err = store.Peek(t.Context(), place(t, false))
		require.ErrorContains(t, err, "has nothing in it yet")
	}
	s := filled(t)
	seen, err := store.Peek(t.Context(), store.Config{URL: s.URL})
	require.NoError(t, err)
	require.NoError(t, seen.Current(t.Context()))
	require.NoError(t, seen.NoteBackup(t.Context(), storetest.Start, store.Note{Deed: "back up", About: "log:all"}))
	require.NoError(t, seen.Close())
	at, err := s.LastBackup(t.Context())
	require.NoError(t, err)
	require.Equal(t, storetest.Start, at)
}

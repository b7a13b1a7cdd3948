package store

import (
	"bytes"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestANewProgramBacksUpAnOldSchema before that is brought up to date, as it is.
func TestANewProgramBacksUpAnOldSchema(t *testing.T) {
	t.Parallel()
	ctx, path := t.Context(), filepath.Join(t.TempDir(), "dewclaw.db")
	old := sqliteFile{path}
	require.NoError(t, old.prepare(ctx))
	db, err := old.connect(writes, 1)
	require.NoError(t, err)
	require.NoError(t, old.lay(ctx, pool(db), 3))
	require.NoError(t, db.Exec("INSERT INTO people (id, login, login_key, role, password_hash, created, erased) VALUES ('a', 'Ann', 'ann', 'student', '', 1, 0)").Error)
	require.NoError(t, db.Exec("INSERT INTO names (person, name) VALUES ('a', 'Ann')").Error)
	require.NoError(t, pool(db).Close())

	s, err := Peek(ctx, Config{Path: path})
	require.NoError(t, err)
	defer s.Close()
	require.ErrorContains(t, s.Current(ctx), "start 'dewclaw serve' once")
	require.ErrorIs(t, s.NoteBackup(ctx, s.Now(), Note{Deed: "back up", About: "log:all"}), ErrSchema)
	_, err = s.Examine(ctx)
	require.ErrorIs(t, err, ErrSchema)
	var file bytes.Buffer
	m, err := s.Backup(ctx, &file, BackupOptions{})
	require.NoError(t, err)
	require.EqualValues(t, 3, m.Schema)

	b, err := OpenBackup(bytes.NewReader(file.Bytes()), int64(file.Len()))
	require.NoError(t, err)
	to := Config{Path: filepath.Join(t.TempDir(), "dewclaw.db")}
	require.NoError(t, Restore(ctx, to, b))
	now, err := Open(ctx, to)
	require.NoError(t, err)
	defer now.Close()
	people, err := now.People(ctx)
	require.NoError(t, err)
	require.Len(t, people, 1)
	require.Equal(t, "Ann", people[0].Name)
	left, err := filepath.Glob(to.Path + "*before*")
	require.NoError(t, err)
	require.Empty(t, left, "a restore leaves no copy of what it has just made")
}

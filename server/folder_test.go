package server

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func modeOf(t *testing.T, path string) fs.FileMode {
	t.Helper()
	info, err := os.Stat(path)
	require.NoError(t, err)
	return info.Mode().Perm()
}

func TestTheDataFolderIsClosedToOthers(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "data")
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "rubrics"), 0o755))
	for _, name := range []string{"rubrics/own.txt", databaseName + ".before-schema-3.20260101T000000Z"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("x"), 0o644))
	}
	link := dir + "-link"
	require.NoError(t, os.Symlink(dir, link))
	s, err := New(Config{Data: link, Hash: cheap})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	for path, want := range map[string]fs.FileMode{"": 0o700, "rubrics": 0o700, "rubrics/own.txt": 0o600, databaseName: 0o600, databaseName + ".before-schema-3.20260101T000000Z": 0o600} {
		require.Equal(t, want, modeOf(t, filepath.Join(dir, path)), path)
	}
}

// TestFoldersThatAreNotOursAreLeftAlone: a home folder that was named by mistake
// keeps its rights, and a sentence says what to do.
func TestFoldersThatAreNotOursAreLeftAlone(t *testing.T) {
	home, shared, file := t.TempDir(), t.TempDir(), filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.Chmod(home, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(home, "letter.txt"), []byte("x"), 0o644))
	require.NoError(t, os.Chmod(shared, 0o777|fs.ModeSticky))
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	for dir, say := range map[string]string{home: "name a folder of its own with --data", shared: "name a folder of its own with --data", file: "is a file; name a folder"} {
		before := modeOf(t, dir)
		_, err := New(Config{Data: dir, Hash: cheap})
		require.ErrorContains(t, err, say)
		require.NotContains(t, err.Error(), "\n")
		require.Equal(t, before, modeOf(t, dir), dir)
	}
	require.NoFileExists(t, filepath.Join(home, databaseName))
	require.NoError(t, os.Chmod(home, 0o700)) // closed by its owner: it may be used
	s, err := New(Config{Data: home, Hash: cheap})
	require.NoError(t, err)
	require.NoError(t, s.Close())
}

func TestTheTimeZoneOfAFirstStart(t *testing.T) {
	t.Parallel()
	sc := newSchool(t, func(c *Config) { c.Zone = "America/Halifax" })
	require.Equal(t, "America/Halifax", sc.s.zone().String())
	sc.cfg.Zone = "Europe/Vienna"
	sc.restart()
	require.Equal(t, "America/Halifax", sc.s.zone().String(), "what a school has stays")
	_, err := New(Config{Data: t.TempDir(), Hash: cheap, Zone: "Mars/Olympus"})
	require.ErrorContains(t, err, "right would be a name such as Europe/Vienna")
}

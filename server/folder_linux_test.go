package server

import (
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestAFolderOfSomebodyElseIsRefused(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("only root can make what belongs to somebody else")
	}
	dir, err := os.MkdirTemp("", "dewclaw-folder-") // above it everybody may look
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chmod(dir, 0o755))
	locked := filepath.Join(dir, "locked")
	require.NoError(t, os.Mkdir(locked, 0o755))
	for _, dir := range []string{locked, filepath.Join(locked, "new")} {
		var err error
		asNobody(t, func() { _, err = New(Config{Data: dir, Hash: cheap}) })
		require.Error(t, err)
		require.Regexp(t, `let its owner do 'chmod 700 |give this user the right to write the folder above it, or name another with --data`, err.Error())
		require.NotContains(t, err.Error(), "\n")
	}
}

// asNobody runs f with the file rights of a user who is not root: root may write anywhere.
func asNobody(t *testing.T, f func()) {
	t.Helper()
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	require.NoError(t, syscall.Setfsuid(65534))
	defer func() { require.NoError(t, syscall.Setfsuid(0)) }()
	f()
}

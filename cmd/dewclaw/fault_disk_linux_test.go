package main

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// smallDisk mounts a file system of so many bytes in memory, where one may.
func smallDisk(t *testing.T, bytes string) (folder string) {
	t.Helper()
	folder = t.TempDir()
	if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, "mode=0700,size="+bytes); err != nil {
		t.Skipf("no disk that can be filled: only root may mount one (%v)", err)
	}
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(folder, syscall.MNT_DETACH)) })
	return folder
}

// fill fills a disk but for so many bytes with a file.
func fill(t *testing.T, folder string, but int64) {
	t.Helper()
	f, err := os.Create(filepath.Join(folder, "ballast"))
	require.NoError(t, err)
	_, err = io.Copy(f, zeros{})
	require.ErrorIs(t, err, syscall.ENOSPC)
	at, err := f.Seek(0, io.SeekCurrent)
	require.NoError(t, err)
	require.NoError(t, f.Truncate(at-but))
	require.NoError(t, f.Close())
}

// zeros never end.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { return len(p), nil }

// TestADiskRunsFull fills the disk of a running server: first nobody begins anything new,
// then no act is taken, and once there is room all goes on with what was acknowledged.
func TestADiskRunsFull(t *testing.T) {
	t.Parallel()
	data := smallDisk(t, "32m")
	students(t, data, 3)
	p := serving(t, data, "--disk-floor", "8")
	all := signedPupils(p, 2)
	late := p.pupil(2)
	patient := someone(t, late)

	fill(t, data, 6<<20)
	require.Eventually(t, func() bool { return late.begin(patient) == http.StatusServiceUnavailable }, patience, time.Second, "below the floor nothing is begun")
	for _, u := range all {
		code, err := u.next()
		require.NoError(t, err)
		require.Equal(t, http.StatusCreated, code, "and whoever has begun goes on; %v", p)
	}

	_, err := beside(t, data).Exec("PRAGMA wal_checkpoint(TRUNCATE)") // the log's place is taken too
	require.NoError(t, err)
	fill(t, data, 64<<10)
	full := all[0]
	for code := 0; code != http.StatusServiceUnavailable; {
		var err error
		code, err = full.next()
		require.NoError(t, err)
		require.Contains(t, []int{http.StatusCreated, http.StatusTooManyRequests, http.StatusServiceUnavailable}, code)
	}
	require.Greater(t, full.acked, 1)
	require.Equal(t, http.StatusOK, p.ready(), "what there is can be read")
	for _, u := range all {
		u.whole()
	}
	require.NoError(t, os.Remove(filepath.Join(data, "ballast")))
	for _, u := range all {
		u.again()
		for range 3 {
			_, err := u.next()
			require.NoError(t, err)
		}
	}
	require.Eventually(t, func() bool { return late.begin(patient) == http.StatusCreated }, patience, time.Second, "there is room again")
	for _, u := range all {
		u.graded()
	}
	require.Zero(t, p.terminate())
	sound(t, data, acknowledged(all))
	t.Logf("%d acts acknowledged, none lost", acknowledged(all))
}

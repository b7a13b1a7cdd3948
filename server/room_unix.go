//go:build linux || darwin || freebsd

package server

import "syscall"

// freeOn is how many bytes a user who is not root may still write to the disk of a folder.
func freeOn(folder string) (free uint64, known bool) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(folder, &st); err != nil {
		return 0, false
	}
	return uint64(st.Bavail) * uint64(st.Bsize), true
}

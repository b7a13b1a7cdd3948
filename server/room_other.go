//go:build !(linux || darwin || freebsd)

package server

// freeOn: this system is not asked.
func freeOn(string) (free uint64, known bool) { return 0, false }

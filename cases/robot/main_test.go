package robot

import (
	"os"
	"runtime/debug"
	"testing"
)

// TestMain collects garbage later than by default: thousands of visits make much of
// it, and little of it lives.
func TestMain(m *testing.M) {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
	os.Exit(m.Run())
}

package server

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEveryTestOfTheSecurityTableIsThere: the table in DEVELOPERS.md names no test
// that is gone, and no line stands there without a test, an "open" or a reason.
func TestEveryTestOfTheSecurityTableIsThere(t *testing.T) {
	raw, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, text, found := strings.Cut(string(raw), "\n## Security\n")
	require.True(t, found)
	text, _, _ = strings.Cut(text, "\n## ")
	there := testNames(t)
	lines, named := 0, 0
	for line := range strings.Lines(text) {
		cells := strings.Split(strings.TrimSpace(line), "|")
		if len(cells) != 5 || !regexp.MustCompile(`^ \d+\.\d`).MatchString(cells[1]) {
			continue
		}
		lines++
		require.Greater(t, len(strings.TrimSpace(cells[3])), 10, line)
		for _, name := range regexp.MustCompile(`\bTest[A-Z]\w+`).FindAllString(cells[3], -1) {
			named++
			require.True(t, there[name], "%s: there is no test %s", strings.TrimSpace(cells[1]), name)
		}
	}
	require.Greater(t, lines, 50)
	require.Greater(t, named, 60)
}

// testNames are the names of all tests of the repository.
func testNames(t *testing.T) map[string]bool {
	out, is := map[string]bool{}, regexp.MustCompile(`(?m)^func (Test\w+)\(t \*testing\.T\)`)
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		raw, err := os.ReadFile(path)
		for _, m := range is.FindAllSubmatch(raw, -1) {
			out[string(m[1])] = true
		}
		return err
	})
	require.NoError(t, err)
	require.Greater(t, len(out), 300)
	return out
}

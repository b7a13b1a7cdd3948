package web

import (
	"bytes"
	"io/fs"
	"math"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// each calls f with every embedded file of a suffix.
func each(t *testing.T, tree fs.FS, suffix string, f func(name, text string)) {
	t.Helper()
	n := 0
	err := fs.WalkDir(tree, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, suffix) {
			return err
		}
		n++
		b, err := fs.ReadFile(tree, name)
		f(name, string(b))
		return err
	})
	require.NoError(t, err)
	require.Positive(t, n, "no %s found", suffix)
}

func TestVersionFollowsContent(t *testing.T) {
	e := Embedded()
	require.Len(t, e.Version, 12)
	disk, err := OnDisk(".")
	require.NoError(t, err)
	require.Equal(t, "dev", disk.Version)
	again, err := hash(disk.Static)
	require.NoError(t, err)
	require.Equal(t, e.Version, again, "the same tree hashes alike, embedded or on disk")
	_, err = OnDisk("nowhere")
	require.Error(t, err)
}

// The content security policy forbids inline script and style; such a template
// would show a page that does nothing.
func TestTemplatesHoldNothingInline(t *testing.T) {
	inline := regexp.MustCompile(`(?i)<style|\sstyle=|\son[a-z]+=|javascript:|<script(?:>|[^>]*[^"]>)|https?://`)
	each(t, Embedded().Templates, ".html", func(name, text string) {
		require.Empty(t, inline.FindString(text), name)
	})
}

func TestScriptsAreSmallModules(t *testing.T) {
	imported := regexp.MustCompile(`from "\./([a-z]+\.js)"`)
	each(t, Embedded().Static, ".js", func(name, text string) {
		require.LessOrEqual(t, strings.Count(text, "\n"), 200, name)
		require.NotRegexp(t, `innerHTML|outerHTML|insertAdjacentHTML|\beval\(|document\.write`, text, "%s: texts are data", name)
		for _, m := range imported.FindAllStringSubmatch(text, -1) {
			_, err := fs.Stat(Embedded().Static, path.Join("js", m[1]))
			require.NoError(t, err, "%s imports %s", name, m[1])
		}
	})
}

func TestTemplatesNameFilesThatExist(t *testing.T) {
	named := regexp.MustCompile(`\{\{\.Static\}\}/([^"]+)"`)
	each(t, Embedded().Templates, ".html", func(name, text string) {
		for _, m := range named.FindAllStringSubmatch(text, -1) {
			_, err := fs.Stat(Embedded().Static, m[1])
			require.NoError(t, err, "%s names %s", name, m[1])
		}
	})
}

// Every colour of text and every line that carries meaning stands out from what lies below it:
// 4.5:1 for text (WCAG 2.2, 1.4.3), 3:1 for controls and graphics (1.4.11).
func TestPaletteContrast(t *testing.T) {
	b, err := fs.ReadFile(Embedded().Static, "css/base.css")
	require.NoError(t, err)
	light := palette(t, b[:bytes.Index(b, []byte("prefers-color-scheme"))])
	dark := palette(t, b[bytes.Index(b, []byte("prefers-color-scheme")):])
	for scheme, c := range map[string]map[string]float64{"light": light, "dark": dark} {
		for _, below := range []string{"desk", "paper"} {
			for _, text := range []string{"ink", "soft", "violet", "iodine"} {
				require.GreaterOrEqual(t, contrast(c[text], c[below]), 4.5, "%s: %s on %s", scheme, text, below)
			}
			require.GreaterOrEqual(t, contrast(c["edge"], c[below]), 3.0, "%s: edge on %s", scheme, below)
		}
		require.GreaterOrEqual(t, contrast(c["on-violet"], c["violet"]), 4.5, scheme)
		require.GreaterOrEqual(t, contrast(c["violet"], c["violet-wash"]), 4.5, scheme)
		require.GreaterOrEqual(t, contrast(c["ink"], c["violet-wash"]), 4.5, scheme)
	}
}

// palette reads the first block of custom colours as relative luminances.
func palette(t *testing.T, css []byte) map[string]float64 {
	t.Helper()
	css = css[:bytes.IndexByte(css, '}')]
	out := map[string]float64{}
	for _, m := range regexp.MustCompile(`--([a-z-]+): #([0-9a-f]{6});`).FindAllSubmatch(css, -1) {
		v, err := strconv.ParseUint(string(m[2]), 16, 32)
		require.NoError(t, err)
		out[string(m[1])] = .2126*channel(v>>16) + .7152*channel(v>>8&255) + .0722*channel(v&255)
	}
	require.GreaterOrEqual(t, len(out), 10)
	return out
}

// channel and contrast are the formulas of WCAG 2.2, "relative luminance" and "contrast ratio".
func channel(v uint64) float64 {
	c := float64(v) / 255
	if c <= .04045 {
		return c / 12.92
	}
	return math.Pow((c+.055)/1.055, 2.4)
}

func contrast(a, b float64) float64 { return (max(a, b) + .05) / (min(a, b) + .05) }

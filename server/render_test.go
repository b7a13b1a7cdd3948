package server

import (
	"io/fs"
	"net/http"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"dewclaw/web"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"
)

// inline finds scripts, styles and handlers inside a page, which the policy forbids.
var inline = regexp.MustCompile(`(?i)<script(?:\s[^>]*)?>[^<]|<style|\sstyle="|\son[a-z]+="|javascript:`)

func TestEveryPageRenders(t *testing.T) {
	r, err := newRenderer(pages())
	require.NoError(t, err)
	for _, row := range pages() {
		empty := reflect.New(reflect.TypeOf(row.example).Elem()).Interface().(based)
		for what, p := range map[string]based{"the example": row.example, "the zero value": empty} {
			buf, err := r.execute(row.name, p)
			require.NoError(t, err, "%s with %s", row.name, what)
			text := buf.String()
			require.Contains(t, text, "</html>", row.name)
			require.NotContains(t, text, "<no value>", row.name)
			require.NotContains(t, text, "ZgotmplZ", row.name)
			require.NotRegexp(t, inline, text, row.name)
			r.done(buf)
		}
	}
	_, err = r.execute("made-up", &errorPage{})
	require.Error(t, err)
}

func TestEveryTemplateIsInTheTable(t *testing.T) {
	named := map[string]bool{}
	for _, row := range pages() {
		for _, f := range row.files {
			named[f] = true
		}
	}
	named["own/data.html"] = true // no page: it is written into the ZIP of own data, with a test of its own
	err := fs.WalkDir(web.Embedded().Templates, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(path, ".html") {
			require.True(t, named[path], "no page uses the template %s", path)
		}
		return err
	})
	require.NoError(t, err)
}

func TestFailingTemplateIsACleanError(t *testing.T) {
	sc := newSchool(t)
	rows := append(pages(), pageRow{"half", []string{"layout.html", "pages/error.html"}, &errorPage{}})
	var err error
	sc.s.render, err = newRenderer(rows)
	require.NoError(t, err)
	table := append(routes(), route{get, "/half", anyone, page, noBody, halfPage})
	sc.s.handler, err = sc.s.engine(table)
	require.NoError(t, err)
	got := sc.anyone().get("/half").is(http.StatusInternalServerError)
	require.Contains(t, string(got.body), "Something went wrong on our side")
	require.Equal(t, 1, strings.Count(string(got.body), "</html>"), "not half a page and then another")
}

// halfPage renders a template with a struct that lacks its members.
var halfPage = func(s *Server, c *gin.Context) error {
	return s.page(c, "half", &struct{ Base }{})
}

package server

import (
	"fmt"
	"io/fs"
	"path"
	"strings"

	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// static is the static tree in memory. One hash over all of it is a part of
// the path, so that a browser may keep every file for ever.
type static struct {
	prefix string
	files  map[string]staticFile
}

type staticFile struct {
	kind string
	body []byte
}

// kinds are the content types that we serve; whatever else lies in the tree is not served.
var kinds = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml",
	".png": "image/png", ".ico": "image/x-icon", ".yaml": "application/yaml", ".txt": "text/plain; charset=utf-8", ".json": "application/json",
}

func newStatic(files web.Files) (*static, error) {
	st := &static{prefix: "/static/" + files.Version, files: map[string]staticFile{}}
	err := fs.WalkDir(files.Static, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		kind, ok := kinds[path.Ext(name)]
		if !ok {
			return nil
		}
		body, err := fs.ReadFile(files.Static, name)
		st.files[name] = staticFile{kind, body}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("static files: %w", err)
	}
	return st, nil
}

// staticFile serves one file of the tree.
func (s *Server) staticFile(c *gin.Context) error {
	f, ok := s.static.files[strings.TrimPrefix(c.Param("path"), "/")]
	if !ok || "/static/"+c.Param("hash") != s.static.prefix {
		return ErrMissing
	}
	c.Header("Cache-Control", "public, max-age=31536000, immutable")
	s.data(c, f.kind, f.body)
	return nil
}

// apiDescription serves the description of the API under an address that does not move.
func (s *Server) apiDescription(c *gin.Context) error {
	f, ok := s.static.files["openapi.yaml"]
	if !ok {
		return ErrMissing
	}
	s.data(c, f.kind, f.body)
	return nil
}

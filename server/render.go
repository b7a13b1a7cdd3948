package server

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"sync"

	"dewclaw/server/face"
	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// Base is what every page knows. Page structs embed it; a handler sets Title
// and, for the sheet, Wide; s.page fills the rest.
type Base struct {
	Title  string
	Person face.Person // zero: nobody is signed in
	Path   string      // the page's own path
	Static string      // prefix of static files, such as /static/1f0c.../
	Notice string      // said once, after something was done
	Wide   bool        // the page uses the whole width

	Technician string // what the school calls who reports to the veterinarian
}

func (b *Base) base() *Base { return b }

// based is any page struct.
type based interface{ base() *Base }

// pageRow is a row of the page table: the template files of a page, the layout
// first, and a filled example of the struct that they are executed with.
type pageRow struct {
	name    string
	files   []string
	example based
}

// errorPage tells a person what went wrong.
type errorPage struct {
	Base
	Status  int
	Text    string
	Fields  []FieldProblem
	Request string // the id in the log
}

// renderer holds one template set a page.
type renderer struct {
	sets    map[string]*template.Template
	buffers sync.Pool
}

// newRenderer parses every page of the table; a template that does not parse
// or is missing is an error at start, not at the first visitor.
func newRenderer(rows []pageRow) (*renderer, error) {
	r := &renderer{sets: map[string]*template.Template{}, buffers: sync.Pool{New: func() any { return new(bytes.Buffer) }}}
	for _, row := range rows {
		if r.sets[row.name] != nil {
			return nil, fmt.Errorf("page %s stands twice in the page table", row.name)
		}
		set, err := template.New(row.name).Option("missingkey=error").Funcs(pageFuncs).ParseFS(web.Embedded().Templates, row.files...)
		if err != nil {
			return nil, fmt.Errorf("page %s: %w", row.name, err)
		}
		if r.sets[row.name] = set.Lookup("layout"); r.sets[row.name] == nil {
			return nil, fmt.Errorf("page %s: none of its files defines \"layout\"", row.name)
		}
	}
	return r, nil
}

// execute renders a page into a buffer. Give it back with done.
func (r *renderer) execute(name string, p based) (*bytes.Buffer, error) {
	set := r.sets[name]
	if set == nil {
		return nil, fmt.Errorf("no page %q in the page table", name)
	}
	buf := r.buffers.Get().(*bytes.Buffer)
	buf.Reset()
	if err := set.Execute(buf, p); err != nil {
		r.done(buf)
		return nil, fmt.Errorf("page %s: %w", name, err)
	}
	return buf, nil
}

func (r *renderer) done(buf *bytes.Buffer) { r.buffers.Put(buf) }

// page answers with a page. Nothing is written unless the whole page rendered.
func (s *Server) page(c *gin.Context, name string, p based) error {
	return s.write(c, http.StatusOK, name, p)
}

func (s *Server) write(c *gin.Context, status int, name string, p based) error {
	b := p.base()
	b.Person, b.Path, b.Static = person(c), c.Request.URL.Path, s.static.prefix
	b.Technician = s.school().of("technician")
	if b.Notice == "" {
		b.Notice = s.takeNotice(c)
	}
	buf, err := s.render.execute(name, p)
	if err != nil {
		return err
	}
	defer s.render.done(buf)
	c.Data(status, "text/html; charset=utf-8", buf.Bytes())
	return nil
}

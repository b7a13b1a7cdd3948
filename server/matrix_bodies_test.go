package server

import (
	"net/url"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/stretchr/testify/require"
)

// sentBody is something to send.
type sentBody struct {
	name, kind string
	body       any
}

func (b sentBody) send(c *client, method, path string) *reply {
	if b.kind != "" {
		c.header = map[string]string{"Content-Type": b.kind}
		defer func() { c.header = nil }()
	}
	return c.send(method, path, b.body)
}

// pressed are what is asked for by a form's button.
var pressed = []string{"minutes", "pause", "delete", "rename", "release", "remove", "erase", "keep"}

// bodies are what a route is tried with: nothing, and for one that changes
// something, all that the pages and the description of the API can say.
func (w *world) bodies(r route) []sentBody {
	if r.method == get {
		return []sentBody{{name: "nothing"}}
	}
	out := []sentBody{{name: "nothing"}, {name: "an empty object", body: "{}"}}
	if r.kind == api {
		if sample := sampleBody(w.t, r); sample != nil {
			out = append(out, sentBody{name: "a good body", body: sample})
		}
		return out
	}
	for _, deed := range pressed {
		f := url.Values{}
		for _, name := range formNames(w.t) {
			f.Set(name, "1")
		}
		for name, value := range map[string]string{"deed": deed, "for": everybody, "minutes": "5", "cohort": w.cohorts["theirs"], "person": w.people[classmate],
			"role": "student", "opens": "2026-12-01T09:00", "closes": "2026-12-01T12:00", "edition": "x", "confirm": "Second year", "described": "yes"} {
			f.Set(name, value)
		}
		out = append(out, sentBody{"the form with " + deed, "application/x-www-form-urlencoded", f.Encode()})
	}
	return out
}

var formName = regexp.MustCompile(`PostForm(?:Array)?\("([a-z-]+)"\)`)

// allForms are the names of all fields that any form of the pages is read for.
var allForms = sync.OnceValues(func() ([]string, error) {
	entries, err := os.ReadDir(".")
	if err != nil {
		return nil, err
	}
	seen, out := map[string]bool{}, []string{}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		raw, err := os.ReadFile(e.Name())
		if err != nil {
			return nil, err
		}
		for _, m := range formName.FindAllStringSubmatch(string(raw), -1) {
			if !seen[m[1]] {
				seen[m[1]], out = true, append(out, m[1])
			}
		}
	}
	return out, nil
})

func formNames(t testing.TB) []string {
	names, err := allForms()
	require.NoError(t, err)
	require.Greater(t, len(names), 20)
	return names
}

var apiDoc = sync.OnceValues(func() (*openapi3.T, error) {
	return openapi3.NewLoader().LoadFromFile("../web/static/openapi.yaml")
})

// sampleBody is a body as the description of the API asks for it; nil: it asks for none in JSON.
func sampleBody(t testing.TB, r route) any {
	doc, err := apiDoc()
	require.NoError(t, err)
	path := doc.Paths.Find(regexp.MustCompile(`:(\w+)`).ReplaceAllString(r.path, "{$1}"))
	require.NotNil(t, path, r.path)
	op := path.GetOperation(r.method)
	if op == nil || op.RequestBody == nil || op.RequestBody.Value.Content.Get("application/json") == nil {
		return nil
	}
	return sample(op.RequestBody.Value.Content.Get("application/json").Schema.Value, 0)
}

// sample is a value of a schema: its example, its first choice, or the least that fits.
func sample(s *openapi3.Schema, depth int) any {
	switch {
	case s == nil || depth > 6:
		return nil
	case s.Example != nil:
		return s.Example
	case len(s.Enum) > 0:
		return s.Enum[0]
	case s.Type.Is("object"):
		out := map[string]any{}
		for name, p := range s.Properties {
			out[name] = sample(p.Value, depth+1)
		}
		return out
	case s.Type.Is("array"):
		return []any{sample(s.Items.Value, depth+1)}
	case s.Type.Is("integer"), s.Type.Is("number"):
		return 1
	case s.Type.Is("boolean"):
		return true
	}
	return strings.Repeat("x", max(int(s.MinLength), 1))
}

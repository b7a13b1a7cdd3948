package file

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"bytes"

	"go.yaml.in/yaml/v3"

	"dewclaw/rubric"
)

// Problem is one thing wrong with a file, where it stands, and what would be right.
type Problem struct {
	File      string
	Line, Col int
	Message   string
}

// String is file:line:col: message.
func (p Problem) String() string {
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Col, p.Message)
}

// Error is every problem of a file, in the order of the file.
type Error struct{ Problems []Problem }

// Error puts one problem on a line.
func (e *Error) Error() string {
	lines := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// Reference is an id in a rubric that a catalogue must know.
type Reference struct {
	Kind      string // step, site or stage; a handling act is a step "handle:"+id
	ID        string // for a site: step@site
	Line, Col int
}

// Place is where something stands in a file.
type Place struct{ Line, Col int }

// Rows are the places of a rubric's rows, in the order of the file: the row
// with index i of the parsed rubric stands at index i here.
type Rows struct{ Steps, Rules, Routes []Place }

func placeOf(n *yaml.Node) Place { return Place{max(1, n.Line), max(1, n.Column)} }

// reader walks the nodes of a file and gathers every problem.
type reader struct {
	name     string
	problems []Problem
	refs     []Reference
	stand    Rows // places of the rows
}

func (r *reader) fail(n *yaml.Node, format string, args ...any) {
	r.problems = append(r.problems, Problem{r.name, max(1, n.Line), max(1, n.Column), fmt.Sprintf(format, args...)})
}

func (r *reader) refer(kind, id string, n *yaml.Node) {
	r.refs = append(r.refs, Reference{kind, id, n.Line, n.Column})
}

// err is nil where there is no problem.
func (r *reader) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	slices.SortStableFunc(r.problems, func(a, b Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Col - b.Col
	})
	return &Error{slices.Compact(r.problems)}
}

// document reads the one document of a file; aliases are refused, so that a
// small file cannot unfold into a large one.
func (r *reader) document(data []byte) *yaml.Node {
	if len(data) > sizeMost {
		r.fail(&yaml.Node{}, "%d bytes; a rubric is at most %d", len(data), sizeMost)
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc, second yaml.Node
	if err := dec.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			r.fail(&yaml.Node{}, "the file is empty; write a rubric")
		} else {
			r.failYAML(err)
		}
		return nil
	}
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		if err != nil {
			r.failYAML(err)
		} else {
			r.fail(&second, "a second document; write one rubric a file")
		}
		return nil
	}
	if !r.plain(&doc) {
		return nil
	}
	return doc.Content[0]
}

// failYAML keeps the line that the YAML reader names.
func (r *reader) failYAML(err error) {
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	n := &yaml.Node{}
	if after, ok := strings.CutPrefix(text, "line "); ok {
		if num, rest, ok := strings.Cut(after, ": "); ok {
			if line, err := strconv.Atoi(num); err == nil {
				n.Line, text = line, rest
			}
		}
	}
	r.fail(n, "not YAML: %s", text)
}

func (r *reader) plain(n *yaml.Node) bool {
	if n.Kind == yaml.AliasNode || n.Anchor != "" {
		r.fail(n, "anchors and aliases are not used here; write the value out")
		return false
	}
	for _, c := range n.Content {
		if !r.plain(c) {
			return false
		}
	}
	return true
}

// rows reads a mapping by a table of its keys; unknown, repeated and missing
// keys are problems.
func (r *reader) rows(n *yaml.Node, what string, table map[string]func(*yaml.Node), needs ...string) {
	if n.Kind != yaml.MappingNode {
		r.fail(n, "%s must be a mapping with %s", what, strings.Join(slices.Sorted(maps.Keys(table)), ", "))
		return
	}
	seen := map[string]bool{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		read, ok := table[key.Value]
		switch {
		case !ok:
			r.fail(key, "unknown key %q in %s; known are %s", clip(key.Value), what, strings.Join(slices.Sorted(maps.Keys(table)), ", "))
		case seen[key.Value]:
			r.fail(key, "key %q stands twice in %s", key.Value, what)
		default:
			read(value)
		}
		seen[key.Value] = true
	}
	for _, k := range needs {
		if !seen[k] {
			r.fail(n, "%s needs a key %q", what, k)
		}
	}
}

func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "..."
	}
	return s
}

// list reads a sequence.
func (r *reader) list(n *yaml.Node, what string, each func(*yaml.Node)) {
	if n.Kind != yaml.SequenceNode {
		r.fail(n, "%s must be a list", what)
		return
	}
	for _, c := range n.Content {
		each(c)
	}
}

// text reads a text that is not empty.
func (r *reader) text(n *yaml.Node, what string, to *string) {
	if n.Kind != yaml.ScalarNode || n.Tag != "!!str" || strings.TrimSpace(n.Value) == "" {
		r.fail(n, "%s must be a text", what)
		return
	}
	*to = strings.TrimSpace(n.Value)
}

func (r *reader) texts(n *yaml.Node, what string, to *[]string) {
	r.list(n, what, func(c *yaml.Node) {
		var s string
		r.text(c, "every item of "+what, &s)
		if s != "" {
			*to = append(*to, s)
		}
	})
}

// number reads a whole number in bounds.
func (r *reader) number(n *yaml.Node, what string, lo, hi int, to *int) {
	i, err := strconv.Atoi(n.Value)
	if n.Kind != yaml.ScalarNode || n.Tag != "!!int" || err != nil || i < lo || i > hi {
		r.fail(n, "%s must be a whole number from %d to %d", what, lo, hi)
		return
	}
	*to = i
}

// decimal reads a number with at most three decimals, into thousandths.
func (r *reader) decimal(n *yaml.Node, what string, hi rubric.Milli, to *int) {
	m, err := rubric.ParseMilli(n.Value)
	if n.Kind != yaml.ScalarNode || (n.Tag != "!!int" && n.Tag != "!!float") || err != nil || m < 0 || m > hi {
		r.fail(n, "%s must be a number from 0 to %s", what, hi)
		return
	}
	*to = int(m)
}

func (r *reader) flag(n *yaml.Node, what string, to *bool) {
	if n.Kind != yaml.ScalarNode || n.Tag != "!!bool" {
		r.fail(n, "%s must be true or false", what)
		return
	}
	*to = n.Value == "true"
}

// choice reads one of a few words.
func (r *reader) choice(n *yaml.Node, what string, of []string, to *string) {
	if n.Kind != yaml.ScalarNode || !slices.Contains(of, n.Value) {
		r.fail(n, "%s must be one of %s", what, strings.Join(of, ", "))
		return
	}
	*to = n.Value
}

func (r *reader) choices(n *yaml.Node, what string, of []string, to *[]string) {
	r.list(n, what, func(c *yaml.Node) {
		var s string
		r.choice(c, "every item of "+what, of, &s)
		if s != "" {
			*to = append(*to, s)
		}
	})
}

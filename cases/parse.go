package cases

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// The largest files that are read, in bytes.
const (
	MaxCase      = 64 << 10
	MaxCatalogue = 512 << 10
)

// Problem is something wrong in a file: what, where, and what would be right.
type Problem struct {
	File      string
	Line, Col int
	Message   string
}

// String gives file:line:col: message.
func (p Problem) String() string {
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Col, p.Message)
}

// ProblemsError is the error of files that could not be loaded.
type ProblemsError []Problem

// Error lists every problem, one a line.
func (e ProblemsError) Error() string {
	lines := make([]string, len(e))
	for i, p := range e {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// sortProblems puts them in the order of the files and drops repeats.
func sortProblems(ps []Problem) []Problem {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Col, b.Col), cmp.Compare(a.Message, b.Message))
	})
	return slices.Compact(ps)
}

// mark is where something stands.
type mark struct {
	file      string
	line, col int
}

// marks remembers where each member of a file stands, by its path. Checks that
// need the whole file use it to point at the right place.
type marks map[string]mark

// at gives the place of a path, or of the nearest one around it.
func (m marks) at(path ...string) mark {
	for n := len(path); n > 0; n-- {
		if k, ok := m[strings.Join(path[:n], "\x00")]; ok {
			return k
		}
	}
	return m[""]
}

func (k mark) problem(format string, args ...any) Problem {
	return Problem{File: k.file, Line: max(k.line, 1), Col: max(k.col, 1), Message: fmt.Sprintf(format, args...)}
}

// reader reads YAML nodes into rows and collects every problem on its way.
type reader struct {
	file     string
	marks    marks
	problems []Problem
}

// trail is the way to a node: the keys from the top.
type trail []string

func (p trail) to(key string) trail { return append(slices.Clone(p), key) }

func (r *reader) complain(n *yaml.Node, format string, args ...any) {
	r.problems = append(r.problems, mark{r.file, n.Line, n.Column}.problem(format, args...))
}

func (r *reader) note(p trail, n *yaml.Node) {
	r.marks[strings.Join(p, "\x00")] = mark{r.file, n.Line, n.Column}
}

// document parses the one document of a file. It returns nil, with a problem,
// when there is none.
func (r *reader) document(data []byte, limit int) *yaml.Node {
	top := &yaml.Node{Line: 1, Column: 1}
	r.note(nil, top)
	if len(data) > limit {
		r.complain(top, "the file is %d bytes long; at most %d are read", len(data), limit)
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc, second yaml.Node
	if err := dec.Decode(&doc); err != nil {
		r.syntax(err)
		return nil
	}
	switch err := dec.Decode(&second); {
	case errors.Is(err, io.EOF):
	case err != nil:
		r.syntax(err)
	default:
		r.complain(&second, "a second document begins here; a file holds one, so remove the line ---")
	}
	if len(doc.Content) != 1 {
		r.complain(top, "the file is empty; it should begin with case: or catalogue:")
		return nil
	}
	r.plain(doc.Content[0])
	return doc.Content[0]
}

var yamlLine = regexp.MustCompile(`line (\d+):? ?`)

// syntax reports that the file is not YAML, at the line the parser names.
func (r *reader) syntax(err error) {
	n := &yaml.Node{Line: 1, Column: 1}
	if errors.Is(err, io.EOF) {
		r.complain(n, "the file is empty; it should begin with case: or catalogue:")
		return
	}
	text := strings.TrimPrefix(err.Error(), "yaml: ")
	if m := yamlLine.FindStringSubmatch(text); m != nil {
		n.Line, _ = strconv.Atoi(m[1])
		text = strings.Replace(text, m[0], "", 1)
	}
	r.complain(n, "not YAML: %s", strings.TrimSpace(text))
}

// plain refuses anchors and aliases: they hide what a row says and can unfold
// to more than memory holds.
func (r *reader) plain(n *yaml.Node) {
	if n.Anchor != "" {
		r.complain(n, "anchor &%s: write the value out where it is needed", n.Anchor)
	}
	if n.Kind == yaml.AliasNode {
		r.complain(n, "alias *%s: write the value out", n.Value)
		return
	}
	for _, c := range n.Content {
		r.plain(c)
	}
}

// reads reads one node into some place.
type reads func(p trail, n *yaml.Node)

// member is a key that a mapping may have.
type member struct {
	key  string
	read reads
}

// table reads a mapping with known keys.
func (r *reader) table(p trail, n *yaml.Node, what string, members []member) {
	r.entries(p, n, what, func(key string, p trail, k, v *yaml.Node) {
		i := slices.IndexFunc(members, func(m member) bool { return m.key == key })
		if i < 0 {
			known := make([]string, len(members))
			for j, m := range members {
				known[j] = m.key
			}
			r.complain(k, "unknown key %q in %s%s", key, what, nearestOf(key, known))
			return
		}
		members[i].read(p, v)
	})
}

// entries walks a mapping whose keys are free and refuses repeated keys.
func (r *reader) entries(p trail, n *yaml.Node, what string, each func(key string, p trail, k, v *yaml.Node)) {
	if n.Kind == yaml.AliasNode { // plain has complained
		return
	}
	if n.Kind != yaml.MappingNode {
		r.complain(n, "%s should be a mapping (key: value), not %s", what, kindName(n))
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if k.Kind != yaml.ScalarNode || k.Tag == "!!null" || k.Tag == "!!merge" {
			r.complain(k, "a key in %s should be a word, not %s", what, kindName(k))
			continue
		}
		if line, twice := seen[k.Value]; twice {
			r.complain(k, "%q stands twice in %s; it was first given in line %d", k.Value, what, line)
			continue
		}
		seen[k.Value] = k.Line
		at := p.to(k.Value)
		r.note(at, k)
		each(k.Value, at, k, v)
	}
}

// kindName says what a node is, in words.
func kindName(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "a mapping"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Kind == yaml.AliasNode:
		return "an alias"
	case n.Tag == "!!null":
		return "nothing"
	case n.Tag == "!!merge":
		return "a merge (<<)"
	}
	return fmt.Sprintf("%q", clip(n.Value, 40))
}

// clip shortens a text for a message.
func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}

var textTags = []string{"!!str", "!!int", "!!float"}

// scalar returns the text of a word, number or sentence.
func (r *reader) scalar(n *yaml.Node, want string) (string, bool) {
	if n.Kind == yaml.AliasNode {
		return "", false
	}
	if n.Kind != yaml.ScalarNode || !slices.Contains(textTags, n.Tag) {
		r.complain(n, "this should be %s, not %s", want, kindName(n))
		return "", false
	}
	return strings.TrimSpace(n.Value), true
}

// text reads a text that is not empty.
func (r *reader) text(into *string) reads {
	return func(p trail, n *yaml.Node) {
		s, ok := r.scalar(n, "a text")
		if ok && s == "" {
			r.complain(n, "this should be a text, not empty")
		}
		*into = s
	}
}

// oneOf reads one of a few words.
func (r *reader) oneOf(into *string, words ...string) reads {
	return func(p trail, n *yaml.Node) {
		s, ok := r.scalar(n, "one of "+strings.Join(words, ", "))
		if !ok {
			return
		}
		if !slices.Contains(words, s) {
			r.complain(n, "%q should be one of %s%s", clip(s, 40), strings.Join(words, ", "), didYouMean(s, words))
			return
		}
		*into = s
	}
}

// whole reads a whole number between two limits.
func (r *reader) whole(into *int, low, high int) reads {
	return func(p trail, n *yaml.Node) {
		x, err := strconv.Atoi(n.Value)
		if n.Kind != yaml.ScalarNode || n.Tag != "!!int" || err != nil || x < low || x > high {
			r.complain(n, "this should be a whole number from %d to %d, not %s", low, high, kindName(n))
			return
		}
		*into = x
	}
}

// yes reads true or false.
func (r *reader) yes(into *bool) reads {
	return func(p trail, n *yaml.Node) {
		if n.Kind != yaml.ScalarNode || n.Tag != "!!bool" {
			r.complain(n, "this should be true or false, not %s", kindName(n))
			return
		}
		*into = strings.EqualFold(n.Value, "true")
	}
}

// list walks a list.
func (r *reader) list(p trail, n *yaml.Node, what string, each func(p trail, n *yaml.Node)) {
	if n.Kind == yaml.AliasNode {
		return
	}
	if n.Kind != yaml.SequenceNode {
		r.complain(n, "%s should be a list [a, b], not %s", what, kindName(n))
		return
	}
	for i, v := range n.Content {
		at := p.to(strconv.Itoa(i))
		r.note(at, v)
		each(at, v)
	}
}

// texts reads a list of texts without repeats. An empty list is allowed.
func (r *reader) texts(into *[]string) reads {
	return func(p trail, n *yaml.Node) {
		*into = nil
		r.list(p, n, "this", func(p trail, n *yaml.Node) {
			s, ok := r.scalar(n, "a text")
			if ok && slices.Contains(*into, s) {
				r.complain(n, "%q stands twice in this list", s)
			} else if ok {
				*into = append(*into, s)
			}
		})
	}
}

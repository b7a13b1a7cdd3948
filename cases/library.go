package cases

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"go.yaml.in/yaml/v3"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

//go:embed library
var builtinFiles embed.FS

// Library holds the catalogues and the cases. It does not change once loaded.
type Library struct {
	ranges     normal.Table // nil: those that come with the program
	catalogues map[string]*Catalogue
	files      []source // of the catalogues
	cases      []*Case
	byID       map[string]*Case
	broken     []BrokenFile
	media      *mediaShelf // nil: no folder of media
}

// BrokenFile is a case file or medium that could not be used, with what is wrong
// in it.
type BrokenFile struct {
	Name     string
	Problems []Problem
}

var builtin = sync.OnceValues(func() (*Library, error) {
	sub, err := fs.Sub(builtinFiles, "library")
	if err != nil {
		return nil, err
	}
	return Load(sub)
})

// Builtin returns the library that is compiled in. It panics where that is
// broken, which a test rules out.
func Builtin() *Library {
	l, err := builtin()
	if err != nil {
		panic("cases: the library compiled in is broken:\n" + err.Error())
	}
	return l
}

// BuiltinFiles is the library compiled in as files, to lie under a school's
// own in Load.
func BuiltinFiles() fs.FS {
	sub, err := fs.Sub(builtinFiles, "library")
	if err != nil {
		panic(err) // the directive above names the directory
	}
	return sub
}

// Layers are the library compiled in and, over it, the school's own in the
// folder library of its data, where it has one.
func Layers(data string) []fs.FS {
	layers := []fs.FS{BuiltinFiles()}
	own := filepath.Join(data, "library")
	if _, err := os.Stat(own); err == nil {
		layers = append(layers, os.DirFS(own))
	}
	return layers
}

// Load reads catalogue/*.yaml and cases/*.yaml of the file systems; a file of
// a later one takes the place of the earlier file of the same name. A broken
// catalogue is an error, ProblemsError; a broken case never is: Broken lists it.
func Load(fsys ...fs.FS) (*Library, error) { return LoadBy(nil, fsys...) }

// LoadBy loads where a school has reference ranges of its own: its cases are
// checked by them, and patients are drawn by them. Nil are those that come with
// the program.
func LoadBy(ranges normal.Table, fsys ...fs.FS) (*Library, error) {
	return loadWith(ranges, newShelf(fsys, nil), fsys...)
}

func loadWith(ranges normal.Table, media *mediaShelf, fsys ...fs.FS) (*Library, error) {
	catalogues, err := gather(fsys, "catalogue", MaxCatalogue)
	if err != nil {
		return nil, err
	}
	cases, err := gather(fsys, "cases", MaxCase)
	if err != nil {
		return nil, err
	}
	l := &Library{ranges: ranges, catalogues: map[string]*Catalogue{}, files: catalogues, byID: map[string]*Case{}, media: media}
	if problems := l.loadCatalogues(catalogues); len(problems) > 0 {
		return nil, ProblemsError(sortProblems(problems))
	}
	l.loadCases(cases)
	return l, nil
}

// source is a file as found.
type source struct {
	name string
	data []byte
}

// gather reads the YAML files of one directory, sorted by name.
func gather(fsys []fs.FS, dir string, limit int64) ([]source, error) {
	found := map[string][]byte{}
	for _, f := range fsys {
		entries, err := fs.ReadDir(f, dir)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("cases: read %s: %w", dir, err)
		}
		for _, e := range entries {
			name := e.Name()
			if ext := path.Ext(name); e.IsDir() || strings.HasPrefix(name, ".") || ext != ".yaml" && ext != ".yml" {
				continue
			}
			data, err := readLimited(f, path.Join(dir, name), limit)
			if err != nil {
				return nil, fmt.Errorf("cases: read %s: %w", path.Join(dir, name), err)
			}
			found[path.Join(dir, name)] = data
		}
	}
	var out []source
	for _, name := range slices.Sorted(maps.Keys(found)) {
		out = append(out, source{name, found[name]})
	}
	return out, nil
}

// readLimited reads at most one byte more than the limit, enough for the
// reader to see that the file is too long.
func readLimited(f fs.FS, name string, limit int64) ([]byte, error) {
	file, err := f.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, limit+1))
}

// catalogueFile is a catalogue file before it is laid over the one it extends.
type catalogueFile struct {
	source
	header
	node *yaml.Node
	at   marks
}

func (l *Library) loadCatalogues(files []source) []Problem {
	var problems []Problem
	read := map[string]*catalogueFile{}
	for _, s := range files {
		f, ps := openCatalogue(s)
		problems = append(problems, ps...)
		if f == nil {
			continue
		}
		if other := read[f.header.name]; other != nil {
			problems = append(problems, f.at.at("catalogue").problem("catalogue %q stands in %s already", f.header.name, other.source.name))
			continue
		}
		read[f.header.name] = f
	}
	for _, name := range slices.Sorted(maps.Keys(read)) {
		if read[name].base {
			continue
		}
		c, ps := assemble(read, name)
		problems = append(problems, ps...)
		if len(ps) == 0 {
			l.catalogues[name] = c
		}
	}
	return problems
}

// openCatalogue parses a file and reads how it begins.
func openCatalogue(s source) (*catalogueFile, []Problem) {
	r := &reader{file: s.name, marks: marks{}}
	n := r.document(s.data, MaxCatalogue)
	if n == nil {
		return nil, r.problems
	}
	f := &catalogueFile{source: s, node: n, at: r.marks}
	var c Catalogue
	problems := r.problems
	r.problems = nil
	r.catalogue(n, &f.header, &c) // for its header; assemble reads it again over its base and reports
	if f.header.name == "" {
		return nil, append(problems, append(r.problems, r.marks.at("catalogue").problem("a catalogue file should begin with catalogue: and the name of a species"))...)
	}
	return f, problems
}

// assemble lays a catalogue over the ones that it extends and checks the whole.
func assemble(read map[string]*catalogueFile, name string) (*Catalogue, []Problem) {
	var chain []*catalogueFile
	for at := name; at != ""; {
		f := read[at]
		if f == nil || slices.Contains(chain, f) {
			last := chain[len(chain)-1]
			return nil, []Problem{last.at.at("extends").problem("extends: there is no other catalogue %q%s", at, nearestOf(at, slices.Sorted(maps.Keys(read))))}
		}
		chain = append(chain, f)
		at = f.extends
	}
	slices.Reverse(chain)
	c := &Catalogue{Species: name, marks: marks{}}
	var problems []Problem
	for _, f := range chain {
		r := &reader{file: f.source.name, marks: c.marks}
		r.note(nil, f.node)
		var h header
		r.catalogue(f.node, &h, c)
		problems = append(problems, r.problems...)
		c.Source = fmt.Appendf(c.Source, "# %s\n", f.source.name)
		c.Source = append(c.Source, f.data...)
	}
	c.finish()
	return c, append(problems, checkCatalogue(c)...)
}

// finish derives what follows from the rows.
func (c *Catalogue) finish() {
	sum := sha256.Sum256(c.Source)
	c.Hash = hex.EncodeToString(sum[:])
	for i := range c.Fields {
		for j := range c.Fields[i].Of {
			if ch := &c.Fields[i].Of[j]; ch.Label == "" {
				ch.Label = upperFirst(ch.ID)
			}
		}
	}
	c.reindex()
	c.vocab = c.vocabulary()
	c.fields = c.engineFields()
	c.form = rubric.NewForm(c.fields)
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func (l *Library) loadCases(files []source) {
	named, unread := map[string]bool{}, false
	for _, s := range files {
		k, problems := l.ParseCase(s.name, s.data)
		unread = unread || k == nil
		for i := 0; k != nil && i < len(k.Media); i++ {
			named[k.Media[i].File] = true
		}
		if k != nil && len(problems) == 0 {
			if other := l.byID[k.ID]; other != nil {
				problems = append(problems, k.marks.at("case").problem("case %q stands in another file already; give this one its own id", k.ID))
			}
		}
		if len(problems) > 0 {
			l.broken = append(l.broken, BrokenFile{Name: s.name, Problems: problems})
			continue
		}
		l.cases = append(l.cases, k)
		l.byID[k.ID] = k
	}
	slices.SortFunc(l.cases, func(a, b *Case) int { return strings.Compare(a.ID, b.ID) })
	l.unused(named, unread)
}

// Catalogue returns the catalogue of a species, or nil.
func (l *Library) Catalogue(species string) *Catalogue { return l.catalogues[species] }

// Species lists the species that have a catalogue, sorted.
func (l *Library) Species() []string { return slices.Sorted(maps.Keys(l.catalogues)) }

// Case returns the case with this id, or nil.
func (l *Library) Case(id string) *Case { return l.byID[id] }

// Cases returns the cases, sorted by id.
func (l *Library) Cases() []*Case { return slices.Clone(l.cases) }

// Broken lists the case files that could not be used, and the media that no case uses.
func (l *Library) Broken() []BrokenFile { return slices.Clone(l.broken) }

// ParseCase reads a case file and checks it. It returns every problem at once,
// sorted; the case is usable only when there is none, and nil when the file
// could not be read as a case at all.
func (l *Library) ParseCase(file string, data []byte) (*Case, []Problem) {
	r := &reader{file: file, marks: marks{}}
	data, hashes := withoutHashes(data)
	n := r.document(data, MaxCase)
	if n == nil {
		return nil, r.problems
	}
	k := &Case{Source: slices.Clone(data), marks: r.marks}
	r.caseFile(n, k)
	problems := append(r.problems, l.bring(k, hashes)...)
	return k, sortProblems(append(problems, CheckCase(l, k)...))
}

// CheckFile checks the bytes of a case, catalogue or rubric file, which its
// first key tells apart, or of a file of ranges, which is CSV. A catalogue is
// laid over those of the library.
func CheckFile(l *Library, file string, data []byte) []Problem {
	if strings.EqualFold(path.Ext(file), ".csv") {
		return CheckRanges(l, file, data)
	}
	r := &reader{file: file, marks: marks{}}
	n := r.document(data, MaxCatalogue)
	if n == nil {
		return sortProblems(r.problems)
	}
	if n.Kind == yaml.MappingNode && len(n.Content) > 0 && n.Content[0].Value == "catalogue" {
		return sortProblems(l.checkCatalogueFile(source{file, data}))
	}
	if n.Kind == yaml.MappingNode && len(n.Content) > 0 && n.Content[0].Value == "case" {
		_, problems := l.ParseCase(file, data)
		return problems
	}
	if n.Kind == yaml.MappingNode && len(n.Content) > 0 && n.Content[0].Value == "rubric" {
		return CheckRubric(l, file, data)
	}
	r.complain(n, "the first key should be case:, catalogue: or rubric:, to say what the file holds")
	return sortProblems(r.problems)
}

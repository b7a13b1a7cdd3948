package server

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/server/face"
)

// rubricFolder is where a school's own rubrics lie, below Config.Data.
const rubricFolder = "rubrics"

// Bounds of the school's own folder. What is beyond them is told, not read.
const (
	mostRubrics   = 200
	longestRubric = 1 << 20 // bytes, as package rubric/file reads them
)

// shelf is every rubric that visits may be marked by, and every file that does
// not load. It is made whole and never changed, so that it needs no lock.
type shelf struct {
	rows   []*shelved // by id, then version
	broken []face.Broken
}

// shelved is one version of a rubric.
type shelved struct {
	rubric.Rubric
	From    string // a file's name below Config.Data; empty: it comes with the program
	Kept    bool   // it is no longer among the files: its text is kept with the visits that it marked
	Text    []byte
	Hash    string // of Text, as the store keeps it
	Current bool   // new visits are marked by it: the highest version of its id
}

// current is the version that new visits are marked by; nil: no such id.
func (h *shelf) current(id string) *shelved {
	for _, row := range h.rows {
		if row.ID == id && row.Current {
			return row
		}
	}
	return nil
}

// find is the version with this hash; nil: it is not on the shelf.
func (h *shelf) find(hash string) *shelved {
	for _, row := range h.rows {
		if row.Hash == hash {
			return row
		}
	}
	return nil
}

// ids are those of all rubrics, sorted.
func (h *shelf) ids() []string {
	var out []string
	for _, row := range h.rows {
		if row.Current {
			out = append(out, row.ID)
		}
	}
	return out
}

// loadShelf puts the school's own rubrics over the built-in ones. Nothing that
// lies in the folder can keep the server from starting.
func loadShelf(lib *cases.Library, own fs.FS) *shelf {
	h := &shelf{}
	for _, id := range file.IDs() {
		if text, err := file.Source(id); err != nil || h.put(lib, "", text) != nil {
			h.broken = append(h.broken, face.Broken{File: id, Problems: []face.Problem{{Message: "This rubric comes with the program and does not load."}}})
		}
	}
	h.loadOwn(lib, own)
	slices.SortStableFunc(h.rows, func(a, b *shelved) int {
		if a.ID != b.ID {
			return strings.Compare(a.ID, b.ID)
		}
		return a.Version - b.Version
	})
	for i, row := range h.rows {
		row.Current = i+1 == len(h.rows) || h.rows[i+1].ID != row.ID
	}
	return h
}

func (h *shelf) loadOwn(lib *cases.Library, own fs.FS) {
	entries, err := fs.ReadDir(own, ".")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		h.spoil(rubricFolder, face.Problem{Message: "The folder cannot be read: " + reasonOf(err) + "."})
	}
	n := 0
	for _, e := range entries {
		name := rubricFolder + "/" + e.Name()
		if ext := filepath.Ext(name); ext != ".yaml" && ext != ".yml" {
			continue
		}
		if n++; n > mostRubrics {
			h.spoil(name, face.Problem{Message: fmt.Sprintf("Not read: at most %d rubrics are.", mostRubrics)})
			continue
		}
		text, err := readRubric(own, e.Name())
		if err != nil {
			h.spoil(name, face.Problem{Message: "The file cannot be read: " + reasonOf(err) + "."})
			continue
		}
		if problems := h.put(lib, name, text); problems != nil {
			h.spoil(name, problems...)
		}
	}
}

func (h *shelf) spoil(name string, problems ...face.Problem) {
	h.broken = append(h.broken, face.Broken{File: strings.ToValidUTF8(name, "?"), Problems: problems})
}

// reasonOf leaves out the path, which says where on the machine the data lie.
func reasonOf(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// errNoFile is told for what has the name of a rubric and is no plain file.
var errNoFile = errors.New("it is no plain file")

// readRubric reads one byte more than a rubric may have, so that the parser
// says that it is too long, and never waits for a pipe.
func readRubric(own fs.FS, name string) ([]byte, error) {
	info, err := fs.Stat(own, name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errNoFile
	}
	f, err := own.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, longestRubric+1))
}

// put checks a rubric and puts it onto the shelf; problems are why it did not.
func (h *shelf) put(lib *cases.Library, name string, text []byte) []face.Problem {
	sum := sha256.Sum256(text)
	row := &shelved{From: name, Text: text, Hash: hex.EncodeToString(sum[:])}
	var err error
	if name == "" {
		row.Rubric, err = file.Parse("", text)
	} else if problems := cases.CheckRubric(lib, name, text); len(problems) > 0 {
		var out []face.Problem
		for _, p := range problems {
			out = append(out, face.Problem{Line: p.Line, Col: p.Col, Message: p.Message})
		}
		return out
	} else {
		row.Rubric, err = file.Parse(name, text)
	}
	if err != nil {
		return []face.Problem{{Line: 1, Col: 1, Message: err.Error()}}
	}
	if other := h.find(row.Hash); other != nil {
		return nil // a copy of what is there: the same marks under the same name
	}
	if p := h.quarrel(row); p != nil {
		return []face.Problem{*p}
	}
	h.rows = append(h.rows, row)
	return nil
}

// quarrel says why a rubric cannot stand beside the others of its id.
func (h *shelf) quarrel(row *shelved) *face.Problem {
	for _, other := range h.rows {
		switch {
		case other.ID != row.ID:
		case other.Track != row.Track:
			return &face.Problem{Line: lineOf(row.Text, "track:"), Col: 1, Message: fmt.Sprintf(
				"%s is a rubric of the %s track (%s); right would be track: %s, or another id", row.ID, other.Track, other.where(), other.Track)}
		case other.Version == row.Version:
			return &face.Problem{Line: lineOf(row.Text, "version:"), Col: 1, Message: fmt.Sprintf(
				"there is another text of %s with version %d (%s); right would be a higher version", row.ID, row.Version, other.where())}
		}
	}
	return nil
}

// where says in words where a rubric comes from.
func (r *shelved) where() string {
	switch {
	case r.Kept:
		return "kept with its visits"
	case r.From == "":
		return "comes with the program"
	}
	return r.From
}

// lineOf is the number of the line that begins with a key; 1 where none does.
func lineOf(text []byte, key string) int {
	n := 1
	for line := range bytes.Lines(text) {
		if bytes.HasPrefix(line, []byte(key)) {
			return n
		}
		n++
	}
	return 1
}

// openShelf reads the rubrics. Visits that are open go on with theirs.
func (s *Server) openShelf() {
	s.shelf.Store(loadShelf(s.library, os.DirFS(filepath.Join(s.cfg.Data, rubricFolder))))
	for _, b := range s.shelf.Load().broken {
		s.log.Warn("a rubric does not load", "file", b.File, "problems", len(b.Problems))
	}
}

// keptRubric is a version of a rubric that visits were marked by, whether or not
// it is still on the shelf.
func (s *Server) keptRubric(ctx context.Context, hash string) (*shelved, error) {
	if row := s.shelf.Load().find(hash); row != nil {
		return row, nil
	}
	text, err := s.store.Content(ctx, hash)
	if err != nil {
		return nil, fmt.Errorf("an earlier rubric: %w", err)
	}
	r, err := file.Parse("", text)
	if err != nil {
		return nil, fmt.Errorf("an earlier rubric: %w", err)
	}
	return &shelved{Rubric: r, Kept: true, Text: text, Hash: hash}, nil
}

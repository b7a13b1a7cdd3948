package server

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/file"
	"dewclaw/rubric/normal"
	"dewclaw/server/store"
)

// decodeEntry opens a stored act.
func decodeEntry(a store.Act) (rubric.Entry, error) {
	var e rubric.Entry
	if err := json.Unmarshal(a.Act, &e.Act); err != nil {
		return e, fmt.Errorf("stored act %d: %w", a.N, err)
	}
	var err error
	if e.Outcome, err = rubric.DecodeOutcome(a.Outcome); err != nil {
		return e, fmt.Errorf("stored act %d: %w", a.N, err)
	}
	return e, nil
}

// hashes are the texts that an attempt began with, kept in the table content.
type hashes struct{ kase, catalogue, rubric, ranges string }

// keepTexts stores what an attempt begins with, each text once for all attempts.
func (s *Server) keepTexts(ctx context.Context, k *cases.Case, rubricID string) (h hashes, err error) {
	scheme, err := file.Source(rubricID)
	if err != nil {
		return h, fmt.Errorf("marking scheme: %w", err)
	}
	ranges, err := json.Marshal(normal.Rows())
	if err != nil {
		return h, fmt.Errorf("reference ranges: %w", err)
	}
	for _, row := range []struct {
		text []byte
		hash *string
	}{{k.Source, &h.kase}, {s.library.Catalogue(k.Species).Source, &h.catalogue}, {scheme, &h.rubric}, {ranges, &h.ranges}} {
		if *row.hash, err = s.store.PutContent(ctx, row.text); err != nil {
			return h, fmt.Errorf("keep texts: %w", err)
		}
	}
	return h, nil
}

// asStored gives the library and the case as they were when the attempt began:
// today's where the texts are the same, else one made from the stored texts.
func (s *Server) asStored(ctx context.Context, row store.Attempt) (*cases.Library, *cases.Case, error) {
	if k := s.library.Case(row.Case); k != nil && k.Hash == row.CaseHash {
		if cat := s.library.Catalogue(k.Species); cat != nil && cat.Hash == row.CatalogueHash {
			return s.library, k, nil
		}
	}
	kase, err := s.store.Content(ctx, row.CaseHash)
	if err != nil {
		return nil, nil, fmt.Errorf("the case as it was: %w", err)
	}
	catalogue, err := s.store.Content(ctx, row.CatalogueHash)
	if err != nil {
		return nil, nil, fmt.Errorf("the catalogue as it was: %w", err)
	}
	files, err := storedFiles(kase, catalogue)
	if err != nil {
		return nil, nil, err
	}
	lib, err := cases.Load(files)
	if err != nil {
		return nil, nil, fmt.Errorf("the library as it was: %w", err)
	}
	k := lib.Case(row.Case)
	if k == nil {
		return nil, nil, fmt.Errorf("the case as it was no longer loads: %d problems", len(lib.Broken()))
	}
	return lib, k, nil
}

// storedFiles puts the stored texts back into files. A catalogue's source is
// its files one after the other, each below a line "# catalogue/NAME".
func storedFiles(kase, catalogue []byte) (fs.FS, error) {
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	add := func(name, text string) error {
		f, err := w.Create(name)
		if err != nil {
			return err
		}
		_, err = f.Write([]byte(text))
		return err
	}
	for _, part := range strings.Split("\n"+string(catalogue), "\n# catalogue/")[1:] {
		name, text, _ := strings.Cut(part, "\n")
		if err := add("catalogue/"+name, text+"\n"); err != nil {
			return nil, fmt.Errorf("stored catalogue: %w", err)
		}
	}
	if err := add("cases/case.yaml", string(kase)); err != nil {
		return nil, fmt.Errorf("stored case: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("stored texts: %w", err)
	}
	return zip.NewReader(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
}

// scheme is the marking scheme that an attempt began with.
func (s *Server) scheme(ctx context.Context, row store.Attempt) (rubric.Rubric, error) {
	if r, ok := s.schemes.Load(row.RubricHash); ok { // by the hash of its text, so it cannot be behind
		return r.(rubric.Rubric), nil
	}
	text, err := s.store.Content(ctx, row.RubricHash)
	if err != nil {
		return rubric.Rubric{}, fmt.Errorf("the marking scheme as it was: %w", err)
	}
	r, err := file.Parse(row.Track+".yaml", text)
	if err != nil {
		return rubric.Rubric{}, fmt.Errorf("the marking scheme as it was: %w", err)
	}
	s.schemes.Store(row.RubricHash, r)
	return r, nil
}

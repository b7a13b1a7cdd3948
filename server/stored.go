package server

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
	"sync"

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

// keepTexts stores what an attempt begins with, each text and each medium of the
// school's own once for all attempts.
func (s *Server) keepTexts(ctx context.Context, k *cases.Case, scheme, ranges []byte) (h hashes, err error) {
	for _, row := range []struct {
		text []byte
		hash *string
	}{{k.Source, &h.kase}, {s.library.Catalogue(k.Species).Source, &h.catalogue}, {scheme, &h.rubric}, {ranges, &h.ranges}} {
		if *row.hash, err = s.store.PutContent(ctx, row.text); err != nil {
			return h, fmt.Errorf("keep texts: %w", err)
		}
	}
	for i := range k.Media { // found again by the hashes in the case's text
		if _, err := s.store.PutContent(ctx, k.Media[i].Bytes()); err != nil {
			return h, fmt.Errorf("keep media: %w", err)
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
	if e, ok := s.earlier.find(row); ok {
		return e.library, e.kase, nil
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
	ranges, err := s.tableOf(ctx, row)
	if err != nil {
		return nil, nil, err
	}
	lib, err := cases.LoadKept(ranges, files, func(hash string) ([]byte, error) { return s.store.Content(ctx, hash) })
	if err != nil {
		return nil, nil, fmt.Errorf("the library as it was: %w", err)
	}
	k := lib.Case(row.Case)
	if k == nil {
		return nil, nil, fmt.Errorf("the case as it was no longer loads: %d problems", len(lib.Broken()))
	}
	s.earlier.keep(row, earlierCase{lib, k})
	return lib, k, nil
}

// tableOf are the ranges by which a case was checked: a school's own case may
// hold by the school's ranges only. Nil: ours, where no words but those of the
// case are asked for.
func (s *Server) tableOf(ctx context.Context, row store.Attempt) (normal.Table, error) {
	if row.RangesHash == "" {
		return nil, nil
	}
	ranges, err := s.rangesOf(ctx, row)
	return ranges.Table, err
}

// earlierCases keeps libraries made from stored texts: to parse a catalogue
// takes longer than to mark a visit.
type earlierCases struct {
	mu     sync.Mutex
	byText map[[4]string]earlierCase
}

type earlierCase struct {
	library *cases.Library
	kase    *cases.Case
}

// mostEarlier are kept; then all are dropped, which is rare and costs little.
const mostEarlier = 32

func (m *earlierCases) find(row store.Attempt) (earlierCase, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	e, ok := m.byText[textsOf(row)]
	return e, ok
}

func (m *earlierCases) keep(row store.Attempt, e earlierCase) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.byText == nil || len(m.byText) >= mostEarlier {
		m.byText = map[[4]string]earlierCase{}
	}
	m.byText[textsOf(row)] = e
}

func textsOf(row store.Attempt) [4]string {
	return [4]string{row.Case, row.CaseHash, row.CatalogueHash, row.RangesHash}
}

// patientOf draws the patient of an attempt as it was drawn when the attempt
// began: from the case, catalogue, ranges and seed that are stored with it.
func (s *Server) patientOf(ctx context.Context, row store.Attempt) (*cases.Library, *cases.Case, *cases.Patient, error) {
	lib, k, err := s.asStored(ctx, row)
	if err != nil {
		return nil, nil, nil, err
	}
	ranges, err := s.rangesOf(ctx, row)
	if err != nil {
		return nil, nil, nil, err
	}
	seed, err := cases.DecodeSeed(row.Seed)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("attempt: %w", err)
	}
	p, err := cases.NewPatientBy(lib, k, seed, ranges.Table)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("attempt: %w", err)
	}
	return lib, k, p, nil
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

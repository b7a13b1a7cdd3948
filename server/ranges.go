package server

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"dewclaw/cases"
	"dewclaw/rubric/normal"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// rangesName is a school's own table of reference ranges, below Config.Data.
const rangesName = "ranges.csv"

// rangeTable is the table by which new visits are drawn and marked: ours with
// the school's laid over it. It is made whole and never changed.
type rangeTable struct {
	normal.Overlaid
	broken []face.Problem // why the school's file does not hold; then ours stands alone
	odds   []string       // patients that the school's ranges put between normal and abnormal
}

// own says whether the school has a file that holds.
func (t *rangeTable) own() bool { return len(t.Replaced)+len(t.Added) > 0 }

// openRanges reads the school's file. Visits that are open go on with theirs,
// and nothing in the file keeps the server from starting.
func (s *Server) openRanges() {
	t := loadRanges(s.library, os.DirFS(s.cfg.Data))
	if len(t.broken) > 0 {
		s.log.Warn("the school's ranges do not hold; ours do", "file", rangesName, "problems", len(t.broken))
	}
	s.table.Store(t)
}

func loadRanges(l *cases.Library, data fs.FS) *rangeTable {
	t := &rangeTable{Overlaid: normal.Ours()}
	text, err := readRubric(data, rangesName) // it is read as a rubric is, and may be as long
	if errors.Is(err, fs.ErrNotExist) {
		return t
	}
	if err != nil {
		t.broken = []face.Problem{{Message: "The file cannot be read: " + reasonOf(err) + "."}}
		return t
	}
	for _, p := range cases.CheckRanges(l, rangesName, text) {
		t.broken = append(t.broken, face.Problem{Line: p.Line, Col: p.Col, Message: p.Message})
	}
	if len(t.broken) > 0 {
		return t
	}
	t.Overlaid, _ = normal.Overlay(rangesName, text) // without a problem, as was just seen
	for _, p := range cases.AtOdds(l, t.Table) {
		t.odds = append(t.odds, p.String())
	}
	return t
}

// rangesOf are the reference ranges that an attempt began with. A school has a
// few versions of them in all.
func (s *Server) rangesOf(ctx context.Context, row store.Attempt) (normal.Overlaid, error) {
	if t, ok := s.ranges.Load(row.RangesHash); ok { // by the hash of their text, so they cannot be behind
		return t.(normal.Overlaid), nil
	}
	text, err := s.store.Content(ctx, row.RangesHash)
	if err != nil {
		return normal.Overlaid{}, fmt.Errorf("the ranges as they were: %w", err)
	}
	t, err := normal.Kept(text)
	if err != nil {
		return normal.Overlaid{}, fmt.Errorf("the ranges as they were: %w", err)
	}
	s.ranges.Store(row.RangesHash, t)
	return t, nil
}

package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases/review"
	"dewclaw/rubric/file"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// rubricsPage lists the rubrics, and the files that do not load.
type rubricsPage struct {
	Base
	Folder  string
	Rubrics []rubricRow
	Earlier []rubricRow // no longer among the files; visits were marked by them
	Broken  []face.Broken
	Ranges  ownRanges
}

// ownRanges is what is said of the school's own reference ranges.
type ownRanges struct {
	File   string
	Says   string
	Broken []face.Problem
	Odds   []string // patients that stand between normal and abnormal by them
}

// rubricRow is one version of a rubric in a list.
type rubricRow struct {
	ID, Key, Title, Track, From string
	Version                     int
	Current                     bool
	Graded, Open                int
}

func (s *Server) showRubrics(c *gin.Context) error {
	shelf := s.shelf.Load()
	p := &rubricsPage{Base: Base{Title: "Rubrics"}, Folder: rubricFolder, Broken: slices.Clone(shelf.broken), Ranges: ownRangesOf(s.table.Load())}
	if wrong := s.reviews.Load().broken; len(wrong) > 0 {
		p.Broken = append(p.Broken, face.Broken{File: review.File, Problems: wrong})
	}
	uses, err := s.rubricUses(c.Request.Context())
	if err == nil {
		p.Ranges.Odds, err = s.unnamed(c.Request.Context(), person(c).ID, p.Ranges.Odds)
	}
	if err != nil {
		return err
	}
	for _, row := range shelf.rows {
		p.Rubrics = append(p.Rubrics, rubricRowOf(row, uses[row.Hash]))
	}
	for _, hash := range uses.earlier(shelf) {
		row, err := s.keptRubric(c.Request.Context(), hash)
		if err != nil {
			p.Earlier = append(p.Earlier, rubricRow{Title: "A rubric that can no longer be read", From: "kept with its visits", Graded: uses[hash].Graded})
			s.log.Error("a rubric that is kept with visits cannot be read", "cause", err.Error())
			continue
		}
		p.Earlier = append(p.Earlier, rubricRowOf(row, uses[hash]))
	}
	slices.SortStableFunc(p.Earlier, func(a, b rubricRow) int { return strings.Compare(a.ID, b.ID)*1000 + a.Version - b.Version })
	return s.page(c, "rubrics", p)
}

// ownRangesOf says how the school's own ranges stand.
func ownRangesOf(t *rangeTable) ownRanges {
	out := ownRanges{File: rangesName, Broken: t.broken, Odds: t.odds, Says: "There is no such file: visits are marked by the ranges that come with the program."}
	switch {
	case len(t.broken) > 0:
		out.Says = "It does not hold: until it is right, new visits are marked by the ranges that come with the program alone."
	case t.own():
		out.Says = fmt.Sprintf("It holds for new visits: %s replaced, %s added.", count(len(t.Replaced), "row"), count(len(t.Added), "row"))
	}
	return out
}

// readRubrics reads the files anew.
func (s *Server) readRubrics(c *gin.Context) error {
	s.openShelf()
	s.openRanges()
	s.openReviews()
	s.notice(c, "The rubric files and "+rangesName+" were read again.")
	return s.redirect(c, "/rubrics")
}

// rubricUse says how many visits each version marks, by the hash of its text.
type rubricUse map[string]store.RubricUse

func (s *Server) rubricUses(ctx context.Context) (rubricUse, error) {
	all, err := s.store.RubricUses(ctx)
	if err != nil {
		return nil, fmt.Errorf("rubrics: %w", err)
	}
	out := rubricUse{}
	for _, u := range all {
		out[u.Hash] = u
	}
	return out, nil
}

// earlier are the hashes of the versions that are not on a shelf, sorted.
func (u rubricUse) earlier(h *shelf) []string {
	var out []string
	for hash := range u {
		if h.find(hash) == nil {
			out = append(out, hash)
		}
	}
	slices.Sort(out)
	return out
}

func rubricRowOf(r *shelved, u store.RubricUse) rubricRow {
	return rubricRow{ID: r.ID, Key: r.key(), Title: r.Title, Track: r.Track, From: r.where(), Version: r.Version, Current: r.Current,
		Graded: u.Graded, Open: u.Attempts - u.Graded}
}

// key names a version in an address: the beginning of its hash.
func (r *shelved) key() string { return r.Hash[:16] }

// ownRubrics are those by which a visit can be marked beside the two tracks'.
func (s *Server) ownRubrics() []rubricRow {
	var out []rubricRow
	for _, row := range s.shelf.Load().rows {
		if row.Current && !slices.Contains(file.IDs(), row.ID) {
			out = append(out, rubricRowOf(row, store.RubricUse{}))
		}
	}
	return out
}

// versions are all that are known of a rubric, the newest first: those of the
// shelf, and those that visits were marked by.
func (s *Server) versions(ctx context.Context, id string) ([]*shelved, rubricUse, error) {
	shelf := s.shelf.Load()
	uses, err := s.rubricUses(ctx)
	if err != nil {
		return nil, nil, err
	}
	var out []*shelved
	for _, row := range shelf.rows {
		if row.ID == id {
			out = append(out, row)
		}
	}
	for _, hash := range uses.earlier(shelf) {
		row, err := s.keptRubric(ctx, hash)
		var broken *file.Error
		switch {
		case errors.As(err, &broken):
		case err != nil:
			return nil, nil, err
		case row.ID == id:
			out = append(out, row)
		}
	}
	if len(out) == 0 {
		return nil, nil, ErrMissing
	}
	slices.SortStableFunc(out, func(a, b *shelved) int { return b.Version - a.Version })
	return out, uses, nil
}

// chosen is the version that an address names, or the one that new visits get.
func chosen(all []*shelved, key string) (*shelved, error) {
	for _, row := range all {
		if key == row.key() || key == "" && row.Current {
			return row, nil
		}
	}
	if key == "" {
		return all[0], nil
	}
	return nil, ErrMissing
}

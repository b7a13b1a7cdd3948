package server

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"dewclaw/rubric"
	"dewclaw/server/store"
)

// verifyAnew derives the reports of before and after every marking anew again.
func (s *Server) verifyAnew(ctx context.Context, v *Verified) error {
	rubrics := rubricsOf{store: s.store}
	for _, table := range []string{store.ReportsBefore, store.ReportsAfter} {
		var last store.KeptReport
		for {
			rows, err := s.store.KeptReports(ctx, table, last, verifyChunk)
			if err != nil {
				return err
			}
			if len(rows) == 0 {
				break
			}
			last = rows[len(rows)-1]
			all := everyProcessor(len(rows), func(i int) derived { return s.deriveKept(ctx, &rubrics, rows[i]) })
			for i, d := range all {
				v.note(fmt.Sprintf("transcript %d, %s of marking anew %s", rows[i].Transcript, table, rows[i].Regrading), d)
			}
		}
	}
	return nil
}

// deriveKept takes the rubric under which it comes out equal: which one it was is
// not kept with a report, and a school has few versions.
func (s *Server) deriveKept(ctx context.Context, rubrics *rubricsOf, kept store.KeptReport) (d derived) {
	if d.engine = kept.Report.Engine; d.engine != rubric.Engine {
		return d
	}
	row, err := s.store.AttemptByTranscript(ctx, kept.Transcript)
	if err != nil {
		return derived{err: err}
	}
	hashes, err := rubrics.of(ctx, row.Track)
	if err != nil {
		return derived{err: err}
	}
	row.Key = kept.Key
	for _, hash := range append([]string{row.RubricHash}, hashes...) {
		row.RubricHash = hash
		if again, err := s.gradeAgain(ctx, row); err != nil {
			d.err = err
		} else if equalReports(kept.Report, again) {
			return derived{engine: d.engine, equal: true}
		}
	}
	return d
}

// rubricsOf are the hashes of the versions of a rubric that visits were marked
// anew from and to.
type rubricsOf struct {
	store *store.Store
	mu    sync.Mutex
	known map[string][]string
}

func (r *rubricsOf) of(ctx context.Context, id string) ([]string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if hashes, ok := r.known[id]; ok {
		return hashes, nil
	}
	all, err := r.store.Regradings(ctx, id)
	if err != nil {
		return nil, err
	}
	var hashes []string
	for _, g := range all {
		for _, hash := range []string{g.From, g.To} {
			if g.Assignment == "" && !slices.Contains(hashes, hash) {
				hashes = append(hashes, hash)
			}
		}
	}
	if r.known == nil {
		r.known = map[string][]string{}
	}
	r.known[id] = hashes
	return hashes, nil
}

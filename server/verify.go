package server

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"reflect"
	"runtime"
	"runtime/debug"
	"sync"

	"dewclaw/rubric"
	"dewclaw/server/store"
)

// Verified is what Verify found in a database.
type Verified struct {
	store.Examined
	Equal  int            // reports that were derived again and are equal to the byte
	Others map[string]int // reports by other versions of the engine, which only that version could derive
}

// Verify examines a database and derives every report, also those of before and
// after a marking anew, again from what is stored: the acts with their outcomes,
// the key and the rubric. tell, where it is not
// nil, hears now and then how many were done. A server may be at work meanwhile.
func Verify(ctx context.Context, st *store.Store, tell func(done int)) (v Verified, err error) {
	v.Others = map[string]int{}
	if v.Examined, err = st.Examine(ctx); err != nil {
		return v, err
	}
	s := &Server{store: st, log: slog.New(slog.DiscardHandler)} // what marking needs, and no more
	for after := int64(0); ; {
		rows, err := st.Graded(ctx, after, verifyChunk)
		if err != nil {
			return v, err
		}
		if len(rows) == 0 {
			return v, s.verifyAnew(ctx, &v)
		}
		for i, found := range everyProcessor(len(rows), func(i int) derived { return s.derive(ctx, rows[i]) }) {
			v.note(fmt.Sprintf("transcript %d", rows[i].Transcript), found)
		}
		if after = rows[len(rows)-1].Transcript; tell != nil {
			tell(v.done())
		}
	}
}

// verifyChunk attempts are taken at a time.
const verifyChunk = 256

// derived is what came of one report.
type derived struct {
	engine string // of the stored one
	equal  bool
	err    error
}

func (v *Verified) done() int {
	n := v.Equal
	for _, k := range v.Others {
		n += k
	}
	return n
}

func (v *Verified) note(which string, d derived) {
	switch {
	case d.err != nil:
		v.Add(fmt.Sprintf("%s: its report cannot be derived again: %v", which, d.err))
	case d.engine != rubric.Engine:
		v.Others[d.engine]++
	case d.equal:
		v.Equal++
	default:
		v.Add(which + ": its report is not the one that its acts, key and rubric give")
	}
}

// everyProcessor does n things on every processor.
func everyProcessor(n int, do func(i int) derived) []derived {
	out := make([]derived, n)
	next := make(chan int)
	var done sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		done.Go(func() {
			for i := range next {
				out[i] = do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	done.Wait()
	return out
}

// derive looks twice where a report differs, for it may have been marked anew in
// between.
func (s *Server) derive(ctx context.Context, row store.Attempt) derived {
	d := s.deriveOnce(ctx, row)
	if d.err != nil || d.engine != rubric.Engine || d.equal {
		return d
	}
	now, err := s.store.AttemptByTranscript(ctx, row.Transcript)
	if err != nil {
		return derived{err: err}
	}
	return s.deriveOnce(ctx, now)
}

func (s *Server) deriveOnce(ctx context.Context, row store.Attempt) (d derived) {
	stored, err := s.store.Report(ctx, row.Transcript)
	if err != nil {
		return derived{err: err}
	}
	if d.engine = stored.Engine; d.engine != rubric.Engine {
		return d
	}
	again, err := s.gradeAgain(ctx, row)
	if err != nil {
		return derived{err: err}
	}
	d.equal = equalReports(stored, again)
	return d
}

// equalReports compares all but the time of marking.
func equalReports(a, b store.Report) bool {
	same := bytes.Equal(a.Packed, b.Packed)
	a.Graded, a.Packed, b.Packed = b.Graded, nil, nil
	return same && reflect.DeepEqual(normalHeld(a), normalHeld(b))
}

// normalHeld makes no difference between no codes and an empty list of them.
func normalHeld(r store.Report) store.Report {
	if len(r.Held) == 0 {
		r.Held = nil
	}
	return r
}

// gradeAgain gives the report of an attempt from what is stored and nothing else.
func (s *Server) gradeAgain(ctx context.Context, row store.Attempt) (rep store.Report, err error) {
	defer func() {
		if cause := recover(); cause != nil {
			err = fmt.Errorf("the program failed over it (%v) at %.300s", cause, debug.Stack())
		}
	}()
	key, err := rubric.DecodeKey(row.Key)
	if err != nil {
		return store.Report{}, err
	}
	scheme, err := s.scheme(ctx, row)
	if err != nil {
		return store.Report{}, err
	}
	t, err := s.transcript(ctx, row)
	if err != nil {
		return store.Report{}, err
	}
	return storedReport(rubric.Grade(scheme, key, t))
}

// DatabaseName is the file of the database in a school's data folder, where no
// other database is named.
const DatabaseName = databaseName

package server

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// endedLeft is why a visit ended where the student left it without concluding.
const endedLeft = "left"

// defaultTrack is the marking scheme where none is asked for.
const defaultTrack = "veterinary"

// mostVisits are listed at a time.
const mostVisits = 500

// start begins a visit. The case is known by its opaque id; one that is for
// exams is not there for practice, except for those who may see what is hidden.
// Track is veterinary, technician or the id of one of the school's own rubrics.
func (s *Server) start(ctx context.Context, who face.Person, patientID, track string) (face.Attempt, error) {
	k, err := s.caseOf(patientID)
	if err != nil {
		return face.Attempt{}, err
	}
	if k.Use != practice && !auth.May(auth.Role(who.Role), auth.SeeTruth) {
		return face.Attempt{}, ErrMissing
	}
	if sealed, err := s.sealedFrom(ctx, who.ID); err != nil || sealed[k.ID] {
		return face.Attempt{}, cmp.Or(err, ErrMissing)
	}
	row, err := s.drawAttempt(ctx, who.ID, k, track, cases.NewSeed())
	if err != nil {
		return face.Attempt{}, err
	}
	return s.attempt(ctx, who, row.ID)
}

// drawAttempt begins a visit of free practice, by the scheme in force.
func (s *Server) drawAttempt(ctx context.Context, person string, k *cases.Case, track string, seed cases.Seed) (store.Attempt, error) {
	if track == "" {
		track = defaultTrack
	}
	scheme := s.shelf.Load().current(track)
	if scheme == nil {
		return store.Attempt{}, invalid("/track", "One of "+strings.Join(s.shelf.Load().ids(), ", ")+".")
	}
	return s.drawBy(ctx, store.NewAttempt{Person: person}, k, scheme, seed)
}

// drawBy draws the patient, compiles its key and stores both before the first
// act. The row says whose visit it is and what for.
func (s *Server) drawBy(ctx context.Context, row store.NewAttempt, k *cases.Case, scheme *shelved, seed cases.Seed) (store.Attempt, error) {
	if row.Turn == "" { // a turn asked when it began
		if err := s.hasRoom(); err != nil {
			return store.Attempt{}, err
		}
	}
	ranges := s.table.Load()
	p, err := cases.NewPatientBy(s.library, k, seed, ranges.Table)
	if err != nil {
		return store.Attempt{}, fmt.Errorf("draw the patient: %w", err)
	}
	student, err := s.store.Person(ctx, row.Person)
	if err != nil {
		return store.Attempt{}, fmt.Errorf("whose visit: %w", err)
	}
	packed, err := packedKey(p, scheme.Rubric, student.Alternatives)
	if err != nil {
		return store.Attempt{}, err
	}
	h, err := s.keepTexts(ctx, k, scheme.Text, ranges.Text)
	if err != nil {
		return store.Attempt{}, err
	}
	row.Case, row.Track, row.Engine = k.ID, scheme.Track, rubric.Engine
	row.CaseHash, row.CatalogueHash, row.RubricHash, row.RangesHash = h.kase, h.catalogue, h.rubric, h.ranges
	row.Seed, row.Key, row.Alternatives = cases.EncodeSeed(seed), packed, student.Alternatives
	begun, err := s.store.AddAttempt(ctx, row)
	if err != nil {
		return store.Attempt{}, fmt.Errorf("start: %w", err)
	}
	return begun, nil
}

// packedKey compiles the answer key of a visit.
func packedKey(p *cases.Patient, r rubric.Rubric, a store.Alternatives) ([]byte, error) {
	key, err := p.Key(r, keyOptions(a)...)
	if err != nil {
		return nil, fmt.Errorf("compile the key: %w", err)
	}
	packed, err := rubric.EncodeKey(key)
	if err != nil {
		return nil, fmt.Errorf("compile the key: %w", err)
	}
	return packed, nil
}

// attempt is the public state of one's own visit. Those who may see everybody's
// visits see it too, but only the student acts in it.
func (s *Server) attempt(ctx context.Context, who face.Person, id string) (face.Attempt, error) {
	row, err := s.mayRead(ctx, who, id)
	if err != nil {
		return face.Attempt{}, err
	}
	l, err := s.liveOf(ctx, row)
	if err != nil {
		return face.Attempt{}, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := s.catchUp(ctx, l); err != nil {
		return face.Attempt{}, err
	}
	if reason, err := s.overdue(ctx, l); err != nil {
		return face.Attempt{}, err
	} else if row.State == store.StateOpen && reason != "" {
		if row, err = s.close(ctx, l, reason); err != nil {
			return face.Attempt{}, err
		}
	}
	shown, err := s.shown(ctx, who, row)
	if err != nil {
		return face.Attempt{}, err
	}
	out := l.attempt(row, shown)
	if row.Person == who.ID && row.Purpose == "" {
		if out.AsksSure, err = s.store.AsksSure(ctx, who.ID); err != nil {
			return face.Attempt{}, err
		}
	}
	return out, nil
}

// mayRead finds an attempt that this person may read.
func (s *Server) mayRead(ctx context.Context, who face.Person, id string) (store.Attempt, error) {
	row, err := s.store.Attempt(ctx, id)
	if err != nil {
		return row, missing("attempt", err)
	}
	if row.Person == who.ID {
		return row, cmp.Or(s.handedIn(ctx, row), s.keptFor(ctx, row))
	}
	r, err := s.reachOf(ctx, who)
	if err == nil && !r.sees(row.Person) {
		err = ErrMissing
	}
	if err != nil {
		return store.Attempt{}, err
	}
	if sealed, err := s.sealedFrom(ctx, who.ID); err != nil || sealed[row.Case] { // who teaches one cohort may learn in another
		return store.Attempt{}, cmp.Or(err, ErrMissing)
	}
	return row, nil
}

// finish ends one's own visit and hands it to the grading worker. Finishing
// again changes nothing.
func (s *Server) finish(ctx context.Context, who face.Person, id string) (face.Attempt, error) {
	l, err := s.openAttempt(ctx, who, id)
	if err != nil {
		return face.Attempt{}, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := s.catchUp(ctx, l); err != nil {
		return face.Attempt{}, err
	}
	reason, err := s.overdue(ctx, l)
	if err != nil {
		return face.Attempt{}, err
	}
	if reason == "" && s.stands(ctx, l.row) {
		return face.Attempt{}, ErrPaused
	}
	reason = cmp.Or(reason, endedLeft)
	row, err := s.close(ctx, l, reason)
	if err != nil {
		return face.Attempt{}, err
	}
	out := l.attempt(row, false)
	if row.Purpose == forSitting { // others have still to meet what was met there
		out.Acts, out.Sheet, out.Examined = []face.Act{}, []face.Line{}, []face.Place{}
	}
	return out, nil
}

// close moves an attempt on to its grade. The caller holds l.mu.
func (s *Server) close(ctx context.Context, l *live, reason string) (store.Attempt, error) {
	row, err := s.store.Finish(ctx, l.row.Transcript, reason)
	if err != nil {
		return row, fmt.Errorf("finish: %w", err)
	}
	s.wakeWorker()
	return row, nil
}

// visits are one's own and those of whom one may see, newest first.
func (s *Server) visits(ctx context.Context, who face.Person) ([]face.Visit, error) {
	r, err := s.reachOf(ctx, who)
	if err != nil {
		return nil, err
	}
	f := store.Filter{Limit: mostVisits}
	if !r.all {
		f.People = append(slices.Clone(r.people), who.ID)
	}
	all := auth.May(auth.Role(who.Role), auth.SeeAll)
	rows, err := s.store.Attempts(ctx, f)
	if err != nil {
		return nil, fmt.Errorf("visits: %w", err)
	}
	handled, err := s.handled(ctx, rows)
	if err != nil {
		return nil, err
	}
	names := map[string]face.Person{who.ID: who}
	if all {
		people, err := s.people(ctx)
		if err != nil {
			return nil, err
		}
		for _, p := range people {
			names[p.ID] = p
		}
	}
	sealed, err := s.sealedFrom(ctx, who.ID)
	if err != nil {
		return nil, err
	}
	out := make([]face.Visit, 0, len(rows))
	for _, row := range rows {
		if row.Person != who.ID && (row.Purpose == forOrientation || sealed[row.Case]) {
			continue // it is nobody's mark, or who teaches one cohort learns in another and may not read it
		}
		v := s.faceVisit(row, all, names)
		switch {
		case row.Person == who.ID && row.Purpose == forSitting:
			err = s.keepBack(ctx, row.Turn, &v)
		case row.Person == who.ID && row.Purpose == "" && sealed[row.Case]:
			v.Kept, v.Total, v.Pass = true, nil, nil
		case handled[row.Transcript]:
			_, err = s.settleVisit(ctx, &v)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// faceVisit is one line of the list. The case's title is for those who see
// everybody's: a student may meet the patient again.
func (s *Server) faceVisit(row store.Listed, all bool, names map[string]face.Person) face.Visit {
	v := face.Visit{ID: row.ID, Track: row.Track, State: row.State, Started: row.Started, Patient: face.Patient{ID: s.opaque(row.Case)},
		Traced: row.Sounds.Traced, Described: row.Sounds.Described, Turn: row.Turn, Purpose: row.Purpose}
	if k := s.library.Case(row.Case); k != nil {
		v.Patient = s.facePatient(k)
		if all {
			v.Title = k.Title
		}
	}
	if p, ok := names[row.Person]; ok && all {
		v.Person = &p
	}
	if !row.Finished.IsZero() {
		v.Finished = &row.Finished
	}
	if row.Mark != nil {
		total := face.Points(row.Mark.Total)
		v.Total, v.Pass = &total, &row.Mark.Pass
	}
	return v
}

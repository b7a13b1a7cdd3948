package server

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"strconv"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// visitsAtATime are read in one go.
const visitsAtATime = 100

// eachVisit goes through one's own visits, the newest first.
func (o *ownData) eachVisit(ctx context.Context, do func(context.Context, store.Listed) error) error {
	f := store.Filter{Person: o.who.ID, Limit: visitsAtATime}
	for {
		rows, err := o.s.store.Attempts(ctx, f)
		if err != nil {
			return err
		}
		for _, l := range rows {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := do(ctx, l); err != nil {
				return fmt.Errorf("visit: %w", err)
			}
			f.Before = l.Transcript
		}
		if len(rows) < visitsAtATime {
			return nil
		}
	}
}

// attemptAbout is the visit that a note is about, by its transcript's number.
func (s *Server) attemptAbout(ctx context.Context, number string) (store.Attempt, error) {
	n, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return store.Attempt{}, ErrMissing
	}
	row, err := s.store.AttemptByTranscript(ctx, n)
	if err != nil {
		return row, missing("visit", err)
	}
	return row, nil
}

// ownVisit is a visit as it may be handed to whoever made it. Visit is nil, and
// so is Report, where the student may not read it yet: then only what they did
// themselves is told.
type ownVisit struct {
	ID       string        `json:"id"`
	Purpose  string        `json:"purpose"` // practice, sitting or orientation
	Turn     string        `json:"turn,omitempty"`
	Track    string        `json:"track"`
	State    string        `json:"state"`
	Began    time.Time     `json:"began"`
	Finished *time.Time    `json:"finished,omitempty"`
	Note     string        `json:"note,omitempty"`
	Visit    *face.Attempt `json:"visit,omitempty"`

	Report *face.Report      `json:"-"`
	Acts   rubric.Transcript `json:"-"` // never with its outcomes
}

// notReleased says why something is left out.
const notReleased = "Not released yet: what was met and found here is handed out with the debrief. What you did yourself is in transcript.jsonl."

// readVisit reads a visit as its student may read it, and forgets it again, so
// that somebody with many visits pushes nobody else's out of memory.
func (o *ownData) readVisit(ctx context.Context, l store.Listed) (ownVisit, error) {
	v := ownVisit{ID: l.ID, Purpose: l.Purpose, Turn: l.Turn, Track: l.Track, State: l.State, Began: l.Started, Finished: timeOrNone(l.Finished)}
	if v.Purpose == "" {
		v.Purpose = "practice"
	}
	row, err := o.s.store.Attempt(ctx, l.ID)
	if err != nil {
		return v, err
	}
	if o.s.live.find(l.ID, o.s.now()) == nil {
		defer o.s.live.drop(l.ID)
	}
	if v.Acts, err = o.s.transcript(ctx, row); err != nil {
		return v, err
	}
	a, err := o.s.attempt(ctx, o.who, l.ID)
	switch {
	case errors.Is(err, ErrMissing):
		v.Note = notReleased
		return v, nil
	case err != nil:
		return v, err
	}
	v.Visit = &a
	if row.State != store.StateGraded {
		return v, nil
	}
	rep, err := o.s.report(ctx, o.who, l.ID)
	if errors.Is(err, ErrMissing) {
		v.Note = notReleased
		return v, nil
	}
	v.Report = &rep
	return v, err
}

// unreadable says that a visit could not be read; the others can.
const unreadable = "This visit could not be read from the database. Tell the coordinator: it is in the server's log."

// visit is readVisit, but a visit that cannot be read keeps nobody from the rest
// of their data.
func (o *ownData) visit(ctx context.Context, l store.Listed) (ownVisit, error) {
	v, err := o.readVisit(ctx, l)
	if err == nil || ctx.Err() != nil {
		return v, err
	}
	o.s.log.Error("a visit of own data could not be read", "transcript", l.Transcript, "cause", err.Error())
	v.Visit, v.Report, v.Note = nil, nil, unreadable
	return v, nil
}

// visitFiles writes the files of one visit.
func (o *ownData) visitFiles(ctx context.Context, l store.Listed) error {
	v, err := o.visit(ctx, l)
	if err != nil {
		return err
	}
	dir := "visits/" + l.ID + "/"
	if err := o.file(dir+"visit.json", v); err != nil {
		return err
	}
	w, err := o.zip.CreateHeader(&zip.FileHeader{Name: dir + "transcript.jsonl", Method: zip.Deflate, Modified: o.at})
	if err != nil {
		return err
	}
	if err := rubric.WriteActs(w, v.Acts); err != nil {
		return err
	}
	if v.Report == nil {
		return nil
	}
	looks, err := o.looks(ctx, l)
	if err != nil {
		return err
	}
	if len(looks) > 0 {
		if err := o.file(dir+"again.json", looks); err != nil {
			return err
		}
	}
	return o.file(dir+"report.json", v.Report)
}

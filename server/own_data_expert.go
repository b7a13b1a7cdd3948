package server

import (
	"context"
	"time"
)

type ownWatched struct {
	Species string     `json:"species"`
	Patient string     `json:"patient"` // its name; empty once it is gone from the library
	Begun   time.Time  `json:"begun"`
	Whole   *time.Time `json:"seen_to_the_end,omitempty"`
}

// watched are the experts whom one has watched.
func (o *ownData) watched(ctx context.Context) (any, error) {
	rows, err := o.s.store.WatchedBy(ctx, o.who.ID)
	if err != nil {
		return nil, err
	}
	out := []ownWatched{}
	for _, w := range rows {
		row := ownWatched{Species: w.Species, Begun: w.At, Whole: timeOrNone(w.Done)}
		if k := o.s.library.Case(w.CaseID); k != nil {
			row.Patient = k.Signalment.Name
		}
		out = append(out, row)
	}
	return out, nil
}

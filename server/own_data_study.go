package server

import (
	"context"
	"time"

	"dewclaw/server/store"
	"dewclaw/server/study"
)

type ownPlan struct {
	Plan string    `json:"plan"`
	Made time.Time `json:"made"`
	Kept string    `json:"kept,omitempty"` // yes or no; empty: not told yet, or that visit could not show it
}

// plans are the sentences that were taken along from one patient to the next.
func (o *ownData) plans(ctx context.Context) (any, error) {
	rows, err := o.s.store.PlansOf(ctx, o.who.ID)
	if err != nil {
		return nil, err
	}
	out := []ownPlan{}
	for _, p := range rows {
		row := ownPlan{Plan: p.Plan, Made: p.Made, Kept: p.Kept}
		if plan := study.PlanOf(p.Plan); plan != nil {
			row.Plan = plan.Sentence
		}
		out = append(out, row)
	}
	return out, nil
}

type ownLook struct {
	Place string    `json:"place"` // of the finding that was missed; empty: the rest was passed over
	At    time.Time `json:"at"`
	Said  string    `json:"said,omitempty"`
}

// looks are what was looked at again after a visit; nil: nothing was.
func (o *ownData) looks(ctx context.Context, l store.Listed) ([]ownLook, error) {
	rows, err := o.s.store.Looks(ctx, l.Transcript)
	if err != nil {
		return nil, err
	}
	var out []ownLook
	for _, row := range rows {
		out = append(out, ownLook{Place: row.Place, At: row.At, Said: row.Value})
	}
	return out, nil
}

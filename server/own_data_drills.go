package server

import (
	"context"
	"strings"
	"time"

	"dewclaw/server/face"
	"dewclaw/server/store"
)

// ownDrill is a drill as it is handed out: what was asked and answered. An item
// that was not answered tells nothing of what it was.
type ownDrill struct {
	ID      string         `json:"id"`
	Kind    string         `json:"kind"`
	Species string         `json:"species,omitempty"`
	Began   time.Time      `json:"began"`
	Ended   *time.Time     `json:"ended,omitempty"`
	Items   []ownDrillItem `json:"items"`
}

type ownDrillItem struct {
	N        int            `json:"n"`
	State    string         `json:"state"`
	Why      string         `json:"why,omitempty"`
	Species  string         `json:"species"`
	Asked    time.Time      `json:"asked"`
	Answered *time.Time     `json:"answered,omitempty"`
	Told     *face.ItemTold `json:"told,omitempty"`
	Acts     []string       `json:"acts,omitempty"` // lines of a transcript
}

func (o *ownData) drills(ctx context.Context) (any, error) {
	out := []ownDrill{}
	rows, err := o.s.store.DrillsOf(ctx, o.who.ID, 0)
	if err != nil {
		return nil, err
	}
	for _, d := range rows {
		_, items, err := o.s.store.OwnDrill(ctx, o.who.ID, d.ID)
		if err != nil {
			return nil, err
		}
		row := ownDrill{ID: d.ID, Kind: d.Kind, Species: d.Species, Began: d.Started, Ended: timeOrNone(d.Ended), Items: []ownDrillItem{}}
		for _, it := range items {
			row.Items = append(row.Items, ownItem(it))
		}
		out = append(out, row)
	}
	return out, nil
}

func ownItem(it store.DrillItem) ownDrillItem {
	row := ownDrillItem{N: it.N, State: it.State, Why: it.Why, Species: it.Species, Asked: it.Asked, Answered: timeOrNone(it.Answered)}
	if it.State == store.ItemMarked {
		told := toldOf(it)
		row.Told, row.Acts = &told, strings.Split(strings.TrimSpace(string(it.Acts)), "\n")
	}
	return row
}

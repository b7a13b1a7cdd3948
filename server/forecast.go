package server

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// ownEnded is a practice visit of one's own that was handed in; anything else is
// missing to who asks.
func (s *Server) ownEnded(ctx context.Context, who face.Person, id string) (store.Attempt, error) {
	row, err := s.mayRead(ctx, who, id)
	if err != nil {
		return row, err
	}
	if row.Person != who.ID || row.Purpose != "" {
		return row, ErrMissing
	}
	if row.State == store.StateOpen {
		return row, &Fault{Kind: ErrNotNow, Text: "The visit is still open. Hand it in first; then say what you expect of it."}
	}
	return row, nil
}

// forecast is what was said of a visit before its debrief, if anything was.
func (s *Server) forecast(ctx context.Context, who face.Person, id string) (face.Forecast, error) {
	row, err := s.ownEnded(ctx, who, id)
	if err != nil {
		return face.Forecast{}, err
	}
	f, err := s.store.Forecast(ctx, row.Transcript)
	if errors.Is(err, store.ErrNotFound) {
		return face.Forecast{Percent: map[string]int{}}, nil
	}
	return faceForecast(f), err
}

// sayForecast keeps what is expected of a visit. It is said once: what comes
// later, with the debrief perhaps read, changes nothing and is told so.
func (s *Server) sayForecast(ctx context.Context, who face.Person, id string, f face.Forecast) error {
	row, err := s.ownEnded(ctx, who, id)
	if err != nil {
		return err
	}
	a, err := s.attempt(ctx, who, id)
	if err != nil {
		return err
	}
	if err := checkForecast(f, a.Sheet); err != nil {
		return err
	}
	err = s.store.SaveForecast(ctx, storedForecast(row.Transcript, f))
	if errors.Is(err, store.ErrDuplicate) {
		return &Fault{Kind: ErrNotNow, Text: "What you expected of this visit was said or passed over before; that stays."}
	}
	return err
}

// checkForecast refuses what can be no forecast, all of it at once.
func checkForecast(f face.Forecast, sheet []face.Line) error {
	fault := &Fault{Kind: ErrInvalid, Text: "This cannot be read as what you expect. Nothing was kept."}
	for _, domain := range slices.Sorted(maps.Keys(f.Percent)) {
		percent := f.Percent[domain]
		switch {
		case !slices.Contains(domainOrder, domain):
			fault.Fields = append(fault.Fields, FieldProblem{"/percent", "no domain is called so; they are " + strings.Join(domainOrder, ", ")})
		case percent < 0 || percent > 100:
			fault.Fields = append(fault.Fields, FieldProblem{"/percent/" + domain, domainLabels[domain] + ": a whole number from 0 to 100"})
		}
	}
	if f.Least != nil {
		fits := slices.ContainsFunc(sheet, func(l face.Line) bool { return l.Place == *f.Least })
		switch {
		case !fits:
			fault.Fields = append(fault.Fields, FieldProblem{"/least", "a line that stands on your sheet"})
		case len(f.Percent) == 0:
			fault.Fields = append(fault.Fields, FieldProblem{"/percent", "at least one domain beside the line; without any it is passed over"})
		}
	}
	if len(fault.Fields) > 0 {
		return fault
	}
	return nil
}

// The store keeps shares in thousandths.
const perPercent = 10

func storedForecast(transcript int64, f face.Forecast) store.Forecast {
	out := store.Forecast{Transcript: transcript, Domains: map[string]int{}}
	for domain, percent := range f.Percent {
		out.Domains[domain] = percent * perPercent
	}
	if f.Least != nil {
		out.Least = placeKey(*f.Least)
	}
	return out
}

func faceForecast(f store.Forecast) face.Forecast {
	out := face.Forecast{Said: true, Percent: map[string]int{}}
	for domain, share := range f.Domains {
		out.Percent[domain] = share / perPercent
	}
	if f.Least != "" {
		place := placeOf(f.Least)
		out.Least = &place
	}
	return out
}

// placeKey is field@site, or the field alone; placeOf reads it.
func placeKey(p face.Place) string {
	if p.Site == "" {
		return p.Field
	}
	return p.Field + "@" + p.Site
}

func placeOf(key string) face.Place {
	field, site, _ := strings.Cut(key, "@")
	return face.Place{Field: field, Site: site}
}

// tellSure tells who made a practice visit how sure they were of what, and what
// they expected. It is theirs alone.
func (s *Server) tellSure(ctx context.Context, out *face.Report, row store.Attempt, rep rubric.Report, cat *cases.Catalogue, w say.Words) error {
	for _, r := range rep.Sure {
		out.Sure = append(out.Sure, face.Sure{Place: face.Place{Field: r.Field, Site: r.Site}, Label: w.Field(r.Field),
			Charted: sureValue(r.Field, r.Value, cat, w), Actual: sureValue(r.Field, r.Truth, cat, w), Sure: r.Sure, Right: r.Right, Act: r.Act})
	}
	f, err := s.store.Forecast(ctx, row.Transcript)
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("debrief: %w", err)
	}
	if told := faceForecast(f); len(told.Percent) > 0 {
		out.Forecast = &told
	}
	return nil
}

// sureValue is a value in words, a vital sign's in the school's unit.
func sureValue(field, value string, cat *cases.Catalogue, w say.Words) string {
	f := cat.Field(field)
	if f == nil || f.Chosen() {
		return w.Value(field, value)
	}
	charted := rubric.Field{ID: f.ID, Kind: f.Kind, Vital: f.Vital}
	rd, err := charted.Read(value)
	if err != nil || rd.Class != rubric.Figure || strings.ContainsAny(value, "<>-") {
		return w.Value(field, value)
	}
	if f.Vital == "" {
		return strings.TrimSpace(value + " " + f.Unit)
	}
	return say.Quantity(f.Vital, rd.Number, w.Units(field)...)
}

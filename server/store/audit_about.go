package store

import (
	"context"
	"strconv"
	"strings"
)

// Abouts are what notes are about and who did it, looked up at reading, so that
// who is erased has no name there. What is not found has no entry.
type Abouts struct {
	People      map[string]Person // present ones only
	Cohorts     map[string]string // id to name; empty once it is gone for good
	Assignments map[string]string // id to title
	Turns       map[string]Turn   // without Plan
	Visits      map[int64]AboutVisit
}

// AboutVisit is whose visit to which patient a transcript is.
type AboutVisit struct {
	Transcript int64
	ID         string
	Person     string
	Case       string `gorm:"column:case_id"`
}

// AboutsOf looks up what some notes are about.
func (s *Store) AboutsOf(ctx context.Context, notes []Note) (a Abouts, err error) {
	ids, transcripts := aboutIDs(notes)
	if a.Turns, err = s.turnsAbout(ctx, ids["turn"]); err != nil {
		return a, err
	}
	if a.Visits, err = s.visitsAbout(ctx, transcripts); err != nil {
		return a, err
	}
	for _, t := range a.Turns {
		ids["person"], ids["assignment"] = append(ids["person"], t.Person), append(ids["assignment"], t.Assignment)
	}
	for _, v := range a.Visits {
		ids["person"] = append(ids["person"], v.Person)
	}
	if a.People, err = s.peopleAbout(ctx, ids["person"]); err != nil {
		return a, err
	}
	if a.Cohorts, err = s.textsAbout(ctx, "cohorts", "name", ids["cohort"]); err != nil {
		return a, err
	}
	a.Assignments, err = s.textsAbout(ctx, "assignments", "title", ids["assignment"])
	return a, err
}

// aboutIDs collects the ids that notes name, by kind: in what they are about, in
// their details and by whom.
func aboutIDs(notes []Note) (ids map[string][]string, transcripts []int64) {
	ids = map[string][]string{}
	for _, n := range notes {
		ids["person"] = append(ids["person"], n.By)
		ids["cohort"] = append(ids["cohort"], n.Cohort)
		for _, word := range append(strings.Fields(n.Detail), n.About) {
			kind, id, ok := strings.Cut(strings.Trim(word, ",.;"), ":")
			if !ok {
				continue
			}
			if kind != "transcript" {
				ids[kind] = append(ids[kind], id)
			} else if t, err := strconv.ParseInt(id, 10, 64); err == nil {
				transcripts = append(transcripts, t)
			}
		}
	}
	return ids, transcripts
}

func (s *Store) peopleAbout(ctx context.Context, ids []string) (map[string]Person, error) {
	var rows []Person
	if err := named(s.read.WithContext(ctx)).Where("people.id IN ? AND people.erased = 0 AND people.leaving = 0", ids).Find(&rows).Error; err != nil {
		return nil, wrap("people of notes", err)
	}
	out := map[string]Person{}
	for _, p := range rows {
		out[p.ID] = p
	}
	return out, nil
}

func (s *Store) textsAbout(ctx context.Context, table, column string, ids []string) (map[string]string, error) {
	var rows []struct{ ID, Text string }
	if err := s.read.WithContext(ctx).Table(table).Select("id, "+column+" AS text").Where("id IN ?", ids).Scan(&rows).Error; err != nil {
		return nil, wrap(table+" of notes", err)
	}
	out := map[string]string{}
	for _, r := range rows {
		out[r.ID] = r.Text
	}
	return out, nil
}

func (s *Store) turnsAbout(ctx context.Context, ids []string) (map[string]Turn, error) {
	var rows []Turn
	if err := s.read.WithContext(ctx).Select("id, assignment, person, try").Where("id IN ?", ids).Find(&rows).Error; err != nil {
		return nil, wrap("turns of notes", err)
	}
	out := map[string]Turn{}
	for _, t := range rows {
		out[t.ID] = t
	}
	return out, nil
}

func (s *Store) visitsAbout(ctx context.Context, transcripts []int64) (map[int64]AboutVisit, error) {
	var rows []AboutVisit
	if err := s.read.WithContext(ctx).Model(&Attempt{}).Select("transcript, id, person, case_id").Where("transcript IN ?", transcripts).Scan(&rows).Error; err != nil {
		return nil, wrap("visits of notes", err)
	}
	out := map[int64]AboutVisit{}
	for _, v := range rows {
		out[v.Transcript] = v
	}
	return out, nil
}

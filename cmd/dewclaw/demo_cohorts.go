package main

import (
	"context"

	"dewclaw/server"
	"dewclaw/server/auth"
	"dewclaw/server/store"
)

// The cohorts of the demonstration: one with its people, one still empty.
const (
	demoCohort = "Second year"
	demoEmpty  = "First year"
)

// demoOthers are further students of the cohort, who have accounts and have not
// chosen a password yet: for them one-time links are made. Nobody real.
var demoOthers = []store.NewPerson{
	{Login: "a.brook", Name: "Ash Brook", Number: "2001"},
	{Login: "r.fennel", Name: "Rue Fennel", Number: "2002"},
	{Login: "j.marsh", Name: "Juniper Marsh", Number: "2003"},
	{Login: "t.oakes", Name: "Thorne Oakes", Number: "2004"},
}

// demoCohorts makes the cohorts where there are none yet, and puts the people in:
// ids are those of demoPeople by login.
func demoCohorts(ctx context.Context, s *server.Server, ids map[string]string) error {
	have, err := s.Store().Cohorts(ctx)
	if err != nil || len(have) > 0 {
		return err
	}
	c, err := s.Store().AddCohort(ctx, demoCohort, ids["instructor"], true)
	if err != nil {
		return err
	}
	if _, err := s.Store().AddCohort(ctx, demoEmpty, ids["instructor"], true); err != nil {
		return err
	}
	lines := []store.Enrolment{
		{Person: ids["student"], Member: string(auth.Student)},
		{Person: ids["student2"], Member: string(auth.Student)},
	}
	for _, n := range demoOthers {
		n.Role = string(auth.Student)
		lines = append(lines, store.Enrolment{NewPerson: n, Member: string(auth.Student)})
	}
	note := store.Note{By: ids["instructor"], Deed: "enrol by roster", Detail: "the demonstration"}
	if err := s.Store().Enrol(ctx, c.ID, lines, note, func(int) {}); err != nil {
		return err
	}
	return demoAssignments(ctx, s, c.ID, ids["instructor"])
}

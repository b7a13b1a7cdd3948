package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/server"
)

// The demonstration's instructor sees the visits of the cohort, also where the
// demonstration is opened again.
func TestDemoHasItsCohorts(t *testing.T) {
	s, err := server.New(server.Config{Data: t.TempDir(), Draws: 2, Visits: 8})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for range 2 {
		require.NoError(t, fillDemo(t.Context(), s, "walnut ferry lantern"))
	}
	all, err := s.Store().Cohorts(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 2)
	instructor, err := s.Store().PersonByLogin(t.Context(), "instructor")
	require.NoError(t, err)
	student, err := s.Store().PersonByLogin(t.Context(), "student2")
	require.NoError(t, err)
	seen, err := s.Store().StudentsOf(t.Context(), instructor.ID)
	require.NoError(t, err)
	require.Len(t, seen, 2+len(demoOthers))
	require.Contains(t, seen, student.ID)
}

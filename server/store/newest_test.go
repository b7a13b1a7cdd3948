package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestNewest(t *testing.T) {
	s := storetest.New(t)
	newest := func() time.Time {
		at, err := s.Newest(t.Context())
		require.NoError(t, err)
		return at
	}
	require.True(t, newest().IsZero())
	a := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	s.Clock.Add(time.Hour)
	s.AppendActs(a, 1)
	require.Equal(t, storetest.Start.Add(time.Hour), newest())
	s.Clock.Add(time.Minute)
	_, err := s.AddSession(t.Context(), store.NewSession{ID: "s", Person: a.Person, Kind: "program", Expires: s.Clock.Now().Add(9 * time.Hour)})
	require.NoError(t, err)
	require.Equal(t, storetest.Start.Add(61*time.Minute), newest())
}

package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// What was noted first stays, and goes with the person.
func TestWatched(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	p, other := s.MakePerson("student"), s.MakePerson("student")
	row := store.Watched{Person: p.ID, Species: "dog", CaseID: "dibs"}
	require.NoError(t, s.Watch(ctx, row, false))
	s.Clock.Add(time.Minute)
	require.NoError(t, s.Watch(ctx, row, false))
	require.NoError(t, s.Watch(ctx, store.Watched{Person: p.ID, Species: "cat", CaseID: "basil"}, true))
	all, err := s.WatchedBy(ctx, p.ID)
	require.NoError(t, err)
	require.Len(t, all, 2)
	cat, dog := all[0], all[1]
	require.Equal(t, cat.At, cat.Done)
	require.True(t, dog.Done.IsZero())
	require.Equal(t, time.Minute, cat.At.Sub(dog.At), "the first time stays")

	row.CaseID = "wicket"
	require.NoError(t, s.Watch(ctx, row, true))
	s.Clock.Add(time.Minute)
	require.NoError(t, s.Watch(ctx, row, true))
	all, err = s.WatchedBy(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, "wicket", all[1].CaseID)
	require.Equal(t, time.Minute, all[1].Done.Sub(all[1].At))
	none, err := s.WatchedBy(ctx, other.ID)
	require.NoError(t, err)
	require.Empty(t, none)

	require.Error(t, s.Watch(ctx, store.Watched{Person: "nobody", Species: "dog", CaseID: "dibs"}, false))
	require.NoError(t, s.Leave(ctx, p.ID, store.Note{Deed: "mark for erasure"}))
	s.Clock.Add(store.LeaveFor)
	require.NoError(t, s.ErasePerson(ctx, p.ID, store.Blank{}))
	all, err = s.WatchedBy(ctx, p.ID)
	require.NoError(t, err)
	require.Empty(t, all)
}

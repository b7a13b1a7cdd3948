package store_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestAForecastIsSaidOnce(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	visit := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	_, err := s.Forecast(ctx, visit.Transcript)
	require.ErrorIs(t, err, store.ErrNotFound)
	said := store.Forecast{Transcript: visit.Transcript, Domains: map[string]int{"order": 700}, Least: "heart.murmur@left apex"}
	require.NoError(t, s.SaveForecast(ctx, said))
	require.ErrorIs(t, s.SaveForecast(ctx, store.Forecast{Transcript: visit.Transcript}), store.ErrDuplicate)
	said.At = s.Clock.Now().UTC()
	got, err := s.Forecast(ctx, visit.Transcript)
	require.NoError(t, err)
	require.Equal(t, said, got)

	waiting := func() []string {
		ids, err := s.AwaitForecast(ctx, visit.Person)
		require.NoError(t, err)
		return ids
	}
	other := s.MakeAttempt(visit.Person, "stairs")
	require.Empty(t, waiting(), "it is not marked yet")
	_, err = s.Finish(ctx, other.Transcript, "left")
	require.NoError(t, err)
	require.NoError(t, s.SaveReport(ctx, other.Transcript, store.Report{Engine: "e", Packed: store.Hidden("{}")}))
	require.Equal(t, []string{other.ID}, waiting())
	require.NoError(t, s.SaveForecast(ctx, store.Forecast{Transcript: other.Transcript}), "passed over")
	require.Empty(t, waiting())
	got, err = s.Forecast(ctx, other.Transcript)
	require.NoError(t, err)
	require.Empty(t, got.Domains)
	require.False(t, got.At.IsZero())
}

func TestWhetherOneIsAskedIsOnesOwn(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	a, b := s.MakePerson("student"), s.MakePerson("student")
	for _, ask := range []bool{false, false, true, true, false} { // to say it again changes nothing
		require.NoError(t, s.AskSure(ctx, a.ID, ask))
		got, err := s.AsksSure(ctx, a.ID)
		require.NoError(t, err)
		require.Equal(t, ask, got)
		other, err := s.AsksSure(ctx, b.ID)
		require.NoError(t, err)
		require.True(t, other)
	}
}

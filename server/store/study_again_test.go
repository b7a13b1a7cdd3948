package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestTheFirstLookStays(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	p := s.MakePerson("student")
	a, other := s.MakeAttempt(p.ID, "stairs"), s.MakeAttempt(p.ID, "stairs")
	require.NoError(t, s.SaveLook(ctx, store.Look{Transcript: a.Transcript, Place: "heart.murmur@left apex", Value: "heart.murmur@left apex=3", Mark: 1000}))
	require.ErrorIs(t, s.SaveLook(ctx, store.Look{Transcript: a.Transcript, Place: "heart.murmur@left apex", Value: "heart.murmur@left apex=none"}), store.ErrDuplicate)
	s.Clock.Add(time.Minute)
	require.NoError(t, s.PassLooks(ctx, a.Transcript))
	require.NoError(t, s.PassLooks(ctx, a.Transcript))
	rows, err := s.Looks(ctx, a.Transcript)
	require.NoError(t, err)
	require.Len(t, rows, 2)
	require.Equal(t, []any{"heart.murmur@left apex=3", 1000, store.PassedOver, ""}, []any{rows[0].Value, rows[0].Mark, rows[1].Place, rows[1].Value})
	rows, err = s.Looks(ctx, other.Transcript)
	require.NoError(t, err)
	require.Empty(t, rows, "each visit has its own")
	require.Error(t, s.SaveLook(ctx, store.Look{Transcript: 987, Place: "x"}), "of no visit")
}

func TestOnePlanStandsAtATime(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	p, q := s.MakePerson("student"), s.MakePerson("student")
	_, err := s.StandingPlan(ctx, p.ID)
	require.ErrorIs(t, err, store.ErrNotFound)
	require.NoError(t, s.MakePlan(ctx, q.ID, 9, "theirs"))
	require.NoError(t, s.MakePlan(ctx, p.ID, 1, "first"))
	require.NoError(t, s.MakePlan(ctx, p.ID, 1, "second"))
	stands, err := s.StandingPlan(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, []any{"second", int64(1)}, []any{stands.Plan, stands.MadeIn})

	require.NoError(t, s.CheckPlan(ctx, stands.ID, 2, "yes"))
	require.ErrorIs(t, s.CheckPlan(ctx, stands.ID, 3, "no"), store.ErrNotFound, "it was held against one visit")
	_, err = s.StandingPlan(ctx, p.ID)
	require.ErrorIs(t, err, store.ErrNotFound)
	require.NoError(t, s.MakePlan(ctx, p.ID, 2, "third"))
	require.NoError(t, s.MakePlan(ctx, p.ID, 2, ""))
	_, err = s.StandingPlan(ctx, p.ID)
	require.ErrorIs(t, err, store.ErrNotFound, "none was chosen")
	all, err := s.PlansOf(ctx, p.ID)
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.Equal(t, []any{"second", int64(2), "yes"}, []any{all[0].Plan, all[0].Checked, all[0].Kept})
	theirs, err := s.StandingPlan(ctx, q.ID)
	require.NoError(t, err)
	require.Equal(t, "theirs", theirs.Plan)
}

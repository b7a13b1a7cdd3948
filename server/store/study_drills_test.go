package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// anItem is an item of a drill that nobody has answered.
func anItem() store.DrillItem {
	return store.DrillItem{Item: store.Hidden("hidden"), Kind: "rates", Species: "dog", Skill: "rates"}
}

// beginDrill begins a drill of a new person.
func beginDrill(t *testing.T, s *storetest.Store) store.Drill {
	t.Helper()
	d, err := s.BeginDrill(t.Context(), store.Drill{Person: s.MakePerson("student").ID, Kind: "rates", Holder: "one", Alternatives: store.Alternatives{Traced: true}}, anItem())
	require.NoError(t, err)
	return d
}

func states(items []store.DrillItem) (out []string) {
	for _, i := range items {
		out = append(out, i.State+i.Why)
	}
	return out
}

func TestADrillGoesFromItemToItem(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	d := beginDrill(t, s)
	s.Clock.Add(time.Second)
	right := store.DrillItem{N: 1, Mark: 1000, Sure: 75, Acts: []byte("acts"), Told: []byte(`{"was":"24"}`)}
	require.NoError(t, s.AnswerItem(ctx, d, right))
	require.ErrorIs(t, s.AnswerItem(ctx, d, right), store.ErrUsed, "the first answer stands")
	require.ErrorIs(t, s.VoidItem(ctx, d, 1, "stalled"), store.ErrUsed, "what was marked stays marked")
	require.NoError(t, s.AskNext(ctx, d, 1, anItem()))
	require.ErrorIs(t, s.AskNext(ctx, d, 1, anItem()), store.ErrUsed, "asked twice, there is one")
	require.NoError(t, s.VoidItem(ctx, d, 2, "stalled"))
	require.ErrorIs(t, s.AnswerItem(ctx, d, store.DrillItem{N: 2}), store.ErrUsed, "what is void stays void")
	require.NoError(t, s.AskNext(ctx, d, 2, anItem()))
	require.NoError(t, s.AskNext(ctx, d, 3, anItem()), "an item that is passed over is void")
	require.ErrorIs(t, s.AnswerItem(ctx, d, store.DrillItem{N: 9}), store.ErrNotFound)
	require.NoError(t, s.EndDrill(ctx, d))
	require.NoError(t, s.EndDrill(ctx, d), "ended twice is ended")
	require.ErrorIs(t, s.AskNext(ctx, d, 4, anItem()), store.ErrClosed)
	require.ErrorIs(t, s.AnswerItem(ctx, d, store.DrillItem{N: 4}), store.ErrClosed)

	got, items, err := s.OwnDrill(ctx, d.Person, d.ID)
	require.NoError(t, err)
	require.Equal(t, s.Clock.Now(), got.Ended)
	require.True(t, got.Alternatives.Traced)
	require.Equal(t, []string{"marked", "voidstalled", "voidleft", "voidleft"}, states(items))
	require.Equal(t, []int{1000, 75}, []int{items[0].Mark, items[0].Sure})
	require.Equal(t, `{"was":"24"}`, string(items[0].Told))
	require.Equal(t, "hidden", string(items[0].Item))
	marked, err := s.ItemsOf(ctx, d.Person, store.ItemMarked)
	require.NoError(t, err)
	require.Len(t, marked, 1)
	last, err := s.LastDrills(ctx, d.Person)
	require.NoError(t, err)
	require.Equal(t, map[string]time.Time{"rates": s.Clock.Now()}, last)
}

func TestADrillIsOnePersonsAndOneDevices(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	d := beginDrill(t, s)
	other := d
	other.Person = s.MakePerson("student").ID
	_, _, err := s.OwnDrill(ctx, other.Person, d.ID)
	require.ErrorIs(t, err, store.ErrNotFound)
	for _, err := range []error{s.AnswerItem(ctx, other, store.DrillItem{N: 1}), s.VoidItem(ctx, other, 1, "left"), s.AskNext(ctx, other, 1, anItem()), s.EndDrill(ctx, other), s.HoldDrill(ctx, other)} {
		require.ErrorIs(t, err, store.ErrNotFound)
	}
	phone := d
	phone.Holder = "two"
	require.ErrorIs(t, s.AnswerItem(ctx, phone, store.DrillItem{N: 1}), store.ErrElsewhere)
	require.NoError(t, s.HoldDrill(ctx, phone))
	for _, err := range []error{s.AnswerItem(ctx, d, store.DrillItem{N: 1}), s.VoidItem(ctx, d, 1, "left"), s.AskNext(ctx, d, 1, anItem()), s.EndDrill(ctx, d)} {
		require.ErrorIs(t, err, store.ErrElsewhere, "the first is told")
	}
	require.NoError(t, s.AnswerItem(ctx, phone, store.DrillItem{N: 1, Acts: []byte{}, Told: []byte{}}), "the item goes on with the second")
}

// To begin anew ends what was left: its unanswered item is void, its marks stay.
func TestANewDrillEndsTheOneThatWasLeft(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	d := beginDrill(t, s)
	require.NoError(t, s.AnswerItem(ctx, d, store.DrillItem{N: 1, Mark: 500, Acts: []byte{}, Told: []byte{}}))
	require.NoError(t, s.AskNext(ctx, d, 1, anItem()))
	next, err := s.BeginDrill(ctx, store.Drill{Person: d.Person, Kind: "murmur", Holder: "one"}, anItem())
	require.NoError(t, err)
	left, items, err := s.OwnDrill(ctx, d.Person, d.ID)
	require.NoError(t, err)
	require.False(t, left.Ended.IsZero())
	require.Equal(t, []string{"marked", "voidleft"}, states(items))
	all, err := s.DrillsOf(ctx, d.Person, 0)
	require.NoError(t, err)
	require.ElementsMatch(t, []string{d.ID, next.ID}, []string{all[0].ID, all[1].ID})
	n, err := s.CountOwn(ctx, d.Person)
	require.NoError(t, err)
	require.Equal(t, 2, n.Drills)
}

func TestDrillsGoWithWhoIsErased(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	ctx := t.Context()
	d := beginDrill(t, s)
	stays := beginDrill(t, s)
	require.NoError(t, s.ErasePerson(ctx, d.Person, store.Blank{}))
	_, _, err := s.OwnDrill(ctx, d.Person, d.ID)
	require.ErrorIs(t, err, store.ErrNotFound)
	left, err := s.ItemsOf(ctx, d.Person)
	require.NoError(t, err)
	require.Empty(t, left)
	_, items, err := s.OwnDrill(ctx, stays.Person, stays.ID)
	require.NoError(t, err)
	require.Len(t, items, 1)
}

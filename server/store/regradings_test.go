package store_test

import (
	"database/sql"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// room is a school with graded visits under one version of a rubric, and a
// second version.
type room struct {
	*storetest.Store
	t        *testing.T
	staff    store.Person
	visits   []store.Attempt
	from, to string
}

func regradeRoom(t *testing.T, n int) *room {
	s := storetest.New(t)
	r := &room{Store: s, t: t, staff: s.MakePerson("instructor")}
	student := s.MakePerson("student")
	for i := range n {
		a := s.MakeAttempt(student.ID, "stairs")
		s.AppendActs(a, 1)
		_, err := s.Finish(t.Context(), a.Transcript, "left")
		require.NoError(t, err)
		g := grade
		g.Total, g.Packed = int64(60000+i), fmt.Appendf(nil, "report %d", i)
		require.NoError(t, s.SaveReport(t.Context(), a.Transcript, g))
		r.visits = append(r.visits, a)
	}
	r.from = r.visits[0].RubricHash
	var err error
	r.to, err = s.PutContent(t.Context(), []byte("version 2"))
	require.NoError(t, err)
	return r
}

// propose works a whole regrading out, ten points more for everybody.
func (r *room) propose() store.Regrading {
	r.t.Helper()
	g, err := r.Propose(r.t.Context(), store.NewRegrading{By: r.staff.ID, Rubric: "veterinary", From: r.from, To: r.to})
	require.NoError(r.t, err)
	for {
		rows, err := r.ToRegrade(r.t.Context(), g, 2)
		require.NoError(r.t, err)
		if len(rows) == 0 {
			break
		}
		var done []store.Regraded
		for _, a := range rows {
			done = append(done, r.markAnew(a))
		}
		require.NoError(r.t, r.KeepRegraded(r.t.Context(), g.ID, done))
	}
	require.NoError(r.t, r.FinishProposal(r.t.Context(), g.ID))
	return g
}

func (r *room) markAnew(a store.Attempt) store.Regraded {
	r.t.Helper()
	earlier, err := r.Report(r.t.Context(), a.Transcript)
	require.NoError(r.t, err)
	later := earlier
	later.Total, later.Packed = earlier.Total+10000, append([]byte("anew: "), earlier.Packed...)
	later.Pass = false
	return store.Regraded{Transcript: a.Transcript, Marks: 3, Key: []byte("new key"), Earlier: earlier, Later: later}
}

// dump is every byte of what a regrading may touch.
func dump(t *testing.T, s *storetest.Store) []string {
	t.Helper()
	var out []string
	for _, q := range []string{"SELECT * FROM reports ORDER BY transcript", "SELECT * FROM attempts ORDER BY transcript"} {
		rows, err := s.Raw().Query(q)
		require.NoError(t, err)
		columns, err := rows.Columns()
		require.NoError(t, err)
		for rows.Next() {
			cells, to := make([]sql.RawBytes, len(columns)), make([]any, len(columns))
			for i := range cells {
				to[i] = &cells[i]
			}
			require.NoError(t, rows.Scan(to...))
			out = append(out, fmt.Sprintf("%q", cells))
		}
		require.NoError(t, rows.Err())
		require.NoError(t, rows.Close())
	}
	return out
}

func TestARegradingIsPutBackByteForByte(t *testing.T) {
	r := regradeRoom(t, 5)
	ctx := t.Context()
	before := dump(t, r.Store)
	g := r.propose()
	require.Equal(t, before, dump(t, r.Store), "a proposal changes nothing")
	m, err := r.RegradeSummary(ctx, g.ID)
	require.NoError(t, err)
	require.Equal(t, store.RegradeSummary{Visits: 5, Changed: 5, Totals: 5, ToFail: 5, Sum: 50000, Least: 10000, Most: 10000}, m)

	for _, reason := range []string{"", "  ", string(make([]byte, store.MaxReason+1))} {
		_, err = r.Accept(ctx, g.ID, r.staff.ID, reason, false)
		require.ErrorIs(t, err, store.ErrInvalid)
	}
	_, err = r.Undo(ctx, g.ID, r.staff.ID, "too early", false)
	require.ErrorIs(t, err, store.ErrConflict)

	r.Clock.Add(1)
	n, err := r.Accept(ctx, g.ID, r.staff.ID, "The window was too short.", false)
	require.NoError(t, err)
	require.Equal(t, 5, n)
	got, err := r.Report(ctx, r.visits[3].Transcript)
	require.NoError(t, err)
	require.Equal(t, int64(70003), got.Total)
	require.Equal(t, "anew: report 3", string(got.Packed))
	a, err := r.Attempt(ctx, r.visits[3].ID)
	require.NoError(t, err)
	require.Equal(t, r.to, a.RubricHash)
	require.Equal(t, "new key", string(a.Key))
	uses, err := r.RubricUses(ctx)
	require.NoError(t, err)
	require.Equal(t, []store.RubricUse{{Hash: r.to, Attempts: 5, Graded: 5}}, uses)
	_, err = r.Accept(ctx, g.ID, r.staff.ID, "again", false)
	require.ErrorIs(t, err, store.ErrConflict, "twice")
	require.ErrorIs(t, r.Withdraw(ctx, g.ID, r.staff.ID), store.ErrConflict)

	r.Reopen()
	n, err = r.Undo(ctx, g.ID, r.staff.ID, "It was right before.", false)
	require.NoError(t, err)
	require.Equal(t, 5, n)
	require.Equal(t, before, dump(t, r.Store))
	_, err = r.Undo(ctx, g.ID, r.staff.ID, "again", false)
	require.ErrorIs(t, err, store.ErrConflict, "twice")

	trail, err := r.RegradingEvents(ctx, g.ID)
	require.NoError(t, err)
	var deeds []string
	for _, e := range trail {
		require.Equal(t, r.staff.ID, e.By)
		require.False(t, e.At.IsZero())
		deeds = append(deeds, e.Deed+": "+e.Reason)
	}
	require.Equal(t, []string{"propose: ", "accept: The window was too short.", "undo: It was right before."}, deeds)
}

// A visit that somebody else marked in between is told and stays as it is.
func TestWhatChangedInBetweenIsNotOverwritten(t *testing.T) {
	r := regradeRoom(t, 4)
	ctx := t.Context()
	g := r.propose()
	before := dump(t, r.Store)
	other := grade
	other.Total = 1
	require.NoError(t, r.SaveReport(ctx, r.visits[1].Transcript, other))
	mixed := dump(t, r.Store)

	_, err := r.Accept(ctx, g.ID, r.staff.ID, "reason", false)
	require.ErrorIs(t, err, store.ErrConflict)
	var changed *store.ChangedError
	require.ErrorAs(t, err, &changed)
	require.Equal(t, []string{r.visits[1].ID}, changed.Attempts)
	require.Equal(t, 1, changed.Count)
	require.Equal(t, mixed, dump(t, r.Store), "nothing was done")
	again, err := r.Regrading(ctx, g.ID)
	require.NoError(t, err)
	require.Equal(t, store.RegradeProposed, again.State)

	n, err := r.Accept(ctx, g.ID, r.staff.ID, "the others", true)
	require.NoError(t, err)
	require.Equal(t, 3, n)
	kept, err := r.Report(ctx, r.visits[1].Transcript)
	require.NoError(t, err)
	require.Equal(t, int64(1), kept.Total)

	// Between acceptance and undoing, too; the packed bytes alone are enough.
	require.NoError(t, r.Exec("UPDATE reports SET packed = ? WHERE transcript = ?", []byte("overridden"), r.visits[0].Transcript))
	_, err = r.Undo(ctx, g.ID, r.staff.ID, "back", false)
	require.ErrorAs(t, err, &changed)
	require.Equal(t, []string{r.visits[0].ID}, changed.Attempts)
	n, err = r.Undo(ctx, g.ID, r.staff.ID, "back", true)
	require.NoError(t, err)
	require.Equal(t, 2, n)
	after := dump(t, r.Store)
	for _, i := range []int{2, 3, 6, 7} { // reports and attempts of the visits that nobody touched
		require.Equal(t, before[i], after[i])
	}
}

// A failure half way leaves nothing half done: here the second of two rows
// cannot be kept, and the swap is cut short by a trigger.
func TestARegradingIsAllOrNothing(t *testing.T) {
	r := regradeRoom(t, 3)
	ctx := t.Context()
	g, err := r.Propose(ctx, store.NewRegrading{By: r.staff.ID, Rubric: "veterinary", From: r.from, To: r.to})
	require.NoError(t, err)
	same, err := r.Propose(ctx, store.NewRegrading{By: r.staff.ID, Rubric: "veterinary", From: r.from, To: r.to})
	require.NoError(t, err)
	require.Equal(t, g, same, "asking twice is asking once")
	rows, err := r.ToRegrade(ctx, g, 10)
	require.NoError(t, err)
	require.Len(t, rows, 3)
	bad := r.markAnew(rows[1])
	bad.Earlier.Total++
	require.ErrorIs(t, r.KeepRegraded(ctx, g.ID, []store.Regraded{r.markAnew(rows[0]), bad}), store.ErrConflict)
	rows, err = r.ToRegrade(ctx, g, 10)
	require.NoError(t, err)
	require.Len(t, rows, 3, "the first was not kept either")
	require.NoError(t, r.KeepRegraded(ctx, g.ID, []store.Regraded{r.markAnew(rows[0]), {Transcript: rows[1].Transcript, Refused: "damaged"}, r.markAnew(rows[2])}))
	_, err = r.Accept(ctx, g.ID, r.staff.ID, "reason", false)
	require.ErrorIs(t, err, store.ErrConflict, "still at work")
	require.NoError(t, r.FinishProposal(ctx, g.ID))

	before := dump(t, r.Store)
	allow := r.Refuse("UPDATE ON attempts", "TRUE")
	_, err = r.Accept(ctx, g.ID, r.staff.ID, "reason", false)
	require.Error(t, err)
	require.Equal(t, before, dump(t, r.Store))
	allow()
	r.Reopen()
	n, err := r.Accept(ctx, g.ID, r.staff.ID, "reason", false)
	require.NoError(t, err)
	require.Equal(t, 2, n)
	refused, err := r.RefusedVisits(ctx, g.ID, 10)
	require.NoError(t, err)
	require.Len(t, refused, 1)
	require.Equal(t, "damaged", refused[0].Refused)
	left, err := r.Report(ctx, rows[1].Transcript)
	require.NoError(t, err)
	require.Equal(t, int64(60001), left.Total)
}

func TestAWithdrawnRegradingLeavesNothingButItsTrail(t *testing.T) {
	r := regradeRoom(t, 3)
	ctx := t.Context()
	g := r.propose()
	list, err := r.ChangedVisits(ctx, g.ID, 1, 1)
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.Equal(t, r.visits[1].ID, list[0].ID)
	require.Equal(t, "report 1", string(list[0].Earlier.Packed))
	require.Equal(t, "anew: report 1", string(list[0].Later.Packed))
	require.NoError(t, r.Withdraw(ctx, g.ID, r.staff.ID))
	for _, table := range []string{"regraded", "earlier_reports", "later_reports"} {
		var n int
		require.NoError(t, r.Raw().QueryRow("SELECT COUNT(*) FROM "+table).Scan(&n))
		require.Zero(t, n, table)
	}
	require.ErrorIs(t, r.KeepRegraded(ctx, g.ID, nil), store.ErrConflict)
	require.ErrorIs(t, r.FinishProposal(ctx, g.ID), store.ErrConflict)
	second := r.propose()
	require.NotEqual(t, g.ID, second.ID)
	all, err := r.Regradings(ctx, "veterinary")
	require.NoError(t, err)
	require.Len(t, all, 2)
	_, err = r.Regrading(ctx, "nothing")
	require.ErrorIs(t, err, store.ErrNotFound)
}

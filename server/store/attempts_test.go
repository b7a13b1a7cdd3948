package store_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

var grade = store.Report{Engine: "test 1", Total: 87250, Pass: true, Critical: 1, Held: []string{"critical", "unexamined"},
	Domains: []store.Mark{{"order", 9100, 10000}, {"completeness", 20000, 25000}, {"findings", 25000, 25000},
		{"vitals", 15150, 20000}, {"handling", 10000, 10000}, {"conclusions", 8000, 10000}},
	Packed: bytes.Repeat([]byte(`{"id":"order/look first"}`), 400)}

func TestAnAttemptFromStartToGrade(t *testing.T) {
	s := storetest.New(t)
	ctx, p := t.Context(), s.MakePerson("student")
	a := s.MakeAttempt(p.ID, "stairs")
	require.Equal(t, store.StateOpen, a.State)
	require.GreaterOrEqual(t, len(a.ID), 26, "at least 128 bits in base 32")
	again, err := s.Attempt(ctx, a.ID)
	require.NoError(t, err)
	require.Equal(t, a, again)
	again, err = s.AttemptByTranscript(ctx, a.Transcript)
	require.NoError(t, err)
	require.Equal(t, a, again)
	s.AppendActs(a, 2)

	require.ErrorIs(t, s.SaveReport(ctx, a.Transcript, grade), store.ErrConflict, "still open")
	require.ErrorIs(t, s.SaveReport(ctx, 99, grade), store.ErrNotFound)
	_, err = s.Report(ctx, a.Transcript)
	require.ErrorIs(t, err, store.ErrNotFound)

	s.Clock.Add(10 * time.Minute)
	done, err := s.Finish(ctx, a.Transcript, "concluded")
	require.NoError(t, err)
	s.Clock.Add(time.Minute)
	twice, err := s.Finish(ctx, a.Transcript, "something else")
	require.NoError(t, err)
	require.Equal(t, done, twice)
	require.Equal(t, storetest.Start.Add(10*time.Minute), twice.Finished)
	_, err = s.Finish(ctx, 99, "")
	require.ErrorIs(t, err, store.ErrNotFound)
	_, err = s.Append(ctx, s.MakeAct(a, 3))
	require.ErrorIs(t, err, store.ErrClosed)
	kept, err := s.Append(ctx, s.MakeAct(a, 2))
	require.NoError(t, err, "the answer to the last act got lost and is asked for again")
	require.True(t, kept.Earlier)

	s.Reopen()
	queue, err := s.ToGrade(ctx, 10)
	require.NoError(t, err)
	require.Len(t, queue, 1)
	require.Equal(t, done, queue[0], "the queue outlives the process, seed and key with it")

	require.NoError(t, s.SaveReport(ctx, a.Transcript, grade))
	queue, err = s.ToGrade(ctx, 10)
	require.NoError(t, err)
	require.Empty(t, queue)
	want := grade
	want.Graded = s.Now()
	got, err := s.Report(ctx, a.Transcript)
	require.NoError(t, err)
	require.Equal(t, want, got)
	var size int
	require.NoError(t, s.Raw().QueryRow("SELECT length(packed) FROM reports").Scan(&size))
	require.Less(t, size, len(grade.Packed)/10)

	better := grade
	better.Total, better.Held = 90000, nil
	require.NoError(t, s.SaveReport(ctx, a.Transcript, better), "graded again")
	got, err = s.Report(ctx, a.Transcript)
	require.NoError(t, err)
	require.Equal(t, int64(90000), got.Total)
	require.Empty(t, got.Held)
}

func TestAnAttemptNeedsWhatItPointsAt(t *testing.T) {
	s := storetest.New(t)
	hash, err := s.PutContent(t.Context(), []byte("text"))
	require.NoError(t, err)
	p := s.MakePerson("student")
	good := store.NewAttempt{Person: p.ID, Case: "c", CaseHash: hash, CatalogueHash: hash, RubricHash: hash, RangesHash: hash}
	for what, spoil := range map[string]func(*store.NewAttempt){
		"person": func(n *store.NewAttempt) { n.Person = "nobody" },
		"case":   func(n *store.NewAttempt) { n.CaseHash = "none" },
		"ranges": func(n *store.NewAttempt) { n.RangesHash = "" },
	} {
		bad := good
		spoil(&bad)
		_, err := s.AddAttempt(t.Context(), bad)
		require.ErrorIs(t, err, store.ErrConflict, what)
	}
	one, err := s.AddAttempt(t.Context(), good)
	require.NoError(t, err)
	two, err := s.AddAttempt(t.Context(), good)
	require.NoError(t, err)
	require.NotEqual(t, one.Transcript, two.Transcript)
	require.NotEqual(t, one.ID, two.ID)
}

func TestAReportHasOurDomainsOnly(t *testing.T) {
	s := storetest.New(t)
	a := s.MakeAttempt(s.MakePerson("student").ID, "c")
	_, err := s.Finish(t.Context(), a.Transcript, "finished")
	require.NoError(t, err)
	for _, marks := range [][]store.Mark{{{"charm", 1, 1}}, {{"order", 1, 1}, {"order", 2, 2}}} {
		require.ErrorIs(t, s.SaveReport(t.Context(), a.Transcript, store.Report{Engine: "x", Domains: marks}), store.ErrInvalid)
	}
	require.NoError(t, s.SaveReport(t.Context(), a.Transcript, store.Report{Engine: "x"}))
	got, err := s.Report(t.Context(), a.Transcript)
	require.NoError(t, err)
	require.Len(t, got.Domains, 6)
	require.Zero(t, got.Domains[0].Max)
}

func TestListsOfAttempts(t *testing.T) {
	s := storetest.New(t)
	ann, ben := s.MakePerson("student"), s.MakePerson("student")
	a1, b1 := s.MakeAttempt(ann.ID, "one"), s.MakeAttempt(ben.ID, "one")
	a2 := s.MakeAttempt(ann.ID, "two")
	s.AppendActs(a1, 3)
	_, err := s.Finish(t.Context(), a1.Transcript, "finished")
	require.NoError(t, err)
	require.NoError(t, s.SaveReport(t.Context(), a1.Transcript, grade))

	for _, c := range []struct {
		f    store.Filter
		want []store.Attempt
	}{
		{store.Filter{}, []store.Attempt{a2, b1, a1}},
		{store.Filter{Person: ann.ID}, []store.Attempt{a2, a1}},
		{store.Filter{Case: "one"}, []store.Attempt{b1, a1}},
		{store.Filter{Person: ann.ID, Case: "one"}, []store.Attempt{a1}},
		{store.Filter{State: store.StateOpen}, []store.Attempt{a2, b1}},
		{store.Filter{Limit: 2}, []store.Attempt{a2, b1}},
		{store.Filter{Limit: 2, Before: b1.Transcript}, []store.Attempt{a1}},
		{store.Filter{Person: "nobody' OR 1=1 --"}, nil},
	} {
		got, err := s.Attempts(t.Context(), c.f)
		require.NoError(t, err)
		var ids, want []string
		for i := range got {
			ids = append(ids, got[i].ID)
		}
		for i := range c.want {
			want = append(want, c.want[i].ID)
		}
		require.Equal(t, want, ids, "%+v", c.f)
	}

	all, err := s.Attempts(t.Context(), store.Filter{Person: ann.ID})
	require.NoError(t, err)
	require.Nil(t, all[0].Mark)
	require.Equal(t, 0, all[0].Acts)
	require.Equal(t, ann.Name, all[1].Name)
	require.Equal(t, 3, all[1].Acts)
	require.Equal(t, "finished", all[1].Ended)
	want := grade
	want.Graded, want.Packed = s.Now(), nil
	require.Equal(t, want, *all[1].Mark)
}

func TestContentIsKeptOnceAndChecked(t *testing.T) {
	s := storetest.New(t)
	text := []byte("case: stairs\n")
	hash, err := s.PutContent(t.Context(), text)
	require.NoError(t, err)
	// printf 'case: stairs\n' | sha256sum
	require.Equal(t, "a5c10676bd4fff6d6cc33dffe09acb02c0ec5e8e10593efefecb37d81093f373", hash)
	again, err := s.PutContent(t.Context(), text)
	require.NoError(t, err)
	require.Equal(t, hash, again)
	empty, err := s.PutContent(t.Context(), nil)
	require.NoError(t, err)
	got, err := s.Content(t.Context(), hash)
	require.NoError(t, err)
	require.Equal(t, text, got)
	got, err = s.Content(t.Context(), empty)
	require.NoError(t, err)
	require.Empty(t, got)
	_, err = s.Content(t.Context(), "none")
	require.ErrorIs(t, err, store.ErrNotFound)

	db := s.Raw()
	var n int
	require.NoError(t, db.QueryRow("SELECT COUNT(*) FROM content").Scan(&n))
	require.Equal(t, 2, n)
	require.NoError(t, s.Exec("UPDATE content SET bytes = ? WHERE hash = ?", []byte{0}, hash))
	_, err = s.Content(t.Context(), hash)
	require.ErrorContains(t, err, "the database is damaged")
}

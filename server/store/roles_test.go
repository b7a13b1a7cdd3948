package store_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestTheLastCoordinatorStays(t *testing.T) {
	s := storetest.New(t)
	ctx, why := t.Context(), store.Note{Deed: "change role", Reason: "steps down"}
	one, two := s.MakePerson("coordinator"), s.MakePerson("coordinator")
	require.NoError(t, s.SetPassword(ctx, one.ID, "hash"))
	require.ErrorIs(t, s.ChangeRole(ctx, one.ID, "student", why), store.ErrLast, "the other cannot sign in yet")
	require.ErrorIs(t, s.ErasePerson(ctx, one.ID, store.Blank{}), store.ErrLast)
	require.NoError(t, s.ChangeRole(ctx, one.ID, "coordinator", why), "to stay what one is changes nothing")
	require.NoError(t, s.SetPassword(ctx, two.ID, "hash"))
	require.NoError(t, s.ChangeRole(ctx, one.ID, "student", why))
	require.ErrorIs(t, s.ChangeRole(ctx, two.ID, "instructor", why), store.ErrLast)
	require.ErrorIs(t, s.ErasePerson(ctx, two.ID, store.Blank{}), store.ErrLast)
	require.NoError(t, s.ErasePerson(ctx, one.ID, store.Blank{}), "a student may go")
	notes, err := s.Notes(ctx, store.NoteFilter{About: "person:" + one.ID})
	require.NoError(t, err)
	require.Len(t, notes, 3, "what was refused is no deed")
	require.Equal(t, "erase person", notes[0].Deed)
	require.Equal(t, "student", notes[1].Detail)
}

func TestTheLastInstructorStays(t *testing.T) {
	s := storetest.New(t)
	ctx, why := t.Context(), store.Note{Deed: "change member"}
	ann, ben := s.MakePerson("instructor"), s.MakePerson("instructor")
	c, err := s.AddCohort(ctx, "Autumn", ann.ID, true)
	require.NoError(t, err)
	require.ErrorIs(t, s.ChangeMember(ctx, c.ID, ann.ID, "", false, why), store.ErrLast)
	require.ErrorIs(t, s.ChangeMember(ctx, c.ID, ann.ID, "student", false, why), store.ErrLast)
	require.NoError(t, s.ChangeMember(ctx, c.ID, ben.ID, "instructor", false, why))
	require.NoError(t, s.ChangeMember(ctx, c.ID, ann.ID, "student", false, why))
	require.NoError(t, s.ChangeMember(ctx, c.ID, ann.ID, "", false, why), "a student may go")
	require.NoError(t, s.ChangeMember(ctx, c.ID, ben.ID, "", true, why))
}

func TestDeletedCohortsComeBackForAWhile(t *testing.T) {
	s := storetest.New(t)
	ctx, why := t.Context(), store.Note{Deed: "delete cohort"}
	c, err := s.AddCohort(ctx, "Autumn", "", false)
	require.NoError(t, err)
	require.NoError(t, s.ChangeCohort(ctx, c.ID, "deleted", s.Clock.Now(), why))
	gone, err := s.DeletedCohorts(ctx, s.Clock.Now().Add(-time.Hour))
	require.NoError(t, err)
	require.Len(t, gone, 1)
	require.ErrorIs(t, s.PutBack(ctx, c.ID, s.Clock.Now().Add(time.Hour), why), store.ErrNotFound, "too long ago")
	require.NoError(t, s.PutBack(ctx, c.ID, s.Clock.Now().Add(-time.Hour), why))
	_, err = s.Cohort(ctx, c.ID)
	require.NoError(t, err)
	require.ErrorIs(t, s.PutBack(ctx, c.ID, s.Clock.Now().Add(-time.Hour), why), store.ErrNotFound, "it is there")
}

func TestLinksOfManyAreAllOrNone(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	ann, ben := s.MakePerson("student"), s.MakePerson("student")
	until := s.Clock.Now().Add(time.Hour)
	note := store.Note{Deed: "make link"}
	require.NoError(t, s.AddInvites(ctx, []store.NewInvite{{Token: "a1", Person: ann.ID, Expires: until}}, note))
	err := s.AddInvites(ctx, []store.NewInvite{{Token: "a2", Person: ann.ID, Expires: until}, {Token: "b2", Person: "nobody", Expires: until}}, note)
	require.True(t, errors.Is(err, store.ErrConflict), "%v", err)
	_, err = s.Invite(ctx, "a1")
	require.NoError(t, err, "nothing was half done")
	require.NoError(t, s.AddInvites(ctx, []store.NewInvite{{Token: "a3", Person: ann.ID, Expires: until}, {Token: "b3", Person: ben.ID, Expires: until}}, note))
	_, err = s.Invite(ctx, "a1")
	require.ErrorIs(t, err, store.ErrNotFound, "a fresh link takes the place of the one before")
	notes, err := s.Notes(ctx, store.NoteFilter{About: "person:" + ann.ID})
	require.NoError(t, err)
	require.Len(t, notes, 2)
}

// BenchmarkEnrol is the time a row of a roster of 5,000 takes, and
// BenchmarkAddPerson that of making the same people one by one; what counts is
// the ratio.
func BenchmarkEnrol(b *testing.B) {
	s := storetest.New(b)
	c, err := s.AddCohort(b.Context(), "Autumn", "", false)
	require.NoError(b, err)
	lines := make([]store.Enrolment, b.N)
	for i := range lines {
		lines[i] = store.Enrolment{NewPerson: store.NewPerson{Login: fmt.Sprintf("s%d", i), Role: "student", Name: "Somebody", Number: fmt.Sprint(i)}, Member: "student"}
	}
	b.ResetTimer()
	require.NoError(b, s.Enrol(b.Context(), c.ID, lines, store.Note{Deed: "enrol"}, func(int) {}))
}

func BenchmarkAddPerson(b *testing.B) {
	s := storetest.New(b)
	c, err := s.AddCohort(b.Context(), "Autumn", "", false)
	require.NoError(b, err)
	for i := range b.N {
		p, err := s.AddPerson(b.Context(), store.NewPerson{Login: fmt.Sprintf("s%d", i), Role: "student", Name: "Somebody", Number: fmt.Sprint(i)})
		require.NoError(b, err)
		require.NoError(b, s.SetMember(b.Context(), c.ID, p.ID, "student", store.Note{Deed: "add member"}))
	}
}

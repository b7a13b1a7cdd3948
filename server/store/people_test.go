package store_test

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestALoginIsTheSameHoweverItIsWritten(t *testing.T) {
	s := storetest.New(t)
	ann, err := s.AddPerson(t.Context(), store.NewPerson{Login: " Ann.Müller ", Role: "student", Name: "Ann Müller", PasswordHash: "x"})
	require.NoError(t, err)
	require.Equal(t, "Ann.Müller", ann.Login)
	require.Equal(t, storetest.Start, ann.Created)

	for _, login := range []string{"ann.müller", "ANN.MÜLLER", "ann.mu\u0308ller", "  Ann.Müller"} {
		found, err := s.PersonByLogin(t.Context(), login)
		require.NoError(t, err, login)
		require.Equal(t, ann, found)
		_, err = s.AddPerson(t.Context(), store.NewPerson{Login: login, Role: "student", Name: "Another"})
		require.ErrorIs(t, err, store.ErrDuplicate, login)
	}
	_, err = s.PersonByLogin(t.Context(), "ann.muller")
	require.ErrorIs(t, err, store.ErrNotFound)
}

func TestPeopleNeedALoginANameAndARole(t *testing.T) {
	s := storetest.New(t)
	for _, n := range []store.NewPerson{
		{Role: "student", Name: "A"}, {Login: " ", Role: "student", Name: "A"}, {Login: "a", Name: "A"}, {Login: "a", Role: "student"},
		{Login: strings.Repeat("a", store.MaxLogin+1), Role: "student", Name: "A"},
		{Login: "a", Role: "student", Name: strings.Repeat("a", store.MaxName+1)},
	} {
		_, err := s.AddPerson(t.Context(), n)
		require.ErrorIs(t, err, store.ErrInvalid, "%+v", n)
	}
	all, err := s.People(t.Context())
	require.NoError(t, err)
	require.Empty(t, all)
}

func TestPeopleChange(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	require.NoError(t, s.ChangeRole(t.Context(), p.ID, "instructor", store.Note{Deed: "change role"}))
	require.NoError(t, s.SetPassword(t.Context(), p.ID, "hash"))
	require.NoError(t, s.Rename(t.Context(), p.ID, " New Name "))
	p, err := s.Person(t.Context(), p.ID)
	require.NoError(t, err)
	require.Equal(t, []string{"instructor", "hash", "New Name"}, []string{p.Role, p.PasswordHash, p.Name})

	require.ErrorIs(t, s.ChangeRole(t.Context(), p.ID, "", store.Note{Deed: "change role"}), store.ErrInvalid)
	require.ErrorIs(t, s.ChangeRole(t.Context(), "nobody", "student", store.Note{Deed: "change role"}), store.ErrNotFound)
	require.ErrorIs(t, s.SetPassword(t.Context(), "nobody", "x"), store.ErrNotFound)
	require.ErrorIs(t, s.Rename(t.Context(), "nobody", "x"), store.ErrNotFound)
}

func TestErasureTakesThePersonAndKeepsTheWork(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	a := s.MakeAttempt(p.ID, "stairs")
	s.AppendActs(a, 3)
	_, err := s.AddSession(t.Context(), store.NewSession{ID: "cookie", Person: p.ID, Kind: "browser", Expires: storetest.Start.Add(time.Hour)})
	require.NoError(t, err)
	require.NoError(t, s.AddRefresh(t.Context(), "cookie", "token", storetest.Start.Add(time.Hour)))
	require.NoError(t, s.AddInvite(t.Context(), store.NewInvite{Token: "link", Person: p.ID, Expires: storetest.Start.Add(time.Hour)}))

	require.NoError(t, s.ErasePerson(t.Context(), p.ID, store.Blank{}))
	require.ErrorIs(t, s.ErasePerson(t.Context(), p.ID, store.Blank{}), store.ErrNotFound)
	erased, err := s.Person(t.Context(), p.ID)
	require.NoError(t, err)
	require.Equal(t, store.Person{ID: p.ID, LoginKey: "erased " + p.ID, Role: "student", Created: storetest.Start, Erased: storetest.Start}, erased)
	for _, login := range []string{p.Login, ""} {
		_, err = s.PersonByLogin(t.Context(), login)
		require.ErrorIs(t, err, store.ErrNotFound)
	}
	_, err = s.Session(t.Context(), "cookie")
	require.ErrorIs(t, err, store.ErrNotFound)
	_, err = s.Redeem(t.Context(), "link", "hash")
	require.ErrorIs(t, err, store.ErrNotFound)
	all, err := s.People(t.Context())
	require.NoError(t, err)
	require.Empty(t, all)

	kept, err := s.Attempts(t.Context(), store.Filter{Person: p.ID})
	require.NoError(t, err)
	require.Len(t, kept, 1)
	require.Equal(t, 3, kept[0].Acts)
	require.Empty(t, kept[0].Name)
	_, err = s.AddPerson(t.Context(), store.NewPerson{Login: p.Login, Role: "student", Name: "A newcomer"})
	require.NoError(t, err, "the login is free again")
}

func TestAnInviteWorksOnceAndInTime(t *testing.T) {
	s := storetest.New(t)
	p, by := s.MakePerson("student"), s.MakePerson("coordinator")
	expires := storetest.Start.Add(time.Hour)
	require.ErrorIs(t, s.AddInvite(t.Context(), store.NewInvite{Token: "x", Person: p.ID, Expires: storetest.Start}), store.ErrInvalid)
	require.ErrorIs(t, s.AddInvite(t.Context(), store.NewInvite{Token: "x", Person: "nobody", Expires: expires}), store.ErrConflict)

	require.NoError(t, s.AddInvite(t.Context(), store.NewInvite{Token: "first", Person: p.ID, By: by.ID, Expires: expires}))
	require.NoError(t, s.AddInvite(t.Context(), store.NewInvite{Token: "second", Person: p.ID, By: by.ID, Expires: expires}))
	_, err := s.Invite(t.Context(), "first")
	require.ErrorIs(t, err, store.ErrNotFound, "a new link takes the old one's place")
	i, err := s.Invite(t.Context(), "second")
	require.NoError(t, err)
	require.Equal(t, []string{p.ID, by.ID}, []string{i.Person, i.MadeBy})
	require.NotContains(t, i.TokenHash, "second")

	_, err = s.AddSession(t.Context(), store.NewSession{ID: "cookie", Person: p.ID, Kind: "browser", Expires: expires})
	require.NoError(t, err)
	errs := make([]error, 8)
	var group sync.WaitGroup
	for i := range errs {
		group.Go(func() { _, errs[i] = s.Redeem(context.Background(), "second", fmt.Sprint("hash", i)) })
	}
	group.Wait()
	won := 0
	for i, err := range errs {
		if err == nil {
			won++
			p, err = s.Person(t.Context(), p.ID)
			require.NoError(t, err)
			require.Equal(t, fmt.Sprint("hash", i), p.PasswordHash)
			continue
		}
		require.ErrorIs(t, err, store.ErrUsed)
	}
	require.Equal(t, 1, won)
	_, err = s.Session(t.Context(), "cookie")
	require.ErrorIs(t, err, store.ErrNotFound, "whoever knew the old password is out")

	require.NoError(t, s.AddInvite(t.Context(), store.NewInvite{Token: "third", Person: p.ID, Expires: expires}))
	s.Clock.Add(time.Hour)
	_, err = s.Redeem(t.Context(), "third", "hash")
	require.ErrorIs(t, err, store.ErrExpired)
	_, err = s.Redeem(t.Context(), "never", "hash")
	require.ErrorIs(t, err, store.ErrNotFound)
}

func TestSessionsEnd(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	add := func(id string) {
		_, err := s.AddSession(t.Context(), store.NewSession{ID: id, Person: p.ID, Kind: "browser", Expires: s.Now().Add(12 * time.Hour)})
		require.NoError(t, err)
	}
	over := func(id string) {
		t.Helper()
		_, err := s.Session(t.Context(), id)
		require.ErrorIs(t, err, store.ErrNotFound)
	}
	add("one")
	add("two")
	add("three")
	row, err := s.Session(t.Context(), "one")
	require.NoError(t, err)
	require.Equal(t, p.ID, row.Person)
	require.NotContains(t, row.IDHash, "one")

	require.NoError(t, s.EndSession(t.Context(), "one"))
	require.NoError(t, s.EndSession(t.Context(), "one"))
	over("one")
	s.Clock.Add(30 * time.Second)
	require.NoError(t, s.TouchSession(t.Context(), "two"))
	row, err = s.Session(t.Context(), "two")
	require.NoError(t, err)
	require.Equal(t, storetest.Start, row.LastSeen, "not written more than once a minute")
	s.Clock.Add(30 * time.Second)
	require.NoError(t, s.TouchSession(t.Context(), "two"))
	row, err = s.Session(t.Context(), "two")
	require.NoError(t, err)
	require.Equal(t, storetest.Start.Add(time.Minute), row.LastSeen)

	require.NoError(t, s.ExtendSession(t.Context(), "two", storetest.Start.Add(20*time.Hour)))
	require.NoError(t, s.ExtendSession(t.Context(), "two", storetest.Start.Add(time.Hour)), "never shorter")
	s.Clock.Add(13 * time.Hour)
	over("three")
	_, err = s.Session(t.Context(), "two")
	require.NoError(t, err)
	require.NoError(t, s.EndSessions(t.Context(), p.ID))
	over("two")
	require.ErrorIs(t, s.ExtendSession(t.Context(), "two", storetest.Start.Add(99*time.Hour)), store.ErrNotFound)
}

func TestRefreshTokensRotate(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	ctx, later := t.Context(), storetest.Start.Add(48*time.Hour)
	_, err := s.AddSession(ctx, store.NewSession{ID: "program", Person: p.ID, Kind: "program", Expires: later})
	require.NoError(t, err)
	require.NoError(t, s.AddRefresh(ctx, "program", "r1", later))

	got, err := s.Refresh(ctx, "r1", "r2", later)
	require.NoError(t, err)
	require.Equal(t, p.ID, got.Person)
	s.Clock.Add(store.RefreshGrace)
	_, err = s.Refresh(ctx, "r1", "r2b", later)
	require.NoError(t, err, "the answer got lost; asked again in time")
	_, err = s.Refresh(ctx, "r2b", "r3", later)
	require.NoError(t, err)
	_, err = s.Refresh(ctx, "unknown", "r9", later)
	require.ErrorIs(t, err, store.ErrNotFound)

	s.Clock.Add(time.Second)
	_, err = s.Refresh(ctx, "r1", "stolen", later)
	require.ErrorIs(t, err, store.ErrUsed)
	_, err = s.Session(ctx, "program")
	require.ErrorIs(t, err, store.ErrNotFound, "a stolen token ends the session")
	for _, token := range []string{"r2", "r3", "stolen"} {
		_, err = s.Refresh(ctx, token, "r9", later)
		require.ErrorIs(t, err, store.ErrNotFound, token)
	}
}

func TestARefreshTokenExpires(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	_, err := s.AddSession(t.Context(), store.NewSession{ID: "program", Person: p.ID, Kind: "program", Expires: storetest.Start.Add(48 * time.Hour)})
	require.NoError(t, err)
	require.NoError(t, s.AddRefresh(t.Context(), "program", "r1", storetest.Start.Add(time.Hour)))
	s.Clock.Add(time.Hour)
	_, err = s.Refresh(t.Context(), "r1", "r2", storetest.Start.Add(2*time.Hour))
	require.ErrorIs(t, err, store.ErrNotFound)
}

func TestSweepRemovesOnlyWhatIsLongOver(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	for id, life := range map[string]time.Duration{"short": time.Hour, "long": 90 * 24 * time.Hour} {
		_, err := s.AddSession(t.Context(), store.NewSession{ID: id, Person: p.ID, Kind: "program", Expires: storetest.Start.Add(life)})
		require.NoError(t, err)
		require.NoError(t, s.AddRefresh(t.Context(), id, "r-"+id, storetest.Start.Add(life)))
	}
	s.Clock.Add(32 * 24 * time.Hour)
	require.NoError(t, s.Sweep(t.Context()))
	_, err := s.Refresh(t.Context(), "r-long", "next", s.Now().Add(time.Hour))
	require.NoError(t, err)
	require.ErrorIs(t, s.AddRefresh(t.Context(), "short", "again", s.Now().Add(time.Hour)), store.ErrConflict, "the session's row is gone")
}

func TestSigningKeys(t *testing.T) {
	s := storetest.New(t)
	var group sync.WaitGroup
	for i := range 8 {
		group.Go(func() {
			_, err := s.EnsureSigningKey(context.Background(), func() (string, []byte) { return fmt.Sprint("k", i), []byte("secret") })
			require.NoError(t, err)
		})
	}
	group.Wait()
	keys, err := s.SigningKeys(t.Context())
	require.NoError(t, err)
	require.Len(t, keys, 1)
	first := keys[0].Kid

	s.Clock.Add(time.Hour)
	require.NoError(t, s.AddSigningKey(t.Context(), "new", []byte("another")))
	require.ErrorIs(t, s.AddSigningKey(t.Context(), "new", []byte("another")), store.ErrDuplicate)
	require.NoError(t, s.RetireSigningKey(t.Context(), first))
	s.Reopen()
	keys, err = s.SigningKeys(t.Context())
	require.NoError(t, err)
	require.Equal(t, []string{"new", first}, []string{keys[0].Kid, keys[1].Kid})
	require.Equal(t, "another", string(keys[0].Secret))
	require.Equal(t, storetest.Start.Add(time.Hour), keys[1].Retired)
}

func TestSettings(t *testing.T) {
	s := storetest.New(t)
	_, err := s.Setting(t.Context(), "school")
	require.ErrorIs(t, err, store.ErrNotFound)
	require.NoError(t, s.SetSetting(t.Context(), "school", "First"))
	require.NoError(t, s.SetSetting(t.Context(), "school", "Second"))
	require.NoError(t, s.SetSetting(t.Context(), "empty", ""))
	s.Reopen()
	all, err := s.Settings(t.Context())
	require.NoError(t, err)
	require.Equal(t, map[string]string{"school": "Second", "empty": ""}, all)
}

func TestHiddenBytesDoNotPrint(t *testing.T) {
	s := storetest.New(t)
	a := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%x", "%q", "%d"} {
		text := fmt.Sprintf(verb, a)
		require.NotContains(t, text, "key of")
		require.NotContains(t, text, fmt.Sprintf("%x", "key of"))
		require.Equal(t, "[hidden]", fmt.Sprintf(verb, a.Key))
	}
	var log strings.Builder
	slog.New(slog.NewJSONHandler(&log, nil)).Info("x", "key", a.Key, "attempt", fmt.Sprint(a))
	require.NotContains(t, log.String(), "key of")
	_, err := json.Marshal(a)
	require.ErrorIs(t, err, rubric.ErrHidden)
}

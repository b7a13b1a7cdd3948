package store_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestAlternativesAreGrantedWithAReason(t *testing.T) {
	s := storetest.New(t)
	add := func(login string) store.Person {
		p, err := s.AddPerson(t.Context(), store.NewPerson{Login: login, Role: "student", Name: login})
		require.NoError(t, err)
		return p
	}
	ann, ben := add("ann"), add("ben")
	require.False(t, ann.Alternatives.Any())
	traced, both := store.Alternatives{Traced: true}, store.Alternatives{Traced: true, Described: true}
	grant := func(want store.Alternatives, reason string) bool {
		changed, err := s.GrantAlternatives(t.Context(), store.NewGrant{Person: ann.ID, By: ben.ID, Want: want, Reason: reason})
		require.NoError(t, err)
		return changed
	}
	require.True(t, grant(traced, " letter of the school "))
	require.False(t, grant(traced, "once more"), "nothing changes, nothing is logged")
	require.True(t, grant(both, "words too"))
	require.True(t, grant(store.Alternatives{}, "no longer"))
	require.True(t, grant(both, "again"))

	p, err := s.Person(t.Context(), ann.ID)
	require.NoError(t, err)
	require.Equal(t, both, p.Alternatives)
	log, err := s.Grants(t.Context(), ann.ID)
	require.NoError(t, err)
	require.Equal(t, store.Grant{Person: ann.ID, N: 1, At: storetest.Start, By: ben.ID, Became: traced, Reason: "letter of the school"}, log[3])
	require.Equal(t, []store.Alternatives{{}, both, traced, {}}, []store.Alternatives{log[0].Was, log[1].Was, log[2].Was, log[3].Was})
	require.Empty(t, must(s.Grants(t.Context(), ben.ID)))

	for name, n := range map[string]store.NewGrant{
		"no reason":       {Person: ann.ID, By: ben.ID, Want: traced, Reason: "  "},
		"a reason's size": {Person: ann.ID, By: ben.ID, Want: traced, Reason: strings.Repeat("x", store.MaxReason+1)},
		"to oneself":      {Person: ann.ID, By: ann.ID, Want: traced, Reason: "me"},
		"by nobody":       {Person: ann.ID, Want: traced, Reason: "x"},
	} {
		_, err := s.GrantAlternatives(t.Context(), n)
		require.ErrorIs(t, err, store.ErrInvalid, name)
	}
	_, err = s.GrantAlternatives(t.Context(), store.NewGrant{Person: "nobody", By: ben.ID, Reason: "x"})
	require.ErrorIs(t, err, store.ErrNotFound)

	require.NoError(t, s.ErasePerson(t.Context(), ann.ID, store.Blank{}))
	require.Empty(t, must(s.Grants(t.Context(), ann.ID)), "why it was granted tells of the person")
	gone, err := s.Person(t.Context(), ann.ID)
	require.NoError(t, err)
	require.False(t, gone.Alternatives.Any())
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func TestASoundCheckIsAnsweredOnce(t *testing.T) {
	s := storetest.New(t)
	ann, err := s.AddPerson(t.Context(), store.NewPerson{Login: "ann", Role: "student", Name: "Ann"})
	require.NoError(t, err)
	asked := storetest.Start.Add(-time.Minute)
	require.NoError(t, s.AnswerSoundCheck(t.Context(), ann.ID, asked, true))
	passed := must(s.Person(t.Context(), ann.ID)).CheckPassed
	require.Equal(t, storetest.Start, passed)
	require.ErrorIs(t, s.AnswerSoundCheck(t.Context(), ann.ID, asked, true), store.ErrUsed)
	require.ErrorIs(t, s.AnswerSoundCheck(t.Context(), ann.ID, asked.Add(-time.Second), true), store.ErrUsed, "an older one")
	require.NoError(t, s.AnswerSoundCheck(t.Context(), ann.ID, asked.Add(time.Second), false))
	require.Equal(t, passed, must(s.Person(t.Context(), ann.ID)).CheckPassed, "failing takes nothing away")
	require.ErrorIs(t, s.AnswerSoundCheck(t.Context(), "nobody", asked, true), store.ErrNotFound)
}

func TestAnUnknownAlternativeIsAnError(t *testing.T) {
	var a store.Alternatives
	require.NoError(t, a.Scan("described traced"))
	require.Equal(t, store.Alternatives{Traced: true, Described: true}, a)
	require.NoError(t, a.Scan(""))
	require.False(t, a.Any())
	require.ErrorContains(t, a.Scan("smelled"), `"smelled"`)
	require.Error(t, a.Scan(7))
}

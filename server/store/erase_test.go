package store_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// Words that stand in the file for one person only.
const (
	zqName   = "Zqnamezq Example"
	zqLogin  = "zqloginzq"
	zqMail   = "zqmailzq@example.org"
	zqNumber = "zqnumberzq"
	zqWords  = "zqwordszq I did hear it"
	zqWhy    = "zqwhyzq was ill"
	zqRetry  = "zqretryzq"
	zqHash   = "zqhashzq"
)

// planted finds such a word, also where only half of it is left. Random ids hold "zq" now and then.
var planted = regexp.MustCompile("zq(name|login|mail|number|words|why|retry|hash)|(name|login|mail|number|words|why|retry|hash)zq")

// somebody is a student of whom everything that can be known is known.
func somebody(t *testing.T, s *storetest.Store) (store.Person, store.Attempt, store.Turn) {
	t.Helper()
	ctx := t.Context()
	staff := s.MakePerson("instructor")
	p, err := s.AddPerson(ctx, store.NewPerson{Login: zqLogin, Role: "student", Name: zqName, Number: zqNumber, Email: zqMail, PasswordHash: zqHash})
	require.NoError(t, err)
	c, err := s.AddCohort(ctx, "Autumn", staff.ID, false)
	require.NoError(t, err)
	require.NoError(t, s.SetMember(ctx, c.ID, p.ID, "student", store.Note{By: staff.ID, Deed: "add member"}))
	require.NoError(t, s.Accommodate(ctx, store.Accommodation{Cohort: c.ID, Person: p.ID, Extra: 25}, store.Note{By: staff.ID, Deed: "accommodate", Reason: zqWhy}))
	_, err = s.GrantAlternatives(ctx, store.NewGrant{Person: p.ID, By: staff.ID, Want: store.Alternatives{Traced: true}, Reason: zqWhy})
	require.NoError(t, err)
	a, err := s.SaveAssignment(ctx, store.Assignment{Cohort: c.ID, Title: "Test", Kind: "sitting", State: store.AssignmentSet, Slots: [][]string{{"stairs"}}}, store.Note{By: staff.ID, Deed: "make"})
	require.NoError(t, err)
	turn, err := s.BeginTurn(ctx, store.Turn{Assignment: a.ID, Person: p.ID, Try: 1, Plan: store.Hidden("plan")}, c.ID)
	require.NoError(t, err)
	require.NoError(t, s.MoveClock(ctx, store.ClockDeed{Assignment: a.ID, Turn: turn.ID, Kind: "add", Minutes: 5, By: staff.ID, Reason: zqWhy}, store.Note{Deed: "give minutes", Cohort: c.ID}))
	require.NoError(t, s.MoveClock(ctx, store.ClockDeed{Assignment: a.ID, Person: p.ID, Kind: "admit", Minutes: 5, By: staff.ID, Reason: zqWhy}, store.Note{Deed: "let in late", Cohort: c.ID}))
	require.NoError(t, s.ChangeTurn(ctx, turn.ID, "excused", zqWhy, store.Note{By: staff.ID, Deed: "excuse", Cohort: c.ID, Reason: zqWhy}))
	visit := s.MakeAttempt(p.ID, "stairs")
	s.AppendActs(visit, 2)
	act := s.MakeAct(visit, 3)
	act.Retry, act.Act = zqRetry, fmt.Appendf(nil, `{"n":3,"kind":"conclude","reason":%q}`, zqWords)
	_, err = s.Append(ctx, act)
	require.NoError(t, err)
	_, err = s.Finish(ctx, visit.Transcript, "left")
	require.NoError(t, err)
	require.NoError(t, s.SaveReport(ctx, visit.Transcript, store.Report{Engine: "e", Total: 700, Packed: store.Hidden(`{"gap":"` + zqWords + `"}`)}))
	require.NoError(t, s.AskReview(ctx, visit.Transcript, "x", p.ID, zqWords, store.Note{Deed: "ask"}))
	require.NoError(t, s.SaveLook(ctx, store.Look{Transcript: visit.Transcript, Place: "mm.colour", Value: zqWords}))
	require.NoError(t, s.MakePlan(ctx, p.ID, visit.Transcript, zqWords))
	require.NoError(t, s.SaveForecast(ctx, store.Forecast{Transcript: visit.Transcript, Domains: map[string]int{"order": 500}, Least: zqWords}))
	require.NoError(t, s.AskSure(ctx, p.ID, false))
	return p, visit, turn
}

// blanks takes the planted words out of acts and reports.
var blanks = store.Blank{
	Act: func(_ store.Attempt, act []byte) ([]byte, []string, error) {
		if !bytes.Contains(act, []byte(zqWords)) {
			return act, nil, nil
		}
		return bytes.ReplaceAll(act, []byte(zqWords), []byte(store.Erased)), []string{zqWords}, nil
	},
	Report: func(report []byte, words []string) ([]byte, error) {
		return bytes.ReplaceAll(report, []byte(words[0]), []byte(store.Erased)), nil
	},
}

func TestNothingOfWhoIsErasedIsLeftInTheFile(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	p, visit, turn := somebody(t, s)
	require.Regexp(t, planted, strings.ToLower(files(t, s)))
	require.NoError(t, s.Leave(ctx, p.ID, store.Note{Deed: "mark for erasure", Reason: "asked for it"}))
	s.Clock.Add(store.LeaveFor)
	require.NoError(t, s.ErasePerson(ctx, p.ID, blanks))

	acts, err := s.Acts(ctx, visit.Transcript, 0)
	require.NoError(t, err)
	require.Len(t, acts, 3)
	var third struct{ Reason string }
	require.NoError(t, json.Unmarshal(acts[2].Act, &third))
	require.Equal(t, store.Erased, third.Reason)
	require.Equal(t, p.ID, acts[2].By, "the act is still that person's, whoever it was")
	rep, err := s.Report(ctx, visit.Transcript)
	require.NoError(t, err)
	require.Equal(t, int64(700), rep.Total)
	require.Equal(t, `{"gap":"[erased]"}`, string(rep.Packed))
	again, err := s.Turn(ctx, turn.ID)
	require.NoError(t, err)
	require.Equal(t, store.Erased, again.Excused, "it still does not count")
	deeds, err := s.ClockDeeds(ctx, turn.Assignment)
	require.NoError(t, err)
	require.Equal(t, []string{"", store.Erased, store.Erased}, []string{deeds[0].Reason, deeds[1].Reason, deeds[2].Reason})
	notes, err := s.Notes(ctx, store.NoteFilter{Deeds: []string{"mark for erasure"}})
	require.NoError(t, err)
	require.Equal(t, "asked for it", notes[0].Reason, "why somebody was erased stays")
	_, err = s.Forecast(ctx, visit.Transcript)
	require.ErrorIs(t, err, store.ErrNotFound, "it was theirs alone")
	asks, err := s.AsksSure(ctx, p.ID)
	require.NoError(t, err)
	require.True(t, asks)
	left := strings.ToLower(files(t, s))
	require.Empty(t, planted.FindAllString(left, 5), "what was deleted is overwritten, in the file and beside it")
}

// files are the bytes of the database and of what stands beside it. On
// PostgreSQL, where they are the server's, it is all that can be read.
func files(t *testing.T, s *storetest.Store) string {
	t.Helper()
	var all []byte
	if s.Path == "" {
		return fmt.Sprint(s.Everything())
	}
	for _, end := range []string{"", "-wal"} {
		raw, err := os.ReadFile(s.Path + end)
		if end != "" && os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err)
		all = append(all, raw...)
	}
	return string(all)
}

func TestWhoLeavesIsNobodyAndCanBePutBack(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	p, visit, _ := somebody(t, s)
	_, err := s.AddSession(ctx, store.NewSession{ID: "cookie", Person: p.ID, Kind: "browser", Expires: s.Clock.Now().Add(time.Hour)})
	require.NoError(t, err)
	require.NoError(t, s.AddInvite(ctx, store.NewInvite{Token: "link", Person: p.ID, Expires: s.Clock.Now().Add(time.Hour)}))
	was, err := s.Person(ctx, p.ID)
	require.NoError(t, err)
	mine, err := s.MemberOf(ctx, p.ID)
	require.NoError(t, err)
	why := store.Note{Deed: "mark for erasure", Reason: "asked"}
	require.NoError(t, s.Leave(ctx, p.ID, why))
	require.ErrorIs(t, s.Leave(ctx, p.ID, why), store.ErrNotFound)

	for _, login := range []string{zqLogin, "leaving " + p.ID, ""} {
		who, err := s.PersonByLogin(ctx, login)
		require.True(t, err != nil || who.PasswordHash == "", "nobody signs in as %q", login)
	}
	_, err = s.Session(ctx, "cookie")
	require.ErrorIs(t, err, store.ErrNotFound)
	_, err = s.Redeem(ctx, "link", "hash")
	require.ErrorIs(t, err, store.ErrNotFound)
	require.ErrorIs(t, s.AddInvite(ctx, store.NewInvite{Token: "another", Person: p.ID, Expires: s.Clock.Now().Add(time.Hour)}), store.ErrNotFound)
	gone, err := s.Person(ctx, p.ID)
	require.NoError(t, err)
	require.False(t, gone.Erased.IsZero())
	require.Empty(t, gone.Name+gone.Login+gone.Email+gone.Number+gone.PasswordHash)
	all, err := s.People(ctx)
	require.NoError(t, err)
	require.Len(t, all, 1, "the instructor")
	members, err := s.Members(ctx, mine[0].Cohort)
	require.NoError(t, err)
	require.Empty(t, members)
	counts, err := s.MemberCounts(ctx)
	require.NoError(t, err)
	require.Empty(t, counts)
	list, err := s.Attempts(ctx, store.Filter{Person: p.ID})
	require.NoError(t, err)
	require.Empty(t, list[0].Name)

	s.Clock.Add(store.LeaveFor - time.Second)
	require.Empty(t, must(s.DueToErase(ctx)))
	require.NoError(t, s.Return(ctx, p.ID, store.Note{Deed: "put person back"}))
	back, err := s.Person(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, was, back)
	members, err = s.Members(ctx, mine[0].Cohort)
	require.NoError(t, err)
	require.Len(t, members, 1)
	acts, err := s.Acts(ctx, visit.Transcript, 2)
	require.NoError(t, err)
	require.Contains(t, string(acts[0].Act), zqWords, "with everything")
}

// The clock decides and not the job: a second later it is too late, although
// nothing has run.
func TestTheClockErasesAndAHoldKeeps(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	p, _, _ := somebody(t, s)
	leave := store.Note{Deed: "mark for erasure", Reason: "asked"}
	require.ErrorIs(t, s.HoldPerson(ctx, p.ID, "", store.Note{Deed: "lift hold"}), store.ErrNotFound, "there is none")
	require.NoError(t, s.HoldPerson(ctx, p.ID, "an appeal", store.Note{By: "x", Deed: "hold person"}))
	held, err := s.Person(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, []string{"an appeal", "x"}, []string{held.Hold, held.HoldBy})
	require.ErrorIs(t, s.Leave(ctx, p.ID, leave), store.ErrHeld)
	require.ErrorIs(t, s.ErasePerson(ctx, p.ID, blanks), store.ErrHeld)
	require.NoError(t, s.HoldPerson(ctx, p.ID, "", store.Note{Deed: "lift hold"}))

	require.NoError(t, s.Leave(ctx, p.ID, leave))
	require.NoError(t, s.HoldPerson(ctx, p.ID, "a lawsuit", store.Note{Deed: "hold person"}))
	s.Clock.Add(2 * store.LeaveFor)
	require.Empty(t, must(s.DueToErase(ctx)), "held")
	require.ErrorIs(t, s.ErasePerson(ctx, p.ID, blanks), store.ErrHeld)
	require.Contains(t, files(t, s), zqWords, "and nothing of it was begun")
	require.Len(t, must(s.Leavers(ctx)), 1)
	require.NoError(t, s.HoldPerson(ctx, p.ID, "", store.Note{Deed: "lift hold"}))
	require.Empty(t, must(s.DueToErase(ctx)), "the 30 days begin anew")

	s.Clock.Add(store.LeaveFor)
	require.Equal(t, []string{p.ID}, must(s.DueToErase(ctx)))
	require.Empty(t, must(s.Leavers(ctx)))
	require.ErrorIs(t, s.Return(ctx, p.ID, store.Note{Deed: "put person back"}), store.ErrNotFound)
	require.ErrorIs(t, s.HoldPerson(ctx, p.ID, "too late", store.Note{Deed: "hold person"}), store.ErrNotFound)
}

func TestTheLoginOfWhoLeavesIsFree(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	p := s.MakePerson("student")
	require.NoError(t, s.Leave(ctx, p.ID, store.Note{Deed: "leave"}))
	_, err := s.AddPerson(ctx, store.NewPerson{Login: p.Login, Role: "student", Name: "Another"})
	require.NoError(t, err)
	require.ErrorIs(t, s.Return(ctx, p.ID, store.Note{Deed: "back"}), store.ErrDuplicate)
	require.Len(t, must(s.Leavers(ctx)), 1, "nothing is lost by it")
	last := s.MakePerson("coordinator")
	require.NoError(t, s.SetPassword(ctx, last.ID, "hash"))
	require.ErrorIs(t, s.Leave(ctx, last.ID, store.Note{Deed: "leave"}), store.ErrLast)
}

// Nothing of who is held is swept, however old it is.
func TestASweepLeavesWhoIsHeld(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	held, other := s.MakePerson("student"), s.MakePerson("student")
	for _, p := range []store.Person{held, other} {
		_, err := s.AddSession(ctx, store.NewSession{ID: "of " + p.ID, Person: p.ID, Kind: "browser", Expires: s.Clock.Now().Add(time.Hour)})
		require.NoError(t, err)
		require.NoError(t, s.AddRefresh(ctx, "of "+p.ID, "token "+p.ID, s.Clock.Now().Add(time.Hour)))
	}
	require.NoError(t, s.HoldPerson(ctx, held.ID, "an appeal", store.Note{Deed: "hold"}))
	s.Clock.Add(365 * 24 * time.Hour)
	require.NoError(t, s.Sweep(ctx))
	require.Len(t, must(s.SessionsOf(ctx, held.ID)), 1)
	require.Empty(t, must(s.SessionsOf(ctx, other.ID)))
}

func TestPastStudents(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	staff := s.MakePerson("coordinator")
	cohort := func(name string) string {
		c, err := s.AddCohort(ctx, name, staff.ID, false)
		require.NoError(t, err)
		return c.ID
	}
	old, newer, inUse, deleted := cohort("Old"), cohort("Newer"), cohort("In use"), cohort("Deleted")
	in := func(person string, ids ...string) {
		for _, id := range ids {
			require.NoError(t, s.SetMember(ctx, id, person, "student", store.Note{Deed: "add member"}))
		}
	}
	gone, twice, still, taught, held, alone, ofDeleted := s.MakePerson("student"), s.MakePerson("student"), s.MakePerson("student"), s.MakePerson("student"), s.MakePerson("student"), s.MakePerson("student"), s.MakePerson("student")
	in(gone.ID, old)
	in(twice.ID, old, newer)
	in(still.ID, old, inUse)
	in(taught.ID, old)
	require.NoError(t, s.SetMember(ctx, newer, taught.ID, "instructor", store.Note{Deed: "add member"}))
	in(held.ID, old)
	in(ofDeleted.ID, deleted)
	require.NoError(t, s.HoldPerson(ctx, held.ID, "an appeal", store.Note{Deed: "hold"}))
	_ = alone // in no cohort at all: no term begins
	end := func(id, column string) time.Time {
		s.Clock.Add(time.Hour)
		require.NoError(t, s.ChangeCohort(ctx, id, column, s.Clock.Now(), store.Note{Deed: "end"}))
		return s.Clock.Now()
	}
	first, second, third := end(old, "archived"), end(newer, "archived"), end(deleted, "deleted")
	past, err := s.PastStudents(ctx)
	require.NoError(t, err)
	got := map[string]time.Time{}
	for _, p := range past {
		got[p.ID] = p.Since
	}
	require.Equal(t, map[string]time.Time{gone.ID: first, twice.ID: second, ofDeleted.ID: third}, got)
	require.Equal(t, gone.ID, past[0].ID, "the longest away first")
	require.Equal(t, gone.Login, past[0].Login)
}

// What was deleted is hidden for good once it can no longer be put back: its
// name goes and its rows stay.
func TestWhatWasDeletedIsForgotten(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	staff := s.MakePerson("coordinator")
	c, err := s.AddCohort(ctx, "Zqcohortzq", staff.ID, false)
	require.NoError(t, err)
	a, err := s.SaveAssignment(ctx, store.Assignment{Cohort: c.ID, Title: "Zqtitlezq", Kind: "practice", Slots: [][]string{{"stairs"}}}, store.Note{Deed: "make"})
	require.NoError(t, err)
	require.NoError(t, s.SetDraw(ctx, store.Draw{Assignment: a.ID, CaseID: "stairs", MadeOf: "v1", Seeds: store.Hidden("seeds"), Figures: []byte("{}")}))
	require.NoError(t, s.DeleteAssignment(ctx, a.ID, store.Note{Deed: "delete"}))
	require.NoError(t, s.ChangeCohort(ctx, c.ID, "deleted", s.Clock.Now(), store.Note{Deed: "delete"}))
	deleted := s.Clock.Now()
	n, err := s.ForgetDeleted(ctx, deleted.Add(-time.Second))
	require.NoError(t, err)
	require.Zero(t, n)
	require.NoError(t, s.PutBack(ctx, c.ID, deleted.Add(-time.Second), store.Note{Deed: "put back"}))
	require.NoError(t, s.ChangeCohort(ctx, c.ID, "deleted", s.Clock.Now(), store.Note{Deed: "delete"}))
	for range 2 {
		n, err = s.ForgetDeleted(ctx, deleted)
		require.NoError(t, err)
	}
	require.Zero(t, n, "once each")
	require.ErrorIs(t, s.PutBack(ctx, c.ID, deleted, store.Note{Deed: "put back"}), store.ErrNotFound)
	require.Empty(t, must(s.Draws(ctx, a.ID)), "hidden seeds go too")
	notes, err := s.Notes(ctx, store.NoteFilter{Limit: 2})
	require.NoError(t, err)
	require.Equal(t, []string{"forget assignment", "forget cohort"}, []string{notes[0].Deed, notes[1].Deed})
}

func TestASettingIsChangedOnceWithANote(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	require.NoError(t, s.ChangeSetting(ctx, "retention", "24", store.Note{By: "x", Deed: "change setting"}))
	first := s.Clock.Now()
	s.Clock.Add(time.Hour)
	require.NoError(t, s.ChangeSetting(ctx, "retention", "24", store.Note{By: "x", Deed: "change setting"}))
	value, since, err := s.SettingSince(ctx, "retention")
	require.NoError(t, err)
	require.Equal(t, "24", value)
	require.Equal(t, first, since, "saving the page again changes nothing")
	require.Len(t, must(s.Notes(ctx, store.NoteFilter{})), 1)
}

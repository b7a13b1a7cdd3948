package store_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestCohortsAndTheirPeople(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	staff, ann, ben := s.MakePerson("instructor"), s.MakePerson("student"), s.MakePerson("student")
	c, err := s.AddCohort(ctx, " Autumn ", staff.ID, true)
	require.NoError(t, err)
	require.Equal(t, "Autumn", c.Name)
	_, err = s.AddCohort(ctx, "  ", staff.ID, true)
	require.ErrorIs(t, err, store.ErrInvalid)

	why := store.Note{By: staff.ID, Deed: "add member"}
	require.NoError(t, s.SetMember(ctx, c.ID, ann.ID, "student", why))
	require.NoError(t, s.SetMember(ctx, c.ID, ann.ID, "student", why), "twice is once")
	require.NoError(t, s.SetMember(ctx, c.ID, ben.ID, "student", why))
	require.ErrorIs(t, s.SetMember(ctx, "none", ben.ID, "student", why), store.ErrConflict)
	people, err := s.Members(ctx, c.ID)
	require.NoError(t, err)
	require.Len(t, people, 3)
	require.Equal(t, "instructor", people[0].Role)
	require.Equal(t, ann.Name, people[1].Name)

	require.NoError(t, s.SetMember(ctx, c.ID, ben.ID, "", store.Note{By: staff.ID, Deed: "leave", Reason: "moved away"}))
	require.ErrorIs(t, s.SetMember(ctx, c.ID, ben.ID, "", store.Note{By: staff.ID, Deed: "leave"}), store.ErrNotFound)
	require.NoError(t, s.ChangeCohort(ctx, c.ID, "name", "Winter", store.Note{By: staff.ID, Deed: "rename"}))
	require.NoError(t, s.ChangeCohort(ctx, c.ID, "deleted", s.Clock.Now(), store.Note{By: staff.ID, Deed: "delete"}))
	_, err = s.Cohort(ctx, c.ID)
	require.ErrorIs(t, err, store.ErrNotFound)
	mine, err := s.MemberOf(ctx, ann.ID)
	require.NoError(t, err)
	require.Empty(t, mine)
	require.NoError(t, s.ChangeCohort(ctx, c.ID, "deleted", time.Time{}, store.Note{By: staff.ID, Deed: "put back"}))
	got, err := s.Cohort(ctx, c.ID)
	require.NoError(t, err)
	require.Equal(t, "Winter", got.Name)

	notes, err := s.Notes(ctx, store.NoteFilter{Cohort: c.ID})
	require.NoError(t, err)
	var deeds []string
	for _, n := range notes {
		deeds = append(deeds, n.Deed)
	}
	require.Equal(t, []string{"put back", "delete", "rename", "leave", "add member", "add member", "add member", "make cohort"}, deeds)
	require.Equal(t, "moved away", notes[3].Reason)
}

// A deed that fails leaves no note, and a note that cannot be written no deed.
func TestDeedAndNoteAreOne(t *testing.T) {
	s := storetest.New(t)
	staff := s.MakePerson("instructor")
	require.ErrorIs(t, s.ChangeCohort(t.Context(), "none", "name", "x", store.Note{By: staff.ID, Deed: "rename"}), store.ErrNotFound)
	c, err := s.AddCohort(t.Context(), "Autumn", staff.ID, false)
	require.NoError(t, err)
	require.ErrorIs(t, s.ChangeCohort(t.Context(), c.ID, "name", "x", store.Note{By: staff.ID}), store.ErrInvalid)
	notes, err := s.Notes(t.Context(), store.NoteFilter{})
	require.NoError(t, err)
	require.Len(t, notes, 1)
}

func TestEnrol(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	staff, ann := s.MakePerson("instructor"), s.MakePerson("student")
	old, err := s.AddCohort(ctx, "Spring", staff.ID, false)
	require.NoError(t, err)
	c, err := s.AddCohort(ctx, "Autumn", staff.ID, false)
	require.NoError(t, err)
	require.NoError(t, s.SetMember(ctx, old.ID, ann.ID, "student", store.Note{Deed: "add member"}))
	lines := []store.Enrolment{{Person: ann.ID, NewPerson: store.NewPerson{Name: "Ann Other", Number: "7"}, Member: "student", Leave: []string{old.ID}}}
	for i := range 250 {
		lines = append(lines, store.Enrolment{NewPerson: store.NewPerson{Login: fmt.Sprintf("s%d", i), Name: "Somebody", Role: "student", Number: fmt.Sprint(1000 + i), Email: "a@example.org"}, Member: "student"})
	}
	var said []int
	require.NoError(t, s.Enrol(ctx, c.ID, lines, store.Note{By: staff.ID, Deed: "roster"}, func(n int) { said = append(said, n) }))
	require.Equal(t, []int{100, 200, 251}, said)
	people, err := s.Members(ctx, c.ID)
	require.NoError(t, err)
	require.Len(t, people, 251)
	p, err := s.Person(ctx, ann.ID)
	require.NoError(t, err)
	require.Equal(t, "Ann Other", p.Name)
	require.Equal(t, "7", p.Number)
	left, err := s.Members(ctx, old.ID)
	require.NoError(t, err)
	require.Empty(t, left)
	require.ErrorIs(t, s.Enrol(ctx, c.ID, []store.Enrolment{{NewPerson: store.NewPerson{Login: "S1", Name: "x", Role: "student"}, Member: "student"}},
		store.Note{Deed: "roster"}, func(int) {}), store.ErrDuplicate)
}

// sat is a sitting that one student has begun.
func sat(t *testing.T, s *storetest.Store) (a store.Assignment, turn store.Turn, student store.Person) {
	ctx := t.Context()
	staff := s.MakePerson("instructor")
	student = s.MakePerson("student")
	c, err := s.AddCohort(ctx, "Autumn", staff.ID, true)
	require.NoError(t, err)
	a, err = s.SaveAssignment(ctx, store.Assignment{Cohort: c.ID, Title: "Finals", Kind: "sitting", Track: "veterinary", State: store.AssignmentSet,
		Opens: s.Clock.Now(), Closes: s.Clock.Now().Add(time.Hour), Minutes: 40, Tries: 1, Cue: "headings", Places: "unlabelled",
		Slots: [][]string{{"stairs"}, {"biscuit", "fergus"}}}, store.Note{By: staff.ID, Deed: "set"})
	require.NoError(t, err)
	turn, err = s.BeginTurn(ctx, store.Turn{Assignment: a.ID, Person: student.ID, Try: 1, Plan: store.Hidden("plan"), Holder: "one"}, c.ID)
	require.NoError(t, err)
	return a, turn, student
}

func TestAssignments(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	a, turn, student := sat(t, s)
	got, err := s.Assignment(ctx, a.ID)
	require.NoError(t, err)
	require.Equal(t, a.Slots, got.Slots)
	require.True(t, a.Closes.Equal(got.Closes))
	with, err := s.AssignmentsWith(ctx, "fergus")
	require.NoError(t, err)
	require.Len(t, with, 1)
	with, err = s.AssignmentsWith(ctx, "willow")
	require.NoError(t, err)
	require.Empty(t, with)

	got.Title = "Other"
	_, err = s.SaveAssignment(ctx, got, store.Note{Deed: "change"})
	require.ErrorIs(t, err, store.ErrClosed, "somebody has begun")
	require.NoError(t, s.ChangeAssignment(ctx, a.ID, map[string]any{"closes": s.Clock.Now().Add(2 * time.Hour)}, store.Note{Deed: "later"}))
	got, err = s.Assignment(ctx, a.ID)
	require.NoError(t, err)
	require.True(t, got.Closes.Equal(s.Clock.Now().Add(2*time.Hour)))

	_, err = s.BeginTurn(ctx, store.Turn{Assignment: a.ID, Person: student.ID, Try: 1, Plan: store.Hidden("plan")}, a.Cohort)
	require.ErrorIs(t, err, store.ErrDuplicate)
	s.Clock.Add(time.Minute)
	require.NoError(t, s.MoveClock(ctx, store.ClockDeed{Assignment: a.ID, Kind: "pause", By: "x", Reason: "fire drill"}, store.Note{Deed: "pause all"}))
	require.NoError(t, s.MoveClock(ctx, store.ClockDeed{Assignment: a.ID, Turn: turn.ID, Kind: "add", Minutes: 5, By: "x"}, store.Note{Deed: "more time"}))
	deeds, err := s.ClockDeeds(ctx, a.ID)
	require.NoError(t, err)
	require.Len(t, deeds, 3)
	require.Equal(t, "begin", deeds[0].Kind)
	require.Equal(t, []int{1, 2, 3}, []int{deeds[0].N, deeds[1].N, deeds[2].N})
	require.Equal(t, 5, deeds[2].Minutes)

	require.NoError(t, s.Hold(ctx, turn.ID, "two"))
	again, err := s.Turn(ctx, turn.ID)
	require.NoError(t, err)
	require.Equal(t, "two", again.Holder)
	require.True(t, again.Seen.Equal(s.Clock.Now()))
	require.Equal(t, store.Hidden("plan"), again.Plan)
}

func TestDrawsOfAnAssignment(t *testing.T) {
	s := storetest.New(t)
	a, _, _ := sat(t, s)
	for _, seeds := range []string{"first", "again"} {
		require.NoError(t, s.SetDraw(t.Context(), store.Draw{Assignment: a.ID, CaseID: "stairs", MadeOf: "v1", Seeds: store.Hidden(seeds), Figures: []byte("{}")}))
	}
	got, err := s.Draws(t.Context(), a.ID)
	require.NoError(t, err)
	require.Len(t, got, 1)
	require.Equal(t, store.Hidden("again"), got[0].Seeds)
}

func TestMarksOfPeople(t *testing.T) {
	s := storetest.New(t)
	ctx := t.Context()
	staff, student := s.MakePerson("instructor"), s.MakePerson("student")
	visit := s.MakeAttempt(student.ID, "stairs")
	_, err := s.Finish(ctx, visit.Transcript, "left")
	require.NoError(t, err)
	require.NoError(t, s.SaveReport(ctx, visit.Transcript, grade))
	for _, points := range []int64{500, 700} {
		seen, err := s.SeenOf(ctx, visit.Transcript)
		require.NoError(t, err)
		mark := store.Override{Transcript: visit.Transcript, Line: "findings/x", Points: points, By: staff.ID, Reason: "heard it"}
		require.NoError(t, s.AddOverride(ctx, mark, seen, store.Note{Deed: "mark"}))
		require.ErrorIs(t, s.AddOverride(ctx, mark, seen, store.Note{Deed: "mark"}), store.ErrConflict, "what was seen is no longer so")
	}
	all, err := s.Overrides(ctx, visit.Transcript)
	require.NoError(t, err)
	require.Equal(t, []int64{500, 700}, []int64{all[0].Points, all[1].Points})
	seen, err := s.SeenOf(ctx, visit.Transcript)
	require.NoError(t, err)
	word := store.Decision{Transcript: visit.Transcript, What: "bite", By: staff.ID, Reason: "seen"}
	require.NoError(t, s.AddDecision(ctx, word, seen, store.Note{Deed: "decide"}))
	require.ErrorIs(t, s.AddDecision(ctx, word, seen, store.Note{Deed: "decide"}), store.ErrConflict)
	said, err := s.Decisions(ctx, visit.Transcript)
	require.NoError(t, err)
	require.False(t, said[0].Stands)

	ask := func(words string) error {
		return s.AskReview(ctx, visit.Transcript, "findings/x", student.ID, words, store.Note{Deed: "ask"})
	}
	require.NoError(t, ask("I did hear it."))
	require.ErrorIs(t, ask("Again."), store.ErrDuplicate)
	waits, err := s.ReviewsAsked(ctx, visit.Transcript)
	require.NoError(t, err)
	require.Equal(t, "I did hear it.", waits[0].Text)
	answer := store.ReviewAsked{Transcript: visit.Transcript, Line: "findings/x", By: staff.ID, Answer: "So you did."}
	mark := &store.Override{Transcript: visit.Transcript, Line: "findings/x", Points: 900, By: staff.ID, Reason: "So you did."}
	require.ErrorIs(t, s.AnswerReview(ctx, answer, mark, seen, store.Note{Deed: "answer"}), store.ErrConflict)
	waits, err = s.ReviewsAsked(ctx, visit.Transcript)
	require.NoError(t, err)
	require.True(t, waits[0].Answered.IsZero(), "both or neither")
	seen, err = s.SeenOf(ctx, visit.Transcript)
	require.NoError(t, err)
	require.NoError(t, s.AnswerReview(ctx, answer, mark, seen, store.Note{Deed: "answer"}))
	require.ErrorIs(t, s.AnswerReview(ctx, answer, mark, seen, store.Note{Deed: "answer"}), store.ErrUsed)
	waits, err = s.ReviewsAsked(ctx, visit.Transcript)
	require.NoError(t, err)
	require.True(t, waits[0].Upheld)

	// Erased, the words are gone and the rest stays.
	require.NoError(t, s.ErasePerson(ctx, student.ID, store.Blank{}))
	all2, err := s.ReviewsAsked(ctx, visit.Transcript)
	require.NoError(t, err)
	require.Empty(t, all2[0].Text)
	require.Equal(t, "So you did.", all2[0].Answer)
	notes, err := s.Notes(context.Background(), store.NoteFilter{})
	require.NoError(t, err)
	for _, n := range notes {
		require.NotContains(t, n.Detail+n.Reason, "I did hear it")
	}
}

package study

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// noon is a day of the term, at noon.
func noon(day int) time.Time { return time.Date(2026, 9, day, 12, 0, 0, 0, time.UTC) }

// lines are judgements of one visit: so many right and so many wrong.
func lines(skill, visit string, at time.Time, right, wrong int) []Judgement {
	var list []Judgement
	for i := range right + wrong {
		j := Judgement{Skill: skill, Place: "p", At: at, Visit: visit, Case: visit, Species: "dog"}
		if i < right {
			j.Mark = whole
		}
		list = append(list, j)
	}
	return list
}

func join(lists ...[]Judgement) (all []Judgement) {
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}

// By hand. Three visits of 4, 1 and 1 lines count as 4/(1 + .3 x 3) = 2.105263,
// 1 and 1, together 4.105263, of which right 1 + 3 x .526316 = 2.578947 (three of
// the four, and one of the others). With z = 1.2816 the middle is
// (2.578947 + .821249)/(4.105263 + 1.642498) = .591568.
func TestASkillRestsOnItsLastPatients(t *testing.T) {
	t.Parallel()
	list := join(lines("heart", "a", noon(1), 3, 1), lines("heart", "b", noon(2), 1, 0), lines("heart", "c", noon(3), 0, 1), lines("lungs", "c", noon(3), 9, 0))
	s := SkillsOf(list, []string{"heart", "lungs", "head"})
	require.Equal(t, []int{6, 9, 0}, []int{s[0].Lines, s[1].Lines, s[2].Lines})
	require.Equal(t, 3, s[0].Patients)
	require.InDelta(t, .591568, s[0].Middle, 1e-6)
	require.Less(t, s[0].Low, s[0].Middle)
	require.Greater(t, s[0].High, s[0].Middle)
	require.Equal(t, noon(3), s[0].Last)
	require.True(t, s[1].Little, "one patient says too little")
	require.Equal(t, "Not met yet.", s[2].Sentence(Noun{}, noon(9)))
}

// Only the last six patients and drills count: who has learnt it is told so.
func TestWhatWasLongAgoCountsNoMore(t *testing.T) {
	t.Parallel()
	var list []Judgement
	for i := range 6 {
		list = append(list, lines("heart", "old"+string(rune('a'+i)), noon(1+i), 0, 5)...)
	}
	for i := range 6 {
		list = append(list, lines("heart", "new"+string(rune('a'+i)), noon(10+i), 5, 0)...)
	}
	s := SkillsOf(list, []string{"heart"})[0]
	require.Equal(t, 30, s.Lines)
	require.Equal(t, 1.0, s.High)
	require.Greater(t, s.Low, .8)
}

func TestSentences(t *testing.T) {
	t.Parallel()
	n := Noun{"murmur", "murmurs"}
	for _, c := range []struct {
		s    Skill
		want string
	}{
		{Skill{Lines: 23, Patients: 4, Middle: .7, Low: .52, High: .84, Last: noon(1)}, "You would get about 7 of 10 murmurs right (5 to 8); from 23 lines in 4 patients; last met 9 days ago."},
		{Skill{Lines: 12, Patients: 3, Drills: 1, Middle: .96, Low: .95, High: 1, Last: noon(9)}, "You would get about 10 of 10 murmurs right (hardly more or less than 10); from 12 lines in 3 patients and 1 drill; last met yesterday."},
		{Skill{Lines: 10, Drills: 4, Middle: .5, Low: .3, High: .66, Last: noon(10)}, "You would get about 5 of 10 murmurs right (3 to 7); from 10 lines in 4 drills; last met today."},
		{Skill{Lines: 1, Patients: 1, Little: true, Last: noon(10)}, "Too little seen to say: 1 line in 1 patient; last met today."},
		{Skill{Little: true}, "Not met yet."},
	} {
		require.Equal(t, c.want, c.s.Sentence(n, noon(10)))
	}
}

// The days: 2, 5, 12, 28, 60 by performance; two steps down below half.
func TestSpacing(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		list []Judgement
		step int
		due  time.Time
	}{
		{"the first time, in two days", lines("x", "a", noon(1), 5, 0), 0, day(3)},
		{"as well as that when it went badly", lines("x", "a", noon(1), 0, 5), 0, day(3)},
		{"held when due: five days", join(lines("x", "a", noon(1), 5, 0), lines("x", "b", noon(3), 5, 0)), 1, day(8)},
		{"and up to sixty", climb(5), 4, day(1).AddDate(0, 0, 2+5+12+28+60)},
		{"never more", climb(6), 4, day(1).AddDate(0, 0, 2+5+12+28+60+60)},
		{"too early proves nothing", join(lines("x", "a", noon(1), 5, 0), lines("x", "b", noon(2), 5, 0)), 0, day(3)},
		{"half right stays where it is", join(lines("x", "a", noon(1), 5, 0), lines("x", "b", noon(3), 1, 1)), 0, day(5)},
		{"below half two steps down", join(climb(4), lines("x", "z", noon(1).AddDate(0, 0, 47), 1, 4)), 1, day(1).AddDate(0, 0, 47+5)},
		{"early too", join(climb(4), lines("x", "z", noon(1).AddDate(0, 0, 20), 0, 4)), 1, day(1).AddDate(0, 0, 20+5)},
		{"two visits of a day are one day", join(lines("x", "a", noon(1), 5, 0), lines("x", "b", noon(3), 0, 3), lines("x", "c", noon(3).Add(time.Hour), 9, 0)), 0, day(5)},
	} {
		step, due := space(sorted(c.list))
		require.Equal(t, c.step, step, c.name)
		require.Equal(t, c.due, due, c.name)
	}
}

func sorted(list []Judgement) []Judgement { InTime(list); return list }

func day(n int) time.Time { return noon(n).Truncate(24 * time.Hour) }

// climb are n days on which a skill was due and held.
func climb(n int) []Judgement {
	list, at := []Judgement(nil), noon(1)
	for i := range n {
		list = append(list, lines("x", string(rune('a'+i)), at, 4, 0)...)
		at = at.AddDate(0, 0, spaces[min(i, len(spaces)-1)])
	}
	return list
}

// TestForgottenAgainAndAgain: left out twice and in every third visit at least.
func TestForgottenAgainAndAgain(t *testing.T) {
	t.Parallel()
	step := func(id, visit string, mark int) Judgement {
		return Judgement{Skill: "head", Place: id, Visit: visit, At: noon(1), Mark: mark, Step: id != "eye.lids", Species: "dog"}
	}
	list := []Judgement{
		step("mouth.open", "a", 0), step("mouth.open", "b", 0), step("mouth.open", "c", 0), step("mouth.open", "d", whole),
		step("ears.smell", "a", 0), step("ears.smell", "b", 0), step("ears.smell", "c", whole),
		step("eyes.light", "a", 0), step("eyes.light", "b", whole), step("eyes.light", "c", whole),
		step("eye.lids", "a", 0), step("eye.lids", "b", 0), // a field: what was charted is no step
		{Skill: "head", Place: "nose.inspect", Step: true, Visit: "e", Species: "cat"}, {Skill: "head", Place: "nose.inspect", Step: true, Visit: "f", Species: "cat"},
	}
	got := ForgottenOf(list, "dog")
	require.Len(t, got, 2)
	require.Equal(t, []string{"mouth.open", "ears.smell"}, []string{got[0].Step, got[1].Step})
	require.Equal(t, "left out in 3 of 4", got[0].Sentence())
	require.Len(t, ForgottenOf(list, "cat"), 1)
	require.Empty(t, ForgottenOf(list, "horse"))
}

// TestDaysAreThoseOfTheSchool: yesterday evening in Auckland was yesterday, though
// in Greenwich it was today; and an evening over Greenwich's midnight is one day.
func TestDaysAreThoseOfTheSchool(t *testing.T) {
	t.Parallel()
	zone := time.FixedZone("there", 13*60*60)
	evening := time.Date(2026, 11, 24, 20, 0, 0, 0, zone) // 07:00 in Greenwich
	morning := time.Date(2026, 11, 25, 9, 0, 0, 0, zone)  // 20:00 there, of the same day
	require.Equal(t, "yesterday", Ago(evening.UTC(), morning))
	require.Equal(t, "today", Ago(evening.UTC(), morning.UTC()))
	noon := time.Date(2026, 11, 24, 12, 30, 0, 0, zone) // 23:30 the day before in Greenwich
	own := []Judgement{{Mark: whole, At: noon}, {Mark: 0, At: noon.Add(time.Hour)}}
	_, due := space(own)
	require.True(t, due.Equal(time.Date(2026, 11, 26, 0, 0, 0, 0, zone)), due)
}

// TestADayThatIsAnHourShortIsADay: on the night in which clocks go forward.
func TestADayThatIsAnHourShortIsADay(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/London")
	require.NoError(t, err)
	require.Equal(t, "yesterday", Ago(time.Date(2026, 3, 28, 23, 30, 0, 0, zone), time.Date(2026, 3, 29, 2, 30, 0, 0, zone)))
}

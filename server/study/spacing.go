package study

import "time"

// spaces are the days until a skill is met again, by how well it is held: each
// about twice the one before, as in common schedules of spaced practice (common
// practice, no source for these very days).
var spaces = [...]int{2, 5, 12, 28, 60}

// What a day's share of right judgements does to the step.
const (
	goodDay = .8 // one step up, if the skill was due
	badDay  = .5 // below: two steps down, due or not
	fallsBy = 2
)

// space walks through a skill's judgements, in the order of time, and says on
// which step it stands and on which day it is due, from midnight on where the
// judgements were made. A day on which it was met before it was
// due and went well proves nothing and changes nothing; one that went badly
// counts whenever it was.
func space(own []Judgement) (step int, due time.Time) {
	for from := 0; from < len(own); {
		at := own[from].At
		y, m, d := at.Date()
		day := time.Date(y, m, d, 0, 0, 0, 0, at.Location())
		right, n := 0, 0
		for ; from < len(own) && dayOf(own[from].At).Equal(dayOf(day)); from++ {
			n++
			if own[from].Right() {
				right++
			}
		}
		share := float64(right) / float64(n)
		switch {
		case due.IsZero(): // the first time
		case share < badDay:
			step = max(0, step-fallsBy)
		case day.Before(due):
			continue
		case share >= goodDay:
			step = min(step+1, len(spaces)-1)
		}
		due = day.AddDate(0, 0, spaces[step])
	}
	return step, due
}

package server

import (
	"sync"
	"time"

	"dewclaw/server/store"
	"dewclaw/server/study"
)

// mostJudged are the visits whose judgements are kept at hand, about 6 kB each.
const mostJudged = 2000

// judgedVisits keeps what marked visits say by the engine, so that a start page
// does not read every report of its student. A visit that is marked anew has
// another moment of marking and is read again. The zero value is ready.
type judgedVisits struct {
	mu    sync.Mutex
	kept  map[int64]judgedAt
	order []int64 // transcripts, the one kept first in front
}

type judgedAt struct {
	graded time.Time
	like   study.Judgement // what all of them have in common
	lines  []judgedLine
}

// judgedLine is what one judgement has of its own.
type judgedLine struct {
	skill, place string
	mark, sure   int16
	step         bool
}

// find is what a visit says as it was marked last, if that is at hand.
func (j *judgedVisits) find(row store.Listed) ([]study.Judgement, bool) {
	j.mu.Lock()
	k, ok := j.kept[row.Transcript]
	j.mu.Unlock()
	if !ok || row.Mark == nil || !k.graded.Equal(row.Mark.Graded) {
		return nil, false
	}
	list := make([]study.Judgement, len(k.lines))
	for i, l := range k.lines {
		list[i] = k.like
		list[i].Skill, list[i].Place, list[i].Mark, list[i].Sure, list[i].Step = l.skill, l.place, int(l.mark), int(l.sure), l.step
	}
	return list, true
}

// keep keeps what a visit says; when there are too many, the one that was kept
// first goes.
func (j *judgedVisits) keep(row store.Listed, list []study.Judgement) {
	if row.Mark == nil {
		return
	}
	k := judgedAt{graded: row.Mark.Graded, lines: make([]judgedLine, len(list))}
	for i, x := range list {
		k.like = x
		k.lines[i] = judgedLine{x.Skill, x.Place, int16(x.Mark), int16(x.Sure), x.Step}
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.kept == nil {
		j.kept = map[int64]judgedAt{}
	}
	if _, again := j.kept[row.Transcript]; !again {
		j.order = append(j.order, row.Transcript)
	}
	j.kept[row.Transcript] = k
	if len(j.order) > mostJudged {
		delete(j.kept, j.order[0])
		j.order = j.order[1:]
	}
}

package server

import (
	"sync"
	"time"

	"dewclaw/server/store"
	"dewclaw/server/study"
)

// mostJudged are the visits whose judgements are kept at hand, about 30 kB each.
const mostJudged = 400

// judgedVisits keeps what marked visits say by the engine, so that a start page
// does not read every report of its student. A visit that is marked anew has
// another moment of marking and is read again. The zero value is ready.
type judgedVisits struct {
	mu   sync.Mutex
	kept map[int64]judgedAt
}

type judgedAt struct {
	graded time.Time
	list   []study.Judgement
}

// find is what a visit says as it was marked last, if that is at hand.
func (j *judgedVisits) find(row store.Listed) ([]study.Judgement, bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	k, ok := j.kept[row.Transcript]
	return k.list, ok && row.Mark != nil && k.graded.Equal(row.Mark.Graded)
}

// keep keeps what a visit says; when there are too many, all others go.
func (j *judgedVisits) keep(row store.Listed, list []study.Judgement) {
	if row.Mark == nil {
		return
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.kept == nil || len(j.kept) >= mostJudged {
		j.kept = map[int64]judgedAt{}
	}
	j.kept[row.Transcript] = judgedAt{row.Mark.Graded, list}
}

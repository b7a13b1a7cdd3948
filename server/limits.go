package server

import (
	"fmt"
	"math"
	"time"
)

// What one visit takes, far above what a person does: a whole examination has 60
// to 120 acts. Together with the 16 kB of an act's body (actBody) this bounds
// what a program that runs wild can store. Our own figures, no source.
const (
	mostActs   = 2000
	actsSecond = 10
	actsBurst  = 100 // acts that had waited for a connection come one right after the other
)

// pace says how fast acts come in: when the next would come at the allowed pace.
type pace struct{ next time.Time }

// wait is how long the next act has to wait; zero: it may be taken, and counts.
func (p *pace) wait(now time.Time, together int) time.Duration {
	const each = time.Second / actsSecond
	burst := time.Duration(together) * each
	at := p.next
	if at.Before(now) {
		at = now
	}
	if ahead := at.Add(each).Sub(now); ahead > burst {
		return ahead - burst
	}
	p.next = at.Add(each)
	return 0
}

// mayAct says whether the visit takes another act now. The caller holds l.mu. The
// time is the machine's own, which no test and nobody's clock moves.
func (l *live) mayAct(now time.Time, together int) error {
	if len(l.entries) >= mostActs {
		return &Fault{Kind: ErrOver, Text: fmt.Sprintf("A visit takes %d acts, and this one has them. What was done is kept; hand it in.", mostActs)}
	}
	if wait := l.pace.wait(now, together); wait > 0 {
		return &Fault{Kind: ErrSlow, Wait: int(math.Ceil(wait.Seconds())), Text: fmt.Sprintf("More than %d acts a second. This act was not taken; send it again in a second.", actsSecond)}
	}
	return nil
}

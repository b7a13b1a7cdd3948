package exam

import "time"

// Kind is what an assignment is for.
type Kind string

// A practice may be repeated and is debriefed at once; a sitting is an exam.
const (
	Practice Kind = "practice"
	Sitting  Kind = "sitting"
)

// Cues are what the sheet shows before the student writes, from the most to the
// least: whole lines, headings only, nothing.
var Cues = []string{"full", "headings", "none"}

// Places are whether the chest piece's places are named.
var Places = []string{"labelled", "unlabelled"}

// Plan is an assignment's time as the instructor set it.
type Plan struct {
	Kind   Kind
	Opens  time.Time
	Closes time.Time     // when nobody begins any more and, unless granted more time, all ends
	Limit  time.Duration // of one student's whole sitting; 0: until it closes
}

// Accommodation is what one student has beyond the others.
type Accommodation struct {
	Extra  int           // percent of the limit more
	Later  time.Duration // the window is so much longer
	Pauses time.Duration // so long may the student pause the sitting, in all
}

// Terms are a student's own times.
type Terms struct {
	Opens, Closes time.Time
	Limit         time.Duration
	Pauses        time.Duration
}

// For is the plan with a student's accommodation. Whoever has more time may
// also use it to the end when having begun as late as the others may.
func (p Plan) For(a Accommodation) Terms {
	extra := p.Limit * time.Duration(a.Extra) / 100
	return Terms{Opens: p.Opens, Closes: p.Closes.Add(extra + a.Later), Limit: p.Limit + extra, Pauses: a.Pauses}
}

// DeedKind is something that changes a sitting's clock.
type DeedKind string

// The deeds, of the student or, apart from Begin, of an invigilator.
const (
	Begin  DeedKind = "begin"
	Pause  DeedKind = "pause"
	Resume DeedKind = "resume"
	Add    DeedKind = "add"   // minutes more
	Admit  DeedKind = "admit" // a window that is so many minutes longer, and no more time
	Finish DeedKind = "finish"
	Reopen DeedKind = "reopen" // after Finish, where it came by mistake; the clock ran on
)

// Deed is one deed, in the order in which they were done.
type Deed struct {
	Kind    DeedKind
	At      time.Time
	Minutes int  // of Add and Admit
	Own     bool // the student's own pause, counted against those that are granted
}

// Phase is how a student stands to a sitting.
type Phase string

// The phases.
const (
	Early   Phase = "early"   // not open yet
	Open    Phase = "open"    // may begin
	Missed  Phase = "missed"  // closed before the student began
	Running Phase = "running" // begun, acts are taken
	Paused  Phase = "paused"
	Over    Phase = "over" // finished, or the time has ended
)

// Clock is a student's sitting at a moment.
type Clock struct {
	Phase     Phase
	Begun     time.Time     // zero: not begun
	Ends      time.Time     // when the time ends if nothing more is done; zero where not begun
	Left      time.Duration // until Ends; what stands still while paused
	PauseLeft time.Duration // of the student's own pauses
	ByTime    bool          // over because the time ended, not by finishing
	Own       bool          // paused by the student, who may go on
}

// tally is what the deeds came to up to a moment.
type tally struct {
	begun, finished, paused time.Time // zero: not
	own                     bool      // the pause under way is the student's own
	stood, ownStood         time.Duration
	added, late             time.Duration
}

// At is the clock at a moment. Deeds after it, and deeds that do not fit (to
// resume what runs), are left out.
func (t Terms) At(now time.Time, deeds []Deed) Clock {
	var y tally
	for _, d := range deeds {
		if !d.At.After(now) {
			t.count(&y, d)
		}
	}
	c := Clock{Begun: y.begun, PauseLeft: max(t.Pauses-y.ownStood, 0)}
	if y.begun.IsZero() {
		c.Phase = t.before(now, y.added+y.late)
		return c
	}
	stood := y.stood
	if !y.paused.IsZero() {
		standing := now.Sub(y.paused)
		if y.own {
			standing = min(standing, c.PauseLeft)
			c.PauseLeft -= standing
		}
		stood += standing
	}
	c.Ends = t.ends(y.begun, y.added+stood, y.late)
	c.Left = max(c.Ends.Sub(now), 0)
	switch {
	case !y.finished.IsZero():
		c.Phase, c.Left = Over, 0
	case !now.Before(c.Ends):
		c.Phase, c.ByTime = Over, true
	case !y.paused.IsZero() && (!y.own || c.PauseLeft > 0):
		c.Phase, c.Own = Paused, y.own
	default:
		c.Phase = Running
	}
	return c
}

// before is the phase of who has not begun.
func (t Terms) before(now time.Time, added time.Duration) Phase {
	switch {
	case now.Before(t.Opens):
		return Early
	case now.Before(t.Closes.Add(added)):
		return Open
	}
	return Missed
}

// ends is when a sitting ends that began then and stood still or was lengthened
// for so long; late: its window is so much longer besides.
func (t Terms) ends(begun time.Time, more, late time.Duration) time.Time {
	closes := t.Closes.Add(more + late)
	if t.Limit == 0 {
		return closes
	}
	return earlier(closes, begun.Add(t.Limit+more))
}

// count takes one deed into account.
func (t Terms) count(y *tally, d Deed) {
	switch d.Kind {
	case Begin:
		if y.begun.IsZero() {
			y.begun = d.At
		}
	case Pause:
		if !y.paused.IsZero() && y.own && !d.Own {
			t.goOn(y, d.At) // an invigilator's pause takes the place of the student's own
		}
		if !y.begun.IsZero() && y.paused.IsZero() {
			y.paused, y.own = d.At, d.Own
		}
	case Resume:
		if !y.paused.IsZero() {
			t.goOn(y, d.At)
		}
	case Add:
		y.added += time.Duration(d.Minutes) * time.Minute
	case Admit:
		y.late += time.Duration(d.Minutes) * time.Minute
	case Finish:
		if y.finished.IsZero() {
			y.finished = d.At
		}
	case Reopen:
		y.finished = time.Time{}
	}
}

// goOn ends a pause; the student's own counts as long as pauses were granted.
func (t Terms) goOn(y *tally, at time.Time) {
	stood := at.Sub(y.paused)
	if y.own {
		stood = min(stood, max(t.Pauses-y.ownStood, 0))
		y.ownStood += stood
	}
	y.stood += stood
	y.paused = time.Time{}
}

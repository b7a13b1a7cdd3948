package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// mostGiven are the most that one deed gives.
const mostGiven = 240

// everybody is whom a deed is for where it is for all.
const everybody = "all"

// seatForm is what an invigilator asks for.
type seatForm struct {
	Deed, For, Minutes, Reason string
}

// seatDeed is something that an invigilator can do.
type seatDeed struct {
	ID, Label string
	kind      exam.DeedKind
	note      string // its word in the log
	minutes   bool
	all, one  bool
	did       string // said afterwards
}

// seatDeeds are what an invigilator can do, in the order in which they are offered.
var seatDeeds = []seatDeed{
	{"minutes", "Give minutes", exam.Add, "give minutes", true, true, true, "The minutes are given."},
	{"pause", "Pause: the clock stands still", exam.Pause, "pause", false, true, true, "Paused: the clock stands still and no act is taken."},
	{"resume", "Resume", exam.Resume, "resume", false, true, true, "The clock goes on."},
	{"end", "End it now", exam.Finish, "end", false, false, true, "Ended. What was charted is marked."},
	{"reopen", "Reopen: it was ended by mistake", exam.Reopen, "reopen", false, false, true, "Open again. The clock ran on meanwhile; give minutes where that is due."},
	{"late", "Let in late: a window so many minutes longer", exam.Admit, "let in late", true, false, true, "The window is longer for this student."},
}

func seatDeedOf(id string) *seatDeed {
	if i := slices.IndexFunc(seatDeeds, func(d seatDeed) bool { return d.ID == id }); i >= 0 {
		return &seatDeeds[i]
	}
	return nil
}

// doSeat does a deed of an invigilator: checked as a whole, done as a whole, and
// written into the log with its reason.
func (s *Server) doSeat(ctx context.Context, who face.Person, a store.Assignment, f seatForm) (string, error) {
	d, n, err := checkSeat(f)
	if err != nil {
		return "", err
	}
	reason, err := whySaid(f.Reason)
	if err != nil {
		return "", err
	}
	sheet, err := s.readSheet(ctx, a)
	if err != nil {
		return "", err
	}
	move := store.ClockDeed{Assignment: a.ID, Kind: string(d.kind), Minutes: n, By: who.ID, Reason: reason}
	var whom []face.Seat
	for _, m := range sheet.people {
		if f.For == everybody || f.For == m.Person {
			whom = append(whom, sheet.seat(m))
		}
	}
	if f.For != everybody {
		if len(whom) != 1 {
			return "", invalid("/for", "One of the students of the list.")
		}
		if err := sheet.fits(d, whom[0], n); err != nil {
			return "", err
		}
		move.Turn = whom[0].Turn
		if d.kind == exam.Admit || move.Turn == "" {
			move.Turn, move.Person = "", whom[0].Person
		}
	}
	note := store.Note{Deed: d.note, Cohort: a.Cohort}
	if f.For == everybody {
		note.Deed += " for all"
	}
	err = s.store.MoveClock(ctx, move, note, sheet.goOn(move, whom)...)
	if errors.Is(err, store.ErrClosed) {
		return "", &Fault{Kind: ErrNotNow, Text: "Somebody has worked on the marks of the patient that would go on, so it stays as it is.", Cause: err}
	}
	if err != nil {
		return "", fmt.Errorf("%s: %w", d.note, err)
	}
	s.turns.forget()
	return d.did, s.closeEnded(ctx, d, whom)
}

// closeEnded ends the visit of whoever was ended.
func (s *Server) closeEnded(ctx context.Context, d *seatDeed, whom []face.Seat) error {
	if d.kind != exam.Finish {
		return nil
	}
	return s.closeTurn(ctx, whom[0].Turn)
}

// checkSeat reads what was asked for.
func checkSeat(f seatForm) (d *seatDeed, n int, err error) {
	d = seatDeedOf(f.Deed)
	switch {
	case d == nil:
		return nil, 0, invalid("/deed", "Choose what to do.")
	case f.For == "":
		return nil, 0, invalid("/for", "Choose for whom.")
	case f.For == everybody && !d.all:
		return nil, 0, invalid("/for", "This is done for one student at a time: choose one.")
	case !d.minutes:
		return d, 0, nil
	}
	n, err = strconv.Atoi(f.Minutes)
	if err != nil || n < 1 || n > mostGiven {
		return nil, 0, invalid("/minutes", fmt.Sprintf("A whole number of minutes from 1 to %d.", mostGiven))
	}
	return d, n, nil
}

// fits says whether a deed makes sense for one student as it stands.
func (sh *sheetOf) fits(d *seatDeed, seat face.Seat, minutes int) error {
	no := func(text string) error { return &Fault{Kind: ErrNotNow, Text: text} }
	begun := seat.Turn != ""
	switch d.kind {
	case exam.Admit:
		return sh.admits(seat, minutes)
	case exam.Add:
		if !begun && seat.Phase == string(exam.Missed) {
			return no("This student has not begun, and the window has closed: let the student in late instead.")
		}
	case exam.Pause:
		if !begun || seat.Phase != string(exam.Running) && !seat.Own {
			return no("Only what runs can be paused.")
		}
	case exam.Resume:
		if seat.Phase != string(exam.Paused) {
			return no("This student’s clock does not stand still.")
		}
	case exam.Finish:
		if !begun || seat.Phase == string(exam.Over) {
			return no("Only what was begun and is not over can be ended.")
		}
	case exam.Reopen:
		if !begun || seat.Phase != string(exam.Over) || seat.ByTime {
			return no("Only what was handed in or ended by hand can be reopened. Where the time has ended, give minutes.")
		}
	}
	return nil
}

// admits says whether a window that is so much longer lets a student in at all.
func (sh *sheetOf) admits(seat face.Seat, minutesMore int) error {
	if seat.Turn != "" {
		return &Fault{Kind: ErrNotNow, Text: "This student has begun already. Give minutes instead."}
	}
	tried, all, _ := timesOf(sh.a, sh.deeds, sh.resits, seat.Person, 1)
	deeds := append(deedsOf(all, "", seat.Person), exam.Deed{Kind: exam.Admit, At: sh.now, Minutes: minutesMore})
	terms := planOf(tried).For(sh.beyond[seat.Person])
	if terms.At(sh.now, deeds).Phase != exam.Missed {
		return nil
	}
	need := minutesMore
	for need < 100_000 && terms.At(sh.now, deeds).Phase == exam.Missed {
		need++
		deeds[len(deeds)-1].Minutes = need
	}
	return invalid("/minutes", fmt.Sprintf("That window would have closed already. More than %d minutes are needed, and as many again as the student is to have.", need-1))
}

// goOn are the visits that the clock had ended and that go on with this deed:
// the last of each turn that runs again.
func (sh *sheetOf) goOn(move store.ClockDeed, whom []face.Seat) []int64 {
	if move.Kind != string(exam.Add) && move.Kind != string(exam.Reopen) {
		return nil
	}
	var out []int64
	deed := exam.Deed{Kind: exam.DeedKind(move.Kind), At: sh.now, Minutes: move.Minutes}
	for _, seat := range whom {
		all := sh.doing[seat.Turn]
		if seat.Turn == "" || seat.Phase != string(exam.Over) || len(all) == 0 {
			continue
		}
		last := all[len(all)-1]
		tried, deeds, _ := timesOf(sh.a, sh.deeds, sh.resits, seat.Person, seat.Try)
		c := planOf(tried).For(sh.beyond[seat.Person]).At(sh.now, append(deedsOf(deeds, seat.Turn, seat.Person), deed))
		ended := last.Ended == endedByTime || last.Ended == endedWhole
		if c.Phase != exam.Over && last.State != store.StateOpen && ended {
			out = append(out, last.Transcript)
		}
	}
	return out
}

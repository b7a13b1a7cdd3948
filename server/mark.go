package server

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"dewclaw/rubric"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// What people do to marks, in the words of the log. Changes of a key stand there
// as propose, accept, undo or withdraw change of key.
const (
	deedMark      = "mark by hand"
	deedDecide    = "decide"
	deedRelease   = "release"
	deedTakeBack  = "take release back"
	deedExcuse    = "excuse"
	deedCount     = "count again"
	deedResit     = "grant resit"
	deedAsk       = "ask for review"
	deedAnswer    = "answer review"
	deedGradebook = "hand out gradebook"
	deedAppeal    = "hand out appeal file"
)

// marking is a visit of an assignment, in the hands of somebody who may mark it.
type marking struct {
	visit      store.Attempt
	turn       store.Turn
	assignment store.Assignment
	cohort     store.Cohort
}

// note is an entry of the log about this visit.
func (m marking) note(who face.Person, deed, reason string) store.Note {
	return store.Note{By: who.ID, Deed: deed, About: fmt.Sprintf("transcript:%d", m.visit.Transcript), Cohort: m.cohort.ID, Reason: reason}
}

// marking finds a marked visit that a person may mark: of an assignment of a
// cohort that the person teaches, and not the person's own. Another is absent.
func (s *Server) marking(ctx context.Context, who face.Person, id string) (m marking, err error) {
	if m.visit, err = s.store.Attempt(ctx, id); err != nil {
		return m, missing("marking", err)
	}
	if m.visit.Turn == "" || m.visit.Purpose == forOrientation || m.visit.Person == who.ID || m.visit.State != store.StateGraded {
		return m, ErrMissing
	}
	if m.turn, err = s.store.Turn(ctx, m.visit.Turn); err != nil {
		return m, missing("marking", err)
	}
	m.assignment, m.cohort, err = s.toMark(ctx, who, m.turn.Assignment)
	return m, err
}

// toMark is an assignment of a cohort that a person teaches. Another is absent.
func (s *Server) toMark(ctx context.Context, who face.Person, id string) (store.Assignment, store.Cohort, error) {
	a, err := s.store.Assignment(ctx, id)
	if err != nil {
		return a, store.Cohort{}, missing("assignment", err)
	}
	c, err := s.teaches(ctx, who, a.Cohort)
	return a, c, err
}

// seenText is how a visit's marks stand, as a form sends it back.
func seenText(v store.Seen) string {
	return fmt.Sprintf("%d.%d.%d.%d", v.Overrides, v.Decisions, v.Reviews, v.Graded.UnixMicro())
}

func parseSeen(text string) (v store.Seen, err error) {
	parts := strings.Split(text, ".")
	if len(parts) != 4 {
		return v, invalid("/seen", "Send back what came with the marks.")
	}
	var n [4]int64
	for i, p := range parts {
		if n[i], err = strconv.ParseInt(p, 10, 64); err != nil {
			return v, invalid("/seen", "Send back what came with the marks.")
		}
	}
	return store.Seen{Overrides: int(n[0]), Decisions: int(n[1]), Reviews: int(n[2]), Graded: time.UnixMicro(n[3]).UTC()}, nil
}

// whyMarked checks a reason.
func whyMarked(reason string) (string, error) {
	reason = strings.TrimSpace(reason)
	if reason == "" || len(reason) > store.MaxReason || !utf8.ValidString(reason) {
		return reason, invalid("/reason", fmt.Sprintf("Say why, in at most %d bytes. It is kept with your name and the time.", store.MaxReason))
	}
	return reason, nil
}

// parsePoints reads points as people type them: 2, 2.5, 2,5 or -1.5, to a
// thousandth.
func parsePoints(text string) (rubric.Points, error) {
	text = strings.TrimSpace(strings.NewReplacer("−", "-", ",", ".").Replace(text))
	digits := strings.TrimPrefix(text, "-")
	whole, rest, point := strings.Cut(digits, ".")
	if whole == "" || len(whole) > 3 || len(rest) > 3 || point && rest == "" {
		return 0, errors.New("a number of at most three decimals, such as 2 or 2.5")
	}
	n, err := strconv.ParseUint(whole+(rest + "000")[:3], 10, 32)
	if err != nil {
		return 0, errors.New("a number of at most three decimals, such as 2 or 2.5")
	}
	if digits != text {
		return -rubric.Points(n), nil
	}
	return rubric.Points(n), nil
}

// markAsk is a mark by hand as it is asked for.
type markAsk struct {
	line, reason, seen string
	points             rubric.Points
	read               bool // off a page, which shows points to a hundredth
}

// mark puts a person's mark in place of the computed one, which stays beside it.
func (s *Server) mark(ctx context.Context, who face.Person, id string, f markAsk) error {
	m, err := s.marking(ctx, who, id)
	if err != nil {
		return err
	}
	o, seen, err := s.override(ctx, who, m, f)
	if err != nil {
		return err
	}
	return meanwhile(s.store.AddOverride(ctx, o, seen, m.note(who, deedMark, o.Reason)))
}

// override is a mark that fits the report.
func (s *Server) override(ctx context.Context, who face.Person, m marking, f markAsk) (o store.Override, seen store.Seen, err error) {
	if seen, err = parseSeen(f.seen); err != nil {
		return o, seen, err
	}
	if f.reason, err = whyMarked(f.reason); err != nil {
		return o, seen, err
	}
	got, err := s.marked(ctx, m.visit)
	if err != nil {
		return o, seen, err
	}
	if l := lineOfReport(got, f.line); l != nil && f.read {
		f.points = asShown(*l, f.points)
	}
	err = exam.Override{Line: f.line, Points: f.points, Reason: f.reason}.Check(got.report)
	if err != nil {
		return o, seen, wrongMark(err)
	}
	return store.Override{Transcript: m.visit.Transcript, Line: f.line, Points: int64(f.points), By: who.ID, Reason: f.reason}, seen, nil
}

// asShown is the exact mark behind one that was read off a page: the whole of a
// line, and what it was computed to be.
func asShown(l rubric.Line, p rubric.Points) rubric.Points {
	for _, exact := range []rubric.Points{l.Max, l.Points} {
		if p%10 == 0 && pts(face.Points(exact)) == pts(face.Points(p)) {
			return exact
		}
	}
	return p
}

// wrongMark says what is wrong with a mark.
func wrongMark(err error) error {
	pointer := "/points"
	if errors.Is(err, exam.ErrNoLine) || errors.Is(err, exam.ErrNoMark) {
		pointer = "/line"
	}
	f := invalid(pointer, sentence(strings.TrimPrefix(err.Error(), "exam: ")))
	f.Cause = err
	return f
}

// decideAsk is a person's word on a critical event or a flag, as it is asked for.
type decideAsk struct {
	what, reason, seen string
	stands             bool
}

// decide keeps a person's word on a critical event or a flag; the last one counts.
func (s *Server) decide(ctx context.Context, who face.Person, id string, f decideAsk) error {
	m, err := s.marking(ctx, who, id)
	if err != nil {
		return err
	}
	seen, err := parseSeen(f.seen)
	if err != nil {
		return err
	}
	if f.reason, err = whyMarked(f.reason); err != nil {
		return err
	}
	got, err := s.marked(ctx, m.visit)
	if err != nil {
		return err
	}
	if !slices.Contains(heldFor(got.report), f.what) {
		return invalid("/what", "A critical event or a flag of this visit.")
	}
	d := store.Decision{Transcript: m.visit.Transcript, What: f.what, Stands: f.stands, By: who.ID, Reason: f.reason}
	return meanwhile(s.store.AddDecision(ctx, d, seen, m.note(who, deedDecide, f.reason)))
}

// meanwhile says that somebody else was faster.
func meanwhile(err error) error {
	switch {
	case errors.Is(err, store.ErrConflict):
		return &Fault{Kind: ErrTaken, Cause: err, Text: "Nothing was done: something about this visit changed since you opened the page. It stands below as it is now; what you typed is kept. Look, then send it again."}
	case errors.Is(err, store.ErrUsed):
		return &Fault{Kind: ErrTaken, Cause: err, Text: "Nothing was done: somebody else has answered this meanwhile. The answer stands with the visit."}
	case errors.Is(err, store.ErrNotFound):
		return &Fault{Kind: ErrMissing, Cause: err}
	}
	return err
}

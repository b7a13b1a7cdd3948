package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"dewclaw/rubric/say"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// askReview keeps a student's wish that a person look at a line again: once a
// line, of one's own sitting, after its release.
func (s *Server) askReview(ctx context.Context, who face.Person, id, line, words string) error {
	row, err := s.store.Attempt(ctx, id)
	if err != nil {
		return missing("ask", err)
	}
	if row.Person != who.ID || row.Purpose != forSitting {
		return ErrMissing
	}
	if shown, err := s.shown(ctx, who, row); err != nil || !shown {
		return errors.Join(err, ErrMissing)
	}
	words = strings.TrimSpace(words)
	if words == "" || len(words) > store.MaxReason || !utf8.ValidString(words) {
		return invalid("/words", fmt.Sprintf("Say what to look at, in at most %d bytes.", store.MaxReason))
	}
	m, err := s.marked(ctx, row)
	if err != nil {
		return err
	}
	if lineOfReport(m, line) == nil {
		return invalid("/line", "A line of this debrief.")
	}
	t, err := s.turn(ctx, row.Turn)
	if err != nil {
		return err
	}
	err = s.store.AskReview(ctx, row.Transcript, line, who.ID, words, store.Note{Deed: deedAsk, Cohort: t.assignment.Cohort})
	if errors.Is(err, store.ErrDuplicate) {
		return &Fault{Kind: ErrNotNow, Text: "You have asked for a review of this line already. Each line can be asked for once.", Cause: err}
	}
	return err
}

// answerAsk is an answer to a review as it is given: with another mark or without.
type answerAsk struct {
	markAsk
	changed bool
}

// answerReview answers a review, with the reason that the student reads.
func (s *Server) answerReview(ctx context.Context, who face.Person, id string, f answerAsk) error {
	m, err := s.marking(ctx, who, id)
	if err != nil {
		return err
	}
	asked, err := s.store.ReviewsAsked(ctx, m.visit.Transcript)
	if err != nil {
		return fmt.Errorf("answer: %w", err)
	}
	r := store.ReviewAsked{}
	for _, a := range asked {
		if a.Line == f.line {
			r = a
		}
	}
	if r.Line == "" {
		return ErrMissing
	}
	seen, err := parseSeen(f.seen)
	if err != nil {
		return err
	}
	if f.reason, err = whyMarked(f.reason); err != nil {
		return err
	}
	r.By, r.Answer = who.ID, f.reason
	var mark *store.Override
	if f.changed {
		o, _, err := s.override(ctx, who, m, f.markAsk)
		if err != nil {
			return err
		}
		mark = &o
	}
	return meanwhile(s.store.AnswerReview(ctx, r, mark, seen, m.note(who, deedAnswer, f.reason)))
}

// reviewsAPage are shown at a time.
const reviewsAPage = 25

// reviewsWaiting are the reviews that wait in the cohorts that a person teaches,
// the longest waiting first: one page of them, and how many there are.
func (s *Server) reviewsWaiting(ctx context.Context, who face.Person, page int) ([]face.ReviewWaiting, int, error) {
	cohorts, err := s.ownCohorts(ctx, who)
	if err != nil {
		return nil, 0, err
	}
	rows, total, err := s.store.ReviewsWaiting(ctx, cohorts, (page-1)*reviewsAPage, reviewsAPage)
	if err != nil {
		return nil, 0, fmt.Errorf("reviews: %w", err)
	}
	out := []face.ReviewWaiting{}
	for _, r := range rows {
		one, err := s.reviewWaiting(ctx, r)
		if err != nil {
			return nil, 0, err
		}
		out = append(out, one)
	}
	return out, int(total), nil
}

// reviewCount is how many reviews wait in the cohorts that a person teaches.
func (s *Server) reviewCount(ctx context.Context, who face.Person) (int, error) {
	cohorts, err := s.ownCohorts(ctx, who)
	if err != nil {
		return 0, err
	}
	_, total, err := s.store.ReviewsWaiting(ctx, cohorts, 0, 1)
	if err != nil {
		return 0, fmt.Errorf("reviews: %w", err)
	}
	return int(total), nil
}

// ownCohorts are the cohorts that a person teaches; nil: all, for a coordinator.
func (s *Server) ownCohorts(ctx context.Context, who face.Person) ([]string, error) {
	if auth.Role(who.Role) == auth.Coordinator {
		return nil, nil
	}
	mine, err := s.store.MemberOf(ctx, who.ID)
	if err != nil {
		return nil, fmt.Errorf("reviews: %w", err)
	}
	out := []string{}
	for _, m := range mine {
		if m.Role == string(auth.Instructor) {
			out = append(out, m.Cohort)
		}
	}
	return out, nil
}

// reviewWaiting is one of them with its line as it stands now.
func (s *Server) reviewWaiting(ctx context.Context, r store.ReviewAsked) (face.ReviewWaiting, error) {
	out := face.ReviewWaiting{Line: r.Line, Label: r.Line, Asked: r.Asked, Words: r.Text, Acts: []int{}}
	row, err := s.store.AttemptByTranscript(ctx, r.Transcript)
	if err != nil {
		return out, fmt.Errorf("reviews: %w", err)
	}
	t, err := s.turn(ctx, row.Turn)
	if err != nil {
		return out, err
	}
	p, err := s.store.Person(ctx, row.Person)
	if err != nil {
		return out, fmt.Errorf("reviews: %w", err)
	}
	seen, err := s.store.SeenOf(ctx, r.Transcript)
	if err != nil {
		return out, fmt.Errorf("reviews: %w", err)
	}
	out.Attempt, out.Assignment, out.Person, out.Seen = row.ID, t.assignment.Title, facePerson(p), seenText(seen)
	_, k, cat, err := s.kept(ctx, row)
	if err != nil {
		return out, err
	}
	out.Patient = k.Signalment.Name
	w := quietly(s.words(cat), cat, row.Alternatives)
	out.Label = lineLabel(r.Line, w)
	m, err := s.marked(ctx, row)
	if err != nil {
		return out, err
	}
	if l := lineOfReport(m, r.Line); l != nil {
		out.Points, out.Max, out.Reason, out.Acts = face.Points(l.Points), face.Points(l.Max), say.Sentence(l, w), some(l.Acts)
	}
	for _, c := range m.Changed {
		if c.Line == r.Line {
			out.Points = face.Points(c.Points)
		}
	}
	return out, nil
}

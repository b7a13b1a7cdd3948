package server

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"dewclaw/cases/review"
	"dewclaw/rubric"
	"dewclaw/server/face"
)

// openReviews reads which items of the medicine a clinician has confirmed, from
// the school's file. Nothing in that file keeps the server from starting; what
// is wrong with it stands on the rubrics page.
func (s *Server) openReviews() {
	l := review.Library{Cases: s.library, Ranges: s.table.Load().Table}
	for _, row := range s.shelf.Load().rows {
		l.Rubrics = append(l.Rubrics, row.Rubric)
	}
	text, err := os.ReadFile(filepath.Join(s.cfg.Data, review.File))
	var broken []face.Problem
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		broken = append(broken, face.Problem{Message: "The file cannot be read: " + reasonOf(err) + "."})
	}
	var marks []review.Mark
	if err == nil {
		read, problems := review.ReadMarks(review.File, text)
		marks = read
		for _, p := range problems {
			broken = append(broken, face.Problem{Line: p.Line, Col: p.Col, Message: p.Message})
		}
	}
	book, unknown := review.NewBook(review.Items(l), marks)
	for _, u := range unknown {
		broken = append(broken, face.Problem{Message: u + "."})
	}
	s.reviews.Store(&reviews{book, broken})
}

// reviews are what was confirmed, and what is wrong with the file that says so.
type reviews struct {
	*review.Book
	broken []face.Problem
}

// reviewed is what a page says of an item's review; nothing where there is nothing to say.
func (s *Server) reviewed(id string) string { return s.reviews.Load().Notice(id) }

// wordsNotice says of how many places of a species what is sensed there still
// waits for a clinician's eye; nothing where none does.
func (s *Server) wordsNotice(cat *face.Catalogue) string {
	open := 0
	for _, r := range cat.Regions {
		if row, ok := s.reviews.Load().Find("catalogue/" + cat.Species + "/" + r.ID); ok && !row.Reviewed && row.Confidence != review.Read {
			open++
		}
	}
	if open == 0 {
		return ""
	}
	return fmt.Sprintf("What is sensed at %d of the %d places of this animal is not yet reviewed by a clinician.", open, len(cat.Regions))
}

// ruleNotice is that of a rule of order, which may be one that several rubrics share.
func (s *Server) ruleNotice(r *rubric.Rubric, rule string) string {
	if own := s.reviewed("rule/" + r.ID + "/" + rule); own != "" {
		return own
	}
	return s.reviewed("rule/" + rule)
}

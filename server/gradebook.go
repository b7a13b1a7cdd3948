package server

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"strconv"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// gradebookHead are the columns of a gradebook: one line a student and patient.
// Total, domains and pass are with what people decided; those of a turn that is
// excused stay empty.
var gradebookHead = []string{"number", "name", "login", "assignment", "kind", "try", "patient", "state", "total", "computed", "order", "completeness",
	"findings", "vitals", "handling", "conclusions", "pass", "waits", "excused", "released"}

// gradebook is the marks of one assignment as a file for a spreadsheet.
func (s *Server) gradebook(c *gin.Context) error {
	ctx := c.Request.Context()
	a, cohort, err := s.toMark(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.handOutGradebook(c, cohort, "assignment:"+a.ID, []store.Assignment{a})
}

// cohortGradebook is that of every assignment of a cohort, in the order in which
// they open.
func (s *Server) cohortGradebook(c *gin.Context) error {
	ctx := c.Request.Context()
	cohort, err := s.teaches(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	all, err := s.store.Assignments(ctx, cohort.ID)
	if err != nil {
		return fmt.Errorf("gradebook: %w", err)
	}
	return s.handOutGradebook(c, cohort, "cohort:"+cohort.ID, all)
}

func (s *Server) handOutGradebook(c *gin.Context, cohort store.Cohort, about string, all []store.Assignment) error {
	ctx := c.Request.Context()
	rows := [][]string{gradebookHead}
	for _, a := range all {
		if a.State == store.AssignmentDraft {
			continue // nobody has begun it
		}
		more, err := s.gradebookRows(ctx, a)
		if err != nil {
			return err
		}
		rows = append(rows, more...)
	}
	body, err := spreadsheet(rows)
	if err != nil {
		return fmt.Errorf("gradebook: %w", err)
	}
	if err := s.store.Record(ctx, store.Note{By: person(c).ID, Deed: deedGradebook, About: about, Cohort: cohort.ID, Detail: count(len(rows)-1, "line")}); err != nil {
		return fmt.Errorf("gradebook: %w", err)
	}
	c.Header("Content-Disposition", `attachment; filename="gradebook.csv"`)
	s.data(c, "text/csv; charset=utf-8; header=present", body)
	return nil
}

func (s *Server) gradebookRows(ctx context.Context, a store.Assignment) (rows [][]string, err error) {
	all, err := s.markedTurns(ctx, a)
	if err != nil {
		return nil, err
	}
	for _, m := range all {
		for i := range m.visits {
			rows = append(rows, s.gradebookRow(a, m, &m.visits[i]))
		}
		if len(m.visits) == 0 {
			rows = append(rows, s.gradebookRow(a, m, nil))
		}
	}
	return rows, nil
}

func (s *Server) gradebookRow(a store.Assignment, m markedTurn, v *markedVisit) []string {
	f := s.faceMarked(a, m, v)
	row := []string{m.person.Number, m.person.Name, m.person.Login, a.Title, a.Kind, "", f.Patient, f.State}
	if f.Try > 0 {
		row[5] = strconv.Itoa(f.Try)
	}
	marks := make([]string, 3+len(domainOrder))
	if f.Total != nil && !f.Excused {
		marks[0], marks[1] = f.Total.String(), f.Computed.String()
		for i, d := range v.total.Domains {
			marks[2+i] = face.Points(d.Points).String()
		}
		marks[2+len(domainOrder)] = yesNo(*f.Pass)
	}
	return append(append(row, marks...), yesNo(len(f.Waits) > 0), yesNo(f.Excused), yesNo(f.Released))
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// bom tells spreadsheets that a file is UTF-8.
const bom = "\ufeff"

// spreadsheet writes rows as RFC 4180 has them, with a byte-order mark. A cell that
// a spreadsheet would take for a formula gets an apostrophe before it.
func spreadsheet(rows [][]string) ([]byte, error) {
	var buf bytes.Buffer
	buf.WriteString(bom)
	w := csv.NewWriter(&buf)
	w.UseCRLF = true
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = plainCell(cell)
		}
		if err := w.Write(safe); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return buf.Bytes(), w.Error()
}

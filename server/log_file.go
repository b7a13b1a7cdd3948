package server

import (
	"context"
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"time"

	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// logColumns are the columns of the file of the log.
var logColumns = []string{"number", "time", "by", "deed", "about", "cohort", "detail", "reason", "word of the deed", "id of whom it is by", "id of what it is about"}

// logFile hands out the log as comma-separated values, as far as it may be read
// and as it was filtered. That it was is a note of its own.
func (s *Server) logFile(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	q := logQueryOf(c)
	q.Before, q.Limit = "", ""
	f, err := s.noteFilter(ctx, who, q)
	if err != nil {
		return err
	}
	f.Limit = mostLogged
	if err := s.store.Record(ctx, store.Note{By: who.ID, Deed: deedLogFile, About: "log:all", Detail: q.plain()}); err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="log.csv"`)
	c.Header("Content-Type", "text/csv; charset=utf-8; header=present")
	c.Status(done)
	if err := s.writeLog(ctx, c.Writer, f); err != nil { // the status is sent already
		s.log.Error("the file of the log broke off", "request", requestID(c), "cause", err.Error())
		_, err = io.WriteString(c.Writer, "The file breaks off here; download it again.\n")
		return err
	}
	return nil
}

// plain is a query without the words that name people.
func (q logQuery) plain() string {
	return joinSet([]string{q.About, q.Deed, q.From, q.To}, ", ")
}

// writeLog writes page after page, so that a long log needs no more room than a
// short one.
func (s *Server) writeLog(ctx context.Context, w io.Writer, f store.NoteFilter) error {
	out := csv.NewWriter(w)
	if err := out.Write(logColumns); err != nil {
		return err
	}
	for {
		lines, next, err := s.notesBy(ctx, f)
		if err != nil {
			return err
		}
		for _, l := range lines {
			if err := out.Write(s.logCells(l)); err != nil {
				return err
			}
		}
		if out.Flush(); out.Error() != nil || next == 0 {
			return out.Error()
		}
		f.Before = next
	}
}

func (s *Server) logCells(l logLine) []string {
	cells := []string{strconv.FormatInt(l.N, 10), l.At.In(s.zone()).Format(time.RFC3339), l.Who, l.Did, l.What, l.Where, l.Detail, l.Reason, l.Note.Deed, l.ByID, l.About}
	for i := range cells {
		cells[i] = plainCell(cells[i])
	}
	return cells
}

// plainCell is a text that no program for sheets takes for a formula: one that
// begins like one, after spaces too, has an apostrophe before it (OWASP's advice
// against CSV injection, from memory).
func plainCell(text string) string {
	inside := strings.TrimLeft(text, " \u00a0")
	if inside != "" && strings.ContainsRune("=+-@\t\r\n|%＝＋－＠", []rune(inside)[0]) {
		return "'" + text
	}
	return text
}

// noteAnswer is a note for programs.
type noteAnswer struct {
	N      int64     `json:"n"`
	At     time.Time `json:"at"`
	By     noteBy    `json:"by"`
	Deed   string    `json:"deed"`
	About  string    `json:"about"` // kind:id
	What   string    `json:"what"`  // the same by name
	Cohort string    `json:"cohort,omitempty"`
	Detail string    `json:"detail,omitempty"`
	Reason string    `json:"reason,omitempty"`
}

// noteBy is who did it; without an id the program itself.
type noteBy struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

type logAnswer struct {
	Notes []noteAnswer `json:"notes"`
	Next  int64        `json:"next,omitempty"` // send it as before for the next page; missing: this is the last
}

// apiLog gives a page of the log.
func (s *Server) apiLog(c *gin.Context) error {
	lines, next, err := s.readLog(c.Request.Context(), person(c), logQueryOf(c))
	if err != nil {
		return err
	}
	out := logAnswer{Notes: []noteAnswer{}, Next: next}
	for _, l := range lines {
		out.Notes = append(out.Notes, noteAnswer{N: l.N, At: l.At, By: noteBy{l.ByID, l.Who}, Deed: l.Note.Deed, About: l.About,
			What: l.What, Cohort: l.Cohort, Detail: l.Detail, Reason: l.Reason})
	}
	return s.answer(c, done, out)
}

// logQueryOf reads the query of a request.
func logQueryOf(c *gin.Context) logQuery {
	return logQuery{Who: c.Query("who"), About: c.Query("about"), Of: c.Query("of"), Deed: c.Query("deed"),
		From: c.Query("from"), To: c.Query("to"), Before: c.Query("before"), Limit: c.Query("limit")}
}

package server

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// seatsPage is the seating sheet, with what an invigilator can do.
type seatsPage struct {
	Base
	ID, Cohort        string
	Window, Zone, Now string
	Rows              []seatRow
	Deeds             []seatDeed
	Form              seatForm
	Wrong             string
	Log               []seatNote
	Before            bool // the sitting has not opened
}

// seatRow is one student in words, as the script of the page writes it too.
type seatRow struct {
	ID      string `json:"-"`
	Name    string `json:"-"`
	Number  string `json:"-"`
	Find    string `json:"-"`
	Own     string `json:"own"`
	State   string `json:"state"`
	Begun   string `json:"begun"`
	Patient string `json:"patient"`
	Act     string `json:"act"`
	Here    string `json:"here"`
	Left    string `json:"left"`
	Mark    string `json:"mark"` // what wants a look: lost, paused, over; empty: nothing
}

// seatNote is a deed of today.
type seatNote struct{ At, By, Deed, For, Reason string }

// mostNotes are shown of a day's deeds.
const mostNotes = 100

func (s *Server) showSeats(c *gin.Context) error {
	p, err := s.seatsPage(c, seatForm{Deed: c.Query("deed"), For: c.Query("of")})
	if err != nil {
		return err
	}
	return s.page(c, "invigilate", p)
}

func (s *Server) seatsPage(c *gin.Context, f seatForm) (*seatsPage, error) {
	ctx := c.Request.Context()
	a, cohort, err := s.watched(ctx, person(c), c.Param("id"))
	if err != nil {
		return nil, err
	}
	all, err := s.seats(ctx, a)
	if err != nil {
		return nil, err
	}
	p := &seatsPage{Base: Base{Title: "Seats: " + a.Title, Wide: true}, ID: a.ID, Cohort: cohort.Name, Window: s.span(a.Opens, a.Closes), Zone: s.zoneWords(a.Opens),
		Now: all.Now.In(s.zone()).Format(time.TimeOnly), Deeds: seatDeeds, Form: f, Before: all.Now.Before(a.Opens)}
	for _, seat := range all.Seats {
		p.Rows = append(p.Rows, s.seatRow(seat))
	}
	p.Log, err = s.seatLog(ctx, a, all.Seats)
	return p, err
}

// seatRow puts a seat into words.
func (s *Server) seatRow(seat face.Seat) seatRow {
	row := seatRow{ID: seat.Person, Name: seat.Name, Number: seat.Number, Find: strings.ToLower(seat.Name + " " + seat.Number), State: seatState(seat), Own: seatOwn(seat)}
	if seat.Begun == nil {
		return row
	}
	row.Begun = seat.Begun.In(s.zone()).Format("15:04")
	row.Left = leftWords(time.Duration(seat.Left) * time.Second)
	row.Patient = fmt.Sprintf("%d of %d done", seat.Done, seat.Patients)
	if seat.Patient > 0 {
		row.Patient = fmt.Sprintf("%d of %d", seat.Patient, seat.Patients)
	}
	if seat.Ago != nil {
		row.Act = fmt.Sprintf("act %d, %s ago", seat.Acts, leftWords(time.Duration(*seat.Ago)*time.Second))
	}
	over := seat.Phase == string(exam.Over)
	if over {
		row.Left = ""
	}
	switch {
	case over:
		row.Mark = "over"
	case seat.Connected:
		row.Here = "connected"
	default:
		row.Here, row.Mark = "lost for "+leftWords(time.Duration(*seat.Unseen)*time.Second), "lost"
	}
	if seat.Phase == string(exam.Paused) {
		row.Mark = "paused"
	}
	return row
}

// seatState is a seat's phase in words.
func seatState(seat face.Seat) string {
	switch exam.Phase(seat.Phase) {
	case exam.Early:
		return "waits: not open yet"
	case exam.Open:
		return "has not begun"
	case exam.Missed:
		return "did not begin"
	case exam.Running:
		return "sits"
	case exam.Paused:
		if seat.Own {
			return "‖ paused by the student"
		}
		return "‖ paused"
	}
	switch {
	case seat.Done == seat.Patients:
		return "✓ all handed in"
	case seat.ByTime:
		return "✓ ended by the time"
	}
	return "✓ handed in"
}

// seatOwn is what a student has beyond the others, in short.
func seatOwn(seat face.Seat) string {
	var parts []string
	if seat.Extra > 0 {
		parts = append(parts, fmt.Sprintf("+%d %%", seat.Extra))
	}
	if seat.Later > 0 {
		parts = append(parts, fmt.Sprintf("%d min later", seat.Later))
	}
	if seat.Pauses > 0 && seat.Begun != nil {
		parts = append(parts, fmt.Sprintf("pauses: %s left", leftWords(time.Duration(seat.PauseLeft)*time.Second)))
	} else if seat.Pauses > 0 {
		parts = append(parts, fmt.Sprintf("pauses: %d min", seat.Pauses))
	}
	return strings.Join(parts, ", ")
}

// doSeats does what was asked for, or shows the page again with what was wrong.
func (s *Server) doSeats(c *gin.Context) error {
	ctx := c.Request.Context()
	f := seatForm{Deed: c.PostForm("deed"), For: c.PostForm("for"), Minutes: strings.TrimSpace(c.PostForm("minutes")), Reason: c.PostForm("reason")}
	a, _, err := s.watched(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	did, err := s.doSeat(ctx, person(c), a, f)
	if err == nil {
		s.notice(c, did)
		return s.redirect(c, "/assignments/"+a.ID+"/seats")
	}
	row, fault := tell(err)
	if row.status != http.StatusUnprocessableEntity && row.status != http.StatusConflict {
		return err
	}
	p, again := s.seatsPage(c, f)
	if again != nil {
		return again
	}
	p.Wrong = "Nothing was done. "
	if len(fault.Fields) == 0 {
		p.Wrong += row.text
	}
	for _, field := range fault.Fields {
		p.Wrong += field.Detail + " "
	}
	return s.write(c, row.status, "invigilate", p)
}

// clockWords are the deeds on clocks in words, for the list of what was done.
var clockWords = map[string]string{"pause": "paused", "resume": "resumed", "add": "gave minutes", "admit": "let in late", "finish": "ended", "reopen": "reopened"}

// seatLog is what was done to the clocks today, the last first. The students' own
// deeds are in the rows and are left out.
func (s *Server) seatLog(ctx context.Context, a store.Assignment, seats []face.Seat) ([]seatNote, error) {
	deeds, err := s.store.ClockDeeds(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	turns, err := s.store.Turns(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("seats: %w", err)
	}
	whose := map[string]string{}
	for _, t := range turns {
		whose[t.ID] = t.Person
	}
	names := map[string]string{}
	for _, seat := range seats {
		names[seat.Person] = seat.Name
	}
	today := s.now().In(s.zone()).Format(time.DateOnly)
	var out []seatNote
	for i := len(deeds) - 1; i >= 0 && len(out) < mostNotes; i-- {
		d := deeds[i]
		if d.Own || d.Kind == string(exam.Begin) || d.At.In(s.zone()).Format(time.DateOnly) != today {
			continue
		}
		n := seatNote{At: d.At.In(s.zone()).Format("15:04:05"), By: s.nameOf(ctx, d.By), Deed: clockWords[d.Kind], For: "everybody", Reason: d.Reason}
		if d.Minutes > 0 {
			n.Deed += fmt.Sprintf(" (%d min)", d.Minutes)
		}
		if id := whose[d.Turn] + d.Person; id != "" {
			if n.For = names[id]; n.For == "" {
				n.For = s.nameOf(ctx, id)
			}
		}
		out = append(out, n)
	}
	return out, nil
}

package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// markVisitPage is one visit in the hands of who marks it.
type markVisitPage struct {
	Base
	ID, Student, Number, Patient, Assignment, AssignmentID string
	Try                                                    int
	Began, Rubric, Engine                                  string
	Computed, Total, Max, Result, PassMark                 string
	ByHand, Released, Excused                              bool
	Seen                                                   string
	Held                                                   []waitRow
	Domains                                                []markDomain
	Struck, Void                                           []string
	History                                                []historyRow
	Acts                                                   []actRow
	Wrong                                                  string
}

// waitRow is a critical event or a flag.
type waitRow struct {
	N                          int
	What, Kind, Text, Severity string
	Met, Shown                 []actRef
	Waits, Stands              bool
	Because                    string
	Typed                      *markForm
}

// markDomain is a domain with its lines.
type markDomain struct {
	ID, Label, Points, Max, Count string
	Open                          bool
	Lines                         []markLineRow
}

// markLineRow is a line of the report with what people made of it.
type markLineRow struct {
	N                              int
	ID, Label, Marks, Word, Reason string
	Computed, Because              string // where a person's mark stands
	Acts                           []actRef
	May                            bool // it has a mark of its own
	Range                          string
	Asked                          *askedRow
	Open                           bool
	Typed                          *markForm
}

// askedRow is a review in words.
type askedRow struct {
	At, Words, Answered, Answer string
	Waits, Changed              bool
}

// historyRow is something that was done to the marks.
type historyRow struct{ At, By, What, Reason string }

// markForm is what the page sends.
type markForm struct {
	Do, Line, What, Points, Stands, Reason, Seen string
}

func (s *Server) showMarkVisit(c *gin.Context) error {
	p, err := s.markVisitPage(c.Request.Context(), person(c), c.Param("id"), nil)
	if err != nil {
		return err
	}
	return s.page(c, "markvisit", p)
}

func (s *Server) markVisitPage(ctx context.Context, who face.Person, id string, typed *markForm) (*markVisitPage, error) {
	m, err := s.marking(ctx, who, id)
	if err != nil {
		return nil, err
	}
	r, err := s.reportToMark(ctx, who, m)
	if err != nil {
		return nil, err
	}
	a, err := s.attempt(ctx, who, id)
	if err != nil {
		return nil, err
	}
	cat, err := s.catalogue(r.Patient.Species)
	if err != nil {
		return nil, err
	}
	student, err := s.store.Person(ctx, m.visit.Person)
	if err != nil {
		return nil, fmt.Errorf("marks: %w", err)
	}
	t, err := s.turn(ctx, m.turn.ID)
	if err != nil {
		return nil, err
	}
	p := markVisitPageOf(r, a, cat, typed, s.zone())
	p.Student, p.Number = cmp.Or(student.Name, erasedName), student.Number
	p.Assignment, p.AssignmentID, p.Try, p.Excused = m.assignment.Title, m.assignment.ID, m.turn.Try, m.turn.Excused != ""
	p.Released = m.visit.Purpose != forSitting || t.released() && len(r.Waits) == 0
	p.Began = s.moment(r.Started)
	for _, d := range r.History {
		p.History = append(p.History, historyRow{s.moment(d.At), d.By, sentence(d.What), d.Reason})
	}
	return p, nil
}

func markVisitPageOf(r face.MarkedReport, a face.Attempt, cat *face.Catalogue, typed *markForm, z *time.Location) *markVisitPage {
	p := &markVisitPage{Base: Base{Title: "Marks of " + r.Patient.Name}, ID: r.Attempt, Patient: joinSet([]string{r.Patient.Name, r.Title}, ": "),
		Rubric: r.Rubric, Engine: r.Engine, Total: pts(r.Total), Max: r.Max.String(), PassMark: r.PassMark.String(),
		Result: visitResult(r), Seen: r.Seen, Acts: actRows(a.Acts, cat)}
	if r.Computed != nil {
		p.Computed, p.ByHand = pts(*r.Computed), true
	}
	clocks := clocksOf(a.Acts)
	p.Held = waitRows(r, clocks, typed)
	n := 0
	for _, d := range r.Domains {
		row := markDomain{ID: d.ID, Label: d.Label, Points: pts(d.Points), Max: d.Max.String(), Count: lineCount(len(d.Lines))}
		for _, l := range d.Lines {
			n++
			line := markLineRowOf(n, l, clocks, typed, z)
			row.Open = row.Open || line.Open
			row.Lines = append(row.Lines, line)
		}
		p.Domains = append(p.Domains, row)
	}
	for _, x := range r.Struck {
		p.Struck = append(p.Struck, x.What+" "+sentence(x.Because))
	}
	for _, v := range r.Void {
		p.Void = append(p.Void, fmt.Sprintf("%s for %s: %s", pts(v.Points), v.Line, v.Reason))
	}
	return p
}

// visitResult says whether it is a pass, and why not.
func visitResult(r face.MarkedReport) string {
	switch {
	case len(r.Waits) > 0:
		return "– Something waits for a person"
	case r.Pass:
		return "✓ Passed"
	case criticalStands(r.Report):
		return "✕ Not passed, for a critical event stands"
	case r.Total >= r.PassMark:
		return "✕ Not passed, for findings or handling stay below the share that a pass needs"
	}
	return "✕ Not passed"
}

// waitRows are the critical events and flags with what was decided.
func waitRows(r face.MarkedReport, clocks map[int]string, typed *markForm) (out []waitRow) {
	for _, e := range r.Critical {
		row := waitRow{What: e.ID, Kind: "Critical event", Text: sentence(e.Why), Severity: e.Severity}
		for _, h := range r.Hazards {
			if h.ID == e.ID {
				row.Met, row.Shown = append(row.Met, actRefs([]int{h.Act}, clocks)...), append(row.Shown, actRefs([]int{h.Sign}, clocks)...)
			}
		}
		if len(row.Shown) == 0 {
			row.Shown = actRefs([]int{e.Sign}, clocks)
		}
		out = append(out, row)
	}
	for _, h := range r.Held {
		if h.Code != rubric.HeldCritical {
			out = append(out, waitRow{What: h.Code, Kind: "Flag", Text: h.Text, Met: actRefs(flagged(r, h.Code), clocks)})
		}
	}
	for i := range out {
		row := &out[i]
		row.N, row.Waits = i+1, slices.Contains(r.Waits, row.What)
		for _, d := range r.Decided {
			if d.What == row.What {
				row.Stands, row.Because = d.Stands, d.Because
			}
		}
		if typed != nil && typed.Do == "decide" && typed.What == row.What {
			row.Typed = typed
		}
	}
	return out
}

// flagged are the acts behind a flag: those of the lines that were charted without
// being examined.
func flagged(r face.MarkedReport, code string) (acts []int) {
	for _, d := range r.Domains {
		for _, l := range d.Lines {
			if code == rubric.HeldCharted && l.Code == "charted.unexamined" {
				acts = append(acts, l.Acts...)
			}
		}
	}
	return acts
}

func markLineRowOf(n int, l face.Mark, clocks map[int]string, typed *markForm, z *time.Location) markLineRow {
	row := markLineRow{N: n, ID: l.ID, Label: l.Label, Marks: marks(l), Word: markWord(l), Reason: l.Reason, Because: l.Because, Acts: actRefs(l.Acts, clocks)}
	computed := l.Points
	if l.Computed != nil {
		computed = *l.Computed
		row.Computed, row.Word, row.Open = pts(computed), "by hand", true
	}
	row.May = l.Max > 0 || computed < 0
	row.Range = pts(min(computed, 0)) + " to " + pts(l.Max)
	if l.Asked != nil {
		row.Asked = askedRowOf(*l.Asked, z)
		row.Open = true
	}
	if typed != nil && typed.Line == l.ID {
		row.Typed, row.Open = typed, true
	}
	return row
}

func askedRowOf(a face.Asked, z *time.Location) *askedRow {
	out := &askedRow{At: day(a.At, z), Words: a.Words, Waits: a.Answered == nil, Answer: a.Answer, Changed: a.Changed}
	if a.Answered != nil {
		out.Answered = day(*a.Answered, z)
	}
	return out
}

// visitDeeds are what can be asked of the page of a visit's marks.
var visitDeeds = map[string]func(*Server, context.Context, face.Person, string, markForm) (string, error){
	"mark": func(s *Server, ctx context.Context, who face.Person, id string, f markForm) (string, error) {
		ask, err := f.ask()
		if err != nil {
			return "", err
		}
		return "Marked. The computed mark stays beside it.", s.mark(ctx, who, id, ask)
	},
	"decide": func(s *Server, ctx context.Context, who face.Person, id string, f markForm) (string, error) {
		if f.Stands != "yes" && f.Stands != "no" {
			return "", invalid("/stands", "Say whether it stands or does not.")
		}
		return "Decided.", s.decide(ctx, who, id, decideAsk{what: f.What, reason: f.Reason, seen: f.Seen, stands: f.Stands == "yes"})
	},
	"answer": func(s *Server, ctx context.Context, who face.Person, id string, f markForm) (string, error) {
		ask := answerAsk{markAsk: markAsk{line: f.Line, reason: f.Reason, seen: f.Seen}}
		if f.Points != "" {
			given, err := f.ask()
			if err != nil {
				return "", err
			}
			ask.markAsk, ask.changed = given, true
		}
		return "Answered. The student reads it in the debrief.", s.answerReview(ctx, who, id, ask)
	},
}

// ask reads the points of a form.
func (f markForm) ask() (markAsk, error) {
	p, err := parsePoints(f.Points)
	if err != nil {
		return markAsk{}, invalid("/points", sentence(err.Error()))
	}
	return markAsk{line: f.Line, reason: f.Reason, seen: f.Seen, points: p, read: true}, nil
}

func readMarkForm(c *gin.Context) markForm {
	return markForm{Do: c.PostForm("deed"), Line: c.PostForm("line"), What: c.PostForm("what"), Points: c.PostForm("points"),
		Stands: c.PostForm("stands"), Reason: c.PostForm("reason"), Seen: c.PostForm("seen")}
}

func (s *Server) doMarkVisit(c *gin.Context) error {
	ctx, id, f := c.Request.Context(), c.Param("id"), readMarkForm(c)
	deed := visitDeeds[f.Do]
	if deed == nil {
		return invalid("/deed", "One of mark, decide, answer.")
	}
	text, err := deed(s, ctx, person(c), id, f)
	if err == nil {
		s.notice(c, text)
		return s.redirect(c, "/visits/"+url.PathEscape(id)+"/marks")
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.markVisitPage(ctx, person(c), id, &f)
	if again != nil {
		return again
	}
	p.Wrong = faultText(row, fault)
	return s.write(c, row.status, "markvisit", p)
}

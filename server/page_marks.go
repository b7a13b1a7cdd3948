package server

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// marksPage is everybody's marks in an assignment: one row a student and patient.
type marksPage struct {
	Base
	ID, Assignment, Cohort, CohortID string
	Practice                         bool
	Tries                            bool // somebody has had more than one
	Rows                             []marksRow
	Sort, Find                       string
	Page, Pages, Prev, Next, Found   int
	Summary                          []string
	LeftOut                          []leftOutRow
	Ready, Out                       int    // turns that can be released now; that are
	Still                            string // who can still sit
	Strike                           bool   // there is something to strike
	One                              *turnForm
	Wrong, Did, Reason               string // what did not go, with what was typed
	Unmarked                         string // visits that came after a line was struck
}

// marksRow is one of them.
type marksRow struct {
	Name, Number, Patient, State   string
	Try                            int
	Computed, Total, Result, Waits string
	Why                            string // it is not passed, where not for the total alone
	ByHand                         bool   // the total is not the computed one
	Released, Excused              bool
	Visit, More                    string // links
	Here                           bool   // its forms are open
}

// leftOutRow is a student whose debrief cannot be released, and why.
type leftOutRow struct {
	Name, Why, More string
	Try             int
}

// turnForm is what can be done with one student's turn.
type turnForm struct {
	Turn, Person, Name          string
	Try                         int
	MayRelease, Released        bool
	WhyNot, Excused             string
	Opens, Closes, Zone, Reason string
	Wrong                       string
	Resits                      []string
}

// rowsAPage are shown at a time.
const rowsAPage = 100

func (s *Server) showMarks(c *gin.Context) error {
	p, err := s.marksPage(c.Request.Context(), person(c), c.Param("id"), c.Request.URL.Query())
	if err != nil {
		return err
	}
	return s.page(c, "marks", p)
}

func (s *Server) marksPage(ctx context.Context, who face.Person, id string, q url.Values) (*marksPage, error) {
	a, c, err := s.toMark(ctx, who, id)
	if err != nil {
		return nil, err
	}
	all, err := s.markedTurns(ctx, a)
	if err != nil {
		return nil, err
	}
	p := &marksPage{Base: Base{Title: "Marks: " + a.Title, Wide: true}, ID: a.ID, Assignment: a.Title, Cohort: c.Name, CohortID: c.ID,
		Practice: exam.Kind(a.Kind) != exam.Sitting, Sort: "name", Find: strings.TrimSpace(q.Get("find"))}
	if q.Get("sort") == "total" {
		p.Sort = "total"
	}
	if err := s.fillOne(ctx, p, a, all, q.Get("of")); err != nil {
		return nil, err
	}
	p.fillRows(s, a, all, q.Get("page"), q.Get("of"))
	p.fillRelease(who, all)
	p.Unmarked, err = s.unmarked(ctx, a)
	return p, err
}

// fillRows puts the rows of one page down.
func (p *marksPage) fillRows(s *Server, a store.Assignment, all []markedTurn, page, of string) {
	var rows []face.MarkedVisit
	for _, m := range all {
		if fits(p.Find, m.person.Name, m.person.Login, m.person.Number) {
			rows = append(rows, s.markedRows(a, []markedTurn{m})...)
		}
	}
	if p.Sort == "total" {
		slices.SortStableFunc(rows, func(a, b face.MarkedVisit) int { return cmp.Compare(totalOf(b), totalOf(a)) })
	}
	p.Found = len(rows)
	p.Page, p.Pages, p.Prev, p.Next = pageOf(page, len(rows), rowsAPage)
	for _, v := range rows[(p.Page-1)*rowsAPage : min(p.Page*rowsAPage, len(rows))] {
		p.Rows = append(p.Rows, p.row(v, of))
		p.Tries = p.Tries || v.Try > 1
		p.Strike = p.Strike || v.Total != nil
	}
}

// totalOf orders rows by their total; those without stand last.
func totalOf(v face.MarkedVisit) face.Points {
	if v.Total == nil {
		return -1
	}
	return *v.Total
}

// more leads to the forms of a turn, or of a student who has had none.
func (p *marksPage) more(turn, person string) string {
	q := url.Values{"of": {cmp.Or(turn, person)}, "sort": {p.Sort}}
	if p.Find != "" {
		q.Set("find", p.Find)
	}
	return "/assignments/" + p.ID + "/marks?" + q.Encode() + "#turn"
}

func (p *marksPage) row(v face.MarkedVisit, of string) marksRow {
	out := marksRow{Name: v.Person.Name, Number: v.Number, Patient: v.Patient, State: markStates[v.State], Try: v.Try,
		Waits: strings.Join(v.Waits, " "), Released: v.Released, Excused: v.Excused, More: p.more(v.Turn, v.Person.ID), Here: of != "" && (of == v.Turn || of == v.Person.ID)}
	if v.Total != nil {
		out.Computed, out.Total, out.ByHand = pts(*v.Computed), pts(*v.Total), *v.Computed != *v.Total
		if out.Result = resultWords(*v.Pass, len(v.Waits) > 0); len(v.Waits) == 0 {
			out.Why = v.Why
		}
		out.Visit = "/visits/" + v.Attempt + "/marks"
	}
	return out
}

// markStates say how far a visit is.
var markStates = map[string]string{"not begun": "not begun", store.StateOpen: "under way", store.StateGrading: "being marked", store.StateGraded: "marked"}

// resultWords say whether it is a pass.
func resultWords(pass, waits bool) string {
	switch {
	case waits && !pass:
		return "– waits"
	case pass:
		return "✓ passed"
	}
	return "✕ not passed"
}

// fillRelease says what can be released, and who is left out.
func (p *marksPage) fillRelease(who face.Person, all []markedTurn) {
	if p.Practice {
		return
	}
	begun := 0
	for _, m := range all {
		if m.turn == nil {
			continue
		}
		begun++
		if m.turn.released() {
			p.Out++
		}
		why := m.whyNot()
		if why == "" && m.person.ID != who.ID {
			if !m.turn.released() {
				p.Ready++
			}
			continue
		}
		p.LeftOut = append(p.LeftOut, leftOutRow{m.person.Name, sentence(cmp.Or(why, "somebody else releases your own")), p.more(m.turn.row.ID, ""), m.turn.row.Try})
	}
	if sits := stillToSit(all, ""); len(sits) > 0 {
		p.Still = nameSome(sits)
	}
	p.Summary = append(p.Summary, "Debriefs are released to "+strconv.Itoa(p.Out)+" of "+count(begun, "turn")+".")
}

// fillOne opens the forms of a turn, or of a student who has had none.
func (s *Server) fillOne(ctx context.Context, p *marksPage, a store.Assignment, all []markedTurn, of string) error {
	i := slices.IndexFunc(all, func(m markedTurn) bool {
		return m.turn != nil && m.turn.row.ID == of || m.turn == nil && m.person.ID == of
	})
	if of == "" || i < 0 {
		return nil
	}
	m := all[i]
	f := &turnForm{Person: m.person.ID, Name: m.person.Name, Zone: s.zoneWords(s.now())}
	if m.turn != nil {
		f.Turn, f.Try, f.Released, f.Excused = m.turn.row.ID, m.turn.row.Try, m.turn.released(), m.turn.row.Excused
		f.WhyNot = sentence(m.whyNot())
		f.MayRelease = !p.Practice && !f.Released && f.WhyNot == ""
	}
	granted, err := s.store.Resits(ctx, a.ID, m.person.ID)
	if err != nil {
		return err
	}
	for _, r := range granted {
		f.Resits = append(f.Resits, "Try "+strconv.Itoa(r.Try)+" may be begun from "+s.moment(r.Opens)+" to "+s.moment(r.Closes)+". "+sentence(r.Reason))
	}
	p.One = f
	return nil
}

// markDeeds are what can be asked of the page of marks; each says what was done.
var markDeeds = map[string]func(*Server, context.Context, *gin.Context, string) (string, error){
	"release": (*Server).doRelease,
	"back": func(s *Server, ctx context.Context, c *gin.Context, id string) (string, error) {
		return "The release is taken back.", s.takeBack(ctx, person(c), id, c.PostForm("turn"), c.PostForm("reason"))
	},
	"excuse": func(s *Server, ctx context.Context, c *gin.Context, id string) (string, error) {
		return "The turn is excused: it does not count.", s.excuse(ctx, person(c), id, c.PostForm("turn"), c.PostForm("reason"), false)
	},
	"count": func(s *Server, ctx context.Context, c *gin.Context, id string) (string, error) {
		return "The turn counts again.", s.excuse(ctx, person(c), id, c.PostForm("turn"), c.PostForm("reason"), true)
	},
	"resit": func(s *Server, ctx context.Context, c *gin.Context, id string) (string, error) {
		return "A further try is granted.", s.grantResit(ctx, person(c), id, resitAsk{c.PostForm("person"), c.PostForm("opens"), c.PostForm("closes"), c.PostForm("reason")})
	},
}

func (s *Server) doRelease(ctx context.Context, c *gin.Context, id string) (string, error) {
	got, err := s.release(ctx, person(c), id, releaseAsk{c.PostForm("turn"), c.PostForm("although") == "yes"})
	text := "Released: " + count(got.Released, "debrief") + "."
	if n := len(got.LeftOut); n > 0 {
		text += " Left out: " + strconv.Itoa(n) + "; they stand below by name, with the reason."
	}
	return text, err
}

func (s *Server) doMarks(c *gin.Context) error {
	ctx, id, word := c.Request.Context(), c.Param("id"), c.PostForm("deed")
	deed := markDeeds[word]
	if deed == nil {
		return invalid("/deed", "One of release, back, excuse, count, resit.")
	}
	text, err := deed(s, ctx, c, id)
	of := cmp.Or(c.PostForm("turn"), c.PostForm("person"))
	if err == nil {
		s.notice(c, text)
		return s.redirect(c, "/assignments/"+url.PathEscape(id)+"/marks?of="+url.QueryEscape(of))
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.marksPage(ctx, person(c), id, url.Values{"of": {of}})
	if again != nil {
		return again
	}
	p.wrong(c, word, faultText(row, fault))
	return s.write(c, row.status, "marks", p)
}

// wrong puts what did not go onto the page, with what was typed.
func (p *marksPage) wrong(c *gin.Context, deed, text string) {
	if p.One == nil || deed == "release" && c.PostForm("turn") == "" {
		p.Wrong, p.Did, p.Reason = text, deed, c.PostForm("reason")
		return
	}
	p.One.Wrong, p.One.Reason, p.One.Opens, p.One.Closes = text, c.PostForm("reason"), c.PostForm("opens"), c.PostForm("closes")
}

// faultText is what went wrong, in one paragraph. Where the fields say it, the
// general sentence is left out.
func faultText(row statusRow, f *Fault) string {
	var parts []string
	if f.Text != "" || len(f.Fields) == 0 {
		parts = append(parts, row.text)
	}
	for _, field := range f.Fields {
		parts = append(parts, sentence(field.Detail))
	}
	return strings.Join(parts, " ")
}

package server

import (
	"crypto/rand"
	"errors"
	"net/http"
	"slices"
	"strings"
	"unicode"

	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// finishForm is the assessment as sent.
type finishForm struct {
	Step     string // review, edit or submit
	Retry    string
	Problems []string
	Urgency  string
	Texts    map[string]string // by the names of handoverParts
	Fields   []string          // field or field@site
}

// finishPage is the assessment: first to be written, then to be read once more.
type finishPage struct {
	Base
	Attempt      face.Attempt
	Signalment   string
	Retry        string
	Review       bool
	Wrong        []string
	Problems     []problemRow // all of the list
	Chosen       []problemRow
	Urgencies    []face.Term
	Urgency      string
	UrgencyLabel string
	Said         []saidRow
	Lines        []givenRow // all of the sheet
	Reported     []givenRow
	Open         int // examined lines that are not charted
}

// problemRow is a problem that can be named. Words are what the search looks through.
type problemRow struct {
	ID, Label, Meaning, Words string
	Chosen                    bool
}

// saidRow is one part of the report to the veterinarian.
type saidRow struct{ Name, Label, Help, Text string }

// givenRow is a line of the sheet that can be reported.
type givenRow struct {
	Key, Field, Site, Label, Value, Shown string
	Chosen                                bool
}

// handoverParts are the parts of the report, in the order of the SBAR scheme
// (situation, background, assessment, recommendation; used in hospital
// handover; common practice, no source).
var handoverParts = []saidRow{
	{Name: "situation", Label: "Situation", Help: "Who, and why now"},
	{Name: "background", Label: "Background", Help: "What led to it"},
	{Name: "assessment", Label: "Assessment", Help: "What you found and what it comes to"},
	{Name: "request", Label: "Request", Help: "What you ask for"},
}

// tooLong is the longest part of a report, in bytes.
const tooLong = 4000

func (s *Server) showFinish(c *gin.Context) error {
	a, cat, err := s.openVisit(c)
	if err != nil {
		return err
	}
	if a.State != "open" {
		return s.redirect(c, after(a))
	}
	return s.page(c, "finish", finishPageOf(a, cat, finishForm{Retry: rand.Text()}))
}

// openVisit reads a visit of the person's own with its catalogue.
func (s *Server) openVisit(c *gin.Context) (face.Attempt, *face.Catalogue, error) {
	a, err := s.attempt(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return a, nil, err
	}
	if _, err := s.openAttempt(c.Request.Context(), person(c), a.ID); err != nil {
		return a, nil, err
	}
	cat, err := s.catalogue(a.Patient.Species)
	return a, cat, err
}

func (s *Server) doFinish(c *gin.Context) error {
	a, cat, err := s.openVisit(c)
	if err != nil {
		return err
	}
	if a.State != "open" {
		s.noticeLate(c, a)
		return s.redirect(c, after(a))
	}
	f := readFinish(c)
	p := finishPageOf(a, cat, f)
	if a.Ended == "" {
		p.Wrong = wrongIn(f, cat)
		switch {
		case len(p.Wrong) > 0 && f.Step != "edit":
			return s.write(c, http.StatusUnprocessableEntity, "finish", p)
		case f.Step != "submit":
			p.Review, p.Wrong = f.Step == "review", nil
			return s.page(c, "finish", p)
		}
		if err := s.conclude(c, a, f, p.Reported); err != nil {
			return s.notConcluded(c, p, err)
		}
	}
	done, err := s.finish(c.Request.Context(), person(c), a.ID)
	if err != nil {
		return err
	}
	if done.Ended == endedByTime || done.Ended == endedWhole {
		s.noticeLate(c, a)
	}
	return s.redirect(c, after(a))
}

// after is where the way leads on from a visit that is finished: to its debrief,
// or, in a sitting, back to the turn, for nothing is told yet.
func after(a face.Attempt) string {
	if a.Purpose == forSitting {
		return "/turns/" + a.Turn
	}
	return "/visits/" + a.ID
}

// noticeLate says that an assessment came after the end.
func (s *Server) noticeLate(c *gin.Context, a face.Attempt) {
	if a.Turn != "" {
		s.notice(c, "The sitting had ended before this assessment was sent, so it does not count. What you examined and charted before does.")
	}
}

// notConcluded shows the assessment again, with all that was written, where the
// clock stands still or another browser is in the room.
func (s *Server) notConcluded(c *gin.Context, p *finishPage, err error) error {
	if !errors.Is(err, ErrPaused) && !errors.Is(err, ErrElsewhere) {
		return err
	}
	row, _ := tell(err)
	p.Wrong = []string{row.text + " What you wrote stands here; send it then."}
	return s.write(c, row.status, "finish", p)
}

// conclude writes the assessment as the last act. A visit that ended meanwhile,
// because the same form was sent twice, is concluded already.
func (s *Server) conclude(c *gin.Context, a face.Attempt, f finishForm, given []givenRow) error {
	act := rubric.Act{Kind: rubric.Conclude, Problems: f.Problems, Urgency: f.Urgency, Report: handoverOf(f, given)}
	_, err := s.act(c.Request.Context(), who(c), a.ID, a.Last, f.Retry, act)
	if errors.Is(err, ErrOver) {
		return nil
	}
	return err
}

// handoverOf is the report, or nil where nothing was said.
func handoverOf(f finishForm, given []givenRow) *rubric.Handover {
	h := rubric.Handover{
		Situation: f.Texts["situation"], Background: f.Texts["background"],
		Assessment: f.Texts["assessment"], Request: f.Texts["request"],
	}
	for _, g := range given {
		h.Fields = append(h.Fields, rubric.Given{Field: g.Field, Site: g.Site, Value: g.Value})
	}
	if h.Situation+h.Background+h.Assessment+h.Request == "" && len(h.Fields) == 0 {
		return nil
	}
	return &h
}

func readFinish(c *gin.Context) finishForm {
	f := finishForm{
		Step: c.PostForm("step"), Retry: c.PostForm("retry"), Problems: c.PostFormArray("problem"),
		Urgency: c.PostForm("urgency"), Fields: c.PostFormArray("field"), Texts: map[string]string{},
	}
	if f.Retry == "" {
		f.Retry = rand.Text()
	}
	for _, part := range handoverParts {
		f.Texts[part.Name] = strings.TrimSpace(strings.ReplaceAll(c.PostForm(part.Name), "\r\n", "\n"))
	}
	return f
}

// wrongIn says what has to be mended, in the words of the page.
func wrongIn(f finishForm, cat *face.Catalogue) []string {
	var wrong []string
	if !slices.ContainsFunc(cat.Urgency, func(t face.Term) bool { return t.ID == f.Urgency }) {
		wrong = append(wrong, "Choose how urgent it is.")
	}
	for _, id := range f.Problems {
		if cat.Problem(id) == nil {
			wrong = append(wrong, "A named problem is not in the list; choose from the list.")
		}
	}
	for _, part := range handoverParts {
		if len(f.Texts[part.Name]) > tooLong {
			wrong = append(wrong, part.Label+" is too long: say it in fewer words (at most 4000 bytes).")
		}
	}
	return wrong
}

func finishPageOf(a face.Attempt, cat *face.Catalogue, f finishForm) *finishPage {
	p := &finishPage{
		Base: Base{Title: "Assessment of " + a.Patient.Name}, Attempt: a, Signalment: signalment(a.Patient),
		Retry: f.Retry, Urgencies: cat.Urgency, Urgency: f.Urgency,
	}
	if a.Cue == "" || a.Cue == fullCue {
		p.Open = len(a.Examined)
	}
	for _, t := range cat.Urgency {
		if t.ID == f.Urgency {
			p.UrgencyLabel = t.Label
		}
	}
	for _, pr := range cat.Problems {
		row := problemRow{ID: pr.ID, Label: pr.Label, Meaning: pr.Meaning, Chosen: slices.Contains(f.Problems, pr.ID)}
		row.Words = strings.ToLower(pr.Label + " " + strings.Join(pr.Synonyms, " "))
		p.Problems = append(p.Problems, row)
		if row.Chosen {
			p.Chosen = append(p.Chosen, row)
		}
	}
	for _, part := range handoverParts {
		part.Text = f.Texts[part.Name]
		p.Said = append(p.Said, part)
	}
	for _, line := range a.Sheet {
		if line.Value == "" || line.Value == rubric.NotExamined {
			continue
		}
		row := givenOf(line, cat, f.Fields)
		p.Lines = append(p.Lines, row)
		if row.Chosen {
			p.Reported = append(p.Reported, row)
		}
	}
	return p
}

// givenOf is a line of the sheet as something to report.
func givenOf(line face.Line, cat *face.Catalogue, chosen []string) givenRow {
	row := givenRow{Key: line.Field, Field: line.Field, Site: line.Site, Label: fieldLabel(cat, line.Field), Value: line.Value, Shown: shownValue(cat, line)}
	if line.Site != "" {
		row.Key += "@" + line.Site
	}
	row.Chosen = slices.Contains(chosen, row.Key)
	return row
}

// fieldLabel is what the sheet calls a field.
func fieldLabel(cat *face.Catalogue, id string) string {
	if f := cat.Field(id); f != nil {
		return f.Label
	}
	return id
}

// shownValue is a charted value with its unit and reading.
func shownValue(cat *face.Catalogue, line face.Line) string {
	text := cat.Value(line.Field, line.Value)
	if unit := writtenUnit(cat, line); unit != "" {
		text += " " + unit
	}
	return joinSet([]string{text, line.Interpretation}, ", ")
}

// hottest is above every temperature in degrees Celsius and below every one in
// Fahrenheit that is met: by it the engine tells which a bare number is.
const hottest = 60_000

// writtenUnit is the unit of a charted figure; none where the value has its own.
func writtenUnit(cat *face.Catalogue, line face.Line) string {
	f := cat.Field(line.Field)
	if f == nil || f.Unit == "" {
		return ""
	}
	m, err := rubric.ParseMilli(line.Value)
	switch {
	case err != nil && strings.ContainsFunc(line.Value, unicode.IsLetter):
		return ""
	case f.Vital == "temperature" && m > hottest:
		return "°F"
	}
	return strings.ReplaceAll(f.Unit, "degC", "°C")
}

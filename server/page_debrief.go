package server

import (
	"context"
	"fmt"
	"html/template"
	"strings"
	"time"

	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// debriefPage is a graded visit: first in three paragraphs, then line by line.
type debriefPage struct {
	Base
	R                                 face.Report
	Signalment, Student, Track, Began string
	Duration, EndedText               string
	Safety, Loss, Well, Verdict       string
	Domains                           []domainRow
	RouteText                         string
	Walked, Accepted                  template.HTML
	Moves                             []moveRow
	Vitals                            []vitalRow
	Findings                          []findingRow
	Detection                         string
	Named, Wanted, Neutral            string
	Hazards                           []hazardRow
	Acts                              []actRow
	Sure                              *sureTold     // nil: nothing was said of how sure one was
	Forecast                          *forecastTold // nil: nothing was forecast
	Plan                              *planTold     // nil: not one's own practice
	Held                              []face.Reason // what nobody has decided on
	Decided, Struck                   []string
	MarkHere                          string // where who may mark it does so
	Wrong                             string // a review that was not taken
}

// domainRow is a domain with its lines.
type domainRow struct {
	ID, Label, Points, Max, Count string
	Open                          bool // a review in it is to be read
	Lines                         []markRow
}

// markRow is one mark, in numbers and in a word.
type markRow struct {
	ID, Label, Marks, Word, Reason string
	ByHand                         string // a person's mark, in words
	Asked                          *askedRow
	MayAsk                         bool
	Words                          string // typed, and not taken
	Acts                           []actRef
}

// actRef leads to a moment of the visit.
type actRef struct {
	N     int
	Clock string
}

// findingRow is an actual finding beside what was charted.
type findingRow struct {
	Label, Site, Meaning, Actual, Charted, Mark, Word, Found string
	Acts                                                     []actRef
}

func (s *Server) showDebrief(c *gin.Context) error {
	if led, err := s.leadBefore(c, c.Param("id")); err != nil || led {
		return err
	}
	p, err := s.debriefPage(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return s.debriefNotYet(c, err)
	}
	return s.page(c, "debrief", p)
}

func (s *Server) debriefPage(ctx context.Context, who face.Person, id string) (*debriefPage, error) {
	r, err := s.report(ctx, who, id)
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
	p := debriefPageOf(r, a, cat, s.zone())
	p.Track = trackLabel(r.Track, s.school().of("technician"))
	if p.Plan, err = s.planTold(ctx, who, id); err != nil {
		return nil, err
	}
	if _, err := s.marking(ctx, who, id); err == nil {
		p.MarkHere = "/visits/" + r.Attempt + "/marks"
	}
	return p, nil
}

// debriefNotYet sends the student of a visit that is not graded back to it;
// for everybody else there is nothing here.
func (s *Server) debriefNotYet(c *gin.Context, err error) error {
	a, own := s.attempt(c.Request.Context(), person(c), c.Param("id"))
	if own != nil || a.State == "graded" {
		return err
	}
	return s.redirect(c, "/visits/"+a.ID)
}

func debriefPageOf(r face.Report, a face.Attempt, cat *face.Catalogue, z *time.Location) *debriefPage {
	p := &debriefPage{
		Base: Base{Title: "Debrief of " + r.Patient.Name}, R: r, Signalment: signalment(r.Patient),
		Track: trackLabel(r.Track, "technician"), Began: day(r.Started, z), Duration: clock(r.Clock), EndedText: endedText(r.Ended),
		Verdict: verdict(r), Acts: actRows(a.Acts, cat),
	}
	if r.Person != nil {
		p.Student = r.Person.Name
	}
	p.Named, p.Wanted = orNone(r.Closing.Named), orNone(r.Closing.Expected)
	p.Neutral = strings.Join(r.Closing.Accepted, ", ")
	p.Safety, p.Loss, p.Well = safetyText(r, a), lossText(r), wellText(r)
	clocks := clocksOf(a.Acts)
	for _, d := range r.Domains {
		p.Domains = append(p.Domains, domainRowOf(d, clocks, r.MayAsk, z))
	}
	p.Held, p.Decided, p.Struck = undecided(r), decidedTexts(r, z), struckTexts(r, z)
	p.Hazards = hazardRows(r.Hazards, clocks)
	p.drawWalk(cat)
	for _, v := range r.Vitals {
		p.Vitals = append(p.Vitals, vitalRowOf(v))
	}
	for _, f := range r.Findings {
		row := findingRowOf(f, clocks)
		if field := cat.Field(f.Field); field != nil {
			row.Meaning = field.Meaning
		}
		p.Findings = append(p.Findings, row)
	}
	p.Detection = detectionText(r.Detection)
	p.Sure, p.Forecast = sureToldOf(r, clocks), forecastToldOf(r)
	return p
}

// Lost is what a domain did not earn, as the table shows it.
func (p *debriefPage) Lost(d face.Domain) string {
	if d.Points >= d.Max {
		return "–"
	}
	return pts(d.Max - d.Points)
}

// Points are a domain's points as the table shows them.
func (p *debriefPage) Points(v face.Points) string { return pts(v) }

// pts writes points to a hundredth, which is as fine as anybody reads them.
func pts(v face.Points) string {
	sign := ""
	if v < 0 {
		sign, v = "−", -v
	}
	v = (v + 5) / 10
	return fmt.Sprintf("%s%d.%02d", sign, v/100, v%100)
}

// orNone is a list of problems in words.
func orNone(problems []string) string {
	if len(problems) == 0 {
		return "none"
	}
	return strings.Join(problems, ", ")
}

func trackLabel(track, technician string) string {
	if track == "technician" {
		return "as " + technician
	}
	return "as veterinary student"
}

func endedText(ended string) string {
	switch ended {
	case "arrest":
		return "the visit ended with an arrest"
	case "", "concluded":
		return ""
	case endedLeft:
		return "left without an assessment"
	case endedByTime:
		return "the time ended"
	case endedWhole:
		return "handed in with the whole sitting, without an assessment"
	}
	return "the visit ended: " + ended
}

// verdict says whether it is a pass, and why not.
func verdict(r face.Report) string {
	switch {
	case r.Pass:
		return fmt.Sprintf("✓ Passed. The pass mark is %s.", r.PassMark)
	case waitsForPerson(r):
		return "✕ Not passed: something happened that no patient may meet. A person confirms this before it counts."
	case criticalStands(r):
		return "✕ Not passed: something happened that no patient may meet. A person has looked at it, and it stands."
	case r.Total >= r.PassMark:
		return fmt.Sprintf("✕ Not passed. The total reaches the pass mark of %s, but findings or handling stay below the share that a pass needs.", r.PassMark)
	}
	return fmt.Sprintf("✕ Not passed. The pass mark is %s.", r.PassMark)
}

func domainRowOf(d face.Domain, clocks map[int]string, mayAsk bool, z *time.Location) domainRow {
	row := domainRow{ID: d.ID, Label: d.Label, Points: pts(d.Points), Max: d.Max.String(), Count: lineCount(len(d.Lines))}
	for _, m := range d.Lines {
		line := markRow{ID: m.ID, Label: m.Label, Marks: marks(m), Word: markWord(m), Reason: m.Reason, Acts: actRefs(m.Acts, clocks),
			ByHand: marksOfPeople(m), MayAsk: mayAsk && m.Asked == nil}
		if m.Asked != nil {
			line.Asked, row.Open = askedRowOf(*m.Asked, z), true
		}
		if m.Computed != nil {
			line.Word = "by hand"
		}
		row.Lines = append(row.Lines, line)
	}
	return row
}

// brief writes points as they stand in a sentence: without decimals that say nothing.
func brief(v face.Points) string { return strings.TrimSuffix(pts(v), ".00") }

func lineCount(n int) string {
	if n == 1 {
		return "1 line"
	}
	return fmt.Sprintf("%d lines", n)
}

// marks are a line's points: of its maximum, or alone where it has none.
func marks(m face.Mark) string {
	if m.Max > 0 {
		return pts(m.Points) + " of " + pts(m.Max)
	}
	if m.Points == 0 {
		return ""
	}
	return pts(m.Points)
}

// markWord says the same as the points, with a mark and a word.
func markWord(m face.Mark) string {
	switch {
	case m.Beyond:
		return "– not reached"
	case m.Max == 0 && m.Points == 0:
		return "note"
	case m.Max == 0 && m.Points < 0:
		return "− taken off"
	case m.Max == 0:
		return "+ given"
	case m.Points >= m.Max:
		return "✓ all"
	case m.Points <= 0:
		return "✕ none"
	}
	return "– part"
}

// hazardRow is a hazard with every moment at which it was met.
type hazardRow struct {
	Severity, Why string
	Met, Shown    []actRef
}

// hazardRows gather the same hazard met again into one row, in the order of the first.
func hazardRows(events []face.Event, clocks map[int]string) []hazardRow {
	var rows []hazardRow
	at := map[[2]string]int{}
	for _, e := range events {
		i, ok := at[[2]string{e.Severity, e.Why}]
		if !ok {
			i = len(rows)
			at[[2]string{e.Severity, e.Why}] = i
			rows = append(rows, hazardRow{Severity: e.Severity, Why: sentence(e.Why)})
		}
		rows[i].Met = append(rows[i].Met, actRefs([]int{e.Act}, clocks)...)
		rows[i].Shown = append(rows[i].Shown, actRefs([]int{e.Sign}, clocks)...)
	}
	return rows
}

// hows are the fates of a finding: mark and words.
var hows = map[string][2]string{
	"caught":  {"✓", "found"},
	"partly":  {"–", "found in part"},
	"normal":  {"✕", "examined, called normal"},
	"blank":   {"✕", "examined, not charted"},
	"unseen":  {"✕", "not examined"},
	"refused": {"–", "the animal did not allow it"},
	unreached: {"–", "not reached"},
}

func findingRowOf(f face.Finding, clocks map[int]string) findingRow {
	how, ok := hows[f.How]
	if !ok {
		how = [2]string{"", f.How}
	}
	return findingRow{
		Label: f.Label, Site: f.Site, Actual: f.Actual, Charted: f.Charted, Mark: how[0], Word: how[1],
		Found: strings.Join(f.Steps, "; "), Acts: actRefs(f.Acts, clocks),
	}
}

// clocksOf are the simulated times of the acts.
func clocksOf(acts []face.Act) map[int]string {
	m := make(map[int]string, len(acts))
	for _, a := range acts {
		m[a.N] = clock(a.Clock)
	}
	return m
}

// actRefs are the first few moments behind a line; more would not be read.
func actRefs(acts []int, clocks map[int]string) []actRef {
	const most = 6
	var refs []actRef
	for _, n := range acts {
		at, ok := clocks[n]
		same := len(refs) > 0 && refs[len(refs)-1].Clock == at // what is examined and charted in one moment
		if ok && !same && len(refs) < most {
			refs = append(refs, actRef{n, at})
		}
	}
	return refs
}

// clock writes simulated seconds as minutes and seconds.
func clock(seconds int) string { return fmt.Sprintf("%d:%02d", seconds/60, seconds%60) }

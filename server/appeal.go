package server

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// appealDoc is everything about one visit that somebody needs who judges an
// appeal: what was done, how it was marked, by which versions, and what people
// changed. Nothing of another student is in it.
type appealDoc struct {
	title, about string
	sections     []appealSection
}

// appealSection is a part of it.
type appealSection struct {
	title string
	lines []appealLine
}

// appealLine is one line: what stands in the margin, the text, and figures at the
// right. A line that is strong begins a group.
type appealLine struct {
	left, text, right string
	strong            bool
}

func (p *appealSection) add(left, text, right string) {
	p.lines = append(p.lines, appealLine{left: left, text: text, right: right})
}

// appealSource is what an appeal file is made from.
type appealSource struct {
	marking
	report  face.MarkedReport
	student store.Person
	attempt face.Attempt
	cat     *face.Catalogue
	acts    []store.Act
	scheme  rubric.Rubric
}

func (s *Server) appealSource(ctx context.Context, who face.Person, id string) (a appealSource, err error) {
	if a.marking, err = s.marking(ctx, who, id); err != nil {
		return a, err
	}
	if a.report, err = s.reportToMark(ctx, who, a.marking); err != nil {
		return a, err
	}
	if a.student, err = s.store.Person(ctx, a.visit.Person); err != nil {
		return a, fmt.Errorf("appeal: %w", err)
	}
	if a.attempt, err = s.attempt(ctx, who, id); err != nil {
		return a, err
	}
	if a.cat, err = s.catalogue(a.report.Patient.Species); err != nil {
		return a, err
	}
	if a.acts, err = s.store.Acts(ctx, a.visit.Transcript, 0); err != nil {
		return a, fmt.Errorf("appeal: %w", err)
	}
	a.scheme, err = s.scheme(ctx, a.visit)
	return a, err
}

// appealDoc puts the file together.
func (s *Server) appealDoc(a appealSource) appealDoc {
	return appealDoc{
		title: "Appeal file: " + cmp.Or(a.student.Name, erasedName) + ", " + a.report.Patient.Name,
		about: "visit " + a.visit.ID + ", made " + s.moment(s.now()),
		sections: []appealSection{s.appealCover(a), appealReport(a), appealDecided(a), s.appealHistory(a),
			appealFound(a), s.appealActs(a)},
	}
}

// appealCover says who, when, and by which versions.
func (s *Server) appealCover(a appealSource) appealSection {
	r, v := a.report, a.visit
	key := sha256.Sum256(v.Key)
	p := appealSection{title: "What this is about"}
	for _, row := range [][2]string{
		{"Student", joinSet([]string{cmp.Or(a.student.Name, erasedName), a.student.Number, a.student.Login}, ", ")},
		{"Cohort", a.cohort.Name},
		{"Assignment", fmt.Sprintf("%s, try %d", a.assignment.Title, a.turn.Try)},
		{"Patient", joinSet([]string{r.Patient.Name, signalment(r.Patient)}, ", ")},
		{"Presenting", r.Patient.Presenting},
		{"Began", s.moment(v.Started)},
		{"Handed in", joinSet([]string{s.moment(v.Finished), endedText(v.Ended)}, "; ")},
		{"Total", fmt.Sprintf("%s of %s points; pass mark %s. %s.", pts(r.Total), r.Max, r.PassMark, plainResult(r))},
		{"Computed", pts(cmpTotal(r)) + " points, by the engine alone"},
		{"Excused", cmp.Or(a.turn.Excused, "no")},
		{"Engine", r.Engine},
		{"Rubric", fmt.Sprintf("%s, version %d, SHA-256 %s", r.Rubric, a.scheme.Version, v.RubricHash)},
		{"Answer key", "SHA-256 " + hex.EncodeToString(key[:])},
		{"Case", "SHA-256 " + v.CaseHash},
		{"Catalogue", "SHA-256 " + v.CatalogueHash},
		{"Ranges", "SHA-256 " + cmp.Or(v.RangesHash, "none kept")},
		{"Sounds", cmp.Or(r.Sounds, "heard only")},
	} {
		p.add(row[0], row[1], "")
	}
	return p
}

// plainResult is the result without marks that a font may lack.
func plainResult(r face.MarkedReport) string {
	switch {
	case len(r.Waits) > 0:
		return "Something waits for a person"
	case r.Pass:
		return "Passed"
	}
	return "Not passed"
}

func cmpTotal(r face.MarkedReport) face.Points {
	if r.Computed != nil {
		return *r.Computed
	}
	return r.Total
}

// appealReport is the report line by line.
func appealReport(a appealSource) appealSection {
	p := appealSection{title: "The report, line by line"}
	for _, d := range a.report.Domains {
		p.lines = append(p.lines, appealLine{text: d.Label, right: pts(d.Points) + " of " + d.Max.String(), strong: true})
		for _, l := range d.Lines {
			text := l.Label + ". " + l.Reason
			if len(l.Acts) > 0 {
				text += " " + actNumbers(l.Acts)
			}
			p.add("", text, plainMarks(l))
			if l.Computed != nil {
				p.add("", "Marked by a person. Computed: "+pts(*l.Computed)+". "+sentence(l.Because), "")
			}
		}
	}
	for _, v := range a.report.Void {
		p.add("", "A mark of a person that no longer counts, for its line is struck: "+v.Line+". "+sentence(v.Reason), pts(v.Points))
	}
	return p
}

// plainMarks are a line's points with a hyphen for a minus.
func plainMarks(l face.Mark) string { return strings.ReplaceAll(marks(l), "−", "-") }

// actNumbers name the acts behind a line.
func actNumbers(acts []int) string {
	const most = 12
	var parts []string
	for i, n := range acts {
		if i == most {
			parts = append(parts, "...")
			break
		}
		parts = append(parts, fmt.Sprint(n))
	}
	if len(acts) == 1 {
		return "(act " + parts[0] + ")"
	}
	return "(acts " + strings.Join(parts, ", ") + ")"
}

// appealDecided are the critical events and flags.
func appealDecided(a appealSource) appealSection {
	p := appealSection{title: "Critical events and flags"}
	for _, h := range waitRows(a.report, clocksOf(a.attempt.Acts), nil) {
		said := "Nobody has decided."
		if !h.Waits {
			said = "It does not stand. " + sentence(h.Because)
			if h.Stands {
				said = "It stands. " + sentence(h.Because)
			}
		}
		shown := ""
		if len(h.Shown) > 0 {
			shown = " The animal had shown it at " + refText(h.Shown) + "."
		}
		met := ""
		if len(h.Met) > 0 {
			met = " Met at " + refText(h.Met) + "."
		}
		p.add(h.Kind, h.Text+met+shown+" "+said, "")
	}
	if len(p.lines) == 0 {
		p.add("", "There were none.", "")
	}
	return p
}

func refText(refs []actRef) string {
	var parts []string
	for _, r := range refs {
		parts = append(parts, fmt.Sprintf("%s (act %d)", r.Clock, r.N))
	}
	return strings.Join(parts, ", ")
}

// appealHistory is everything that people did, by name, with time and reason.
func (s *Server) appealHistory(a appealSource) appealSection {
	p := appealSection{title: "What people decided and changed"}
	for _, d := range a.report.History {
		text := cmp.Or(d.By, "Somebody") + " " + d.What
		if d.Reason != "" {
			text = sentence(text) + " Reason: " + d.Reason
		}
		p.add(s.moment(d.At), text, "")
	}
	for _, x := range a.report.Struck {
		p.add("In force", x.What+" "+sentence(x.Because), "")
	}
	if len(p.lines) == 0 {
		p.add("", "Nobody changed or decided anything.", "")
	}
	return p
}

// appealFound is what was there beside what was charted and concluded.
func appealFound(a appealSource) appealSection {
	p := appealSection{title: "What was there, and what was charted"}
	for _, v := range a.report.Vitals {
		p.add("", v.Label+". "+vitalText(v), "")
	}
	for _, f := range a.report.Findings {
		p.add("", joinSet([]string{f.Label, f.Site}, ", ")+": "+f.Actual+". Charted: "+cmp.Or(f.Charted, "nothing")+".", "")
	}
	c := a.report.Closing
	p.add("", "Problems. Concluded: "+orNone(c.Named)+". Expected: "+orNone(c.Expected)+". Neither for nor against: "+orNone(c.Accepted)+".", "")
	p.add("", "Urgency. Concluded: "+cmp.Or(c.Urgency, "not said")+". Expected: "+c.ExpectedUrgency+".", "")
	return p
}

// appealActs is the visit act by act, by the clock of the visit and of the wall.
func (s *Server) appealActs(a appealSource) appealSection {
	p := appealSection{title: "The visit, act by act"}
	zone := s.zone()
	p.lines = append(p.lines, appealLine{left: "Act, its clock", text: "What was done, and what was found", right: "Time of day", strong: true})
	for i, row := range actRows(a.attempt.Acts, a.cat) {
		at := ""
		if i < len(a.acts) {
			at = a.acts[i].At.In(zone).Format("15:04:05")
		}
		p.add(fmt.Sprintf("%d  %s", row.N, row.Clock), joinSet([]string{row.Text + ".", row.Found}, " "), at)
	}
	if len(p.lines) == 1 {
		p.add("", "Nothing was done.", "")
	}
	return p
}

// appealFile reads the visit, makes the PDF and notes that it was handed out.
func (s *Server) appealFile(c *gin.Context, kind string) (appealSource, []byte, error) {
	ctx := c.Request.Context()
	a, err := s.appealSource(ctx, person(c), c.Param("id"))
	if err != nil {
		return a, nil, err
	}
	pdf, err := s.appealDoc(a).pdf(s.now())
	if err != nil {
		return a, nil, fmt.Errorf("appeal: %w", err)
	}
	note := a.note(person(c), deedAppeal, "")
	note.Detail = kind
	if err := s.store.Record(ctx, note); err != nil {
		return a, nil, fmt.Errorf("appeal: %w", err)
	}
	c.Header("Content-Disposition", fmt.Sprintf("attachment; filename=%q", "appeal-"+a.visit.ID+"."+kind))
	return a, pdf, nil
}

func (s *Server) appealPDF(c *gin.Context) error {
	_, pdf, err := s.appealFile(c, "pdf")
	if err != nil {
		return err
	}
	s.data(c, "application/pdf", pdf)
	return nil
}

func (s *Server) appealZIP(c *gin.Context) error {
	a, pdf, err := s.appealFile(c, "zip")
	if err != nil {
		return err
	}
	body, err := s.appealArchive(c.Request.Context(), a, pdf)
	if err != nil {
		return fmt.Errorf("appeal: %w", err)
	}
	s.data(c, "application/zip", body)
	return nil
}

// appealReadMe says what is in the archive.
const appealReadMe = `appeal.pdf        everything below for people, with every change by name, time and reason
report.json       the report as the pages show it, with what people decided and the history
transcript.jsonl  the acts of the visit, one a line, as "dewclaw grade" reads them
rubric.yaml       the rubric by which it was marked
ranges.csv        the reference ranges by which it was marked

Simulated patients, for teaching. Nothing here advises on a real animal.
`

func (s *Server) appealArchive(ctx context.Context, a appealSource, pdf []byte) ([]byte, error) {
	report, err := json.MarshalIndent(a.report, "", "  ")
	if err != nil {
		return nil, err
	}
	t, err := s.transcript(ctx, a.visit)
	if err != nil {
		return nil, err
	}
	var acts bytes.Buffer
	if err := rubric.WriteActs(&acts, t); err != nil {
		return nil, err
	}
	scheme, err := s.store.Content(ctx, a.visit.RubricHash)
	if err != nil {
		return nil, err
	}
	var ranges []byte
	if a.visit.RangesHash != "" {
		if ranges, err = s.store.Content(ctx, a.visit.RangesHash); err != nil {
			return nil, err
		}
	}
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, f := range []struct {
		name string
		body []byte
	}{{"read me.txt", []byte(appealReadMe)}, {"appeal.pdf", pdf}, {"report.json", report}, {"transcript.jsonl", acts.Bytes()},
		{"rubric.yaml", scheme}, {"ranges.csv", ranges}} {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: s.now()}
		to, err := w.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := to.Write(f.body); err != nil {
			return nil, err
		}
	}
	err = w.Close()
	return buf.Bytes(), err
}

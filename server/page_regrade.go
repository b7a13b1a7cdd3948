package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// regradePage is where visits are marked anew: what can be proposed, what was,
// and one proposal with every changed mark.
type regradePage struct {
	Base
	ID, RubricTitle string
	From            []rubricRow // versions whose visits can be marked anew
	To              []rubricRow // newer versions
	Patients        []face.Term
	All             []regradingRow
	One             *regradingView
	Wrong           string
	WrongVisits     []string // visits that were changed in between
	MayLeave        bool     // the others may be done without them
	Deed, Reason    string   // what was asked and did not go
}

// regradingRow is a regrading in a list.
type regradingRow struct {
	ID, Began, By, Versions, State string
	Here                           bool
}

// regradingView is one regrading with its marks.
type regradingView struct {
	ID, State, StateText     string
	From, To, Patient        string
	Sentences                []string
	Working                  bool
	CanAccept, CanUndo       bool
	Visits                   []changedVisit
	Page, Pages, Prev, Next  int
	Refused                  []refusedVisit
	RefusedMore              int
	Trail                    []trailRow
	AcceptWords, UndoWords   string
	Changed, Visited, Engine int
}

// changedVisit is a visit of which a mark changes.
type changedVisit struct {
	ID, Student, Patient, Old, New, Turn, Count string
	Domains                                     []changedDomain
	Notes                                       []string
}

// changedDomain is a domain with its changed marks.
type changedDomain struct {
	Label, Old, New string
	Marks           []changedMarkRow
}

// changedMarkRow is one changed mark.
type changedMarkRow struct{ Label, Old, New, Why string }

// refusedVisit could not be marked anew.
type refusedVisit struct{ ID, Student, Patient, Why string }

// trailRow is one deed: who, when, why.
type trailRow struct{ At, By, Deed, Reason string }

// regradePageSize is how many visits are unfolded into one page.
const regradePageSize = 20

func (s *Server) showRegrade(c *gin.Context) error {
	p, err := s.regradePage(c.Request.Context(), c.Param("id"), c.Query("of"), c.Query("page"))
	if err != nil {
		return err
	}
	return s.page(c, "regrade", p)
}

// regradeForm is what the page sends.
type regradeForm struct {
	Deed, Of, From, To, Patient, Reason string
	Leave                               bool
}

// deeds are what can be asked of the page.
var deeds = map[string]func(*Server, context.Context, face.Person, string, regradeForm) (of, notice string, err error){
	"propose":  (*Server).doPropose,
	"withdraw": (*Server).doWithdraw,
	"accept":   (*Server).doAccept,
	"undo":     (*Server).doUndo,
}

func (s *Server) doRegrade(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	f := regradeForm{Deed: c.PostForm("deed"), Of: c.PostForm("of"), From: c.PostForm("from"), To: c.PostForm("to"),
		Patient: c.PostForm("patient"), Reason: strings.TrimSpace(c.PostForm("reason")), Leave: c.PostForm("leave") == "yes"}
	deed := deeds[f.Deed]
	if deed == nil {
		return invalid("/deed", "One of propose, withdraw, accept, undo.")
	}
	of, notice, err := deed(s, ctx, person(c), id, f)
	if err == nil {
		s.notice(c, notice)
		return s.redirect(c, "/rubrics/"+url.PathEscape(id)+"/regrade?of="+of)
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.regradePage(ctx, id, f.Of, "")
	if again != nil {
		return again
	}
	p.wrong(row, fault, f)
	return s.write(c, row.status, "regrade", p)
}

// wrong puts what did not go onto the page, with what was typed.
func (p *regradePage) wrong(row statusRow, fault *Fault, f regradeForm) {
	p.Wrong, p.Deed, p.Reason = row.text, f.Deed, f.Reason
	for _, field := range fault.Fields {
		if id, ok := strings.CutPrefix(field.Pointer, "/visits/"); ok {
			p.WrongVisits, p.MayLeave = append(p.WrongVisits, id), true
			continue
		}
		p.Wrong += " " + field.Detail
	}
}

func (s *Server) doPropose(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	all, _, err := s.versions(ctx, id)
	if err != nil {
		return "", "", err
	}
	from, to := byKey(all, f.From), byKey(all, f.To)
	if from == nil || to == nil {
		return "", "", invalid("/from", "Choose an earlier and a newer version.")
	}
	caseID := ""
	if f.Patient != "" {
		k, err := s.caseOf(f.Patient)
		if err != nil {
			return "", "", invalid("/patient", "Choose one of the patients, or all.")
		}
		caseID = k.ID
	}
	g, err := s.propose(ctx, who.ID, from, to, caseID)
	return g.ID, "The marks are being worked out. Nothing changes until you accept them.", err
}

func byKey(all []*shelved, key string) *shelved {
	for _, row := range all {
		if row.key() == key {
			return row
		}
	}
	return nil
}

// regradingOf finds a regrading of this rubric.
func (s *Server) regradingOf(ctx context.Context, rubricID, of string) (store.Regrading, error) {
	g, err := s.store.Regrading(ctx, of)
	if err != nil {
		return g, missing("regrading", err)
	}
	if g.Rubric != rubricID {
		return g, ErrMissing
	}
	return g, nil
}

func (s *Server) doWithdraw(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	g, err := s.regradingOf(ctx, id, f.Of)
	if err != nil {
		return "", "", err
	}
	return g.ID, "Withdrawn. No mark was changed.", changedFault(s.store.Withdraw(ctx, g.ID, who.ID))
}

func (s *Server) doAccept(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	return s.settle(ctx, who, id, f, s.store.Accept, "now marked by the newer version")
}

func (s *Server) doUndo(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	return s.settle(ctx, who, id, f, s.store.Undo, "marked as before again")
}

func (s *Server) settle(ctx context.Context, who face.Person, id string, f regradeForm, do settle, words string) (string, string, error) {
	g, err := s.regradingOf(ctx, id, f.Of)
	if err != nil {
		return "", "", err
	}
	n, err := do(ctx, g.ID, who.ID, f.Reason, f.Leave)
	if err != nil {
		return "", "", changedFault(err)
	}
	is := "are"
	if n == 1 {
		is = "is"
	}
	return g.ID, fmt.Sprintf("Done: %s %s %s.", count(n, "visit"), is, words), nil
}

func (s *Server) regradePage(ctx context.Context, id, of, pageNr string) (*regradePage, error) {
	all, uses, err := s.versions(ctx, id)
	if err != nil {
		return nil, err
	}
	p := &regradePage{Base: Base{Title: "Mark visits anew"}, ID: id, RubricTitle: all[0].Title}
	p.choices(all, uses)
	for _, k := range s.library.Cases() {
		p.Patients = append(p.Patients, face.Term{ID: s.opaque(k.ID), Label: k.Signalment.Name + ": " + k.Title})
	}
	names, err := s.staffNames(ctx)
	if err != nil {
		return nil, err
	}
	list, err := s.store.Regradings(ctx, id)
	if err != nil {
		return nil, fmt.Errorf("regradings: %w", err)
	}
	for _, g := range list {
		p.All = append(p.All, regradingRow{ID: g.ID, Began: day(g.At), By: names[g.By], State: stateWords[g.State].label, Here: g.ID == of,
			Versions: fmt.Sprintf("%s to %s", versionOf(all, g.From), versionOf(all, g.To))})
	}
	if of == "" {
		return p, nil
	}
	g, err := s.regradingOf(ctx, id, of)
	if err != nil {
		return nil, err
	}
	p.One, err = s.regradingView(ctx, g, all, names, pageNr)
	return p, err
}

// choices are the versions between which visits can be marked anew: from one
// that marks graded visits to a newer one among the files.
func (p *regradePage) choices(all []*shelved, uses rubricUse) {
	oldest := 0
	for _, row := range all {
		if uses[row.Hash].Graded > 0 && (oldest == 0 || row.Version < oldest) {
			oldest = row.Version
		}
	}
	shelfNewest := 0
	for _, row := range all {
		if oldest > 0 && row.Version > oldest && !row.Kept {
			p.To = append(p.To, rubricRowOf(row, uses[row.Hash]))
			shelfNewest = max(shelfNewest, row.Version)
		}
	}
	for _, row := range all {
		if uses[row.Hash].Graded > 0 && row.Version < shelfNewest {
			p.From = append(p.From, rubricRowOf(row, uses[row.Hash]))
		}
	}
}

// versionOf says a version in words.
func versionOf(all []*shelved, hash string) string {
	for _, row := range all {
		if row.Hash == hash {
			return fmt.Sprintf("version %d", row.Version)
		}
	}
	return "a version that is gone"
}

// staffNames are the names behind person ids.
func (s *Server) staffNames(ctx context.Context) (map[string]string, error) {
	people, err := s.people(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, p := range people {
		if out[p.ID] = p.Name; p.Name == "" {
			out[p.ID] = "somebody who is erased"
		}
	}
	return out, nil
}

// stateWords say a regrading's state, in a list and as a sentence.
var stateWords = map[string]struct{ label, sentence string }{
	store.RegradeWorking:   {"being worked out", "The new marks are being worked out. Nothing is in force."},
	store.RegradeProposed:  {"proposed", "Proposed: these marks are worked out, and nothing is in force. Read them, then accept or withdraw."},
	store.RegradeAccepted:  {"accepted", "Accepted: the new marks are in force. The earlier reports are kept and can be put back."},
	store.RegradeUndone:    {"undone", "Undone: the earlier reports were put back, byte for byte."},
	store.RegradeWithdrawn: {"withdrawn", "Withdrawn before it was in force. No mark was changed."},
}

func (s *Server) regradingView(ctx context.Context, g store.Regrading, all []*shelved, names map[string]string, pageNr string) (*regradingView, error) {
	sum, err := s.store.RegradeSummary(ctx, g.ID)
	if err != nil {
		return nil, fmt.Errorf("regrading: %w", err)
	}
	v := &regradingView{ID: g.ID, State: g.State, StateText: stateWords[g.State].sentence, From: versionOf(all, g.From), To: versionOf(all, g.To),
		Working: g.State == store.RegradeWorking, CanAccept: g.State == store.RegradeProposed && sum.Visits > 0,
		CanUndo: g.State == store.RegradeAccepted && sum.InForce > 0, Changed: sum.Changed, Visited: sum.Visits, Engine: sum.OtherEngine}
	if k := s.library.Case(g.Case); k != nil {
		v.Patient = k.Signalment.Name + ": " + k.Title
	}
	if g.State != store.RegradeWithdrawn {
		v.Sentences = append(sentencesOf(sum), leftOut(g.State, sum)...)
	}
	v.AcceptWords = "Accept the marks of " + count(sum.Visits, "visit")
	v.UndoWords = "Put the earlier reports of " + count(sum.InForce, "visit") + " back"
	if err := s.fillVisits(ctx, v, g, pageNr); err != nil {
		return nil, err
	}
	return v, s.fillTrail(ctx, v, g, names, sum.Refused)
}

// sentencesOf says what a regrading changes, before anybody accepts it.
func sentencesOf(m store.RegradeSummary) []string {
	out := []string{fmt.Sprintf("%s marked anew: in %d of them a mark changes, in %d the total.", were(m.Visits, "visit"), m.Changed, m.Totals)}
	if m.ToFail+m.ToPass == 0 {
		out = append(out, "No visit changes between passed and not passed.")
	} else {
		out = append(out, fmt.Sprintf("From passed to not passed: %d. From not passed to passed: %d.", m.ToFail, m.ToPass))
	}
	if m.Totals > 0 {
		out = append(out, fmt.Sprintf("Totals move by %s to %s points, on average by %s.",
			signed(m.Least), signed(m.Most), signed(m.Sum/int64(m.Visits))))
	}
	if m.OtherEngine > 0 {
		out = append(out, fmt.Sprintf("%s marked by another version of the grading engine before: what changes there may come from the engine as well as from the rubric.", were(m.OtherEngine, "visit")))
	}
	if m.Refused > 0 {
		out = append(out, fmt.Sprintf("%s not marked anew and keep their marks; the reasons stand below.", were(m.Refused, "visit")))
	}
	return out
}

// leftOut says of how many visits the marks were left as somebody else made them.
func leftOut(state string, m store.RegradeSummary) []string {
	switch {
	case state == store.RegradeAccepted && m.InForce < m.Visits:
		return []string{fmt.Sprintf("In force for %s; the others were changed meanwhile and left as they are.", count(m.InForce, "visit"))}
	case state == store.RegradeUndone && m.InForce > 0:
		return []string{fmt.Sprintf("%s changed after acceptance and left as they are.", were(m.InForce, "visit"))}
	}
	return nil
}

// signed is a difference of points with its sign.
func signed(milli int64) string {
	if milli > 0 {
		return "+" + pts(face.Points(milli))
	}
	return pts(face.Points(milli))
}

func (s *Server) fillVisits(ctx context.Context, v *regradingView, g store.Regrading, pageNr string) error {
	v.Pages = max(1, (v.Changed+regradePageSize-1)/regradePageSize)
	v.Page = 1
	if n, err := strconv.Atoi(pageNr); err == nil && n >= 1 && n <= v.Pages {
		v.Page = n
	}
	if v.Page > 1 {
		v.Prev = v.Page - 1
	}
	if v.Page < v.Pages {
		v.Next = v.Page + 1
	}
	visits, err := s.store.ChangedVisits(ctx, g.ID, (v.Page-1)*regradePageSize, regradePageSize)
	if err != nil {
		return fmt.Errorf("changed visits: %w", err)
	}
	for _, x := range visits {
		row, err := s.changedVisit(ctx, x)
		if err != nil {
			return err
		}
		v.Visits = append(v.Visits, row)
	}
	return nil
}

func (s *Server) changedVisit(ctx context.Context, x store.RegradedVisit) (changedVisit, error) {
	earlier, err := rubric.DecodeReport(x.Earlier.Packed)
	if err != nil {
		return changedVisit{}, err
	}
	later, err := rubric.DecodeReport(x.Later.Packed)
	if err != nil {
		return changedVisit{}, err
	}
	_, k, cat := s.catalogueOf(ctx, x)
	marks := changedMarks(earlier, later)
	row := changedVisit{ID: x.ID, Student: studentOf(x), Patient: patientName(k), Old: pts(face.Points(earlier.Total)), New: pts(face.Points(later.Total)),
		Turn: turnWords(earlier.Pass, later.Pass), Count: count(len(marks), "mark")}
	row.Domains = changedDomains(earlier, later, marks, cat)
	row.Notes = heldNotes(earlier, later)
	return row, nil
}

// catalogueOf finds the words of a visit: those that it began with, else today's.
func (s *Server) catalogueOf(ctx context.Context, x store.RegradedVisit) (*cases.Library, *cases.Case, *cases.Catalogue) {
	lib, k, err := s.asStored(ctx, store.Attempt{Case: x.Case, CaseHash: x.CaseHash, CatalogueHash: x.Catalog})
	if err != nil {
		lib, k = s.library, s.library.Case(x.Case)
	}
	if k == nil {
		return lib, nil, &cases.Catalogue{} // ids stand in for labels
	}
	return lib, k, lib.Catalogue(k.Species)
}

func patientName(k *cases.Case) string {
	if k == nil {
		return "a patient that is gone"
	}
	return k.Signalment.Name
}

func studentOf(x store.RegradedVisit) string {
	if x.Name == "" {
		return "somebody who is erased"
	}
	return x.Name
}

// turnWords say what becomes of a pass.
func turnWords(before, after bool) string {
	switch {
	case before && !after:
		return "✕ no longer passes"
	case after && !before:
		return "✓ now passes"
	case after:
		return "passed, as before"
	}
	return "not passed, as before"
}

func changedDomains(earlier, later rubric.Report, all []changedMark, cat *cases.Catalogue) []changedDomain {
	var out []changedDomain
	w := cat.Words()
	points := func(r rubric.Report, id string) string {
		i := slices.IndexFunc(r.Domains, func(d rubric.Domain) bool { return d.ID == id })
		if i < 0 {
			return "–"
		}
		return pts(face.Points(r.Domains[i].Points)) + " of " + pts(face.Points(r.Domains[i].Max))
	}
	for _, m := range all {
		if len(out) == 0 || out[len(out)-1].Label != domainLabels[m.Domain] {
			out = append(out, changedDomain{Label: domainLabels[m.Domain], Old: points(earlier, m.Domain), New: points(later, m.Domain)})
		}
		d := &out[len(out)-1]
		line := m.Later
		if line == nil {
			line = m.Old
		}
		d.Marks = append(d.Marks, changedMarkRow{Label: lineLabel(line.ID, w), Old: markText(m.Old), New: markText(m.Later), Why: m.why(w)})
	}
	return out
}

// markText is a mark in figures.
func markText(l *rubric.Line) string {
	if l == nil {
		return "–"
	}
	if text := marks(face.Mark{Points: face.Points(l.Points), Max: face.Points(l.Max)}); text != "" {
		return text
	}
	return "0.00"
}

// heldNotes say what else changes: critical events, and what a person must look at.
func heldNotes(earlier, later rubric.Report) []string {
	var out []string
	if a, b := len(earlier.Critical), len(later.Critical); a != b {
		out = append(out, fmt.Sprintf("Critical events: %d before, %d now.", a, b))
	}
	if a, b := heldList(earlier), heldList(later); a != b {
		out = append(out, "A person must look: "+a+" before, "+b+" now.")
	}
	return out
}

func heldList(r rubric.Report) string {
	if len(r.Held) == 0 {
		return "nothing"
	}
	return strings.Join(r.Held, ", ")
}

func (s *Server) fillTrail(ctx context.Context, v *regradingView, g store.Regrading, names map[string]string, refused int) error {
	trail, err := s.store.RegradingEvents(ctx, g.ID)
	if err != nil {
		return fmt.Errorf("regrading: %w", err)
	}
	for _, e := range trail {
		v.Trail = append(v.Trail, trailRow{At: day(e.At), By: names[e.By], Deed: deedWords[e.Deed], Reason: e.Reason})
	}
	rows, err := s.store.RefusedVisits(ctx, g.ID, regradePageSize)
	if err != nil {
		return fmt.Errorf("regrading: %w", err)
	}
	for _, x := range rows {
		v.Refused = append(v.Refused, refusedVisit{ID: x.ID, Student: studentOf(x), Patient: patientName(s.library.Case(x.Case)), Why: x.Refused})
	}
	v.RefusedMore = refused - len(rows)
	return nil
}

// deedWords say what was done.
var deedWords = map[string]string{"propose": "proposed", "accept": "accepted", "undo": "put back", "withdraw": "withdrawn"}

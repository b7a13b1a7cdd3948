package server

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/say"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// regradingView is one regrading with its marks.
type regradingView struct {
	ID, State, StateText     string
	Action, More             string // where its forms go; its own page, with a query
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

	Reason   string // typed, and it did not go
	MayLeave bool   // the others may be done without those that changed meanwhile
	Note     string // who signs
	Barred   bool   // not this person
	Alone    bool   // this person may, if there is nobody else
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

func (s *Server) regradingView(ctx context.Context, g store.Regrading, names map[string]string, pageNr string) (*regradingView, error) {
	sum, err := s.store.RegradeSummary(ctx, g.ID)
	if err != nil {
		return nil, fmt.Errorf("regrading: %w", err)
	}
	v := &regradingView{ID: g.ID, State: g.State, StateText: stateWords[g.State].sentence,
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
		row, err := s.changedVisit(ctx, g, x)
		if err != nil {
			return err
		}
		v.Visits = append(v.Visits, row)
	}
	return nil
}

func (s *Server) changedVisit(ctx context.Context, g store.Regrading, x store.RegradedVisit) (changedVisit, error) {
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
	row.Domains = changedDomains(earlier, later, marks, quietly(cat.Words(), cat, x.Sounds))
	row.Notes = heldNotes(earlier, later)
	return row, s.withPeoples(ctx, g, x.Transcript, earlier, later, &row)
}

// withPeoples lays over both reports of a visit what people decided about it, and
// says so: their marks hold under the new key as well.
func (s *Server) withPeoples(ctx context.Context, g store.Regrading, transcript int64, earlier, later rubric.Report, row *changedVisit) error {
	overrides, decisions, err := s.peoplesMarks(ctx, transcript)
	if err != nil || len(overrides)+len(decisions) == 0 {
		return err
	}
	visit, err := s.store.AttemptByTranscript(ctx, transcript)
	if err != nil {
		return fmt.Errorf("changed visit: %w", err)
	}
	from, err := s.scheme(ctx, visit)
	if err != nil {
		return err
	}
	to := from
	if g.Assignment == "" {
		was, err := s.keptRubric(ctx, g.From)
		if err != nil {
			return err
		}
		is, err := s.keptRubric(ctx, g.To)
		if err != nil {
			return err
		}
		from, to = was.Rubric, is.Rubric
	}
	a, b := exam.Settle(earlier, from, overrides, decisions), exam.Settle(later, to, overrides, decisions)
	row.Old, row.New, row.Turn = pts(face.Points(a.Total)), pts(face.Points(b.Total)), turnWords(a.Pass, b.Pass)
	row.Notes = append(row.Notes, "Somebody has marked or decided something of this visit by hand; the totals are with that.")
	if n := len(b.Void) - len(a.Void); n > 0 {
		row.Notes = append(row.Notes, fmt.Sprintf("%s by hand no longer count, for their line is struck.", count(n, "mark")))
	}
	return nil
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

func changedDomains(earlier, later rubric.Report, all []changedMark, w say.Words) []changedDomain {
	var out []changedDomain
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
		v.Trail = append(v.Trail, trailRow{At: s.day(e.At), By: names[e.By], Deed: deedWords[e.Deed], Reason: e.Reason})
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

package server

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// strikeAsk is a change of the marking of one patient for everybody.
type strikeAsk struct {
	patient string // opaque id
	change  rubric.Amendment
	reason  string
}

// proposeStrike begins to work out what a change of the key comes to for
// everybody of an assignment who met a patient. Nothing is in force before a
// second person signs.
func (s *Server) proposeStrike(ctx context.Context, who face.Person, id string, f strikeAsk) (store.Regrading, error) {
	a, _, err := s.toMark(ctx, who, id)
	if err != nil {
		return store.Regrading{}, err
	}
	k, err := s.caseOf(f.patient)
	if err != nil || !slices.Contains(slices.Concat(a.Slots...), k.ID) {
		return store.Regrading{}, invalid("/patient", "One of the patients of this assignment.")
	}
	if f.reason, err = whyMarked(f.reason); err != nil {
		return store.Regrading{}, err
	}
	slices.Sort(f.change.Strike)
	slices.Sort(f.change.Accept)
	f.change.Strike, f.change.Accept = slices.Compact(f.change.Strike), slices.Compact(f.change.Accept)
	if err := s.mayAmend(ctx, a, k.ID, f.change); err != nil {
		return store.Regrading{}, err
	}
	text, err := json.Marshal(f.change)
	if err != nil {
		return store.Regrading{}, fmt.Errorf("propose: %w", err)
	}
	hash, err := s.store.PutContent(ctx, text)
	if err != nil {
		return store.Regrading{}, fmt.Errorf("propose: %w", err)
	}
	g, err := s.store.Propose(ctx, store.NewRegrading{By: who.ID, From: hash, To: hash, Case: k.ID, Assignment: a.ID, Reason: f.reason})
	if err != nil {
		return g, fmt.Errorf("propose: %w", err)
	}
	s.wakeRegrading()
	return g, nil
}

// mayAmend says whether a change does anything: its lines are lines of somebody's
// report that can be struck, its words are the catalogue's.
func (s *Server) mayAmend(ctx context.Context, a store.Assignment, caseID string, c rubric.Amendment) error {
	if len(c.Strike) == 0 && c.Urgency == "" && len(c.Accept) == 0 {
		return invalid("/strike", "Choose at least one line to strike, another urgency, or a problem that is to count neither for nor against.")
	}
	lines, err := s.strikable(ctx, a, caseID)
	if err != nil {
		return err
	}
	if len(lines) == 0 {
		return &Fault{Kind: ErrNotNow, Text: "Nobody's visit to this patient is marked yet."}
	}
	for _, id := range c.Strike {
		if !slices.ContainsFunc(lines, func(l strikeLine) bool { return l.ID == id }) {
			return invalid("/strike", fmt.Sprintf("%q is no line that can be struck here.", id))
		}
	}
	cat := s.library.Catalogue(s.library.Case(caseID).Species)
	if c.Urgency != "" && !slices.Contains(urgencies, c.Urgency) {
		return invalid("/urgency", "One of routine, same day, emergency.")
	}
	for _, id := range c.Accept {
		if cat.Words().Problem(id) == id {
			return invalid("/accept", fmt.Sprintf("%q is no problem of the catalogue.", id))
		}
	}
	return nil
}

// urgencies are how urgent something can be.
var urgencies = []string{"routine", "same day", "emergency"}

// strikeLine is a line that can be struck, with how it went.
type strikeLine struct {
	ID, Label, Domain string
	Visits            int // in which it stands
	Full, None        int // of them: earned wholly, earned nothing
	Earned, Max       rubric.Points
}

// strikable are the lines of everybody's reports on a patient of an assignment
// that can be struck, in the order of the reports.
func (s *Server) strikable(ctx context.Context, a store.Assignment, caseID string) ([]strikeLine, error) {
	rows, err := s.store.MarkedVisits(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("strike: %w", err)
	}
	var out []strikeLine
	at := map[string]int{}
	for _, row := range rows {
		if row.Case != caseID || row.Mark == nil {
			continue
		}
		visit, err := s.store.Attempt(ctx, row.ID)
		if err != nil {
			return nil, missing("strike", err)
		}
		if err := s.gatherLines(ctx, visit, &out, at); err != nil {
			return nil, err
		}
	}
	order := map[string]int{}
	for i, d := range domainOrder {
		order[d] = i
	}
	slices.SortStableFunc(out, func(a, b strikeLine) int { return cmp.Compare(order[a.Domain], order[b.Domain]) })
	return out, nil
}

// domainOrder are the domains as a report has them.
var domainOrder = []string{"order", "completeness", "findings", "vitals", "handling", "conclusions"}

// gatherLines adds the lines of one visit that its key could do without.
func (s *Server) gatherLines(ctx context.Context, visit store.Attempt, out *[]strikeLine, at map[string]int) error {
	m, err := s.marked(ctx, visit)
	if err != nil {
		return err
	}
	key, err := rubric.DecodeKey(visit.Key)
	if err != nil {
		return fmt.Errorf("strike: %w", err)
	}
	_, _, cat, err := s.kept(ctx, visit)
	if err != nil {
		return err
	}
	w := quietly(s.words(cat), cat, visit.Alternatives)
	for _, d := range m.report.Domains {
		for _, l := range d.Lines {
			i, known := at[l.ID]
			if l.Max <= 0 || !known && !canStrike(key, l.ID) {
				continue
			}
			if !known {
				i = len(*out)
				at[l.ID] = i
				*out = append(*out, strikeLine{ID: l.ID, Label: lineLabel(l.ID, w), Domain: d.ID})
			}
			(*out)[i].count(l)
		}
	}
	return nil
}

func (s *strikeLine) count(l rubric.Line) {
	s.Visits++
	s.Earned += l.Points
	s.Max += l.Max
	if l.Points >= l.Max {
		s.Full++
	}
	if l.Points <= 0 {
		s.None++
	}
}

func canStrike(key rubric.Key, line string) bool {
	_, err := key.Amend(rubric.Amendment{Strike: []string{line}})
	return err == nil
}

// signers are who, apart from one who proposed, may sign a change of marks for a
// cohort: its instructors and the coordinators.
func (s *Server) signers(ctx context.Context, cohort, but string) ([]string, error) {
	people, err := s.store.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("signers: %w", err)
	}
	teach, err := s.store.Members(ctx, cohort)
	if err != nil {
		return nil, fmt.Errorf("signers: %w", err)
	}
	var out []string
	for _, p := range people {
		teaches := slices.ContainsFunc(teach, func(m store.Member) bool { return m.Person == p.ID && m.Role == string(auth.Instructor) })
		if p.ID != but && (teaches || auth.Role(p.Role) == auth.Coordinator) {
			out = append(out, p.Name)
		}
	}
	return out, nil
}

// aloneDetail is what the log says where somebody signed the own proposal.
const aloneDetail = "nobody else: signed by who proposed it"

// signStrike puts a change of a key in force: signed by a second person. A
// coordinator who has nobody else may sign the own proposal, and says so.
func (s *Server) signStrike(ctx context.Context, who face.Person, g store.Regrading, cohort store.Cohort, reason string, leave, alone bool) (int, error) {
	reason, err := whyMarked(reason)
	if err != nil {
		return 0, err
	}
	if g.By == who.ID {
		others, err := s.signers(ctx, cohort.ID, who.ID)
		switch {
		case err != nil:
			return 0, err
		case len(others) > 0 || auth.Role(who.Role) != auth.Coordinator:
			return 0, &Fault{Kind: ErrNotNow, Text: "You proposed this; somebody else has to sign it: " + orNobody(others) + "."}
		case !alone:
			return 0, invalid("/alone", "Say that there is nobody else who could sign.")
		}
		if err := s.store.Record(ctx, store.Note{By: who.ID, Deed: "sign alone", About: "assignment:" + g.Assignment, Cohort: cohort.ID, Detail: aloneDetail, Reason: reason}); err != nil {
			return 0, fmt.Errorf("sign: %w", err)
		}
	}
	n, err := s.store.Accept(ctx, g.ID, who.ID, reason, leave)
	return n, changedFault(err)
}

func orNobody(names []string) string {
	if len(names) == 0 {
		return "a coordinator"
	}
	return nameSome(names)
}

// strikeOf is a change of a key for an assignment that a person may see.
func (s *Server) strikeOf(ctx context.Context, who face.Person, assignment, of string) (store.Regrading, store.Assignment, store.Cohort, error) {
	a, c, err := s.toMark(ctx, who, assignment)
	if err != nil {
		return store.Regrading{}, a, c, err
	}
	g, err := s.store.Regrading(ctx, of)
	if errors.Is(err, store.ErrNotFound) || err == nil && (g.Assignment == "" || g.Assignment != a.ID) {
		return g, a, c, ErrMissing
	}
	if err != nil {
		return g, a, c, fmt.Errorf("strike: %w", err)
	}
	return g, a, c, nil
}

// unmarked says of which patients visits were marked after a change for everybody
// was put in force, and not by it; empty: none.
func (s *Server) unmarked(ctx context.Context, a store.Assignment) (string, error) {
	all, err := s.store.KeyChanges(ctx, a.ID)
	if err != nil {
		return "", fmt.Errorf("strike: %w", err)
	}
	var names []string
	for _, g := range all {
		if g.State != store.RegradeAccepted {
			continue
		}
		rows, err := s.store.ToRegrade(ctx, store.Regrading{Assignment: a.ID, Case: g.Case, To: g.To}, 1)
		if err != nil {
			return "", fmt.Errorf("strike: %w", err)
		}
		if len(rows) > 0 {
			names = append(names, patientName(s.library.Case(g.Case)))
		}
	}
	if len(names) == 0 {
		return "", nil
	}
	slices.Sort(names)
	return "Further visits to " + nameSome(slices.Compact(names)) + " were marked after something was changed for everybody, and by the key as it was before. Propose the same change again: it is worked out for those only.", nil
}

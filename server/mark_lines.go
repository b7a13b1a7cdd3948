package server

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// markedTurn is one student's turn at an assignment, for those who mark it.
type markedTurn struct {
	person store.Person
	turn   *turn // nil: the student has not begun
	visits []markedVisit
	sits   bool // the student can still act, or begin
	again  bool // the student can begin a further try
}

// markedVisit is one patient of a turn with its marks. Total, pass and domains
// are with what people decided.
type markedVisit struct {
	store.Listed
	total   exam.Marked
	waiting []string // what waits for a person, in words
	why     string   // why it is not passed, where not for the total alone
}

// markedTurns are all turns of an assignment, and the students of its cohort who
// have had none, by name, number and try.
func (s *Server) markedTurns(ctx context.Context, a store.Assignment) ([]markedTurn, error) {
	visits, err := s.markedVisits(ctx, a)
	if err != nil {
		return nil, err
	}
	all, err := s.clocks(ctx, a)
	if err != nil {
		return nil, err
	}
	rows, err := s.store.Turns(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("marks: %w", err)
	}
	var out []markedTurn
	begun := map[string]bool{}
	for i, row := range rows {
		begun[row.Person] = true
		one := markedTurn{person: all.person(row.Person), visits: visits[row.ID]}
		if one.turn, err = all.turn(row); err != nil {
			return nil, err
		}
		one.sits = s.sits(one)
		last := i+1 == len(rows) || rows[i+1].Person != row.Person // by person and try
		one.again = last && all.toBegin(s.now(), row.Person, row.Try+1)
		out = append(out, one)
	}
	for _, m := range all.members {
		if m.Role == string(auth.Student) && !begun[m.Person] {
			out = append(out, markedTurn{person: all.person(m.Person), sits: all.toBegin(s.now(), m.Person, 1)})
		}
	}
	slices.SortStableFunc(out, byName)
	return out, nil
}

// clocks are what the clocks of everybody at an assignment are reckoned from, read
// once for all of them.
type clocks struct {
	a       store.Assignment
	deeds   []store.ClockDeed
	resits  []store.Resit
	beyond  map[string]exam.Accommodation
	members []store.Member
	people  map[string]store.Person
}

func (s *Server) clocks(ctx context.Context, a store.Assignment) (c clocks, err error) {
	c = clocks{a: a, beyond: map[string]exam.Accommodation{}, people: map[string]store.Person{}}
	if c.deeds, err = s.store.ClockDeeds(ctx, a.ID); err != nil {
		return c, fmt.Errorf("marks: %w", err)
	}
	if c.resits, err = s.store.Resits(ctx, a.ID, ""); err != nil {
		return c, fmt.Errorf("marks: %w", err)
	}
	more, err := s.store.Accommodations(ctx, a.Cohort)
	if err != nil {
		return c, fmt.Errorf("marks: %w", err)
	}
	for _, x := range more {
		c.beyond[x.Person] = accommodation(x)
	}
	if c.members, err = s.store.Members(ctx, a.Cohort); err != nil {
		return c, fmt.Errorf("marks: %w", err)
	}
	people, err := s.store.People(ctx)
	if err != nil {
		return c, fmt.Errorf("marks: %w", err)
	}
	for _, p := range people {
		c.people[p.ID] = p
	}
	return c, nil
}

// person is somebody by id; who is erased has no name any more.
func (c clocks) person(id string) store.Person {
	if p, ok := c.people[id]; ok {
		return p
	}
	return store.Person{ID: id, Name: erasedName, Role: string(auth.Student)}
}

// erasedName stands where somebody had a name.
const erasedName = "somebody who is erased"

// turn is a turn with its clock.
func (c clocks) turn(row store.Turn) (*turn, error) {
	t := &turn{row: row, assignment: c.a, beyond: c.beyond[row.Person]}
	if err := json.Unmarshal(row.Plan, &t.plan); err != nil {
		return nil, fmt.Errorf("turn: a plan that cannot be read") // the text of the error could tell what is in it
	}
	tried, deeds, _ := timesOf(c.a, c.deeds, c.resits, row.Person, row.Try)
	t.terms, t.deeds = planOf(tried).For(t.beyond), deedsOf(deeds, row.ID, row.Person)
	return t, nil
}

// toBegin reports whether a student has a try and can begin it, now or later.
func (c clocks) toBegin(now time.Time, person string, try int) bool {
	tried, deeds, granted := timesOf(c.a, c.deeds, c.resits, person, try)
	if c.a.State != store.AssignmentSet || c.a.Tries > 0 && try > c.a.Tries && !granted {
		return false
	}
	phase := planOf(tried).For(c.beyond[person]).At(now, deedsOf(deeds, "", person)).Phase
	return phase == exam.Early || phase == exam.Open
}

// byName orders turns as a list of a class does.
func byName(a, b markedTurn) int {
	try := func(m markedTurn) int {
		if m.turn == nil {
			return 0
		}
		return m.turn.row.Try
	}
	return cmp.Or(cmp.Compare(store.FoldLogin(a.person.Name), store.FoldLogin(b.person.Name)), cmp.Compare(a.person.Number, b.person.Number),
		cmp.Compare(a.person.ID, b.person.ID), cmp.Compare(try(a), try(b)))
}

// sits reports whether a student can still act in a turn.
func (s *Server) sits(m markedTurn) bool {
	phase := m.turn.clock(s.now()).Phase
	if phase != exam.Running && phase != exam.Paused {
		return false
	}
	open := slices.ContainsFunc(m.visits, func(v markedVisit) bool { return v.State == store.StateOpen })
	return open || len(m.visits) < len(m.turn.plan)
}

// markedVisits are the visits of an assignment with their marks, by turn.
func (s *Server) markedVisits(ctx context.Context, a store.Assignment) (map[string][]markedVisit, error) {
	rows, err := s.store.MarkedVisits(ctx, a.ID)
	if err != nil {
		return nil, fmt.Errorf("marks: %w", err)
	}
	handled, err := s.handled(ctx, rows)
	if err != nil {
		return nil, err
	}
	out := map[string][]markedVisit{}
	for _, row := range rows {
		v := markedVisit{Listed: row, total: asComputed(row.Mark)}
		if row.Mark != nil && (handled[row.Transcript] || !row.Mark.Pass || row.Mark.Critical > 0 || len(row.Mark.Held) > 0) {
			if err := s.settleRow(ctx, &v); err != nil {
				return nil, err
			}
		}
		out[row.Turn] = append(out[row.Turn], v)
	}
	return out, nil
}

// asComputed are the marks of a report of which nobody has said anything.
func asComputed(r *store.Report) (m exam.Marked) {
	if r == nil {
		return m
	}
	m.Computed, m.Total, m.Pass = points(r.Total), points(r.Total), r.Pass
	for _, d := range r.Domains {
		m.Domains = append(m.Domains, exam.Domain{ID: d.ID, Points: points(d.Points), Max: points(d.Max)})
	}
	return m
}

func (s *Server) settleRow(ctx context.Context, v *markedVisit) error {
	row, err := s.store.Attempt(ctx, v.ID)
	if err != nil {
		return missing("marks", err)
	}
	m, err := s.marked(ctx, row)
	if err != nil {
		return err
	}
	v.total, v.why = m.Marked, whyNotPassed(m.Marked)
	for _, what := range m.Waits {
		v.waiting = append(v.waiting, heldText(m.report, what))
	}
	return nil
}

// whyNotPassed says in a few words what keeps a visit from a pass besides its total.
func whyNotPassed(m exam.Marked) string {
	switch {
	case m.Critical:
		return "a critical event stands"
	case len(m.Short) > 0:
		return "hurdle not met: " + strings.Join(m.Short, ", ")
	}
	return ""
}

// whyNot is why a turn cannot be released, in words; empty: it can.
func (m markedTurn) whyNot() string {
	if m.sits {
		return "is still sitting"
	}
	var why []string
	for _, v := range m.visits {
		if v.State != store.StateGraded {
			return "is still being marked"
		}
		why = append(why, v.waiting...)
	}
	return strings.Join(why, " ")
}

// face is one row for programs and pages: a visit, or a student without one.
func (s *Server) faceMarked(a store.Assignment, m markedTurn, v *markedVisit) face.MarkedVisit {
	out := face.MarkedVisit{Person: facePerson(m.person), Number: m.person.Number, State: "not begun", Waits: []string{}}
	if m.turn != nil {
		out.Turn, out.Try, out.Excused = m.turn.row.ID, m.turn.row.Try, m.turn.row.Excused != ""
	}
	if v == nil {
		return out
	}
	out.Attempt, out.State, out.Waits = v.ID, v.State, append(out.Waits, v.waiting...)
	out.Released = v.State == store.StateGraded && exam.Shown(exam.Kind(a.Kind), m.turn.released(), v.total.Waits)
	if k := s.library.Case(v.Case); k != nil {
		out.Patient = k.Signalment.Name
	}
	if v.Mark != nil {
		computed, total, pass := face.Points(v.total.Computed), face.Points(v.total.Total), v.total.Pass
		out.Computed, out.Total, out.Pass, out.Why = &computed, &total, &pass, v.why
	}
	return out
}

// markedRows are all rows of an assignment: one a student and patient.
func (s *Server) markedRows(a store.Assignment, all []markedTurn) []face.MarkedVisit {
	out := []face.MarkedVisit{}
	for _, m := range all {
		for i := range m.visits {
			out = append(out, s.faceMarked(a, m, &m.visits[i]))
		}
		if len(m.visits) == 0 {
			out = append(out, s.faceMarked(a, m, nil))
		}
	}
	return out
}

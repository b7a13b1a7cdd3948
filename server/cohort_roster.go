package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/roster"
	"dewclaw/server/store"
)

// What is kept of rosters between the look at what they would change and the
// doing: in the database, for another server of the school may be asked to do it.
const (
	mostRosters  = 16 // kept as they were read
	rosterBody   = roster.MostBytes + form
	rosterFailed = "The file is no longer kept: it is kept for 30 minutes, one a person. Choose it again."
	taskRoster   = "roster"
)

// keptRoster is a roster that somebody has sent for a cohort and not done yet.
type keptRoster struct {
	cohort, file string
	rows         []roster.Row
	problems     []roster.Problem
	at           time.Time
}

// keptRosters holds what was read of one roster a person, so that it is read once;
// the files are in the database.
type keptRosters struct {
	mu       sync.Mutex
	byPerson map[string]keptRoster
}

func (m *keptRosters) keep(person string, k keptRoster) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.byPerson == nil || len(m.byPerson) >= mostRosters {
		m.byPerson = map[string]keptRoster{}
	}
	m.byPerson[person] = k
}

func (m *keptRosters) find(person string, row store.Roster) (keptRoster, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, ok := m.byPerson[person]
	return k, ok && k.at.Equal(row.At) && k.cohort == row.Cohort
}

func (m *keptRosters) forget(person string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.byPerson, person)
}

// keptRoster returns what a person has sent for a cohort, while it is kept.
func (s *Server) keptRoster(ctx context.Context, person, cohort string) (k keptRoster, ok bool, err error) {
	row, err := s.store.KeptRoster(ctx, person)
	if err != nil || row.Cohort != cohort {
		s.rosters.forget(person)
		return keptRoster{}, false, unlessNotFound(err)
	}
	if k, ok = s.rosters.find(person, row); ok {
		return k, true, nil
	}
	data, err := s.store.RosterBytes(ctx, row)
	if err != nil {
		return keptRoster{}, false, unlessNotFound(err)
	}
	k = keptRoster{cohort: row.Cohort, file: row.File, at: row.At}
	if k.rows, k.problems, err = roster.Read(data); err != nil {
		return keptRoster{}, false, rosterFault(err)
	}
	s.rosters.keep(person, k)
	return k, true, nil
}

// unlessNotFound is an error, or none where something is only not there.
func unlessNotFound(err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	return err
}

// forgetRoster forgets what a person has sent.
func (s *Server) forgetRoster(ctx context.Context, person string) error {
	s.rosters.forget(person)
	return s.store.ForgetRoster(ctx, person)
}

// takeRoster reads a roster and keeps it for its sender.
func (s *Server) takeRoster(ctx context.Context, who face.Person, cohort, file string, data []byte) error {
	if _, err := s.teaches(ctx, who, cohort); err != nil {
		return err
	}
	rows, problems, err := roster.Read(data)
	if err != nil {
		return rosterFault(err)
	}
	kept, err := s.store.KeepRoster(ctx, store.Roster{Person: who.ID, Cohort: cohort, File: file, Bytes: data})
	if err != nil {
		return fmt.Errorf("roster: %w", err)
	}
	s.rosters.keep(who.ID, keptRoster{cohort, file, rows, problems, kept.At})
	return nil
}

// rosterFault says of a file as a whole what is wrong with it.
func rosterFault(err error) error {
	text := ""
	var header *roster.HeaderError
	switch {
	case errors.As(err, &header):
		text = "The first row must name the columns. Not found: " + strings.Join(header.Missing, "; ") + ". It has: " + strings.Join(header.Seen, ", ") + "."
	case errors.Is(err, roster.ErrTooBig):
		text = fmt.Sprintf("The file is larger than %d MB. Leave out what is not a list of people.", roster.MostBytes>>20)
	case errors.Is(err, roster.ErrTooMany):
		text = fmt.Sprintf("The file has more than %d rows. Send it in parts.", roster.MostRows)
	case errors.Is(err, roster.ErrEmpty):
		text = "The file has no header row with rows below it."
	case errors.Is(err, roster.ErrNotTable):
		text = "This is neither a CSV nor an XLSX file that can be read. Save the list as CSV (UTF-8) or as a spreadsheet (.xlsx) without a password, and of at most 64 MB unpacked."
	default:
		text = "The file cannot be read as a list of people. Save it as CSV (UTF-8) or as a spreadsheet (.xlsx)."
	}
	return &Fault{Kind: ErrInvalid, Text: text, Fields: []FieldProblem{{"/file", text}}, Cause: err}
}

// rosterPlan is what a kept roster would change, as things stand.
type rosterPlan struct {
	file     string
	changes  []roster.Change
	problems []roster.Problem
	sharp    bool                // more than a fifth would leave
	leave    map[string][]string // person to ids of the cohorts that a move leaves
	partly   bool                // some of those stay, for they are not this person's to change
	digest   string              // of all this: what was looked at is what is done
}

// planRoster says what a kept roster would change.
func (s *Server) planRoster(ctx context.Context, who face.Person, cohort string, k keptRoster, whole bool) (rosterPlan, error) {
	all, err := s.store.People(ctx)
	if err != nil {
		return rosterPlan{}, fmt.Errorf("roster: %w", err)
	}
	places, err := s.store.Memberships(ctx)
	if err != nil {
		return rosterPlan{}, fmt.Errorf("roster: %w", err)
	}
	g := gather(all, places, cohort)
	p := rosterPlan{file: k.file, leave: map[string][]string{}}
	p.changes, p.problems = roster.Plan(k.rows, g.have, roster.Whole(whole))
	p.problems = append(slices.Clone(k.problems), p.problems...)
	p.sharp = roster.Sharp(p.changes, g.have)
	p.guard(who, g)
	p.leavings(who, g)
	slices.SortStableFunc(p.problems, func(a, b roster.Problem) int { return a.Line - b.Line })
	sum := sha256.Sum256(fmt.Appendf(nil, "%v %v %v", whole, p.changes, p.problems))
	p.digest = hex.EncodeToString(sum[:12])
	return p, nil
}

// gathered is what a roster is held against.
type gathered struct {
	have      []roster.Person
	teaches   map[string]bool               // who is an instructor somewhere, or by the account
	elsewhere map[string][]store.Membership // as a student, in other cohorts in use
	taughtBy  map[string][]string           // person to the cohorts that the person teaches
}

func gather(all []store.Person, places []store.Membership, cohort string) gathered {
	g := gathered{teaches: map[string]bool{}, elsewhere: map[string][]store.Membership{}, taughtBy: map[string][]string{}}
	here := map[string]string{}
	for _, m := range places {
		switch {
		case m.Role == string(auth.Instructor):
			g.teaches[m.Person] = true
			g.taughtBy[m.Person] = append(g.taughtBy[m.Person], m.Cohort)
		case m.Cohort != cohort && !m.Archived:
			g.elsewhere[m.Person] = append(g.elsewhere[m.Person], m)
		}
		if m.Cohort == cohort {
			here[m.Person] = m.Role
		}
	}
	for _, p := range all {
		row := roster.Person{ID: p.ID, Number: p.Number, Login: p.LoginKey, Name: p.Name, Email: p.Email, Role: here[p.ID],
			Staff: auth.Role(p.Role) == auth.Coordinator}
		for _, m := range g.elsewhere[p.ID] {
			row.Elsewhere = append(row.Elsewhere, m.Name)
		}
		g.teaches[p.ID] = g.teaches[p.ID] || auth.Role(p.Role) != auth.Student
		g.have = append(g.have, row)
	}
	return g
}

// guard keeps a roster of an instructor's from what only a coordinator may do:
// to make an instructor of somebody who is none, or to change the name or the
// address of one, with which the account could be taken over.
func (p *rosterPlan) guard(who face.Person, g gathered) {
	if auth.Role(who.Role) == auth.Coordinator {
		return
	}
	kept := p.changes[:0]
	for _, c := range p.changes {
		staff := c.Person.ID != "" && g.teaches[c.Person.ID]
		if c.Row.Role == string(auth.Instructor) && c.Deed != roster.Leaves && !staff {
			p.problems = append(p.problems, roster.Problem{Line: c.Row.Line, Column: "role", Text: "only a coordinator makes somebody an instructor who is none yet"})
			continue
		}
		if staff {
			c.Row.Name, c.Row.Email, c.Row.Number = c.Person.Name, c.Person.Email, c.Person.Number
			if c.Deed == roster.Changed && c.Row.Role == c.Person.Role {
				c.Deed = roster.Unchanged
			}
		}
		kept = append(kept, c)
	}
	p.changes = kept
}

// leavings are the cohorts that those who are moved would leave: those that the
// sender manages.
func (p *rosterPlan) leavings(who face.Person, g gathered) {
	for _, c := range p.changes {
		if c.Deed != roster.Moved {
			continue
		}
		for _, m := range g.elsewhere[c.Person.ID] {
			if auth.Role(who.Role) == auth.Coordinator || slices.Contains(g.taughtBy[who.ID], m.Cohort) {
				p.leave[c.Person.ID] = append(p.leave[c.Person.ID], m.Cohort)
			} else {
				p.partly = true
			}
		}
	}
}

// rosterChoice is what is asked for besides the roster itself.
type rosterChoice struct {
	Seen  string // digest of what was looked at
	Whole bool   // the roster is the whole cohort
	Leave bool   // who is moved leaves the other cohorts
	Sharp bool   // it is meant that more than a fifth leave
}

// doRoster begins to do what a roster says, in the background.
func (s *Server) doRoster(ctx context.Context, who face.Person, cohort string, c rosterChoice) error {
	if _, err := s.teaches(ctx, who, cohort); err != nil {
		return err
	}
	is, err := s.taskOf(ctx, taskRoster, cohort)
	if err != nil {
		return err
	}
	if is.Running() {
		return &Fault{Kind: ErrNotNow, Text: fmt.Sprintf("A roster is being entered into this cohort already: %d of %d done. Wait until it has ended.", is.Done, is.Total)}
	}
	k, ok, err := s.keptRoster(ctx, who.ID, cohort)
	if err != nil {
		return err
	}
	if !ok {
		return &Fault{Kind: ErrNotNow, Text: rosterFailed}
	}
	p, err := s.planRoster(ctx, who, cohort, k, c.Whole)
	switch {
	case err != nil:
		return err
	case p.digest != c.Seen:
		return &Fault{Kind: ErrNotNow, Text: "Somebody has changed people or cohorts meanwhile, or other boxes are ticked. Nothing was done; this is what would change now."}
	case p.sharp && !c.Sharp:
		return invalid("/sharp", "More than a fifth of the cohort would leave. Tick the box that says that this is meant.")
	}
	lines := p.lines(c.Leave)
	if err := s.startTask(ctx, taskRoster, cohort, who.ID, len(lines), s.enrolment(cohort, who.ID, p, lines)); err != nil {
		return err
	}
	return s.forgetRoster(ctx, who.ID)
}

// enrolment is the task that does the lines of a roster.
func (s *Server) enrolment(cohort, by string, p rosterPlan, lines []store.Enrolment) func(context.Context, *task) (string, error) {
	return func(ctx context.Context, t *task) (string, error) {
		note := store.Note{By: by, Deed: deedEnrol, Detail: p.counts()}
		err := s.store.Enrol(ctx, cohort, lines, note, func(n int) { t.change(func(st *taskState) { st.Done = n }) })
		s.turns.forget()
		if err == nil {
			return sentence(p.counts()), nil
		}
		note.Deed, note.About, note.Cohort = deedEnrolPart, "cohort:"+cohort, cohort
		note.Detail = fmt.Sprintf("%d of %d lines were done", t.look().Done, len(lines))
		if noted := s.store.Record(context.WithoutCancel(ctx), note); noted != nil {
			s.log.Error("a broken roster was not noted", "cause", noted.Error())
		}
		return "", &Fault{Kind: ErrBusy, Text: "It broke off; what was done stays. Send the same file again: the rest is done then.", Cause: err}
	}
}

// counts says how many there are of what is done.
func (p rosterPlan) counts() string {
	var parts []string
	for _, d := range roster.Deeds() {
		if n := roster.Count(p.changes, d); n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, changeWords[d].few))
		}
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, ", ")
}

// lines are the changes as the store does them; what is unchanged is left out.
func (p rosterPlan) lines(leave bool) []store.Enrolment {
	var out []store.Enrolment
	for _, c := range p.changes {
		e := store.Enrolment{Person: c.Person.ID, Member: c.Row.Role}
		switch c.Deed {
		case roster.Unchanged:
			continue
		case roster.Leaves:
			e.Member = ""
		case roster.New:
			e.NewPerson = store.NewPerson{Login: c.Row.Login, Role: string(auth.Student), Name: c.Row.Name, Number: c.Row.Number, Email: c.Row.Email}
		default:
			e.Name, e.Number, e.Email = other(c.Row.Name, c.Person.Name), other(c.Row.Number, c.Person.Number), other(c.Row.Email, c.Person.Email)
		}
		if leave && c.Deed == roster.Moved {
			e.Leave = p.leave[c.Person.ID]
		}
		out = append(out, e)
	}
	return out
}

// other is the new value where it differs from the old one.
func other(becomes, was string) string {
	if becomes == was {
		return ""
	}
	return becomes
}

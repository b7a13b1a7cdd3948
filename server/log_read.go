package server

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// nobodyLeft is how somebody is called who has no name any more.
const nobodyLeft = "somebody who is erased"

// logQuery is what is looked for in the log, as it was asked.
type logQuery struct {
	Who    string // words of a name, a login or a number; or an id
	About  string // a kind of what it is about
	Of     string // just this, as kind:id
	Deed   string
	From   string // a day, in the school's zone
	To     string // a day, included
	Before string // number of the last note of the page before
	Limit  string
}

// logLine is a note as it is read.
type logLine struct {
	store.Note
	ByID   string `json:"-"`
	Who    string // who did it
	Did    string
	What   string // what it is about, by name
	Where  string // the cohort
	Detail string
}

// readLog is one page of the log as a person may read it: a coordinator all of
// it, an instructor the notes of the own cohorts. More follow where next is set.
func (s *Server) readLog(ctx context.Context, who face.Person, q logQuery) (lines []logLine, next int64, err error) {
	f, err := s.noteFilter(ctx, who, q)
	if err != nil {
		return nil, 0, err
	}
	return s.notesBy(ctx, f)
}

// notesBy reads a page and whether there are more.
func (s *Server) notesBy(ctx context.Context, f store.NoteFilter) (lines []logLine, next int64, err error) {
	notes, err := s.store.Notes(ctx, f)
	if err != nil {
		return nil, 0, fmt.Errorf("log: %w", err)
	}
	if len(notes) == f.Limit && notes[len(notes)-1].N > 1 {
		next = notes[len(notes)-1].N
	}
	lines, err = s.logLines(ctx, notes)
	return lines, next, err
}

// noteFilter reads what is asked for; what cannot be read is said, all at once.
func (s *Server) noteFilter(ctx context.Context, who face.Person, q logQuery) (f store.NoteFilter, err error) {
	f = store.NoteFilter{Kind: q.About, About: q.Of}
	wrong := &Fault{Kind: ErrInvalid}
	say := func(pointer, detail string) { wrong.Fields = append(wrong.Fields, FieldProblem{pointer, detail}) }
	if q.About != "" && !slices.ContainsFunc(aboutKinds, func(k deedRow) bool { return k.Word == q.About }) {
		say("/about", "One of "+listOf(aboutKinds)+".")
	}
	if q.Deed != "" {
		f.Deeds = []string{q.Deed}
	}
	if f.From, err = s.dayOf(q.From, 0); err != nil {
		say("/from", err.Error())
	}
	if f.Until, err = s.dayOf(q.To, 1); err != nil {
		say("/to", err.Error())
	}
	f.Before = int64(numberIn(q.Before, 0, 0, say, "/before"))
	f.Limit = numberIn(q.Limit, perPage, mostLogged, say, "/limit")
	if len(wrong.Fields) > 0 {
		return f, wrong
	}
	if f.People, err = s.peopleMeant(ctx, q.Who); err != nil {
		return f, err
	}
	if auth.Role(who.Role) == auth.Coordinator {
		return f, nil
	}
	f.Cohorts, err = s.cohortsTaught(ctx, who)
	return f, err
}

// mostLogged are the most notes of one answer.
const mostLogged = 1000

// numberIn reads a number above 0; none is the usual one. Most 0: any.
func numberIn(text string, usual, most int, say func(pointer, detail string), pointer string) int {
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	switch {
	case err != nil || n < 1:
		say(pointer, "A whole number above 0.")
	case most > 0 && n > most:
		say(pointer, fmt.Sprintf("A whole number from 1 to %d; ask for the next page with before.", most))
	default:
		return n
	}
	return usual
}

// dayOf reads a day of the school's zone, so many days on.
func (s *Server) dayOf(text string, on int) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, text, s.zone())
	if err != nil {
		return t, fmt.Errorf("%s", "A day such as 2026-11-25.")
	}
	return t.AddDate(0, 0, on), nil
}

// cohortsTaught are the ids of the cohorts whose notes an instructor may read.
func (s *Server) cohortsTaught(ctx context.Context, who face.Person) ([]string, error) {
	mine, err := s.store.MemberOf(ctx, who.ID)
	if err != nil {
		return nil, fmt.Errorf("log: %w", err)
	}
	ids := []string{}
	for _, m := range mine {
		if m.Role == string(auth.Instructor) {
			ids = append(ids, m.Cohort)
		}
	}
	return ids, nil
}

// idShape is what an id looks like.
var idShape = regexp.MustCompile(`^[a-z2-7]{26}$`)

// peopleMeant are the ids of whoever the words of a search fit; nil: nobody is
// looked for. An id is taken as it is, for who is erased has nothing else.
func (s *Server) peopleMeant(ctx context.Context, words string) ([]string, error) {
	if words = strings.TrimSpace(words); words == "" {
		return nil, nil
	}
	if idShape.MatchString(words) {
		return []string{words}, nil
	}
	all, err := s.store.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("log: %w", err)
	}
	ids := []string{}
	for _, p := range all {
		if fits(words, p.Login, p.Name, p.Number) {
			ids = append(ids, p.ID)
		}
	}
	return ids, nil
}

// logLines put names to notes.
func (s *Server) logLines(ctx context.Context, notes []store.Note) ([]logLine, error) {
	known, err := s.store.AboutsOf(ctx, notes)
	if err != nil {
		return nil, fmt.Errorf("log: %w", err)
	}
	n := logNames{s, known}
	out := make([]logLine, 0, len(notes))
	for _, note := range notes {
		line := logLine{Note: note, ByID: note.By, Who: "the program", Did: didWords(note.Deed), What: n.thing(note.About), Detail: n.detail(note.Detail)}
		if note.By != "" {
			line.Who = n.person(note.By)
		}
		if note.Cohort != "" && note.About != "cohort:"+note.Cohort {
			line.Where = n.thing("cohort:" + note.Cohort)
		}
		out = append(out, line)
	}
	return out, nil
}

// logNames name what notes are about.
type logNames struct {
	s     *Server
	known store.Abouts
}

func (n logNames) person(id string) string {
	if p, ok := n.known.People[id]; ok && p.Name != "" {
		return p.Name
	}
	return nobodyLeft
}

// thing names kind:id; of a kind that is not known, the two as they are.
func (n logNames) thing(about string) string {
	kind, id, _ := strings.Cut(about, ":")
	switch kind {
	case "person":
		return n.person(id)
	case "cohort":
		return named("cohort", n.known.Cohorts[id], "a cohort that is gone")
	case "assignment":
		return named("assignment", n.known.Assignments[id], "an assignment that is gone")
	case "turn":
		if t, ok := n.known.Turns[id]; ok {
			return fmt.Sprintf("%s, try %d at %s", n.person(t.Person), t.Try, n.thing("assignment:"+t.Assignment))
		}
	case "transcript":
		if t, err := strconv.ParseInt(id, 10, 64); err == nil && n.known.Visits[t].ID != "" {
			return n.person(n.known.Visits[t].Person) + ", visit to " + n.patient(n.known.Visits[t].Case)
		}
	case "setting":
		for _, row := range settings {
			if row.id == id {
				return row.label
			}
		}
	case "rubric":
		return named("rubric", id, about)
	case "log":
		return "the log"
	}
	return about
}

func (n logNames) patient(id string) string {
	if k := n.s.library.Case(id); k != nil {
		return k.Signalment.Name
	}
	return "a patient"
}

func named(kind, name, without string) string {
	if name == "" {
		return without
	}
	return kind + " " + name
}

// detail names the ids within a detail.
func (n logNames) detail(text string) string {
	return detailID.ReplaceAllStringFunc(text, n.thing)
}

var detailID = regexp.MustCompile(`\b(person|cohort|assignment|turn):[a-z2-7]{26}\b`)

func listOf(rows []deedRow) string {
	var words []string
	for _, r := range rows {
		words = append(words, r.Word)
	}
	return strings.Join(words, ", ")
}

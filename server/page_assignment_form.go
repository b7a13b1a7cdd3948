package server

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// assignmentForm is what the page sends: everything as it was typed.
type assignmentForm struct {
	Title, Kind, Track, Cue, Places, Order string
	Opens, OpensWhich, Closes, ClosesWhich string
	Minutes, Tries, Edition                string
	Slots                                  []slotForm
}

// slotForm is one patient: how its list is narrowed, and what is ticked.
type slotForm struct {
	Species, System, Difficulty string
	Cases                       []string
}

// assignmentFormPage makes an assignment or changes one.
type assignmentFormPage struct {
	Base
	Cohort, CohortName, ID string // ID is empty for a new one
	Action                 string
	Sitting, WasSet        bool
	Zone                   string
	F                      assignmentForm
	Tracks, Cues, Where    []choiceRow
	OpensTwice             []choiceRow // a time that comes twice
	ClosesTwice            []choiceRow
	Slots                  []slotFormRow
	MayAdd                 bool
	Most                   int
	Problems               []formProblem
	Bad                    map[string]string // by field: what is wrong
	Wrong                  string
}

// slotFormRow is one patient of the form with the cases that match.
type slotFormRow struct {
	N, At                          int // from 1; from 0
	Species, Systems, Difficulties []choiceRow
	Cases                          []caseTick
	Said, Bad                      string
}

// caseTick is a case that can be ticked.
type caseTick struct {
	ID, Name, About, Title, Met string
	Ticked                      bool
}

func (s *Server) showNewAssignment(c *gin.Context) error {
	cohort, err := s.teaches(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	f := assignmentForm{Kind: string(exam.Practice), Track: defaultTrack, Cue: exam.Cues[0], Places: exam.Places[0], Order: "fixed", Slots: make([]slotForm, 1)}
	if c.Query("kind") == string(exam.Sitting) {
		f.Kind, f.Cue, f.Places, f.Order, f.Tries = string(exam.Sitting), exam.Cues[1], exam.Places[1], "drawn", "1"
	}
	p, err := s.assignmentFormPage(c.Request.Context(), person(c), cohort, store.Assignment{}, f)
	if err != nil {
		return err
	}
	return s.page(c, "assignmentform", p)
}

func (s *Server) showChangeAssignment(c *gin.Context) error {
	ctx := c.Request.Context()
	a, cohort, err := s.managed(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	begun, err := s.store.Turns(ctx, a.ID)
	if err != nil {
		return fmt.Errorf("change assignment: %w", err)
	}
	if len(begun) > 0 {
		return s.assignmentAgain(c, begunAlready(store.ErrClosed), assignmentPage{})
	}
	if err := s.seesAll(ctx, person(c), a); err != nil {
		return s.assignmentAgain(c, err, assignmentPage{})
	}
	p, err := s.assignmentFormPage(ctx, person(c), cohort, a, s.formOf(a))
	if err != nil {
		return err
	}
	return s.page(c, "assignmentform", p)
}

// formOf is the form of an assignment as it stands.
func (s *Server) formOf(a store.Assignment) assignmentForm {
	f := assignmentForm{Title: a.Title, Kind: a.Kind, Track: a.Track, Cue: a.Cue, Places: a.Places, Order: "fixed", Edition: editionOf(a)}
	if a.Shuffled {
		f.Order = "drawn"
	}
	f.Opens, f.OpensWhich = s.typedOf(a.Opens.In(s.zone()).Format(typedTime), a)
	f.Closes, f.ClosesWhich = s.typedOf(a.Closes.In(s.zone()).Format(typedTime), a)
	if a.Minutes > 0 {
		f.Minutes = strconv.Itoa(a.Minutes)
	}
	if a.Tries > 0 {
		f.Tries = strconv.Itoa(a.Tries)
	}
	for _, ids := range a.Slots {
		f.Slots = append(f.Slots, s.narrowed(ids))
	}
	return f
}

// typedOf is a moment as it would be typed, with which of two it is.
func (s *Server) typedOf(text string, a store.Assignment) (typed, which string) {
	second, _, err := s.typedMoment(text, "second")
	if err == nil && len(s.bothOf(text, "")) > 0 {
		if which = "first"; second.Equal(a.Opens) || second.Equal(a.Closes) {
			which = "second"
		}
	}
	return text, which
}

// narrowed are ticks with the narrowest list that holds them all.
func (s *Server) narrowed(ids []string) slotForm {
	f := slotForm{Cases: ids}
	for i, id := range ids {
		k := s.library.Case(id)
		if k == nil {
			continue
		}
		system, difficulty := "", strconv.Itoa(k.Difficulty)
		if all := k.Tags["system"]; len(all) > 0 {
			system = all[0]
		}
		if i == 0 {
			f.Species, f.System, f.Difficulty = k.Species, system, difficulty
		}
		if f.Species != k.Species {
			f.Species = ""
		}
		if !slices.Contains(k.Tags["system"], f.System) {
			f.System = ""
		}
		if f.Difficulty != difficulty || len(ids) > 1 {
			f.Difficulty = ""
		}
	}
	return f
}

// matches reports whether a case stands in the narrowed list.
func (f slotForm) matches(k *cases.Case) bool {
	return (f.Species == "" || f.Species == k.Species) && (f.System == "" || slices.Contains(k.Tags["system"], f.System)) &&
		(f.Difficulty == "" || f.Difficulty == strconv.Itoa(k.Difficulty))
}

// readAssignmentForm reads what was sent. Patients beyond the bound are left out;
// what is done with the form stands in do.
func readAssignmentForm(c *gin.Context) (f assignmentForm, do string) {
	f = assignmentForm{Title: c.PostForm("title"), Kind: c.PostForm("kind"), Track: c.PostForm("track"), Cue: c.PostForm("cue"), Places: c.PostForm("places"),
		Order: c.PostForm("order"), Opens: c.PostForm("opens"), OpensWhich: c.PostForm("opens-which"), Closes: c.PostForm("closes"), ClosesWhich: c.PostForm("closes-which"),
		Minutes: strings.TrimSpace(c.PostForm("minutes")), Tries: strings.TrimSpace(c.PostForm("tries")), Edition: c.PostForm("edition")}
	n, err := strconv.Atoi(c.PostForm("slots"))
	if err != nil {
		n = 0
	}
	for i := range min(max(n, 0), mostSlots) {
		at := fmt.Sprintf("s%d-", i)
		f.Slots = append(f.Slots, slotForm{Species: c.PostForm(at + "species"), System: c.PostForm(at + "system"), Difficulty: c.PostForm(at + "difficulty"), Cases: c.PostFormArray(at + "case")})
	}
	return f, c.PostForm("do")
}

// doAssignmentForm saves a new assignment or a change, or only works on the list
// of patients and shows the form again.
func (s *Server) doAssignmentForm(c *gin.Context, cohort store.Cohort, was store.Assignment) error {
	ctx, who := c.Request.Context(), person(c)
	f, do := readAssignmentForm(c)
	if do != "save" {
		f.work(s.library.Cases(), do)
		p, err := s.assignmentFormPage(ctx, who, cohort, was, f)
		if err != nil {
			return err
		}
		return s.page(c, "assignmentform", p)
	}
	ask, wrong := s.askOf(f)
	var saved store.Assignment
	err := s.checkAsk(ctx, who, ask)
	var fault *Fault
	if wrong != nil {
		fault = &Fault{Kind: ErrInvalid, Text: "Nothing was saved.", Fields: wrong}
		if _, f := tell(err); err != nil {
			fault.Fields = append(fault.Fields, f.Fields...)
		}
		err = fault
	}
	if err == nil {
		saved, err = s.saveAssignment(ctx, who, cohort.ID, was.ID, f.Edition, ask)
	}
	if err == nil {
		s.notice(c, "It is kept as a draft. Nobody in the cohort sees it yet.")
		return s.redirect(c, "/assignments/"+saved.ID)
	}
	return s.assignmentFormAgain(c, err, cohort, was, f)
}

// assignmentFormAgain shows the form again, as it was typed, with what is wrong.
func (s *Server) assignmentFormAgain(c *gin.Context, err error, cohort store.Cohort, was store.Assignment, f assignmentForm) error {
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || row.status == http.StatusNotFound {
		return err
	}
	p, perr := s.assignmentFormPage(c.Request.Context(), person(c), cohort, was, f)
	if perr != nil {
		return perr
	}
	p.Wrong = row.text
	for _, w := range fault.Fields {
		name := strings.TrimPrefix(w.Pointer, "/")
		p.Problems = append(p.Problems, problemAt(name, w.Detail))
		if i, err := strconv.Atoi(strings.TrimPrefix(name, "slots/")); err == nil && i < len(p.Slots) {
			p.Slots[i].Bad = w.Detail
		}
		if p.Bad[name] == "" {
			p.Bad[name] = w.Detail
		}
	}
	return s.write(c, row.status, "assignmentform", p)
}

// formProblem is one thing that is wrong, and where on the page it stands.
type formProblem struct{ At, Label, Detail string }

// formLabels are the fields of the form as the page calls them.
var formLabels = map[string]string{"title": "Title", "track": "Marked by", "opens": "Opens", "closes": "Closes", "minutes": "Minutes", "tries": "Tries", "cue": "What helps", "places": "What helps"}

func problemAt(name, detail string) formProblem {
	p := formProblem{At: name, Label: formLabels[name], Detail: detail}
	if at, ok := strings.CutPrefix(name, "slots/"); ok {
		n, _ := strconv.Atoi(at)
		p.At = fmt.Sprintf("patient-%d", n+1)
		return p
	}
	switch name {
	case "cue", "places":
		p.At = "shows-title"
	case "slots":
		p.At = "patients-title"
	}
	return p
}

func (s *Server) doNewAssignment(c *gin.Context) error {
	cohort, err := s.teaches(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.doAssignmentForm(c, cohort, store.Assignment{})
}

func (s *Server) doChangeAssignment(c *gin.Context) error {
	a, cohort, err := s.managed(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.doAssignmentForm(c, cohort, a)
}

// work changes the list of patients: add, remove-N, or show-N, which lists the
// cases of a patient anew and ticks all that match.
func (f *assignmentForm) work(all []*cases.Case, do string) {
	verb, at, _ := strings.Cut(do, "-")
	n, err := strconv.Atoi(at)
	known := err == nil && n >= 0 && n < len(f.Slots)
	switch {
	case verb == "add" && len(f.Slots) < mostSlots:
		f.Slots = append(f.Slots, slotForm{})
	case verb == "remove" && known && len(f.Slots) > 1:
		f.Slots = slices.Delete(f.Slots, n, n+1)
	case verb == "show" && known:
		f.Slots[n].Cases = nil
		for _, k := range all {
			if f.Slots[n].matches(k) {
				f.Slots[n].Cases = append(f.Slots[n].Cases, k.ID)
			}
		}
	}
}

// askOf reads what was typed; wrong is what cannot be read at all.
func (s *Server) askOf(f assignmentForm) (ask assignmentAsk, wrong []FieldProblem) {
	ask = assignmentAsk{Title: f.Title, Kind: f.Kind, Track: f.Track, Cue: f.Cue, Places: f.Places, Shuffled: f.Order == "drawn"}
	var err error
	if ask.Opens, _, err = s.typedMoment(f.Opens, f.OpensWhich); err != nil {
		wrong = append(wrong, FieldProblem{"/opens", err.Error()})
	}
	if ask.Closes, _, err = s.typedMoment(f.Closes, f.ClosesWhich); err != nil {
		wrong = append(wrong, FieldProblem{"/closes", err.Error()})
	}
	for _, row := range []struct {
		pointer, text string
		to            **int
	}{{"/minutes", f.Minutes, &ask.Minutes}, {"/tries", f.Tries, &ask.Tries}} {
		if row.text == "" {
			continue
		}
		n, err := strconv.Atoi(row.text)
		if err != nil {
			wrong = append(wrong, FieldProblem{row.pointer, "A whole number in figures, or nothing."})
			continue
		}
		*row.to = &n
	}
	for _, slot := range f.Slots {
		ask.Slots = append(ask.Slots, slot.Cases)
	}
	return ask, wrong
}

// assignmentFormPage lays a form out.
func (s *Server) assignmentFormPage(ctx context.Context, who face.Person, cohort store.Cohort, was store.Assignment, f assignmentForm) (*assignmentFormPage, error) {
	p := &assignmentFormPage{Cohort: cohort.ID, CohortName: cohort.Name, ID: was.ID, F: f, Bad: map[string]string{}, Most: mostSlots,
		Sitting: exam.Kind(f.Kind) == exam.Sitting, WasSet: was.State == store.AssignmentSet, Zone: s.zoneWords(s.now()), MayAdd: len(f.Slots) < mostSlots,
		Action: "/cohorts/" + cohort.ID + "/assignments", Cues: chosenOf(cueChoices, f.Cue), Where: chosenOf(placeChoices, f.Places)}
	p.Title = "New " + kindWords(f.Kind)
	if was.ID != "" {
		p.Title, p.Action = "Change "+was.Title, "/assignments/"+was.ID+"/change"
	}
	for _, row := range s.shelf.Load().rows {
		if row.Current {
			p.Tracks = append(p.Tracks, choiceRow{ID: row.ID, Label: fmt.Sprintf("%s, version %d", row.Title, row.Version), Chosen: row.ID == f.Track})
		}
	}
	_, p.OpensTwice, _ = s.typedMoment(f.Opens, f.OpensWhich)
	_, p.ClosesTwice, _ = s.typedMoment(f.Closes, f.ClosesWhich)
	visible, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	met, err := s.store.MetBefore(ctx, cohort.ID, was.ID)
	if err != nil {
		return nil, fmt.Errorf("assignment form: %w", err)
	}
	if len(p.F.Slots) == 0 {
		p.F.Slots = make([]slotForm, 1)
	}
	for i, slot := range p.F.Slots {
		p.Slots = append(p.Slots, s.slotFormRow(i, slot, visible, met))
	}
	return p, nil
}

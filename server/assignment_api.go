package server

import (
	"context"
	"fmt"
	"time"

	"dewclaw/cases/trial"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// newAssignmentForm is the body of POST /api/v1/cohorts/{id}/assignments. Minutes
// and tries that are not given are until it closes, and any number or, for a
// sitting, one; cue and places are what is usual for the kind.
type newAssignmentForm struct {
	Title    string     `json:"title"`
	Kind     string     `json:"kind"`
	Track    string     `json:"track"`
	Slots    [][]string `json:"slots"`
	Opens    time.Time  `json:"opens"`
	Closes   time.Time  `json:"closes"`
	Minutes  *int       `json:"minutes"`
	Tries    *int       `json:"tries"`
	Shuffled bool       `json:"shuffled"`
	Cue      string     `json:"cue"`
	Places   string     `json:"places"`
}

// setAnswer is an assignment as its instructors see it.
type setAnswer struct {
	ID       string     `json:"id"`
	Cohort   string     `json:"cohort"`
	Title    string     `json:"title"`
	Kind     string     `json:"kind"`
	State    string     `json:"state"` // draft, set, open, closed or withdrawn
	Track    string     `json:"track"`
	Rubric   string     `json:"rubric,omitempty"` // hash of the version's text, once it is set
	Slots    [][]string `json:"slots"`            // cases; one that is kept from this very person is empty
	Opens    time.Time  `json:"opens"`
	Closes   time.Time  `json:"closes"`
	Minutes  int        `json:"minutes,omitempty"`
	Tries    int        `json:"tries,omitempty"`
	Shuffled bool       `json:"shuffled"`
	Cue      string     `json:"cue"`
	Places   string     `json:"places"`
	Released *time.Time `json:"released,omitempty"`

	Standing *standingAnswer `json:"standing,omitempty"` // of one assignment, not in a list
}

// standingAnswer is what should be known before an assignment is set.
type standingAnswer struct {
	Students int           `json:"students"`
	Refused  []string      `json:"refused"`
	Against  []string      `json:"against"`
	Uneven   []string      `json:"uneven"`
	Cautions []string      `json:"cautions"`
	Draws    []drawsAnswer `json:"draws"`
}

// drawsAnswer is how equally hard the draws of one case are.
type drawsAnswer struct {
	Case     string      `json:"case"`
	Measured bool        `json:"measured"`
	Mean     face.Points `json:"mean,omitempty"`
	SD       face.Points `json:"sd,omitempty"`
	Width    face.Points `json:"width,omitempty"`
	Excluded int         `json:"excluded,omitempty"`
	Seeds    int         `json:"seeds,omitempty"`
	Verdict  string      `json:"verdict,omitempty"`
	Reasons  []string    `json:"reasons,omitempty"`
}

type setListAnswer struct {
	Assignments []setAnswer `json:"assignments"`
}

func (s *Server) apiSetList(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	cohort, err := s.teaches(ctx, who, c.Param("id"))
	if err != nil {
		return err
	}
	all, err := s.store.Assignments(ctx, cohort.ID)
	if err != nil {
		return fmt.Errorf("assignments: %w", err)
	}
	out := setListAnswer{Assignments: []setAnswer{}}
	for _, a := range all {
		row, err := s.answerSet(ctx, who, a)
		if err != nil {
			return err
		}
		out.Assignments = append(out.Assignments, row)
	}
	return s.answer(c, done, out)
}

func (s *Server) apiMakeAssignment(c *gin.Context) error {
	var f newAssignmentForm
	if err := decode(c, &f); err != nil {
		return err
	}
	ctx, who := c.Request.Context(), person(c)
	a, err := s.saveAssignment(ctx, who, c.Param("id"), "", "", f.ask())
	if err != nil {
		return err
	}
	out, err := s.answerSet(ctx, who, a)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/assignments/"+a.ID)
	return s.answer(c, made, out)
}

// ask is what the body asks, with what is usual for its kind.
func (f newAssignmentForm) ask() assignmentAsk {
	usual := map[string][2]string{"practice": {"full", "labelled"}, "sitting": {"headings", "unlabelled"}}[f.Kind]
	if f.Cue == "" {
		f.Cue = usual[0]
	}
	if f.Places == "" {
		f.Places = usual[1]
	}
	if f.Track == "" {
		f.Track = defaultTrack
	}
	return assignmentAsk{Title: f.Title, Kind: f.Kind, Track: f.Track, Slots: f.Slots, Opens: f.Opens, Closes: f.Closes,
		Minutes: f.Minutes, Tries: f.Tries, Shuffled: f.Shuffled, Cue: f.Cue, Places: f.Places}
}

func (s *Server) apiOneSet(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	a, cohort, err := s.managed(ctx, who, c.Param("id"))
	if err != nil {
		return err
	}
	out, err := s.answerSet(ctx, who, a)
	if err != nil {
		return err
	}
	st, err := s.standing(ctx, who, a, cohort)
	if err != nil {
		return err
	}
	out.Standing = &standingAnswer{Students: len(st.students), Refused: notNil(st.refused), Against: notNil(st.against), Uneven: notNil(st.uneven), Cautions: notNil(st.cautions), Draws: st.drawsAnswers()}
	return s.answer(c, done, out)
}

func (s *Server) answerSet(ctx context.Context, who face.Person, a store.Assignment) (setAnswer, error) {
	sealed, err := s.sealedFrom(ctx, who.ID)
	out := setAnswer{ID: a.ID, Cohort: a.Cohort, Title: a.Title, Kind: a.Kind, State: s.assignmentState(a), Track: a.Track, Rubric: a.RubricHash, Opens: a.Opens, Closes: a.Closes,
		Minutes: a.Minutes, Tries: a.Tries, Shuffled: a.Shuffled, Cue: a.Cue, Places: a.Places, Slots: [][]string{}}
	if !a.Released.IsZero() {
		out.Released = &a.Released
	}
	for _, ids := range a.Slots {
		row := []string{}
		for _, id := range ids {
			if sealed[id] {
				id = ""
			}
			row = append(row, id)
		}
		out.Slots = append(out.Slots, row)
	}
	return out, err
}

// drawsAnswers are the figures of a sitting's cases, but of those that are kept
// from this very person.
func (st *standing) drawsAnswers() []drawsAnswer {
	out := []drawsAnswer{}
	if st.a.Kind != forSitting {
		return out
	}
	for _, id := range casesOf(st.a) {
		if st.sealed[id] {
			continue
		}
		row := drawsAnswer{Case: id}
		if d := st.draws[id]; d != nil {
			row.measured(d)
		}
		out = append(out, row)
	}
	return out
}

func (row *drawsAnswer) measured(d *trial.Draws) {
	row.Measured, row.Mean, row.SD, row.Width = true, face.Points(d.Mean), face.Points(d.SD), face.Points(d.Width)
	row.Excluded, row.Seeds, row.Verdict, row.Reasons = d.Excluded, d.Seeds, string(d.Verdict), d.Reasons
}

// notNil is a list that is written as [] where it is empty.
func notNil(all []string) []string {
	if all == nil {
		return []string{}
	}
	return all
}

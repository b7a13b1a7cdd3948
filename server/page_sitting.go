package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// sittingPage is where one waits for an assignment: what to expect, what to try
// beforehand, and the server's clock.
type sittingPage struct {
	Base
	A                        face.Assignment
	Sitting                  bool
	Window, Zone, Phase, Now string
	At                       string // the same moment for the script, in UTC
	Expect, Private          []string
	Sound                    string // how far the sound check is
	Oriented                 string // how far the orientation is
	Going                    string // the turn that runs
	MayBegin, Again, Early   bool
	Past                     []pastTurn
	Wrong                    string
}

// pastTurn is a try that is over.
type pastTurn struct{ ID, Name, State string }

// showAssigned is the waiting page for who is to do it, and the assignment itself
// for who manages it.
func (s *Server) showAssigned(c *gin.Context) error {
	p, err := s.sittingPage(c)
	if errors.Is(err, ErrMissing) && auth.May(auth.Role(person(c).Role), auth.SetAssignments) {
		return s.showAssignment(c)
	}
	if err != nil {
		return err
	}
	return s.page(c, "sitting", p)
}

func (s *Server) sittingPage(c *gin.Context) (*sittingPage, error) {
	ctx, v := c.Request.Context(), who(c)
	a, cohort, err := s.assigned(ctx, v.person, c.Param("id"))
	if err != nil {
		return nil, err
	}
	f, err := s.faceAssignment(ctx, v.person, a, cohort, v.session)
	if err != nil {
		return nil, err
	}
	p := s.sittingPageOf(f)
	if p.Sound, err = s.soundSaid(ctx, v.person); err != nil {
		return nil, err
	}
	p.Oriented, err = s.orientedSaid(ctx, v.person)
	return p, err
}

func (s *Server) sittingPageOf(f face.Assignment) *sittingPage {
	p := &sittingPage{Base: Base{Title: f.Title}, A: f, Sitting: f.Kind == string(exam.Sitting), Window: s.span(f.Opens, f.Closes), Zone: s.zoneWords(f.Opens),
		Phase: s.phaseWords(f), Now: f.Now.In(s.zone()).Format(time.TimeOnly), At: f.Now.UTC().Format(time.RFC3339), Expect: expectWords(f), Private: ownWords(f)}
	p.MayBegin, p.Early = f.Phase == string(exam.Open), f.Phase == string(exam.Early)
	for _, t := range f.Turns {
		if t.Phase != string(exam.Over) {
			p.Going = t.ID
			continue
		}
		row := pastTurn{ID: t.ID, Name: fmt.Sprintf("Try %d", t.Try), State: "handed in"}
		if t.Released {
			row.State = "released"
		}
		p.Past = append(p.Past, row)
	}
	p.Again = p.MayBegin && len(p.Past) > 0
	return p
}

// soundSaid says how far a person's sound check is.
func (s *Server) soundSaid(ctx context.Context, who face.Person) (string, error) {
	p, err := s.store.Person(ctx, who.ID)
	if err != nil {
		return "", fmt.Errorf("sound check: %w", err)
	}
	ways := soundWays(p.Alternatives)
	switch {
	case !p.CheckPassed.IsZero():
		return "✓ Passed on " + s.moment(p.CheckPassed) + ".", nil
	case ways != "":
		return "Not passed. Sounds are given to you " + ways + " besides, so you can do without it.", nil
	}
	return "Not passed yet. Much of what is heard is deep and faint; try your headphones before it counts.", nil
}

// orientedSaid says how far a person's orientation is.
func (s *Server) orientedSaid(ctx context.Context, who face.Person) (string, error) {
	rows, err := s.ownOrientations(ctx, who)
	if err != nil || len(rows) == 0 {
		return "", err
	}
	if rows[0].State == store.StateOpen {
		return "Begun on " + s.moment(rows[0].Started) + "; you can go on with it.", nil
	}
	return "✓ Done on " + s.moment(rows[0].Finished) + ". You may do it again.", nil
}

// doBegin begins one's turn, or goes back to the one that runs.
func (s *Server) doBegin(c *gin.Context) error {
	t, err := s.beginTurn(c.Request.Context(), person(c), c.Param("id"), who(c).session)
	if err == nil {
		return s.redirect(c, "/turns/"+t.row.ID)
	}
	row, _ := tell(err)
	if row.status != http.StatusConflict {
		return err
	}
	p, again := s.sittingPage(c)
	if again != nil {
		return again
	}
	p.Wrong = row.text
	return s.write(c, row.status, "sitting", p)
}

// orientationPage lists at the end which ways of acting were used.
type orientationPage struct {
	Base
	Patient string
	Kinds   []usedKind
	Used    int
}

// usedKind is a way of acting, and whether it was used.
type usedKind struct {
	ID, Label, How string
	Used           bool
}

func (s *Server) doOrientation(c *gin.Context) error {
	row, err := s.orientation(c.Request.Context(), person(c), c.PostForm("assignment"))
	if err != nil {
		return err
	}
	return s.redirect(c, "/visits/"+row.ID)
}

func orientationPageOf(a face.Attempt) *orientationPage {
	return &orientationPage{Base: Base{Title: "Orientation"}, Patient: a.Patient.Name, Kinds: usedKinds(a), Used: len(a.Used)}
}

// usedKinds are all ways of acting with those that an orientation has used.
func usedKinds(a face.Attempt) []usedKind {
	used := map[string]bool{}
	for _, id := range a.Used {
		used[id] = true
	}
	var out []usedKind
	for _, k := range actKinds {
		out = append(out, usedKind{k.ID, k.Label, k.How, used[k.ID]})
	}
	return out
}

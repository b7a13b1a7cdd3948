package server

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strconv"

	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// expertsPage lists whom one can watch.
type expertsPage struct {
	Base
	Experts []expertRow
}

type expertRow struct {
	Species, Label, Patient, Length, State string
}

// expertPage is an examination to be watched: a list without scripts, played with them.
type expertPage struct {
	Base
	Of      face.Expert
	About   string // signalment
	Animal  template.HTML
	Scenes  []sceneRow
	Length  string
	Traced  bool
	Watched bool // seen to its end before
}

// sceneRow is a scene as the page shows it.
type sceneRow struct {
	face.ExpertScene
	At      string // the visit's clock
	Legs    int    // how much of the way over the animal is gone by now
	Choices []guessRow
	Rows    []beatRow
}

// guessRow is something that one could do next.
type guessRow struct{ ID, Label string }

// beatRow is one act of a scene.
type beatRow struct {
	face.ExpertBeat
	First, More    []string
	Sound, Picture string // addresses; empty: none
	Alt            string
}

// expertNextPage is what became of a guess, where no script shows it.
type expertNextPage struct {
	Base
	Species, Name string
	Answer        face.ExpertAnswer
	Sign          string
	Back          string
}

func (s *Server) showExperts(c *gin.Context) error {
	all, err := s.experts(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	p := &expertsPage{Base: Base{Title: "Watch an expert"}}
	for _, e := range all {
		p.Experts = append(p.Experts, expertRowOf(e))
	}
	return s.page(c, "experts", p)
}

// watchedWords say how far one has watched.
var watchedWords = map[string]string{watchedBegun: "begun", watchedWhole: "✓ watched"}

func expertRowOf(e face.ExpertLine) expertRow {
	return expertRow{Species: e.Species, Label: e.Label, Patient: e.Patient, Length: lengthOf(e.Moments, e.Seconds), State: watchedWords[e.Watched]}
}

func lengthOf(moments, seconds int) string {
	return fmt.Sprintf("%d steps, %d min", moments, (seconds+30)/60)
}

func (s *Server) showExpert(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	x, cat, err := s.scriptHere(c)
	if err != nil {
		return err
	}
	how, err := s.hasWatched(ctx, who)
	if err != nil {
		return err
	}
	me, err := s.store.Person(ctx, who.ID)
	if err != nil {
		return missing("expert", err)
	}
	p := expertPageOf(s.expert(x, cat), cat, func(i int) []guessRow { return x.choiceRows(i, s) })
	p.Traced, p.Watched = me.Alternatives.Traced, how[x.face.Species] == watchedWhole
	return s.page(c, "expert", p)
}

// choiceRows are what can be guessed at a scene that asks.
func (x *script) choiceRows(i int, s *Server) []guessRow {
	var out []guessRow
	w := s.scriptWords(x)
	for _, it := range x.choices(i) {
		label := map[string]string{string(rubric.Wait): "Wait a minute", string(rubric.Ask): "Ask the owner", string(rubric.Conclude): "Conclude"}[it]
		if label == "" {
			label = w.Step(it)
		}
		out = append(out, guessRow{it, label})
	}
	return out
}

func expertPageOf(e face.Expert, cat *face.Catalogue, choices func(int) []guessRow) *expertPage {
	p := &expertPage{Base: Base{Title: e.Patient.Name + ", examined by an expert", Wide: true}, Of: e, About: signalment(e.Patient), Length: lengthOf(len(e.Moments), e.Seconds)}
	d := web.Drawing{Species: e.Species, Dry: e.Dry, Spots: spotsOf(cat), Name: "gone", Title: "The expert’s way over the animal"}
	for i, sc := range e.Moments {
		if r := cat.Region(sc.Region); r != nil && (len(d.Route) == 0 || d.Route[len(d.Route)-1] != sc.Region) {
			d.Route = append(d.Route, sc.Region)
		}
		row := sceneRow{ExpertScene: sc, At: clock(sc.Clock), Legs: len(d.Route)}
		if sc.Asks {
			row.Choices = choices(i)
		}
		for _, b := range sc.Beats {
			row.Rows = append(row.Rows, beatRowOf(e, sc, b))
		}
		p.Scenes = append(p.Scenes, row)
	}
	p.Animal = web.Animal(d)
	return p
}

func beatRowOf(e face.Expert, sc face.ExpertScene, b face.ExpertBeat) beatRow {
	row := beatRow{ExpertBeat: b, First: b.Words[:b.Lead], More: b.Words[b.Lead:]}
	at, of := "/api/v1/experts/"+e.Species+"/acts/"+strconv.Itoa(b.Act), "?of="+e.Patient.ID
	if b.Heard {
		row.Sound = at + "/sound" + of
	}
	if b.Seen {
		row.Picture, row.Alt = at+"/picture"+of, joinSet([]string{sc.Title, b.Label}, ", ")
		row.First, row.More = picked(row.First, row.More)
	}
	return row
}

// picked leaves one sentence beside a picture, which says the same: the rest waits
// under the fold.
func picked(first, more []string) (shown, folded []string) {
	if len(first) < 2 {
		return first, more
	}
	return first[:1], slices.Concat(first[1:], more)
}

// doWatched is the button at the end of the list.
func (s *Server) doWatched(c *gin.Context) error {
	if err := s.watch(c, true); err != nil {
		return err
	}
	s.notice(c, "Noted. You can watch again whenever you like.")
	return s.redirect(c, "/experts")
}

// guessSigns are marks beside a verdict.
var guessSigns = map[string]string{guessSame: "✓", guessFits: "✓", guessDone: "–", guessClashes: "✕"}

func (s *Server) showExpertNext(c *gin.Context) error {
	x, _, err := s.scriptHere(c)
	if err != nil {
		return err
	}
	i, got, err := s.guessHere(c, x)
	if err != nil {
		return err
	}
	return s.page(c, "expertnext", &expertNextPage{Base: Base{Title: "What would you do next?"}, Species: x.face.Species, Name: x.face.Name,
		Answer: got, Sign: guessSigns[got.Verdict], Back: fmt.Sprintf("/experts/%s#m%d", x.face.Species, i+1)})
}

// expertsOffered are the species of which a student has neither met a patient to
// the end nor watched an expert, and may watch one now. Staff are offered none.
func (s *Server) expertsOffered(ctx context.Context, who face.Person) ([]string, error) {
	if auth.Role(who.Role) != auth.Student {
		return nil, nil
	}
	if err := s.notWhileSitting(ctx, who); errors.Is(err, ErrNotNow) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	open, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	known, err := s.hasWatched(ctx, who)
	if err != nil {
		return nil, err
	}
	rows, err := s.store.Attempts(ctx, store.Filter{Person: who.ID, Limit: mostVisits})
	if err != nil {
		return nil, fmt.Errorf("expert: %w", err)
	}
	for _, row := range rows {
		if k := s.library.Case(row.Case); k != nil && row.State != store.StateOpen {
			known[k.Species] = watchedNot
		}
	}
	return slices.DeleteFunc(s.library.Species(), func(species string) bool {
		_, err := expertCase(open, species)
		return err != nil || known[species] != ""
	}), nil
}

// offersExpert reports whether the room offers to watch an expert: at the start of
// one's own practice with a first patient of a species.
func (s *Server) offersExpert(c *gin.Context, a face.Attempt) (bool, error) {
	if a.Purpose != "" || a.Turn != "" || a.Last > 0 {
		return false, nil
	}
	offered, err := s.expertsOffered(c.Request.Context(), person(c))
	return slices.Contains(offered, a.Patient.Species), err
}

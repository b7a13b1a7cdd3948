package server

import (
	"context"
	"errors"
	"html/template"
	"strconv"

	"dewclaw/server/face"
	"dewclaw/server/study"
	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// againPage is what is examined once more before a debrief: one missed finding
// after the other.
type againPage struct {
	Base
	ID, Patient string
	Traced      bool
	Now         *face.Missed // the one that is looked at
	Of          int          // how many there are
	Where, Fate string       // of Now, in words
	Animal      template.HTML
	Told        againSeen // of Now, once it is told
	Lines       []claimGroup
	Waits       bool        // another one waits besides
	Seen        []againSeen // all of them, once nothing waits
	Wrong       string
}

// claimGroup is a line with the values that can be committed.
type claimGroup struct {
	Line    string
	Choices []face.Claim
}

// againSeen is one that was looked at, in a line.
type againSeen struct {
	N                   int
	Where, Said, Actual string
	Mark, MarkWord      string
}

// fates are what became of a missed finding, to who is told only where it was.
var fates = map[string]string{
	"normal": "You examined it and called it normal.",
	"blank":  "You examined it and wrote nothing down.",
	"unseen": "You did not examine it.",
}

func (s *Server) showAgain(c *gin.Context) error {
	y, err := s.lookInto(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	here := "/visits/" + y.row.ID + "/again"
	way, err := s.wayBefore(c.Request.Context(), person(c), y.row)
	if err != nil {
		return err
	}
	if way != "" && way != here {
		return s.redirect(c, way)
	}
	if len(y.missed) == 0 {
		return s.redirect(c, "/visits/"+y.row.ID+"/debrief")
	}
	n, err := strconv.Atoi(c.Query("n"))
	if err != nil || n < 0 || n > len(y.missed) {
		n = 0
	}
	p := againPageOf(y.face(), n)
	p.ID, p.Patient, p.Traced = y.row.ID, y.live.face.Name, y.row.Alternatives.Traced
	p.Title = "Look again at " + p.Patient
	if c.Query("wrong") != "" {
		p.Wrong = "Choose what you find from the list."
	}
	if p.Now != nil {
		if p.Animal, err = s.ringed(y.live.face.Species, y.missed[p.Now.N-1].step.Region, p.Where); err != nil {
			return err
		}
	}
	return s.page(c, "again", p)
}

// againPageOf shows the n-th; 0: the first that waits, or all once none does.
func againPageOf(all face.Again, n int) *againPage {
	p := &againPage{Of: len(all.Findings)}
	for _, m := range all.Findings {
		if m.State == "open" && n == 0 {
			n = m.N
		}
		p.Waits = p.Waits || m.State == "open" && m.N != n
		p.Seen = append(p.Seen, againSeenOf(m))
	}
	if n == 0 {
		return p
	}
	p.Now = &all.Findings[n-1]
	p.Where, p.Fate, p.Told = whereOf(*p.Now), fates[p.Now.How], p.Seen[n-1]
	for _, c := range p.Now.Choices {
		if k := len(p.Lines) - 1; k >= 0 && p.Lines[k].Line == c.Line {
			p.Lines[k].Choices = append(p.Lines[k].Choices, c)
			continue
		}
		p.Lines = append(p.Lines, claimGroup{c.Line, []face.Claim{c}})
	}
	return p
}

// ringed is the animal with a ring at one place.
func (s *Server) ringed(species, region, where string) (template.HTML, error) {
	cat, err := s.catalogue(species)
	if err != nil {
		return "", err
	}
	return web.Animal(web.Drawing{Species: species, Spots: spotsOf(cat), Name: "where", Title: "Where it was: " + where, Route: []string{region}, Moves: []string{region}}), nil
}

func whereOf(m face.Missed) string { return joinSet([]string{m.Region, m.Site}, ", ") }

// foundWords say how much was found at the second look, with a mark before it.
var foundWords = map[string][2]string{"whole": {"✓", "Found now"}, "part": {"–", "Found in part"}, "none": {"✕", "Not yet"}, "": {"–", "Passed over"}}

func againSeenOf(m face.Missed) againSeen {
	word := foundWords[m.Found]
	return againSeen{N: m.N, Where: whereOf(m), Said: m.Said, Actual: m.Actual, Mark: word[0], MarkWord: word[1]}
}

func (s *Server) doAgain(c *gin.Context) error {
	ctx, who, id := c.Request.Context(), person(c), c.Param("id")
	if c.PostForm("deed") == "pass" {
		if err := s.passAgain(ctx, who, id); err != nil {
			return err
		}
		return s.redirect(c, "/visits/"+id+"/debrief")
	}
	n, _ := strconv.Atoi(c.PostForm("n")) // no number is no finding
	_, err := s.commitAgain(ctx, who, id, n, c.PostForm("claim"))
	if errors.Is(err, ErrInvalid) {
		return s.redirect(c, "/visits/"+id+"/again?wrong=1&n="+strconv.Itoa(n))
	}
	if err != nil && !errors.Is(err, ErrNotNow) { // answered in another tab: what was said there is shown
		return err
	}
	return s.redirect(c, "/visits/"+id+"/again?n="+strconv.Itoa(n))
}

// planTold is a plan as the debrief shows it: how the last one went, and those to
// choose from.
type planTold struct {
	Checked *checkedPlan
	Rows    []planChoice
	None    bool   // none is chosen
	Stands  string // the sentence of one that was chosen after another visit
}

type checkedPlan struct{ Sentence, Word string }

type planChoice struct {
	ID, Sentence string
	Chosen       bool
}

// planVerdicts say what a visit showed of a plan.
var planVerdicts = map[string]string{
	study.Kept:       "✓ Kept in this visit.",
	study.Broken:     "✕ Not kept in this visit.",
	study.CannotTell: "– This visit could not show whether it was kept.",
}

// planTold is nil where the visit is not one's own practice.
func (s *Server) planTold(ctx context.Context, who face.Person, id string) (*planTold, error) {
	all, err := s.plans(ctx, who, id)
	if errors.Is(err, ErrMissing) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return planToldOf(all), nil
}

func planToldOf(all face.Plans) *planTold {
	out := &planTold{None: all.Chosen == "" && all.Stands == "", Stands: all.Stands}
	if c := all.Checked; c != nil {
		out.Checked = &checkedPlan{c.Sentence, planVerdicts[c.Kept]}
	}
	for _, p := range all.Offered {
		out.Rows = append(out.Rows, planChoice{p.ID, p.Sentence, p.ID == all.Chosen})
	}
	return out
}

func exampleAgain() *againPage {
	p := againPageOf(face.Again{Findings: []face.Missed{{N: 1, Region: "Heart", Site: "left apex", Step: "Listen to the heart", How: "normal", Heard: true, Seen: true,
		Words: []string{"Words."}, InWords: []string{"Words of it."}, State: "open", Choices: []face.Claim{{ID: "heart.murmur@left apex=none", Line: "Murmur, left apex", Label: "none"}}}}}, 0)
	p.Title, p.ID, p.Patient, p.Wrong = "Look again", "v1", "Bramble", "Choose what you find from the list."
	return p
}

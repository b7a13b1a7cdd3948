package server

import (
	"fmt"
	"html/template"
	"time"

	"dewclaw/server/face"
	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// progressPage is what somebody can do by their own visits and drills.
type progressPage struct {
	Base
	New       bool // nothing was met yet
	Skills    []skillRow
	Forgotten []forgottenView
	Strip     sureStrip
	Plans     []planRow
	Drills    []face.DrillTold
}

// skillRow is a skill in a sentence. Span is where the share lies on a line from
// none to all; nil: too little was seen.
type skillRow struct {
	Label, Text string
	Span        *spanMark
}

// spanMark is an interval on a line of a thousand, with what to expect.
type spanMark struct{ Low, Wide, Expect int }

// forgottenView are the steps left out again and again with one species, on the
// animal and by region.
type forgottenView struct {
	Species, Label, Note string
	Animal               template.HTML
	Regions              []forgottenRegion
}

// forgottenRegion is a numbered place on the animal with its steps.
type forgottenRegion struct {
	Label string
	Steps []forgottenStep
}

type forgottenStep struct{ Label, Text string }

// planRow is a plan and what became of it.
type planRow struct{ Sign, Sentence, Kept, Made string }

func (s *Server) showProgress(c *gin.Context) error {
	f, err := s.progress(c.Request.Context(), person(c))
	if err != nil {
		return err
	}
	return s.page(c, "progress", progressPageOf(f, s.catalogues, s.dayWords))
}

// progressPageOf lays progress out.
func progressPageOf(f face.Progress, catalogues map[string]*face.Catalogue, day func(time.Time) string) *progressPage {
	p := &progressPage{Base: Base{Title: "Your progress"}, Strip: sureStripOf(f.Sure, f.SureText), Drills: f.Drills}
	p.New = true
	for _, k := range f.Skills {
		p.New = p.New && k.Lines == 0
		row := skillRow{Label: k.Label, Text: k.Text}
		if k.Expect != nil {
			low, high := thousandths(*k.Low), thousandths(*k.High)
			row.Span = &spanMark{Low: low, Wide: high - low, Expect: thousandths(*k.Expect)}
		}
		p.Skills = append(p.Skills, row)
	}
	for _, of := range f.Forgotten {
		if cat := catalogues[of.Species]; cat != nil {
			p.Forgotten = append(p.Forgotten, forgottenViewOf(of, cat))
		}
	}
	for _, plan := range f.Plans {
		row := planRow{Sentence: plan.Sentence, Made: day(plan.Made)}
		row.Sign, row.Kept = keptWords(plan.Kept)
		p.Plans = append(p.Plans, row)
	}
	return p
}

func thousandths(share float64) int { return int(share*1000 + .5) }

// keptWords say what became of a plan, with a mark before it.
func keptWords(kept string) (sign, words string) {
	switch kept {
	case "yes":
		return "✓", "kept at the next visit"
	case "no":
		return "✕", "not kept at the next visit"
	case "unclear":
		return "–", "the next visit could not show it"
	}
	return "…", "for your next visit"
}

// forgottenViewOf numbers the regions of the steps on the animal, those forgotten
// most first.
func forgottenViewOf(f face.Forgotten, cat *face.Catalogue) forgottenView {
	v := forgottenView{Species: f.Species, Label: cat.Label}
	at := map[string]int{}
	var regions []string
	for _, step := range f.Steps {
		i, met := at[step.Region]
		if !met {
			if len(regions) == mostNumbers {
				v.Note = fmt.Sprintf("These are the %d places forgotten most.", mostNumbers)
				continue
			}
			i = len(regions)
			at[step.Region], regions = i, append(regions, step.Region)
			v.Regions = append(v.Regions, forgottenRegion{Label: labelOfRegion(cat, step.Region)})
		}
		v.Regions[i].Steps = append(v.Regions[i].Steps, forgottenStep{step.Label, step.Text})
	}
	v.Animal = web.Animal(web.Drawing{Species: f.Species, Spots: spotsOf(cat), Name: "forgotten-" + f.Species, Moves: regions, Numbers: true,
		Title: "Where steps were left out again and again, numbered as in the list"})
	return v
}

// labelOfRegion is what a region is called.
func labelOfRegion(cat *face.Catalogue, id string) string {
	for _, g := range cat.Regions {
		if g.ID == id {
			return g.Label
		}
	}
	return id
}

// dayWords is a day in the school's zone.
func (s *Server) dayWords(t time.Time) string { return t.In(s.zone()).Format("2 Jan 2006") }

func exampleProgress() *progressPage {
	share := func(x float64) *float64 { return &x }
	return progressPageOf(face.Progress{
		Skills: []face.Skill{
			{ID: "heart", Label: "Heart and pulse", Text: "You would get about 7 of 10 heart and pulse findings right (5 to 8); from 23 lines in 4 patients; last met 9 days ago.", Lines: 23, Expect: share(.7), Low: share(.52), High: share(.84)},
			{ID: "lungs", Label: "Breathing and lungs", Text: "Not met yet."},
		},
		Forgotten: []face.Forgotten{{Species: "dog", Label: "Dog", Steps: []face.ForgottenStep{{Step: "heart.auscultate", Region: "heart", Label: "Auscultate the heart", Left: 3, Visits: 4, Text: "left out in 3 of 4"}}}},
		Sure:      []face.SureBand{{Sure: 95, Right: 14, N: 20, Low: .481, High: .855, Text: "When you are sure: right 14 of 20, 48 to 85 %.", Claim: "You are right less often than that claims."}},
		Plans:     []face.PlanTold{{Plan: "breaths-first", Sentence: "Before I touch the animal I count its breaths for 30 s.", Made: exampleTime, Kept: "yes"}},
		Drills:    []face.DrillTold{{Kind: "rates", Label: "Count the rate", Text: "8 of the last 10 right; last done yesterday."}},
	}, map[string]*face.Catalogue{"dog": exampleCatalogue()}, func(t time.Time) string { return t.Format("2 Jan 2006") })
}

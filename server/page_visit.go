package server

import (
	"html/template"

	"dewclaw/server/face"
	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// roomPage is the examination room. What happens in it is read and sent by the
// page's scripts; the page itself brings the animal and the list of places.
type roomPage struct {
	Base
	Attempt    face.Attempt
	Signalment string
	Animal     template.HTML
	Chest      template.HTML // the trunk, on which the chest piece is put
	Stages     []stageRow
	Review     string     // how far the review of what is sensed has come
	Full       bool       // the sheet shows its lines before one writes
	Kinds      []usedKind // of an orientation
	Plan       string     // what was taken along from the last debrief
	Expert     bool       // an expert can be watched before this first patient of the species
}

// stageRow is a stage with its regions, for the list beside the drawing.
type stageRow struct {
	ID, Label string
	Regions   []face.Term
}

// gradingPage waits for the debrief.
type gradingPage struct {
	Base
	ID, Patient string
}

// showVisit is the room while the visit is open, a waiting page while it is
// being marked, and the debrief afterwards.
func (s *Server) showVisit(c *gin.Context) error {
	a, err := s.attempt(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	switch a.State {
	case "open":
		if _, err := s.openAttempt(c.Request.Context(), person(c), a.ID); err != nil {
			return err // only the student is in the room
		}
		cat, err := s.catalogue(a.Patient.Species)
		if err != nil {
			return err
		}
		p := roomPageOf(a, cat)
		p.Review = s.wordsNotice(cat)
		if p.Plan, err = s.planFor(c.Request.Context(), person(c), a.ID); err != nil {
			return err
		}
		if p.Expert, err = s.offersExpert(c, a); err != nil {
			return err
		}
		return s.page(c, "room", p)
	case "closed":
		return s.page(c, "orientation", orientationPageOf(a))
	case "grading":
		if a.Purpose == forSitting && a.Turn != "" {
			return s.redirect(c, after(a))
		}
		return s.page(c, "grading", &gradingPage{Base: Base{Title: "Being marked"}, ID: a.ID, Patient: a.Patient.Name})
	}
	return s.redirect(c, "/visits/"+a.ID+"/debrief")
}

func roomPageOf(a face.Attempt, cat *face.Catalogue) *roomPage {
	p := &roomPage{Base: Base{Title: a.Patient.Name, Wide: true}, Attempt: a, Signalment: signalment(a.Patient), Full: a.Cue == "" || a.Cue == fullCue}
	if a.Purpose == forOrientation {
		p.Kinds = usedKinds(a)
	}
	for _, stage := range cat.Stages {
		row := stageRow{ID: stage.ID, Label: stage.Label}
		for _, r := range cat.Regions {
			if r.Stage == stage.ID {
				row.Regions = append(row.Regions, face.Term{ID: r.ID, Label: r.Label})
			}
		}
		if len(row.Regions) > 0 {
			p.Stages = append(p.Stages, row)
		}
	}
	p.Animal = web.Animal(web.Drawing{
		Species: a.Patient.Species, Title: cat.Label + " " + web.Posture(a.Patient.Species) + ", head to the left: places that can be examined",
		Dry: a.Patient.Dry, Spots: spotsOf(cat), Buttons: true,
	})
	p.Chest = web.Chest(a.Patient.Species)
	return p
}

// spotsOf are the regions in the order of the route, which is the order of the arrow keys.
func spotsOf(cat *face.Catalogue) []web.Spot {
	var spots []web.Spot
	for _, stage := range cat.Stages {
		for _, r := range cat.Regions {
			if r.Stage == stage.ID {
				spots = append(spots, web.Spot{ID: r.ID, Label: r.Label, Point: [2]int{r.X, r.Y}})
			}
		}
	}
	return spots
}

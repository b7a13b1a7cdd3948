package server

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// patientsPage is the way in: who can be examined, and the visits so far.
type patientsPage struct {
	Base
	Staff   bool
	Set     []assignedRow // what is set for this person, as a student of a cohort
	Past    []assignedRow // of those, what is done, missed or closed
	Waiting []visitRow    // own visits that are not finished
	Next    []nextRow     // what a student is offered; none while a sitting runs
	Track   string        // by which the offered patients are marked: as the last one
	Groups  []patientGroup
	Own     []rubricRow // the school's own rubrics, beside those of the two tracks
	Broken  []face.Broken
	Visits  []visitRow
}

// assignedRow is an assignment in the list of who is to do it.
type assignedRow struct {
	ID, Title, Cohort, Kind, Window, State string
	Private                                []string // what this student has beyond the others
	Now                                    bool     // can be begun or gone on with
}

// patientGroup is a species with its patients.
type patientGroup struct {
	Species, Label string
	Patients       []patientRow
	Expert         bool // to be watched before the first patient
}

// patientRow is a patient that can be examined. Title is for staff.
type patientRow struct {
	ID, Name, Signalment, Presenting, Title string
}

// visitRow is a visit in a list.
type visitRow struct {
	ID, Link, Name, About, Title, Student, Began, State, Total string
	Sounds                                                     string // ways in which sounds were given besides
}

func (s *Server) showPatients(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	p := &patientsPage{Base: Base{Title: "Patients"}, Staff: auth.May(auth.Role(who.Role), auth.SeeTruth)}
	if p.Staff {
		cases, broken, err := s.staffCases(ctx, who)
		if err != nil {
			return err
		}
		p.Broken = broken
		for _, sc := range cases {
			row := patientRowOf(sc.Patient)
			row.Title = joinSet([]string{staffTitle(sc), sc.Review}, " · ")
			p.add(s, sc.Patient.Species, row)
		}
	} else {
		list, err := s.listCases(ctx, who)
		if err != nil {
			return err
		}
		for _, pt := range list {
			p.add(s, pt.Species, patientRowOf(pt))
		}
	}
	slices.SortFunc(p.Groups, func(a, b patientGroup) int { return strings.Compare(a.Label, b.Label) })
	offered, err := s.expertsOffered(ctx, who)
	if err != nil {
		return err
	}
	for i := range p.Groups {
		p.Groups[i].Expert = slices.Contains(offered, p.Groups[i].Species)
	}
	p.Own = s.ownRubrics()
	if err := s.addAssigned(c, p); err != nil {
		return err
	}
	visits, err := s.visits(ctx, who)
	if err != nil {
		return err
	}
	ahead, err := s.store.AwaitForecast(ctx, who.ID)
	if err != nil {
		return err
	}
	z := s.zone()
	for _, v := range visits {
		row := visitRowOf(v, who, z)
		if slices.Contains(ahead, v.ID) { // what came would spoil what is expected
			row.Total, row.State = "", "the debrief is ready"
		}
		p.Visits = append(p.Visits, row)
		if v.State == "open" && row.Link != "" {
			p.Waiting = append(p.Waiting, row)
		}
	}
	if !p.Staff {
		offers, err := s.nextUnlessSitting(ctx, who)
		if err != nil {
			return err
		}
		p.Next, p.Track = nextRows(offers), s.lastTrack(visits)
	}
	return s.page(c, "patients", p)
}

// addAssigned lists what is set for a person: what can be done now or later apart
// from what is past.
func (s *Server) addAssigned(c *gin.Context, p *patientsPage) error {
	all, err := s.assignments(c.Request.Context(), person(c), who(c).session)
	if err != nil {
		return err
	}
	for _, a := range all {
		row := assignedRow{ID: a.ID, Title: a.Title, Cohort: a.Cohort.Name, Kind: a.Kind, Window: s.span(a.Opens, a.Closes), State: s.phaseWords(a), Private: ownWords(a)}
		switch exam.Phase(a.Phase) {
		case exam.Open, exam.Running, exam.Paused:
			row.Now = true
			p.Set = append(p.Set, row)
		case exam.Early:
			p.Set = append(p.Set, row)
		default:
			p.Past = append(p.Past, row)
		}
	}
	slices.SortStableFunc(p.Set, func(a, b assignedRow) int { return cmp.Compare(fewer(b.Now), fewer(a.Now)) })
	slices.Reverse(p.Past) // the last first
	return nil
}

// fewer orders true after false.
func fewer(b bool) int {
	if b {
		return 1
	}
	return 0
}

// add puts a patient to its species.
func (p *patientsPage) add(s *Server, species string, row patientRow) {
	i := slices.IndexFunc(p.Groups, func(g patientGroup) bool { return g.Species == species })
	if i < 0 {
		label := species
		if cat := s.catalogues[species]; cat != nil {
			label = cat.Label
		}
		i = len(p.Groups)
		p.Groups = append(p.Groups, patientGroup{Species: species, Label: label})
	}
	p.Groups[i].Patients = append(p.Groups[i].Patients, row)
}

// startForm is what the button beside a patient sends.
type startForm struct{ Patient, Track string }

func (s *Server) doStart(c *gin.Context) error {
	f := startForm{Patient: c.PostForm("patient"), Track: c.PostForm("track")}
	a, err := s.start(c.Request.Context(), person(c), f.Patient, f.Track)
	if err != nil {
		return err
	}
	return s.redirect(c, "/visits/"+a.ID)
}

func patientRowOf(p face.Patient) patientRow {
	return patientRow{ID: p.ID, Name: p.Name, Signalment: signalment(p), Presenting: p.Presenting}
}

// staffTitle is the case's title with what its author tagged it with.
func staffTitle(sc face.StaffCase) string {
	parts := []string{sc.Title, sc.Case, sc.Situation, sc.Demeanour}
	if sc.Use != "" {
		parts = append(parts, "for "+sc.Use)
	}
	parts = append(parts, sc.Media...)
	return joinSet(parts, " · ")
}

// visitRowOf is a visit as who reads it in a zone: a link only where there is something to see.
func visitRowOf(v face.Visit, who face.Person, z *time.Location) visitRow {
	row := visitRow{ID: v.ID, Name: v.Patient.Name, About: signalment(v.Patient), Title: v.Title, Began: day(v.Started, z), State: visitState(v)}
	row.Sounds = soundWays(store.Alternatives{Traced: v.Traced, Described: v.Described})
	own := v.Person == nil || v.Person.ID == who.ID
	if v.Person != nil {
		row.Student = v.Person.Name
	}
	switch {
	case v.Kept:
		row.State = "kept for a sitting; it opens again once its debriefs are released"
	case own && v.Purpose == forSitting && v.State != "open" && v.Total == nil:
		row.Link, row.State = "/turns/"+v.Turn, "handed in, not released yet"
	case v.State == "graded":
		row.Link = "/visits/" + v.ID + "/debrief"
	case own:
		row.Link = "/visits/" + v.ID
	}
	if v.Total != nil {
		row.Total = pts(*v.Total)
	}
	return row
}

// visitState is a visit's state in words.
func visitState(v face.Visit) string {
	switch {
	case v.State == "open":
		return "not finished"
	case v.State == "grading":
		return "being marked"
	case v.State == "closed":
		return "orientation, not marked"
	case v.Pass != nil && *v.Pass:
		return "✓ passed"
	case v.Pass != nil:
		return "✕ not passed"
	}
	return "marked"
}

// signalment is breed, sex and age on one line.
func signalment(p face.Patient) string { return joinSet([]string{p.Breed, p.Sex, p.Age}, ", ") }

// joinSet joins the parts that are not empty.
func joinSet(parts []string, sep string) string {
	var set []string
	for _, part := range parts {
		if part != "" {
			set = append(set, part)
		}
	}
	return strings.Join(set, sep)
}

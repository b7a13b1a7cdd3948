package server

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// forecastPage asks what one expects before the debrief opens. It shows nothing
// but one's own sheet.
type forecastPage struct {
	Base
	ID, Patient string
	Domains     []forecastRow
	Lines       []givenRow
	Wrong       []string
}

// forecastRow is one domain to say something of.
type forecastRow struct{ ID, Label, Help, Typed, Wrong string }

// forecastHelp says what each domain is about, for who has not read a debrief yet.
var forecastHelp = map[string]string{
	rubric.DomainOrder:        "the way over the animal",
	rubric.DomainCompleteness: "what a whole examination has",
	rubric.DomainFindings:     "what was abnormal, and where",
	rubric.DomainVitals:       "readings, and what they mean",
	rubric.DomainHandling:     "calm, and nobody hurt",
	rubric.DomainConclusions:  "problems, urgency, report",
}

func (s *Server) showForecast(c *gin.Context) error {
	a, p, err := s.forecastPage(c)
	if err != nil || p == nil {
		return err
	}
	f, err := s.forecast(c.Request.Context(), person(c), a.ID)
	if err != nil {
		return err
	}
	if f.Said {
		return s.redirect(c, "/visits/"+a.ID)
	}
	return s.page(c, "forecast", p)
}

// forecastPage is the empty page; nil where there is nothing to say here, and it
// has led on.
func (s *Server) forecastPage(c *gin.Context) (face.Attempt, *forecastPage, error) {
	a, err := s.attempt(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return a, nil, err
	}
	if _, err := s.openAttempt(c.Request.Context(), person(c), a.ID); err != nil {
		return a, nil, err // another's is not there
	}
	if a.Purpose != "" || a.State == "open" {
		return a, nil, s.redirect(c, "/visits/"+a.ID)
	}
	cat, err := s.catalogue(a.Patient.Species)
	if err != nil {
		return a, nil, err
	}
	return a, forecastPageOf(a, cat, ""), nil
}

func forecastPageOf(a face.Attempt, cat *face.Catalogue, least string) *forecastPage {
	p := &forecastPage{Base: Base{Title: "Before the debrief of " + a.Patient.Name}, ID: a.ID, Patient: a.Patient.Name}
	for _, id := range domainOrder {
		p.Domains = append(p.Domains, forecastRow{ID: id, Label: domainLabels[id], Help: forecastHelp[id]})
	}
	for _, line := range a.Sheet {
		if line.Value != "" && line.Value != rubric.NotExamined && !line.Swept {
			p.Lines = append(p.Lines, givenOf(line, cat, []string{least}))
		}
	}
	return p
}

func (s *Server) doForecast(c *gin.Context) error {
	a, p, err := s.forecastPage(c)
	if err != nil || p == nil {
		return err
	}
	f := face.Forecast{Percent: map[string]int{}}
	if c.PostForm("deed") != "pass" {
		f = p.read(c.PostForm)
		if len(p.Wrong) > 0 {
			return s.write(c, http.StatusUnprocessableEntity, "forecast", p)
		}
	}
	err = s.sayForecast(c.Request.Context(), person(c), a.ID, f)
	if errors.Is(err, ErrInvalid) {
		_, fault := tell(err)
		for _, x := range fault.Fields {
			p.Wrong = append(p.Wrong, sentence(x.Detail))
		}
		return s.write(c, http.StatusUnprocessableEntity, "forecast", p)
	}
	if err != nil && !errors.Is(err, ErrNotNow) { // said in another tab: on to the debrief
		return err
	}
	return s.redirect(c, "/visits/"+a.ID)
}

// read reads the form into the page, so that what was typed stays, and says what
// has to be mended.
func (p *forecastPage) read(value func(string) string) face.Forecast {
	f := face.Forecast{Percent: map[string]int{}}
	for i := range p.Domains {
		d := &p.Domains[i]
		d.Typed = strings.TrimSpace(value("percent-" + d.ID))
		if d.Typed == "" {
			continue
		}
		n, err := strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(d.Typed, "%")))
		if err != nil || n < 0 || n > 100 {
			d.Wrong = "a whole number from 0 to 100"
			p.Wrong = append(p.Wrong, d.Label+": "+d.Wrong+".")
			continue
		}
		f.Percent[d.ID] = n
	}
	if least := value("least"); least != "" {
		place := placeOf(least)
		f.Least = &place
		for i := range p.Lines {
			p.Lines[i].Chosen = p.Lines[i].Key == least
		}
	}
	if len(f.Percent) == 0 && len(p.Wrong) == 0 {
		p.Wrong = append(p.Wrong, "Say what you expect of at least one domain, or go on without.")
	}
	return f
}

func exampleForecast() *forecastPage {
	p := forecastPageOf(exampleAttempt(), exampleCatalogue(), "")
	p.Wrong, p.Domains[0].Typed, p.Domains[0].Wrong = []string{"Order: a whole number from 0 to 100."}, "120", "a whole number from 0 to 100"
	return p
}

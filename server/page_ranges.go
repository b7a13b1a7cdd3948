package server

import (
	"cmp"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
	"dewclaw/rubric/say"

	"github.com/gin-gonic/gin"
)

// rangesPage shows the reference ranges of an animal, and the published figures
// behind them.
type rangesPage struct {
	Base
	Species                             []speciesOption
	Age, Weight                         string // as they were typed
	WrongSpecies, WrongAge, WrongWeight string
	Plain                               string // the unit of a weight that is typed without one
	Heading                             string // empty: something typed could not be read
	Ranges                              []rangeView
	Published                           []publishedGroup
	Caution                             string
}

// speciesOption is a species that has ranges or published figures.
type speciesOption struct {
	ID, Label string
	Chosen    bool
}

// rangeView is a row that grades.
type rangeView struct {
	ID, Label, Normal, Grey, Of string
	Source, Confidence, Review  string
	Own                         bool
}

// publishedGroup are the published figures of a vital.
type publishedGroup struct {
	Label   string
	Figures []publishedView
}

// publishedView is a published figure.
type publishedView struct{ Figure, Of, Source, Confidence string }

// confidenceWords say how near a published figure was looked at.
var confidenceWords = map[string]string{"read": "read in the source", "relay": "read on a page that quotes the source", "memory": "from memory, not looked up"}

// firstSpecies is shown before anybody asks for another.
const firstSpecies = "dog"

func (s *Server) showRanges(c *gin.Context) error {
	p := s.rangesPageOf(cmp.Or(c.Query("species"), firstSpecies), c.Query("age"), c.Query("weight"))
	if p.Heading == "" {
		row, _ := tell(invalid("", ""))
		return s.write(c, row.status, "ranges", p)
	}
	return s.page(c, "ranges", p)
}

// rangesPageOf reads what was asked for and gathers what is known of it.
func (s *Server) rangesPageOf(species, age, weight string) *rangesPage {
	table, units := s.table.Load(), s.school().units()
	p := &rangesPage{Base: Base{Title: "Reference ranges"}, Age: strings.TrimSpace(age), Weight: strings.TrimSpace(weight), Caution: caution, Plain: "kg"}
	if slices.Contains(units, say.Pounds) {
		p.Plain = say.Pounds
	}
	species = p.choose(table.Table.Species(), strings.ToLower(strings.TrimSpace(species)))
	days, grams := p.measures()
	if p.WrongSpecies+p.WrongAge+p.WrongWeight != "" {
		return p
	}
	p.Heading = headed(species) + ", " + cmp.Or(p.Age, "all ages") + ", " + cmp.Or(p.weight(), "all weights")
	for _, r := range table.Table.For(species, days, grams) {
		row := rangeViewOf(r, units)
		row.Own, row.Review = table.Own(r.ID), sentence(s.reviewed("range/"+r.ID))
		p.Ranges = append(p.Ranges, row)
	}
	p.Published = publishedOf(normal.Published(species, days, grams), units)
	return p
}

// choose fills the list of species.
func (p *rangesPage) choose(all []string, wanted string) string {
	for _, id := range all {
		p.Species = append(p.Species, speciesOption{id, headed(id), id == wanted})
	}
	if !slices.Contains(all, wanted) {
		p.WrongSpecies = "There are no ranges of this species. Choose one of the list."
	}
	return wanted
}

// measures reads age and weight; what is left out asks for all.
func (p *rangesPage) measures() (days, grams int) {
	days, grams = normal.Any, normal.Any
	var err error
	if p.Age != "" {
		if days, err = normal.ParseAge(p.Age); err != nil {
			p.WrongAge = sentence(err.Error())
		}
	}
	if p.Weight != "" {
		if grams, err = normal.ParseWeight(p.weight()); err != nil {
			p.WrongWeight = sentence(err.Error())
		}
	}
	return days, grams
}

// weight is the weight with the unit that it was meant in.
func (p *rangesPage) weight() string {
	if p.Weight != "" && strings.Trim(p.Weight, "0123456789.,") == "" {
		return p.Weight + " " + p.Plain
	}
	return p.Weight
}

func rangeViewOf(r normal.Row, units []string) rangeView {
	units = append([]string{normal.UnitText(r.Unit)}, units...)
	out := rangeView{ID: r.ID, Label: headed(normal.Label(r.Vital)), Of: ofAnimals(r, units), Source: r.Source, Confidence: r.Confidence,
		Normal: say.Range(r.Vital, r.Low, r.High, units...), Grey: "none"}
	if r.GreyLow != r.Low || r.GreyHigh != r.High {
		out.Grey = say.Range(r.Vital, r.GreyLow, r.GreyHigh, units...)
	}
	return out
}

func publishedOf(all []normal.Figure, units []string) []publishedGroup {
	var out []publishedGroup
	for _, f := range all {
		label := headed(normal.Label(f.Vital))
		if len(out) == 0 || out[len(out)-1].Label != label {
			out = append(out, publishedGroup{Label: label})
		}
		g := &out[len(out)-1]
		g.Figures = append(g.Figures, publishedView{figureText(f, units), f.Animal(), f.Source, cmp.Or(confidenceWords[f.Confidence], f.Confidence)})
	}
	return out
}

// figureText is a published figure in the school's units. What the source says
// in place of a range stays in the source's.
func figureText(f normal.Figure, units []string) string {
	if f.HasLow || f.HasHigh {
		units = append([]string{normal.UnitText(f.Unit)}, units...)
	}
	unit := ""
	if f.Vital == "rumen" {
		unit = f.Unit
	}
	var parts []string
	switch {
	case f.HasLow && f.HasHigh:
		parts = append(parts, say.Range(f.Vital, f.Low, f.High, units...)+unit)
	case f.HasLow:
		parts = append(parts, "over "+say.Quantity(f.Vital, f.Low, units...)+unit)
	case f.HasHigh:
		parts = append(parts, "up to "+say.Quantity(f.Vital, f.High, units...)+unit)
	}
	if f.Says != "" {
		parts = append(parts, f.Says)
	}
	return strings.Join(parts, "; ")
}

// ofAnimals says which animals a row is for, with weights in the unit that the
// school puts first.
func ofAnimals(r normal.Row, units []string) string {
	reach := normal.Reach(r.Days, r.Grams)
	if slices.Contains(units, say.Pounds) {
		reach = normal.ReachIn(r.Days, r.Grams, func(grams int) string {
			lb, _, _ := strings.Cut(say.Quantity("weight", rubric.Milli(grams), units...), " (")
			return lb
		})
	}
	if reach == "" {
		return r.Animal()
	}
	return r.Animal() + ", " + reach
}

// headed gives a name a capital.
func headed(name string) string { return strings.TrimSuffix(sentence(name), ".") }

func exampleRanges() *rangesPage {
	return &rangesPage{Base: Base{Title: "Reference ranges"}, Species: []speciesOption{{"dog", "Dog", true}}, Age: "10 wk", Weight: "5.2", Plain: "kg", Heading: "Dog, 10 wk, 5.2 kg",
		WrongSpecies: "Choose one of the list.", WrongAge: "The age cannot be read.", WrongWeight: "The weight cannot be read.", Caution: caution,
		Ranges:    []rangeView{{ID: "dog.puppy.heart_rate", Label: "Heart rate", Normal: "120 to 180/min", Grey: "100 to 220/min", Of: "puppy, 8 to 16 weeks", Source: "a table", Confidence: "read in the source", Review: "Not yet reviewed by a clinician.", Own: true}},
		Published: []publishedGroup{{"Heart rate", []publishedView{{"165 to 175/min", "puppy", "a table", "read in the source"}}}}}
}

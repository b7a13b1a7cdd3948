package server

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/cohort"
	"dewclaw/server/auth"

	"github.com/gin-gonic/gin"
)

// rubricPage is a rubric as an instructor reads it, for one species and situation.
type rubricPage struct {
	Base
	R          rubricRow
	Versions   []rubricRow
	For        []forRow // the species and situations to read it for
	ForText    string
	Pass       string
	Domains    []weightRow
	Weighing   bool // the effective weights are being worked out
	Weighed    string
	Misses     []string
	Windows    []string
	MarkShare  string
	Stages     []stepStage
	Rules      []ruleRow
	Routes     []routeRow
	Elsewhere  string // rows for other patients, which are not shown
	Caution    string
	MayRegrade bool
}

// forRow leads to the same page for other patients.
type forRow struct {
	Label, Query string
	Here         bool
}

// weightRow is a domain with its points. Effective is empty until it is worked out.
type weightRow struct {
	Label, Rewards, Effective string
	Points                    int
}

// stepStage is a stage with the steps that are required in it.
type stepStage struct {
	Label string
	Steps []stepRow
}

// stepRow is a required step.
type stepRow struct {
	Label, Weight string
	Counts        int
	Critical      bool
}

// ruleRow is a rule of order in words.
type ruleRow struct {
	ID, Text, Tag, Counts, Why, Source string
	Rule, Review                       string // the rule's own id; how far its review has come
}

// routeRow is an accepted route in words.
type routeRow struct {
	ID     string
	Groups []string
	Floats []string
}

func (s *Server) showRubric(c *gin.Context) error {
	all, uses, err := s.versions(c.Request.Context(), c.Param("id"))
	if err != nil {
		return err
	}
	r, err := chosen(all, c.Query("version"))
	if err != nil {
		return err
	}
	species, when := c.Query("species"), c.Query("when")
	if species == "" {
		species = s.commonest()
	}
	if when == "" {
		when = situations[0].id
	}
	cat := s.library.Catalogue(species)
	if cat == nil || !slices.ContainsFunc(situations, func(x situation) bool { return x.id == when }) {
		return ErrMissing
	}
	p := rubricPageOf(r, cat, when)
	for i := range p.Rules {
		p.Rules[i].Review = s.ruleNotice(&r.Rubric, p.Rules[i].Rule)
	}
	p.R = rubricRowOf(r, uses[r.Hash])
	for _, v := range all {
		p.Versions = append(p.Versions, rubricRowOf(v, uses[v.Hash]))
	}
	p.For = s.forRows(r, cat.Species, when)
	p.weigh(s.weighing(r))
	if p.Misses, err = s.unnamed(c.Request.Context(), person(c).ID, p.Misses); err != nil {
		return err
	}
	p.MayRegrade = auth.May(auth.Role(person(c).Role), auth.Regrade)
	return s.page(c, "rubric", p)
}

// commonest is the species with the most cases, by which a rubric is read unless another is asked for.
func (s *Server) commonest() string {
	count, first := map[string]int{}, ""
	for _, k := range s.library.Cases() {
		count[k.Species]++
	}
	for _, species := range s.library.Species() {
		if first == "" || count[species] > count[first] {
			first = species
		}
	}
	return first
}

// situation is one that a case can have.
type situation struct{ id, label string }

var situations = []situation{{"routine", "routine"}, {"focused", "focused"}, {"triage", "triage"}}

// forRows are the other ways to read a rubric.
func (s *Server) forRows(r *shelved, species, when string) []forRow {
	var out []forRow
	for _, id := range s.library.Species() {
		for _, x := range situations {
			query := fmt.Sprintf("?version=%s&species=%s&when=%s", r.key(), id, x.id)
			out = append(out, forRow{s.library.Catalogue(id).Label + ", " + x.label, query, id == species && x.id == when})
		}
	}
	return out
}

// rewards says what a domain rewards, in the order of a report.
var rewards = []struct {
	id, text string
	weight   func(rubric.Weights) int
}{
	{rubric.DomainOrder, "looking before touching, an accepted way over the animal, no going back", func(w rubric.Weights) int { return w.Order }},
	{rubric.DomainCompleteness, "every required step and question, at every site, for long enough", func(w rubric.Weights) int { return w.Completeness }},
	{rubric.DomainFindings, "what is abnormal called so, at its place and in its grade; what matters and is normal called normal", func(w rubric.Weights) int { return w.Findings }},
	{rubric.DomainVitals, "vital signs read within tolerance and called low, normal or high", func(w rubric.Weights) int { return w.Vitals }},
	{rubric.DomainHandling, "the precautions that this patient needs, and no hazard", func(w rubric.Weights) int { return w.Handling }},
	{rubric.DomainConclusions, "what it comes to, and how urgent it is; on the technician’s track the report to the veterinarian", func(w rubric.Weights) int { return w.Conclusions }},
}

func rubricPageOf(r *shelved, cat *cases.Catalogue, when string) *rubricPage {
	p := &rubricPage{Base: Base{Title: r.Title}, Caution: cat.Caution, ForText: "for the " + strings.ToLower(cat.Label) + ", " + when}
	w := rubricWords{cat}
	for _, d := range rewards {
		p.Domains = append(p.Domains, weightRow{Label: domainLabels[d.id], Rewards: d.text, Points: d.weight(r.Weights)})
	}
	p.Pass = passWords(r.Rubric)
	p.Windows = windowWords(r.Windows)
	p.MarkShare = fmt.Sprintf("Of the mark of a vital sign, %s is for the reading and %s for calling it low, normal or high.",
		percent(r.MarkShare), percent(1000-r.MarkShare))
	match := func(x rubric.Where) bool { return x.Match(cat.Species, when, r.Track) }
	left := 0
	p.Stages, left = w.stages(r.Steps, match)
	for _, row := range r.Rules {
		if !match(row.Where) {
			left++
			continue
		}
		p.Rules = append(p.Rules, w.rule(row.Rule))
	}
	for _, row := range r.Routes {
		if !match(row.Where) {
			left++
			continue
		}
		p.Routes = append(p.Routes, w.route(row.Route))
	}
	if left > 0 {
		p.Elsewhere = fmt.Sprintf("%s of this rubric for other species or situations.", notShown(left))
	}
	return p
}

func notShown(n int) string {
	if n == 1 {
		return "Not shown here: 1 row"
	}
	return fmt.Sprintf("Not shown here: %d rows", n)
}

// weigh puts effective beside nominal weights; nil: they are being worked out.
func (p *rubricPage) weigh(w *weighed) {
	switch {
	case w == nil:
		p.Weighing = true
		return
	case w.err != nil:
		p.Weighed = "The effective weights could not be worked out; the log says why."
		return
	}
	for i, d := range w.Weights.Domains {
		if i < len(p.Domains) {
			p.Domains[i].Effective = share(d.Effective)
		}
	}
	p.Weighed = fmt.Sprintf("Effective: the share of the spread of totals that comes from a domain, among %d simulated students of six independent skills, over %s of the library, by this version of the program. A domain that hardly varies decides little, whatever its points.",
		w.Robots, count(len(w.Cases), "patient"))
	p.Misses = w.Misses
}

func share(f cohort.Figure) string {
	if !f.Known {
		return "–"
	}
	return fmt.Sprintf("%.0f\u00a0%%", f.Value*100)
}

func percent(milli int) string {
	if milli%10 == 0 {
		return fmt.Sprintf("%d\u00a0%%", milli/10)
	}
	return fmt.Sprintf("%d.%d\u00a0%%", milli/10, milli%10)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

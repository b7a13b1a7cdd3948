package rubric

import "slices"

// Rubric is a marking scheme: weights, parameters, pass mark, and rows that a
// key is compiled from. Package rubric/file reads and writes it as YAML.
type Rubric struct {
	ID      string
	Title   string
	Track   string // veterinary or technician
	Version int
	Weights Weights // points of 100; add up to 100
	Pass    Points  // pass mark
	Hurdles []Hurdle
	Windows Windows
	// MarkShare is the part of a vital's mark that the reading earns; the
	// interpretation earns the rest. Thousandths.
	MarkShare int
	Steps     []StepRow
	Rules     []RuleRow
	Routes    []RouteRow
}

// Weights are the points of each domain.
type Weights struct {
	Order, Completeness, Findings, Vitals, Handling, Conclusions int
}

// Hurdle is a share of a domain's points, in thousandths, that a pass needs.
type Hurdle struct {
	Domain string
	Share  int
}

// Windows are the seconds over which a rate must be counted.
type Windows struct {
	Heart, Breathing, FastBreathing, Irregular int
	FastAbove                                  int // breaths a minute above which FastBreathing applies
}

// Where says to which patients a row applies; empty members apply to all.
type Where struct {
	Species []string
	When    []string // situations
	Track   []string
}

// StepRow makes a step of the catalogue required.
type StepRow struct {
	Where
	Step   string // a step id or "handle:"+how
	Weight Weight
	// Critical: leaving the step out of a triage is a critical event.
	Critical bool
}

// RuleRow is a rule of order with its reach.
type RuleRow struct {
	Where
	Rule
}

// RouteRow is an accepted route with its reach.
type RouteRow struct {
	Where
	Route
}

// Match says whether a row applies to a species, situation and track.
func (w Where) Match(species, situation, track string) bool {
	return holds(w.Species, species) && holds(w.When, situation) && holds(w.Track, track)
}

// Meets says whether some patient is reached by both.
func (w Where) Meets(o Where) bool {
	return common(w.Species, o.Species) && common(w.When, o.When) && common(w.Track, o.Track)
}

// common says whether two lists, where empty means all, have something in common.
func common(a, b []string) bool {
	return len(a) == 0 || len(b) == 0 || slices.ContainsFunc(a, func(s string) bool { return slices.Contains(b, s) })
}

func holds(list []string, want string) bool {
	return len(list) == 0 || slices.Contains(list, want)
}

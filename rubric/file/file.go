// Package file reads rubrics written as YAML and holds the shipped ones.
//
// A rubric file is one mapping:
//
//	rubric: veterinary            # its id: small letters, digits and dashes
//	title: Whole examination
//	track: veterinary             # or technician
//	version: 1
//	weights: {order: 10, completeness: 25, findings: 25, vitals: 20, handling: 10, conclusions: 10}   # add up to 100
//	pass: 70                      # points of 100
//	hurdles: {findings: 0.5}      # shares of a domain that a pass needs as well
//	windows: {heart: 15, breathing: 30, fast breathing: 15, fast above: 40, irregular: 60}   # seconds; breaths a minute
//	mark share: 0.5               # what the reading earns of a vital's mark; the interpretation earns the rest
//	steps:                        # required steps; weight essential 3, standard 2, extra 1
//	  - {step: distance.observe, weight: essential}
//	  - {step: "handle:oxygen", weight: essential, critical: true, when: [triage]}
//	rules:                        # of order; kind before-first (all or nothing) or share
//	  - {id: look-first, kind: before-first, before: [distance.observe], after: [touch], weight: 4, tag: physiology, why: ..., source: ...}
//	routes:                       # accepted ways over the animal
//	  - id: head-to-tail
//	    order: [[distance], [head], [neck]]
//	    floats: [{steps: [temperature.measure], places: [first, in place, last]}]
//
// Every row of steps, rules and routes may carry species, when (situations)
// and track; without them it applies to all. Unknown keys, wrong types and
// rules that contradict one another in a circle are errors with
// file:line:col, all at once. Whether steps and stages exist is for whoever
// holds a catalogue to say: see References.
package file

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"dewclaw/rubric"
)

// ErrUnknown is returned for a built-in rubric that does not exist.
var ErrUnknown = errors.New("no such rubric")

const sizeMost = 1 << 20

//go:embed builtin/*.yaml
var builtin embed.FS

// Builtin is a shipped rubric.
func Builtin(id string) (rubric.Rubric, error) {
	data, err := Source(id)
	if err != nil {
		return rubric.Rubric{}, err
	}
	return Parse(id+".yaml", data)
}

// IDs are the shipped rubrics, sorted.
func IDs() []string {
	names, err := fs.Glob(builtin, "builtin/*.yaml")
	if err != nil {
		return nil
	}
	for i, n := range names {
		names[i] = strings.TrimSuffix(strings.TrimPrefix(n, "builtin/"), ".yaml")
	}
	slices.Sort(names)
	return names
}

// Source is the text of a shipped rubric.
func Source(id string) ([]byte, error) {
	data, err := builtin.ReadFile("builtin/" + id + ".yaml")
	if err != nil {
		return nil, fmt.Errorf("%w: %q; shipped are %s", ErrUnknown, clip(id), strings.Join(IDs(), ", "))
	}
	return data, nil
}

// Parse reads a rubric. The error, if any, is an *Error with every problem.
func Parse(name string, data []byte) (rubric.Rubric, error) {
	r := &reader{name: name}
	var out rubric.Rubric
	if doc := r.document(data); doc != nil {
		r.rubric(doc, &out)
	}
	if err := r.err(); err != nil {
		return rubric.Rubric{}, err
	}
	return out, nil
}

// Places says where the rows of a rubric stand that Parse has read without a problem.
func Places(name string, data []byte) Rows {
	r := &reader{name: name}
	if doc := r.document(data); doc != nil {
		r.rubric(doc, &rubric.Rubric{})
	}
	return r.stand
}

// References are the ids of steps, sites and stages that a rubric names, with
// their places, for whoever holds a catalogue to check.
func References(name string, data []byte) []Reference {
	r := &reader{name: name}
	if doc := r.document(data); doc != nil {
		r.rubric(doc, &rubric.Rubric{})
	}
	return r.refs
}

var (
	ids        = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,59}$`)
	tracks     = []string{"veterinary", "technician"}
	situations = []string{"routine", "focused", "triage"}
	domains    = []string{"order", "completeness", "findings", "vitals", "handling", "conclusions"}
	weights    = map[string]rubric.Weight{"essential": 3, "standard": 2, "extra": 1}
)

func (r *reader) rubric(n *yaml.Node, out *rubric.Rubric) {
	var pass int
	r.rows(n, "a rubric", map[string]func(*yaml.Node){
		"rubric":     func(n *yaml.Node) { r.id(n, "rubric", &out.ID) },
		"title":      func(n *yaml.Node) { r.text(n, "title", &out.Title) },
		"track":      func(n *yaml.Node) { r.choice(n, "track", tracks, &out.Track) },
		"version":    func(n *yaml.Node) { r.number(n, "version", 1, 1_000_000, &out.Version) },
		"weights":    func(n *yaml.Node) { r.weights(n, &out.Weights) },
		"pass":       func(n *yaml.Node) { r.decimal(n, "pass", 100_000, &pass) },
		"hurdles":    func(n *yaml.Node) { r.hurdles(n, &out.Hurdles) },
		"windows":    func(n *yaml.Node) { r.windows(n, &out.Windows) },
		"mark share": func(n *yaml.Node) { r.decimal(n, "mark share", 1000, &out.MarkShare) },
		"steps":      func(n *yaml.Node) { r.steps(n, out) },
		"rules":      func(n *yaml.Node) { r.rules(n, out) },
		"routes":     func(n *yaml.Node) { r.routes(n, out) },
	}, "rubric", "title", "track", "version", "weights", "pass", "windows", "mark share", "steps", "rules", "routes")
	out.Pass = rubric.Points(pass)
}

func (r *reader) id(n *yaml.Node, what string, to *string) {
	r.text(n, what, to)
	if *to != "" && !ids.MatchString(*to) {
		r.fail(n, "%s %q must be small letters, digits and dashes", what, clip(*to))
	}
}

func (r *reader) weights(n *yaml.Node, w *rubric.Weights) {
	table := map[string]func(*yaml.Node){}
	for i, to := range []*int{&w.Order, &w.Completeness, &w.Findings, &w.Vitals, &w.Handling, &w.Conclusions} {
		table[domains[i]] = func(n *yaml.Node) { r.number(n, "the weight of "+domains[i], 0, 100, to) }
	}
	had := len(r.problems)
	r.rows(n, "weights", table, domains...)
	if sum := w.Order + w.Completeness + w.Findings + w.Vitals + w.Handling + w.Conclusions; len(r.problems) == had && sum != 100 {
		r.fail(n, "the weights add up to %d; they must add up to 100", sum)
	}
}

func (r *reader) hurdles(n *yaml.Node, to *[]rubric.Hurdle) {
	table := map[string]func(*yaml.Node){}
	for _, d := range domains {
		table[d] = func(n *yaml.Node) {
			h := rubric.Hurdle{Domain: d}
			r.decimal(n, "the hurdle of "+d, 1000, &h.Share)
			*to = append(*to, h)
		}
	}
	r.rows(n, "hurdles", table)
}

func (r *reader) windows(n *yaml.Node, w *rubric.Windows) {
	table := map[string]func(*yaml.Node){}
	for name, to := range map[string]*int{"heart": &w.Heart, "breathing": &w.Breathing, "fast breathing": &w.FastBreathing, "irregular": &w.Irregular} {
		table[name] = func(n *yaml.Node) { r.number(n, "the window of "+name, 5, 300, to) }
	}
	table["fast above"] = func(n *yaml.Node) { r.number(n, "fast above", 1, 300, &w.FastAbove) }
	r.rows(n, "windows", table, "heart", "breathing", "fast breathing", "irregular", "fast above")
}

// where adds the keys that say to which patients a row applies.
func (r *reader) where(w *rubric.Where, table map[string]func(*yaml.Node)) map[string]func(*yaml.Node) {
	table["species"] = func(n *yaml.Node) { r.texts(n, "species", &w.Species) }
	table["when"] = func(n *yaml.Node) { r.choices(n, "when", situations, &w.When) }
	table["track"] = func(n *yaml.Node) { r.choices(n, "track", tracks, &w.Track) }
	return table
}

func (r *reader) steps(n *yaml.Node, out *rubric.Rubric) {
	if n.Kind == yaml.SequenceNode && len(n.Content) == 0 {
		r.fail(n, "steps must name something: a rubric without required steps marks nobody")
	}
	r.list(n, "steps", func(n *yaml.Node) {
		var row rubric.StepRow
		var weight string
		r.rows(n, "a step", r.where(&row.Where, map[string]func(*yaml.Node){
			"step":     func(n *yaml.Node) { r.step(n, &row.Step) },
			"weight":   func(n *yaml.Node) { r.choice(n, "weight", []string{"essential", "standard", "extra"}, &weight) },
			"critical": func(n *yaml.Node) { r.flag(n, "critical", &row.Critical) },
		}), "step", "weight")
		row.Weight = weights[weight]
		for i := range out.Steps {
			if row.Step != "" && out.Steps[i].Step == row.Step && out.Steps[i].Meets(row.Where) {
				r.fail(n, "step %q stands twice for the same patients", row.Step)
			}
		}
		out.Steps, r.stand.Steps = append(out.Steps, row), append(r.stand.Steps, placeOf(n))
	})
}

func (r *reader) step(n *yaml.Node, to *string) {
	r.text(n, "step", to)
	if *to != "" {
		r.refer("step", *to, n)
	}
}

func (r *reader) rules(n *yaml.Node, out *rubric.Rubric) {
	var nodes []*yaml.Node
	r.list(n, "rules", func(n *yaml.Node) {
		var row rubric.RuleRow
		r.rows(n, "a rule", r.where(&row.Where, map[string]func(*yaml.Node){
			"id":     func(n *yaml.Node) { r.id(n, "the id of a rule", &row.ID) },
			"kind":   func(n *yaml.Node) { r.choice(n, "kind", []string{"before-first", "share"}, &row.Kind) },
			"before": func(n *yaml.Node) { r.items(n, "before", &row.Before) },
			"after":  func(n *yaml.Node) { r.items(n, "after", &row.After) },
			"weight": func(n *yaml.Node) { r.number(n, "weight", 0, 100, &row.Weight) },
			"tag":    func(n *yaml.Node) { r.choice(n, "tag", []string{"safety", "physiology", "habit"}, &row.Tag) },
			"why":    func(n *yaml.Node) { r.text(n, "why", &row.Why) },
			"source": func(n *yaml.Node) { r.text(n, "source", &row.Source) },
		}), "id", "kind", "before", "after", "weight", "tag", "why", "source")
		if row.Tag == "habit" && row.Weight != 0 {
			r.fail(n, "rule %q is a habit: it is feedback only, so its weight must be 0", row.ID)
		}
		if slices.ContainsFunc(out.Rules, func(o rubric.RuleRow) bool { return o.ID == row.ID }) && row.ID != "" {
			r.fail(n, "rule %q stands twice", row.ID)
		}
		out.Rules, nodes = append(out.Rules, row), append(nodes, n)
		r.stand.Rules = append(r.stand.Rules, placeOf(n))
	})
	r.circles(out.Rules, nodes)
}

// items reads what a rule names: step ids, step@site, handle:id, ask, touch.
func (r *reader) items(n *yaml.Node, what string, to *[]string) {
	r.texts(n, what, to)
	if n.Kind != yaml.SequenceNode {
		return
	}
	if len(n.Content) == 0 {
		r.fail(n, "%s must name something", what)
	}
	for _, c := range n.Content {
		switch id := strings.TrimSpace(c.Value); {
		case id == "touch", id == "ask", id == "wait", id == "":
		case strings.Contains(id, "@"):
			r.refer("site", id, c)
		default:
			r.refer("step", id, c)
		}
	}
}

func (r *reader) routes(n *yaml.Node, out *rubric.Rubric) {
	r.list(n, "routes", func(n *yaml.Node) {
		var row rubric.RouteRow
		r.rows(n, "a route", r.where(&row.Where, map[string]func(*yaml.Node){
			"id":     func(n *yaml.Node) { r.id(n, "the id of a route", &row.ID) },
			"order":  func(n *yaml.Node) { r.order(n, &row.Order) },
			"floats": func(n *yaml.Node) { r.floats(n, &row.Floats) },
		}), "id", "order")
		if slices.ContainsFunc(out.Routes, func(o rubric.RouteRow) bool { return o.ID == row.ID }) && row.ID != "" {
			r.fail(n, "route %q stands twice", row.ID)
		}
		out.Routes, r.stand.Routes = append(out.Routes, row), append(r.stand.Routes, placeOf(n))
	})
}

func (r *reader) order(n *yaml.Node, to *[][]string) {
	seen := map[string]bool{}
	r.list(n, "order", func(n *yaml.Node) {
		var group []string
		r.texts(n, "a group of stages", &group)
		for i, s := range group {
			if seen[s] {
				r.fail(n, "stage %q stands twice in a route", s)
			}
			seen[s] = true
			r.refer("stage", s, n.Content[i])
		}
		*to = append(*to, group)
	})
}

func (r *reader) floats(n *yaml.Node, to *[]rubric.Float) {
	r.list(n, "floats", func(n *yaml.Node) {
		var f rubric.Float
		r.rows(n, "a float", map[string]func(*yaml.Node){
			"stages": func(n *yaml.Node) { r.texts(n, "stages", &f.Stages); r.referAll("stage", n) },
			"steps":  func(n *yaml.Node) { r.texts(n, "steps", &f.Steps); r.referAll("step", n) },
			"places": func(n *yaml.Node) { r.choices(n, "places", []string{"first", "in place", "last"}, &f.Places) },
		}, "places")
		if len(f.Stages)+len(f.Steps) == 0 {
			r.fail(n, "a float needs stages or steps")
		}
		*to = append(*to, f)
	})
}

func (r *reader) referAll(kind string, n *yaml.Node) {
	for _, c := range n.Content {
		if c.Value != "" {
			r.refer(kind, c.Value, c)
		}
	}
}

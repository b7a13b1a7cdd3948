package server

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// rubricWords says the rows of a rubric in a catalogue's labels.
type rubricWords struct{ cat *cases.Catalogue }

// weightNames are the weights of required steps.
var weightNames = map[rubric.Weight]string{3: "essential", 2: "standard", 1: "extra"}

// handlingStage is where handling acts stand, which belong to no stage.
const handlingStage = "Handling"

// stages are the required steps that match, by stage in the catalogue's order,
// the heaviest row of a step counting; left is how many rows do not match.
func (w rubricWords) stages(steps []rubric.StepRow, match func(rubric.Where) bool) (out []stepStage, left int) {
	by := map[string][]stepRow{}
	seen := map[string]int{}
	for _, row := range steps {
		if !match(row.Where) {
			left++
			continue
		}
		stage, label, ok := w.place(row.Step)
		if !ok {
			left++
			continue
		}
		one := stepRow{label, weightNames[row.Weight], int(row.Weight), row.Critical}
		if i, ok := seen[row.Step]; ok {
			if had := &by[stage][i]; one.Counts > had.Counts {
				one.Critical = one.Critical || had.Critical
				*had = one
			}
			continue
		}
		seen[row.Step] = len(by[stage])
		by[stage] = append(by[stage], one)
	}
	for _, g := range append(slices.Clone(w.cat.Stages), cases.Stage{ID: handlingStage, Label: handlingStage}) {
		if len(by[g.ID]) > 0 {
			out = append(out, stepStage{g.Label, by[g.ID]})
		}
	}
	return out, left
}

// place is the stage and the label of a step; false where this species has no such step.
func (w rubricWords) place(id string) (stage, label string, ok bool) {
	if how, handling := strings.CutPrefix(id, "handle:"); handling {
		return handlingStage, w.cat.Words().Handling(how), w.cat.HandlingRow(how) != nil
	}
	s := w.cat.Step(id)
	if s == nil {
		return "", "", false
	}
	g := w.cat.Region(s.Region)
	if g == nil {
		return "", "", false
	}
	return g.Stage, s.Label, true
}

// ruleTerms are the words of a rule that name no step.
var ruleTerms = map[string]string{"touch": "any touch", "ask": "any question to the owner", "wait": "a wait"}

// term is what a rule names, in words.
func (w rubricWords) term(id string) string {
	if text := ruleTerms[id]; text != "" {
		return text
	}
	step, site, sited := strings.Cut(id, "@")
	label := w.cat.Words().Step(step)
	if sited {
		label += ", " + w.cat.Words().Site(site)
	}
	return "“" + label + "”"
}

// terms are those that this species has; a rule may name steps of other species.
func (w rubricWords) terms(ids []string) string {
	var out []string
	for _, id := range ids {
		label := w.term(id)
		step, _, _ := strings.Cut(id, "@")
		if label == "“"+id+"”" && w.cat.Step(step) == nil {
			continue
		}
		if !slices.Contains(out, label) {
			out = append(out, label)
		}
	}
	return listed(out)
}

// listed joins with commas and "and".
func listed(words []string) string {
	switch len(words) {
	case 0:
		return "nothing that this species has"
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func (w rubricWords) rule(r rubric.Rule) ruleRow {
	row := ruleRow{ID: strings.ReplaceAll(r.ID, "-", " "), Rule: r.ID, Tag: r.Tag, Why: r.Why, Source: r.Source}
	row.Text = sentence(fmt.Sprintf("%s before %s", w.terms(r.Before), w.terms(r.After)))
	how := "All or nothing: one act out of place loses it."
	if r.Kind == "share" {
		how = "Marked by the share of pairs that stand in order."
	}
	row.Counts = fmt.Sprintf("weight %d. %s", r.Weight, how)
	if r.Weight == 0 {
		row.Counts = "no marks, feedback only."
	}
	return row
}

func (w rubricWords) route(r rubric.Route) routeRow {
	row := routeRow{ID: strings.ReplaceAll(r.ID, "-", " ")}
	for _, group := range r.Order {
		var names []string
		for _, id := range group {
			names = append(names, w.cat.Words().Stage(id))
		}
		row.Groups = append(row.Groups, strings.Join(names, ", "))
	}
	for _, f := range r.Floats {
		var what []string
		for _, id := range f.Stages {
			what = append(what, w.cat.Words().Stage(id))
		}
		for _, id := range f.Steps {
			what = append(what, w.term(id))
		}
		row.Floats = append(row.Floats, fmt.Sprintf("%s: %s", listed(what), placeWords(f.Places)))
	}
	return row
}

func placeWords(places []string) string {
	if len(places) == 1 {
		return places[0] + " only"
	}
	return strings.Join(places[:len(places)-1], ", ") + " or " + places[len(places)-1]
}

// passWords says what a pass needs.
func passWords(r rubric.Rubric) string {
	parts := []string{fmt.Sprintf("%s of 100 points", r.Pass)}
	for _, h := range r.Hurdles {
		parts = append(parts, fmt.Sprintf("at least %s of the points of %s", percent(h.Share), domainLabels[h.Domain]))
	}
	parts = append(parts, "no critical event that a person has confirmed")
	return "A visit passes with " + listed(parts) + "."
}

// windowWords says over how long a rate is counted.
func windowWords(w rubric.Windows) []string {
	return []string{
		fmt.Sprintf("Heart: at least %d s.", w.Heart),
		fmt.Sprintf("Breathing: at least %d s; above %d breaths a minute %d s.", w.Breathing, w.FastAbove, w.FastBreathing),
		fmt.Sprintf("An irregular rhythm: %d s.", w.Irregular),
	}
}

package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// rubricSheet writes a rubric for a reader.
type rubricSheet struct {
	strings.Builder
	r rubric.Rubric
	c *cases.Catalogue
}

func writeRubric(out io.Writer, r rubric.Rubric, c *cases.Catalogue) error {
	s := &rubricSheet{r: r, c: c}
	s.head()
	s.steps()
	s.rules()
	s.routes()
	fmt.Fprintf(s, "\n%s\n", c.Caution)
	_, err := io.WriteString(out, s.String())
	return err
}

func (s *rubricSheet) head() {
	r := &s.r
	fmt.Fprintf(s, "%s\nRubric %s, version %d, %s track; steps and stages as for the %s.\n", r.Title, r.ID, r.Version, r.Track, strings.ToLower(s.c.Label))
	w := r.Weights
	fmt.Fprintf(s, "\nWeights, points of 100\n")
	for _, d := range []struct {
		id string
		n  int
	}{
		{rubric.DomainOrder, w.Order}, {rubric.DomainCompleteness, w.Completeness}, {rubric.DomainFindings, w.Findings},
		{rubric.DomainVitals, w.Vitals}, {rubric.DomainHandling, w.Handling}, {rubric.DomainConclusions, w.Conclusions},
	} {
		fmt.Fprintf(s, "  %-13s %3d\n", titled(d.id), d.n)
	}
	fmt.Fprintf(s, "\nA pass needs %s points", r.Pass)
	for _, h := range r.Hurdles {
		fmt.Fprintf(s, ", at least %s of the points of %s", rubric.Milli(h.Share), titled(h.Domain))
	}
	fmt.Fprintf(s, ", and no confirmed critical event.\n")
	fmt.Fprintf(s, "\nA rate is counted over: heart %d s, breathing %d s, above %d a minute %d s, an irregular heart %d s.\n",
		r.Windows.Heart, r.Windows.Breathing, r.Windows.FastAbove, r.Windows.FastBreathing, r.Windows.Irregular)
	fmt.Fprintf(s, "The reading earns %s of a vital sign's mark, its interpretation the rest.\n", rubric.Milli(r.MarkShare))
}

// weightWords names how much a required step counts.
var weightWords = map[rubric.Weight]string{3: "essential", 2: "standard", 1: "extra"}

// steps lists what is required, by stage; handling stands last.
func (s *rubricSheet) steps() {
	fmt.Fprintf(s, "\nRequired steps by stage (essential counts 3, standard 2, extra 1)\n")
	stages := make([]string, 0, len(s.c.Stages)+2)
	for _, g := range s.c.Stages {
		stages = append(stages, g.ID)
	}
	rows := folded(s.r.Steps)
	for _, stage := range append(stages, "handling", "elsewhere") {
		first := true
		for _, row := range rows {
			if s.stageOf(row.Step) != stage {
				continue
			}
			if first {
				fmt.Fprintf(s, "  %s\n", s.stageName(stage))
				first = false
			}
			fmt.Fprintf(s, "    %-50s %s%s%s\n", s.name(row.Step), weightWords[row.Weight], critical(row), reach(row.Where))
		}
	}
}

// folded joins rows that differ in their situations only.
func folded(rows []rubric.StepRow) []rubric.StepRow {
	var out []rubric.StepRow
	for _, row := range rows {
		i := slices.IndexFunc(out, func(o rubric.StepRow) bool {
			return o.Step == row.Step && o.Weight == row.Weight && o.Critical == row.Critical &&
				slices.Equal(o.Species, row.Species) && slices.Equal(o.Track, row.Track) && len(o.When) > 0 && len(row.When) > 0
		})
		if i < 0 {
			out = append(out, row)
			continue
		}
		out[i].When = slices.Concat(out[i].When, row.When)
	}
	return out
}

func critical(row rubric.StepRow) string {
	if row.Critical {
		return ", leaving it out is critical"
	}
	return ""
}

// reach says to whom a row applies, in brackets; nothing where it is for all.
func reach(w rubric.Where) string {
	var parts []string
	for _, list := range [][]string{w.When, w.Species, w.Track} {
		if len(list) > 0 {
			parts = append(parts, strings.Join(list, ", "))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, "; ") + ")"
}

func (s *rubricSheet) stageOf(step string) string {
	if strings.HasPrefix(step, "handle:") {
		return "handling"
	}
	if row := s.c.Step(step); row != nil {
		if g := s.c.Region(row.Region); g != nil {
			return g.Stage
		}
	}
	return "elsewhere"
}

func (s *rubricSheet) stageName(id string) string {
	switch id {
	case "handling":
		return "Handling"
	case "elsewhere":
		return "Steps that this species does not have"
	}
	return s.c.Words().Stage(id)
}

// rules lists the rules of order with tag, reason and source.
func (s *rubricSheet) rules() {
	fmt.Fprintf(s, "\nRules of order\n")
	for _, r := range s.r.Rules {
		fmt.Fprintf(s, "  %s: %s before %s%s\n", r.ID, s.names(r.Before), s.names(r.After), reach(r.Where))
		fmt.Fprintf(s, "    %s\n", kindWords(r))
		fmt.Fprintf(s, "    %s\n    Source: %s\n", r.Why, r.Source)
	}
}

func kindWords(r rubric.RuleRow) string {
	if r.Tag == "habit" {
		return "A habit: feedback only, no marks."
	}
	how := "all or nothing"
	if r.Kind == "share" {
		how = "by the share of pairs in order"
	}
	return fmt.Sprintf("%s, weight %d, %s.", titled(r.Tag), r.Weight, how)
}

// routes lists the accepted ways over the animal.
func (s *rubricSheet) routes() {
	fmt.Fprintf(s, "\nAccepted routes (stages joined by 'and' come in any order)\n")
	for _, r := range s.r.Routes {
		var groups []string
		for _, g := range r.Order {
			var names []string
			for _, id := range g {
				names = append(names, s.stageName(id))
			}
			groups = append(groups, strings.Join(names, " and "))
		}
		fmt.Fprintf(s, "  %s%s\n    %s\n", r.ID, reach(r.Where), strings.Join(groups, ", then "))
		for _, f := range r.Floats {
			var what []string
			for _, id := range f.Stages {
				what = append(what, s.stageName(id))
			}
			if len(f.Steps) > 0 {
				what = append(what, s.names(f.Steps))
			}
			fmt.Fprintf(s, "    Free: %s may come %s.\n", strings.Join(what, ", "), strings.Join(f.Places, ", or "))
		}
	}
}

// names are the labels of what a rule names.
func (s *rubricSheet) names(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = s.name(w)
	}
	return strings.Join(slices.Compact(out), ", ")
}

// plain are the words of a rule that are no ids.
var plain = map[string]string{"touch": "any touch", "ask": "any question", "wait": "a wait"}

func (s *rubricSheet) name(word string) string {
	if text := plain[word]; text != "" {
		return text
	}
	id, site, sited := strings.Cut(word, "@")
	if label := s.c.Words().Step(id); sited {
		return label + " (" + site + ")"
	}
	return s.c.Words().Step(id)
}

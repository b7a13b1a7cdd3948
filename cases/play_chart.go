package cases

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
)

// Limits of what a student may write.
const (
	maxReason   = 500
	maxHandover = 4000
	maxNamed    = 40
	maxValue    = 100
)

var urgencyWords = []string{"routine", "same day", "emergency"}

// record takes an entry on the sheet. It costs no time and changes nothing; the
// grade reads it from the act.
func (p *Patient) record(t *turn) error {
	a := t.act
	if len(a.Reason) > maxReason {
		return &ActError{"reason", "is too long", fmt.Sprintf("at most %d bytes", maxReason)}
	}
	if a.Over < 0 || a.Over > 600 {
		return &ActError{"over", fmt.Sprintf("%d seconds cannot be", a.Over), "0 to 600"}
	}
	if !slices.Contains([]string{"", "low", "normal", "high"}, a.Interpretation) {
		return &ActError{"interpretation", fmt.Sprintf("%q is none", cut(a.Interpretation)), "low, normal or high"}
	}
	if err := checkSure(a); err != nil {
		return err
	}
	if a.Region != "" {
		return p.sweep(a)
	}
	f := p.cat.Field(a.Field)
	if f == nil {
		return &ActError{"field", fmt.Sprintf("%q is no field of the catalogue", cut(a.Field)), "a field of the catalogue, or region with value normal"}
	}
	if err := checkSite(f, a.Site); err != nil {
		return err
	}
	return checkValue(f, a)
}

// checkSure says of what one can be sure: of a value that was found.
func checkSure(a rubric.Act) error {
	switch {
	case a.Sure == "" && a.Of != 0:
		return &ActError{"of", "a record names an earlier one only to say how sure you are of it", "leave it out, or add sure"}
	case a.Sure == "":
		return nil
	case !slices.Contains(rubric.Sures(), a.Sure):
		return &ActError{"sure", fmt.Sprintf("%q is none", cut(a.Sure)), strings.Join(rubric.Sures(), ", ")}
	case a.Of < 0 || a.Of >= a.N:
		return &ActError{"of", fmt.Sprintf("%d is no earlier act", a.Of), "the number of the act that wrote the line"}
	case a.Region != "" || a.Value == "" || a.Value == rubric.NotExamined:
		return &ActError{"sure", "one can be sure only of a value that was found", "leave it out here"}
	}
	return nil
}

// sweep is 'rest of this region normal'.
func (p *Patient) sweep(a rubric.Act) error {
	switch {
	case a.Field != "":
		return &ActError{"region", "a record is of a field or of a region, not of both", "one of them"}
	case p.cat.Region(a.Region) == nil:
		return &ActError{"region", fmt.Sprintf("%q is no region of the catalogue", cut(a.Region)), "a region of the catalogue"}
	case a.Value != "normal":
		return &ActError{"value", "the rest of a region can only be stated as normal", "normal"}
	}
	return nil
}

func checkSite(f *Field, site string) error {
	if !f.PerSite || len(f.Sites) == 0 {
		if site != "" {
			return &ActError{"site", f.ID + " has no sites", "leave the site out"}
		}
		return nil
	}
	if !slices.Contains(f.Sites, site) {
		return &ActError{"site", fmt.Sprintf("%s has no site %q", f.ID, cut(site)), strings.Join(f.Sites, ", ")}
	}
	return nil
}

func checkValue(f *Field, a rubric.Act) error {
	switch {
	case a.Value == "":
		return nil // withdraws the entry
	case len(a.Value) > maxValue:
		return &ActError{"value", "is too long", fmt.Sprintf("at most %d bytes", maxValue)}
	case a.Value == rubric.NotExamined:
		if strings.TrimSpace(a.Reason) == "" {
			return &ActError{"reason", "what was not examined needs a reason", "a few words"}
		}
		return nil
	case f.Chosen():
		if f.Choice(a.Value) == nil {
			return &ActError{"value", fmt.Sprintf("%s cannot be %q", f.ID, cut(a.Value)), choiceWords(f)}
		}
		return nil
	}
	charted := f.rubric()
	if _, err := charted.Read(a.Value); err != nil {
		return &ActError{"value", fmt.Sprintf("%q cannot be read for %s", cut(a.Value), f.Label), numberWords(f)}
	}
	return nil
}

// numberWords says how a number of the field is written.
func numberWords(f *Field) string {
	if words, ok := numberExamples[f.Vital]; ok {
		return words
	}
	return strings.TrimSpace("a number, such as 2.5 " + f.Unit)
}

// numberExamples are ways to write the vitals that the engine reads.
var numberExamples = map[string]string{
	"heart_rate":     "beats a minute such as 96, or a count and its multiplier such as 24x4",
	"resp_rate":      "breaths a minute such as 24, a count and its multiplier such as 12x2, or panting",
	"temperature":    "degrees such as 38.6 or 101.5 F",
	"weight":         "a weight such as 24.5 kg or 54 lb",
	"crt":            "seconds such as 1.5, or <1, 1-2 or >2",
	"body_condition": "a score from 1 to 9",
}

func choiceWords(f *Field) string {
	var ids []string
	for _, c := range f.Of {
		ids = append(ids, c.ID)
	}
	return strings.Join(ids, ", ")
}

// ask puts a question to the owner while nobody touches the animal.
func (p *Patient) ask(t *turn) error {
	topic := p.cat.Topic(t.act.Topic)
	if topic == nil {
		var ids []string
		for _, x := range p.cat.Topics {
			ids = append(ids, x.ID)
		}
		return &ActError{"topic", fmt.Sprintf("%q is no topic of the catalogue", cut(t.act.Topic)), strings.Join(ids, ", ")}
	}
	const answering = 8 // seconds
	p.handsOff(t, answering)
	t.out.Answer = p.kase.History.Otherwise
	if answer, ok := p.kase.History.Answers[topic.ID]; ok {
		t.out.Answer = answer
	}
	return nil
}

// hint names the stretches of the animal where nothing was examined yet. It
// tells nothing about this patient.
func (p *Patient) hint(t *turn) error {
	t.out.Answer = p.hinted(t.s, func(string) bool { return false })
	return nil
}

// hinted is a hint, without the stages of whose regions all are held back.
func (p *Patient) hinted(s *state, held func(region string) bool) string {
	seen, open := map[string]bool{}, map[string]bool{}
	for i, step := range p.cat.Steps {
		if r := p.cat.Region(step.Region); r != nil && s.has(i) {
			seen[r.Stage] = true
		}
	}
	for _, r := range p.cat.Regions {
		open[r.Stage] = open[r.Stage] || !held(r.ID)
	}
	var left []string
	quiet := false
	for _, st := range p.cat.Stages {
		switch {
		case seen[st.ID]:
		case open[st.ID]:
			left = append(left, st.Label)
		default:
			quiet = true
		}
	}
	switch {
	case len(left) > 0:
		return "Not examined yet: " + strings.Join(left, ", ") + "."
	case quiet:
		return "Of the rest no hint is given."
	}
	return "Something has been examined everywhere. Compare both sides, and look for blank lines on the sheet."
}

// conclude ends the visit.
func (p *Patient) conclude(t *turn) error {
	a := t.act
	if !slices.Contains(urgencyWords, a.Urgency) {
		return &ActError{"urgency", fmt.Sprintf("%q is none", cut(a.Urgency)), strings.Join(urgencyWords, ", ")}
	}
	if len(a.Problems) > maxNamed {
		return &ActError{"problems", fmt.Sprintf("%d are named", len(a.Problems)), fmt.Sprintf("at most %d", maxNamed)}
	}
	for _, id := range a.Problems {
		if p.cat.ProblemTerm(id) == nil {
			return &ActError{"problems", fmt.Sprintf("%q is no problem of the catalogue", cut(id)), "ids of the catalogue's problems"}
		}
	}
	if len(a.Reason) > maxReason {
		return &ActError{"reason", "is too long", fmt.Sprintf("at most %d bytes", maxReason)}
	}
	if err := p.checkReport(a.Report); err != nil {
		return err
	}
	t.s.ended = concluded
	return nil
}

// checkReport checks a report to the veterinarian.
func (p *Patient) checkReport(r *rubric.Handover) error {
	if r == nil {
		return nil
	}
	for _, m := range []struct{ name, text string }{
		{"report.situation", r.Situation}, {"report.background", r.Background},
		{"report.assessment", r.Assessment}, {"report.request", r.Request},
	} {
		if len(m.text) > maxHandover {
			return &ActError{m.name, "is too long", fmt.Sprintf("at most %d bytes", maxHandover)}
		}
	}
	if len(r.Fields) > 10*maxNamed {
		return &ActError{"report.fields", fmt.Sprintf("%d are given", len(r.Fields)), fmt.Sprintf("at most %d", 10*maxNamed)}
	}
	for _, g := range r.Fields {
		f := p.cat.Field(g.Field)
		if f == nil {
			return &ActError{"report.fields", fmt.Sprintf("%q is no field of the catalogue", cut(g.Field)), "fields of the catalogue"}
		}
		if len(g.Value) > maxValue {
			return &ActError{"report.fields", "the value of " + f.ID + " is too long", fmt.Sprintf("at most %d bytes", maxValue)}
		}
		if g.Site != "" {
			if err := checkSite(f, g.Site); err != nil {
				return err
			}
		}
	}
	return nil
}

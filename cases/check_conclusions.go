package cases

import (
	"fmt"
	"slices"
	"strings"
)

// maxCritical is how many critical kinds of hazard a case may have: more, and
// the student guesses instead of watching the patient.
const maxCritical = 3

// Between these many pertinent negatives a case states.
const leastNegatives, mostNegatives = 5, 10

func (q *caseCheck) hazards() {
	critical := map[string]bool{}
	seen := map[string]bool{}
	for i := range q.k.Hazards {
		h := &q.k.Hazards[i]
		at := func(key string) mark { return q.k.marks.at("hazards", fmt.Sprint(i), key) }
		if seen[h.ID] {
			q.problems = append(q.problems, at("id").problem("two hazards are called %q; give each its own id", h.ID))
		}
		seen[h.ID] = true
		q.problems = append(q.problems, checkHazard(q.c, h, at)...)
		if h.Severity == "critical" {
			critical[h.ID] = true
		}
		s := q.c.Step(h.Step)
		if s != nil && !s.Applies.Match(q.k.Signalment) {
			q.problems = append(q.problems, at("step").problem("step %q does not exist for a patient of this sex and age", h.Step))
		}
		if h.Step != "" && h.Hold == "" && h.Unless == "" && !slices.Contains(q.k.Withhold, h.Step) {
			q.problems = append(q.problems, at("step").problem("nobody can avoid this hazard: say unless: gentle, muzzle, oxygen or a handling id, or withhold the step"))
		}
	}
	if len(critical) > maxCritical {
		q.say([]string{"hazards"}, "%d critical hazards; a case has at most %d", len(critical), maxCritical)
	}
}

// checkHazard checks one hazard of a case or a catalogue.
func checkHazard(c *Catalogue, h *Hazard, at func(key string) mark) []Problem {
	var out []Problem
	say := func(key, format string, args ...any) { out = append(out, at(key).problem(format, args...)) }
	handling := ids(c.Handling, handlingID)
	switch {
	case h.Step == "" && h.Hold == "":
		say("step", "a hazard needs step: a step or touch, or hold: a handling id")
	case h.Hold != "" && !slices.Contains(handling, h.Hold):
		say("hold", "there is no handling %q%s", h.Hold, nearestOf(h.Hold, handling))
	case h.Step != "" && h.Step != "touch" && c.Step(h.Step) == nil:
		say("step", "there is no step %q%s", h.Step, nearestOf(h.Step, ids(c.Steps, stepID)))
	case h.Site != "" && (h.Step == "" || h.Step == "touch"):
		say("site", "only a hazard of one step has a site")
	case h.Site != "" && !slices.Contains(c.Step(h.Step).Sites, h.Site):
		say("site", "%s has no site %q%s", h.Step, h.Site, nearestOf(h.Site, c.Step(h.Step).Sites))
	}
	if known := append([]string{"gentle"}, handling...); h.Unless != "" && !slices.Contains(known, h.Unless) {
		say("unless", "unless should be gentle or a handling id, not %q%s", h.Unless, nearestOf(h.Unless, known))
	}
	if h.Severity == "" {
		say("severity", "a hazard needs severity: minor, major or critical")
	}
	if h.Why == "" {
		say("why", "a hazard needs why: a sentence for the debrief")
	}
	if h.Severity == "critical" && h.Sign == "" {
		say("sign", "a critical hazard needs sign: what the student senses before it, or it would be a trap")
	}
	return out
}

func (q *caseCheck) precautions() {
	rows := ids(q.c.Precautions, precautionID)
	for i, id := range q.k.Precautions {
		at := []string{"precautions", fmt.Sprint(i)}
		if !q.known(at, "precaution", id, rows) {
			continue
		}
		if row := q.c.PrecautionRow(id); slices.Contains(row.Steps, "{painful}") && len(q.k.Pain) == 0 {
			q.say(at, "%q is about a sore place, and this case has no pain", id)
		}
	}
}

func (q *caseCheck) negatives() {
	n := len(q.k.Negatives)
	if n > 0 && (n < leastNegatives || n > mostNegatives) {
		q.say([]string{"negatives"}, "%d pertinent negatives; a case names %d to %d", n, leastNegatives, mostNegatives)
	}
	for i, text := range q.k.Negatives {
		at := []string{"negatives", fmt.Sprint(i)}
		p := ParsePlace(text)
		f := q.place(at, p)
		if f == nil {
			continue
		}
		if q.abnormal(f, p.Site) {
			q.say(at, "%s is abnormal in this case; a pertinent negative is normal", text)
		}
		q.reachable(at, text, f, p.Site)
	}
}

// reachable complains of a place that the student is not to examine.
func (q *caseCheck) reachable(at []string, text string, f *Field, site string) {
	switch ever, allowed := q.discoverable(f, site); {
	case !ever:
		q.say(at, "no step that applies to this patient shows %s", text)
	case !allowed:
		q.say(at, "only withheld steps show %s; take it out of here or out of withhold", text)
	}
}

func (q *caseCheck) conclusions() {
	c := &q.k.Conclusions
	problems := ids(q.c.Problems, problemID)
	named := map[string]bool{}
	for i, e := range c.Problems {
		at := []string{"conclusions", "problems", fmt.Sprint(i)}
		if e.ID == "" {
			q.say(at, "an expected problem needs id: one of the catalogue's problems")
		} else {
			q.known(append(at, "id"), "problem", e.ID, problems)
		}
		if named[e.ID] {
			q.say(at, "problem %q is expected twice", e.ID)
		}
		named[e.ID] = true
		if len(e.Signs) == 0 {
			q.say(at, "problem %q needs signs: the findings that point to it", e.ID)
		}
		q.signs(append(at, "signs"), e)
	}
	for i, id := range c.Accept {
		at := []string{"conclusions", "accept", fmt.Sprint(i)}
		if q.known(at, "problem", id, problems) && named[id] {
			q.say(at, "%q is expected already; accept is for others that may be named", id)
		}
	}
	for i, text := range c.Report {
		at := []string{"conclusions", "report", fmt.Sprint(i)}
		if p := ParsePlace(text); q.place(at, p) != nil {
			q.reachable(at, text, q.c.Field(p.Field), p.Site)
		}
	}
	if len(c.Problems) == 0 {
		q.nothingWrong()
	}
}

func (q *caseCheck) signs(at []string, e ExpectedProblem) {
	for j, text := range e.Signs {
		at := append(slices.Clone(at), fmt.Sprint(j))
		p := ParsePlace(text)
		f := q.place(at, p)
		if f == nil {
			continue
		}
		if !q.abnormal(f, p.Site) {
			q.say(at, "%s is a sign of %s but is normal in this case; make it abnormal under truth", text, e.ID)
		}
		q.reachable(at, text, f, p.Site)
	}
}

// nothingWrong holds that a case without expected problems has no abnormality.
func (q *caseCheck) nothingWrong() {
	for i := range q.k.Truth {
		t := &q.k.Truth[i]
		if f := q.c.Field(t.Field); f != nil && q.abnormal(f, t.Site) {
			q.say(t.key(), "%s is abnormal, but conclusions name no problem; name the one it points to", t.Field)
		}
	}
}

// title refuses a title that gives the conclusion away.
func (q *caseCheck) title() {
	title := " " + strings.ToLower(q.k.Title) + " "
	for _, e := range q.k.Conclusions.Problems {
		p := q.c.ProblemTerm(e.ID)
		if p == nil {
			continue
		}
		for _, word := range append([]string{p.ID, strings.ToLower(p.Label)}, p.Synonyms...) {
			if strings.Contains(title, " "+word+" ") {
				q.say([]string{"title"}, "the title holds %q, which is what the student should conclude; call it after what the owner sees", word)
			}
		}
	}
}

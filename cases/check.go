package cases

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/rubric/normal"
)

// caseCheck looks through a case beside its catalogue.
type caseCheck struct {
	k        *Case
	c        *Catalogue
	ranges   normal.Table // by which its vitals are normal or not
	problems []Problem
}

// caseChecks are all that a case must stand.
var caseChecks = []func(*caseCheck){
	(*caseCheck).complete,
	(*caseCheck).history,
	(*caseCheck).truths,
	(*caseCheck).vitals,
	(*caseCheck).pains,
	(*caseCheck).withheld,
	(*caseCheck).hazards,
	(*caseCheck).precautions,
	(*caseCheck).negatives,
	(*caseCheck).conclusions,
	(*caseCheck).media,
	(*caseCheck).title,
	(*caseCheck).agrees,
}

// CheckCase checks a case against its catalogue and the reference ranges: that
// every reference is known, every finding can be discovered, every vital is
// plainly normal or plainly not, every hazard can be avoided, and that the
// findings and the conclusions agree. Where a school has ranges of its own, a
// case may stand by either table: the school's cases are written to its own,
// and those that come with the program to ours. AtOdds lists the latter.
func CheckCase(l *Library, k *Case) []Problem {
	problems := checkCase(l, k, normal.Rows())
	if len(problems) == 0 || l.ranges == nil {
		return problems
	}
	return checkCase(l, k, l.ranges)
}

func checkCase(l *Library, k *Case, ranges normal.Table) []Problem {
	q := &caseCheck{k: k, c: l.Catalogue(k.Species), ranges: ranges}
	if q.c == nil {
		if k.Species == "" {
			q.say([]string{"case"}, "this case needs species: one of %s", strings.Join(l.Species(), ", "))
		} else {
			q.say([]string{"species"}, "there is no catalogue for the species %q%s", k.Species, nearestOf(k.Species, l.Species()))
		}
		return q.problems
	}
	for _, check := range caseChecks {
		check(q)
	}
	return sortProblems(q.problems)
}

func (q *caseCheck) say(where []string, format string, args ...any) {
	q.problems = append(q.problems, q.k.marks.at(where...).problem(format, args...))
}

// known complains of a reference to a row that is not there. A word by which
// the typed line knows the row is understood, and its id suggested.
func (q *caseCheck) known(where []string, what, id string, known []string) bool {
	if slices.Contains(known, id) {
		return true
	}
	if id == "" {
		q.say(where, "a %s should be named here%s", what, nearestOf(id, known))
		return false
	}
	for _, s := range q.c.words().phrases[strings.Join(wordsOf(id), " ")] {
		if slices.Contains(known, s.id) {
			q.say(where, "there is no %s %q; did you mean %q?", what, clip(id, 60), s.id)
			return false
		}
	}
	q.say(where, "there is no %s %q%s", what, clip(id, 60), nearestOf(id, known))
	return false
}

// complete complains of members that are missing. One that is there and wrong
// has been complained of already.
func (q *caseCheck) complete() {
	k := q.k
	for _, m := range []struct {
		ok   bool
		at   string
		what string
	}{
		{k.ID != "", "case", "its id, such as stairs-spaniel"},
		{k.Title != "", "title", "a few words for teachers"},
		{k.Situation != "", "situation", strings.Join(situations, ", ")},
		{k.Presenting != "", "presenting", "what the owner says at the desk"},
		{k.Demeanour != "", "demeanour", strings.Join(demeanours, ", ")},
		{k.Signalment.Name != "", "signalment name", "the animal's name"},
		{k.Signalment.Breed != "", "signalment breed", "the breed"},
		{k.Signalment.Sex != "", "signalment sex", strings.Join(sexes, ", ")},
		{k.Signalment.AgeDays > 0, "signalment age", "such as 8 y, 5 mo, 10 wk or 3 d"},
		{k.Signalment.Grams > 0, "signalment weight", "such as 24.5 kg"},
		{k.History.Otherwise != "", "history otherwise", "the owner's answer to all other questions"},
		{len(k.Negatives) > 0, "negatives", fmt.Sprintf("%d to %d places that are looked at and normal", leastNegatives, mostNegatives)},
		{k.Conclusions.Urgency != "", "conclusions urgency", strings.Join(urgencies, ", ")},
		{len(k.Conclusions.Report) > 0, "conclusions report", "the places that a technician must report"},
		{len(k.Tags["competency"]) > 0, "tags competency", "at least one code"},
		{len(k.Tags["system"]) > 0, "tags system", "at least one body system"},
		{k.Difficulty > 0, "difficulty", "1 to 5"},
		{k.Use != "", "use", "practice or exam"},
		{k.Teaching != "", "teaching", "what the debrief says about this patient"},
		{len(k.Sources) > 0, "sources", "who, where and when, with the figure or sign that it gives; or: textbook picture, from memory"},
		{k.Confidence != "", "confidence", strings.Join(Confidences, ", ")},
	} {
		at := strings.Fields(m.at)
		if _, given := k.marks[strings.Join(at, "\x00")]; !m.ok && !given {
			q.say(at[:len(at)-1], "this case needs %s: %s", m.at, m.what)
		} else if !m.ok && (at[0] == "tags" || at[0] == "negatives" || at[0] == "sources" || m.at == "conclusions report") {
			q.say(at, "%s is empty: %s", m.at, m.what)
		}
	}
	if k.ID != "" && (!idPattern.MatchString(k.ID) || strings.Contains(k.ID, " ")) {
		q.say([]string{"case"}, "the id %q should be lower case letters, digits, dots and hyphens, at most 48", clip(k.ID, 60))
	}
}

func (q *caseCheck) history() {
	topics := ids(q.c.Topics, topicID)
	for topic := range q.k.History.Answers {
		q.known([]string{"history", "answers", topic}, "history topic", topic, topics)
	}
	for i, topic := range q.k.History.Required {
		at := []string{"history", "required", fmt.Sprint(i)}
		if q.known(at, "history topic", topic, topics) && q.k.History.Answers[topic] == "" {
			q.say(at, "%q must be asked but has no answer of its own; add it to answers", topic)
		}
	}
}

// place checks a place that the case names: known field, right site. It
// returns the field, or nil.
func (q *caseCheck) place(where []string, p rubric.Place) *Field {
	if !q.known(where, "field", p.Field, ids(q.c.Fields, fieldID)) {
		return nil
	}
	f := q.c.Field(p.Field)
	switch {
	case !f.PerSite && p.Site != "":
		q.say(where, "%s is not charted by site; write %s alone", f.ID, f.ID)
		return nil
	case f.PerSite && p.Site == "":
		q.say(where, "%s is charted by site; write %s@%s", f.ID, f.ID, strings.Join(f.Sites, " or @"))
		return nil
	case f.PerSite && !slices.Contains(f.Sites, p.Site):
		q.say(where, "%s has no site %q%s", f.ID, p.Site, nearestOf(p.Site, f.Sites))
		return nil
	}
	return f
}

// shows says whether a step shows the field at the site.
func (s *Step) shows(f *Field, site string) bool {
	return slices.Contains(s.Reveals, f.ID) && (!f.PerSite || slices.Contains(s.Sites, site))
}

// discoverable says whether a step that applies to this patient shows the
// place, and whether one does that is not withheld.
func (q *caseCheck) discoverable(f *Field, site string) (ever, allowed bool) {
	for i := range q.c.Steps {
		s := &q.c.Steps[i]
		if s.shows(f, site) && s.Applies.Match(q.k.Signalment) {
			ever = true
			allowed = allowed || !slices.Contains(q.k.Withhold, s.ID)
		}
	}
	return ever, allowed
}

// key is the path of a truth in the file.
func (t *Truth) key() []string {
	if t.Site == "" {
		return []string{"truth", t.Field}
	}
	return []string{"truth", t.Field, t.Site}
}

func (q *caseCheck) truths() {
	for i := range q.k.Truth {
		t := &q.k.Truth[i]
		if t.Field == "demeanour" {
			q.say(t.key(), "how it meets people is said once, by demeanour: at the top of the case")
			continue
		}
		f := q.truthPlace(t)
		if f == nil {
			continue
		}
		if ever, _ := q.discoverable(f, t.Site); !ever {
			q.say(t.key(), "nobody can find %s in a patient of this sex and age: no step that applies shows it", f.ID)
		}
		if f.Chosen() {
			q.chosen(f, t)
		} else {
			q.number(f, t)
		}
	}
}

// truthPlace is place for a truth, which writes sites as a mapping.
func (q *caseCheck) truthPlace(t *Truth) *Field {
	f := q.c.Field(t.Field)
	if f != nil && f.PerSite && t.Site == "" {
		q.say(t.key(), "%s is charted by site; write %s: {%s: ...}", f.ID, f.ID, strings.Join(f.Sites, ": ..., "))
		return nil
	}
	if f != nil && !f.PerSite && t.Site != "" {
		q.say(t.key(), "%s is not charted by site; write %s: value", f.ID, f.ID)
		return nil
	}
	return q.place(t.key(), rubric.Place{Field: t.Field, Site: t.Site})
}

func (q *caseCheck) chosen(f *Field, t *Truth) {
	of := ids(f.Of, choiceID)
	if t.Low != "" || t.High != "" {
		q.say(t.key(), "%s is a %s and has no range; list the choices to draw from, [%s]", f.ID, f.Kind, strings.Join(of, ", "))
		return
	}
	abnormal := 0
	for _, v := range t.Values {
		if q.known(t.key(), "choice of "+f.ID+" called", v, of) && f.Abnormal(v) {
			abnormal++
		}
	}
	if abnormal > 0 && abnormal < len(t.Values) {
		q.say(t.key(), "%s is drawn from normal and abnormal choices; the conclusions cannot hold for both, so list one kind", f.ID)
	}
}

// truthRange is the least and the greatest value that can be drawn.
func truthRange(t *Truth) (low, high rubric.Milli, err error) {
	if t.Low != "" || t.High != "" {
		return rangeOf(t.Low + ".." + t.High)
	}
	for i, v := range t.Values {
		x, _, err := rangeOf(v)
		if err != nil {
			return 0, 0, err
		}
		if i == 0 {
			low, high = x, x
		}
		low, high = min(low, x), max(high, x)
	}
	return low, high, nil
}

func (q *caseCheck) number(f *Field, t *Truth) {
	low, high, err := truthRange(t)
	if err != nil {
		q.say(t.key(), "%s: %v", f.ID, err)
		return
	}
	if low < 0 {
		q.say(t.key(), "%s cannot be below nought", f.ID)
	}
	if f.Kind == "score" && (f.Choice(low.String()) == nil || f.Choice(high.String()) == nil) {
		q.say(t.key(), "%s runs over the whole scores from %s to %s", f.ID, f.Of[0].ID, f.Of[len(f.Of)-1].ID)
	}
}

// truthAt finds the truth of a place, or nil where it is as in the normal animal.
func (k *Case) truthAt(p rubric.Place) *Truth {
	for i := range k.Truth {
		if k.Truth[i].Field == p.Field && k.Truth[i].Site == p.Site {
			return &k.Truth[i]
		}
	}
	return nil
}

// rank is the place of a choice, -1 where there is none.
func (f *Field) rank(id string) int {
	return slices.IndexFunc(f.Of, func(c Choice) bool { return c.ID == id })
}

// Response is the field that shows what an animal does when this region is
// handled; nil where the region has none.
func (c *Catalogue) Response(region string) *Field {
	for i := range c.Fields {
		if f := &c.Fields[i]; f.Region == region && f.Kind == "grade" && strings.HasSuffix(f.ID, ".response") && len(f.Of) == 5 {
			return f
		}
	}
	return nil
}

// pains holds pain and what is seen of it together: the truth of the region's
// response field is the pain's level.
func (q *caseCheck) pains() {
	for i, p := range q.k.Pain {
		at := []string{"pain", fmt.Sprint(i)}
		if !q.known(at, "region", p.Region, ids(q.c.Regions, regionID)) {
			continue
		}
		f := q.c.Response(p.Region)
		if f == nil {
			q.say(at, "region %q has no field for a response, so that pain there is never seen", p.Region)
			continue
		}
		if f = q.place(at, rubric.Place{Field: f.ID, Site: p.Site}); f == nil || p.Level < 1 || p.Level >= len(f.Of) {
			continue
		}
		want := f.Of[p.Level].ID
		if t := q.k.truthAt(rubric.Place{Field: f.ID, Site: p.Site}); t == nil || len(t.Values) != 1 || t.Values[0] != want {
			q.say(at, "pain of level %d here is seen as %s %s; write that under truth, or change the level", p.Level, f.ID, want)
		}
	}
	for i := range q.k.Truth {
		t := &q.k.Truth[i]
		f := q.c.Field(t.Field)
		if f == nil || q.c.Response(f.Region) != f || len(t.Values) == 0 || !f.Abnormal(t.Values[0]) {
			continue
		}
		if !slices.ContainsFunc(q.k.Pain, func(p Pain) bool { return p.Region == f.Region && p.Site == t.Site }) {
			q.say(t.key(), "%s says that it hurts, so pain: needs {region: %s, site: ..., level: ...} as well", f.ID, f.Region)
		}
	}
}

func (q *caseCheck) withheld() {
	for i, id := range q.k.Withhold {
		q.known([]string{"withhold", fmt.Sprint(i)}, "step", id, ids(q.c.Steps, stepID))
	}
	if len(q.k.Withhold) > 0 && q.k.Situation != "triage" {
		q.say([]string{"withhold"}, "steps are withheld only in a triage case; make situation: triage or leave them out")
	}
}

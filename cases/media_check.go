package cases

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"dewclaw/cases/media"
	"dewclaw/rubric"
)

// The shortest and the longest that consent and licence may be, in characters.
const (
	leastPaper = 3
	mostPaper  = 200
)

// media checks the school's own media: that each stands at an act that there is,
// says by whose leave it is shown, and cannot contradict what is graded.
func (q *caseCheck) media() {
	if len(q.k.Media) > 0 && q.k.Mirror {
		q.say([]string{"mirror"}, "a recording or picture is of one side, so a case with media cannot be mirrored; take mirror: out")
	}
	for i := range q.k.Media {
		m := &q.k.Media[i]
		q.papers(m)
		step := q.mediumStep(m)
		if step == nil || m.File == "" {
			continue
		}
		if slices.ContainsFunc(q.k.Media[:i], func(o Medium) bool { return o.Key() == m.Key() && o.Sense() == m.Sense() }) {
			q.say(m.at, "%s has a %s already; an act has one sound and one picture", m.Key(), m.Sense())
		}
		if m.Sense() == media.Sound && slices.ContainsFunc(ears, func(x ear) bool { return x.step == step.ID && x.lies != "" }) {
			q.say(m.at, "at %s a pulse is felt in a second channel of ours, which no recording of yours has; leave ours there", step.ID)
			continue
		}
		q.mediumShows(m, step)
	}
}

// papers are what must be known of every medium.
func (q *caseCheck) papers(m *Medium) {
	for _, row := range []struct{ name, text, what string }{
		{"file", m.File, "the name of a file in media/, such as willow-apex.wav"},
		{"consent", m.Consent, "who agreed, how and when, and where that is kept"},
		{"licence", m.Licence, "by what leave it is shown, such as: school's own, teaching only"},
	} {
		_, given := q.k.marks[strings.Join(m.at.to(row.name), "\x00")]
		switch n := utf8.RuneCountInString(row.text); {
		case !given:
			q.say(m.at, "a medium needs %s: %s", row.name, row.what)
		case row.name == "file" || n == 0: // read and complained of
		case n < leastPaper || n > mostPaper:
			q.say(m.at.to(row.name), "%s has %d characters; right would be %d to %d: %s", row.name, n, leastPaper, mostPaper, row.what)
		case strings.ContainsFunc(row.text, unicode.IsControl):
			q.say(m.at.to(row.name), "%s should be one line", row.name)
		}
	}
}

// mediumStep checks the act at which a medium stands.
func (q *caseCheck) mediumStep(m *Medium) *Step {
	if !q.known(m.at, "step", m.Step, ids(q.c.Steps, stepID)) {
		return nil
	}
	step := q.c.Step(m.Step)
	switch {
	case !step.Applies.Match(q.k.Signalment):
		q.say(m.at, "%s does not apply to a patient of this sex and age", step.ID)
	case len(step.Sites) == 0 && m.Site != "":
		q.say(m.at, "%s has no sites; write %s alone", step.ID, step.ID)
	case len(step.Sites) > 0 && m.Site == "":
		q.say(m.at, "%s is done at a site; write %s@%s", step.ID, step.ID, strings.Join(step.Sites, " or @"))
	case len(step.Sites) > 0 && !slices.Contains(step.Sites, m.Site):
		q.say(m.at, "%s has no site %q%s", step.ID, m.Site, nearestOf(m.Site, step.Sites))
	default:
		return step
	}
	return nil
}

// mediumShows checks what is heard or seen in a medium.
func (q *caseCheck) mediumShows(m *Medium, step *Step) {
	for _, id := range m.Shows {
		q.known(m.at.to("shows"), "field of "+step.ID+" called", id, step.Reveals)
	}
	fields := m.fields(q.c, step)
	if len(fields) == 0 {
		q.say(m.at, "ours gives no %s of %s, so shows: should name the fields that this one gives: [%s]", m.Sense(), step.ID, strings.Join(step.Reveals, ", "))
	}
	counted := false
	for _, id := range step.Reveals {
		f := q.c.Field(id)
		switch shown := slices.Contains(fields, id); {
		case f == nil:
		case shown && f.Chosen():
			q.fixed(m, step, f)
		case shown && f.Kind == "count":
			counted = true
			q.countedRate(m, f)
		case shown:
			q.say(m.at, "%s is read to a figure of its own patient, which no recording or picture of another animal gives; leave it to ours", f.ID)
		case !f.Chosen() && clipSense(step, f) == m.Sense():
			q.say(m.at, "%s is told by ours alone at %s, and nobody could tell it by this one; leave ours there", f.ID, step.ID)
		}
	}
	if m.Rate > 0 && !counted {
		q.say(m.at.to("rate"), "no rate is counted in it; leave rate: out")
	}
}

// countedRate checks that a rate is stated and is one that the patient may have.
func (q *caseCheck) countedRate(m *Medium, f *Field) {
	if m.Rate == 0 {
		q.say(m.at, "%s is counted in it, so it needs rate: how many there are in it a minute", f.ID)
		return
	}
	if m.Sense() == media.Picture && m.made != nil && !m.made.Moves {
		q.say(m.at.to("file"), "%s is counted in it, so it has to move: a GIF of more than one frame", f.ID)
	}
	rate := rubric.Milli(m.Rate) * 1000
	t := q.k.truthAt(rubric.Place{Field: f.ID})
	if t == nil {
		row, ok := q.ranges.Lookup(q.k.Species, q.k.Signalment.AgeDays, q.k.Signalment.Grams, f.Vital)
		if ok && (rate < row.Low || rate > row.High) {
			q.say(m.at.to("rate"), "%s is not stated under truth and so normal, %s to %s; a rate of %d needs truth: {%s: ...}", f.ID, row.Low, row.High, m.Rate, f.ID)
		}
		return
	}
	if low, high, err := truthRange(t); err == nil && (rate < low || rate > high) {
		q.say(m.at.to("rate"), "the rate %d is not in the truth of %s, %s to %s; widen the truth or state what is counted in it", m.Rate, f.ID, low, high)
	}
}

// fixed checks that a choice is the same in every patient of the case, for the
// medium is.
func (q *caseCheck) fixed(m *Medium, step *Step, f *Field) {
	for _, at := range places(step, f, m.Site) {
		var stated []string
		for _, t := range q.k.Truth {
			if t.Field == f.ID && (t.Site == at.Site || t.Site == "" || f.Strongest) && len(t.Values) != 1 {
				q.say(m.at, "it is always the same, and %s is drawn from %s; state one", f.ID, strings.Join(t.Values, ", "))
				return
			}
			if t.Field == f.ID && (t.Site == at.Site || t.Site == "" || f.Strongest) {
				stated = append(stated, t.Values[0])
			}
		}
		if free := q.drawn(f); len(stated) == 0 && len(free) > 1 {
			q.say(m.at, "it is always the same, and %s is not stated under truth and may be %s; state what is heard or seen in it", f.ID, strings.Join(free, ", "))
			return
		}
	}
}

// drawn are the choices that a field which the case does not state may have.
func (q *caseCheck) drawn(f *Field) []string {
	if f.Choice(q.k.Demeanour) != nil && f.Vital == "" {
		return nil
	}
	if f.Strongest || slices.ContainsFunc(q.k.Negatives, func(s string) bool { return ParsePlace(s).Field == f.ID }) {
		return f.Normal
	}
	return slices.Concat(f.Normal, f.Variants)
}

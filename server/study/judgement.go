package study

import (
	"slices"
	"strings"
	"time"

	"dewclaw/rubric"
)

// Judgement is one thing that a student did, charted or left out, with its mark:
// a line of a report, or an item of a drill.
type Judgement struct {
	Skill  string    // id of a skill of the catalogue; empty: it only tells how sure somebody was, and whether rightly
	Place  string    // field@site or a field; else the id of a step, a rule or a line
	Step   bool      // Place is a required step, and the mark whether it was done
	Mark   int       // thousandths of what it could earn
	Sure   int       // how sure the student said to be: 50, 75 or 95 in 100; 0: not said
	At     time.Time // where the school is, since days count
	Visit  string    // id of the visit; empty: it is of a drill
	Drill  string    // id of the drill; empty: it is of a visit
	Case   string    // hidden from students; empty: of a drill
	System string    // the case's first system, such as skin; empty: of a drill, or a healthy patient
	// Difficulty is the case's, from 1 to 5; 0: not said.
	Species    string
	Difficulty int
}

// Marks in thousandths: all that a line could earn, and from where on it counts
// as right.
const (
	whole = 1000
	Right = 800
)

// Right says whether it was right on the whole.
func (j Judgement) Right() bool { return j.Mark >= Right }

// Source is what it was seen in: one patient, or one drill.
func (j Judgement) Source() string {
	if j.Visit != "" {
		return "visit " + j.Visit
	}
	return "drill " + j.Drill
}

// Skills says which skill a field or a step belongs to; empty: none. A catalogue
// does.
type Skills interface {
	SkillOf(field string) string
	SkillOfStep(step string) string
}

// The skills that no field or step of a catalogue belongs to: those of the lines
// of Order and Handling, and of Conclusions; and that of what a figure means.
const (
	Sequence    = "sequence"
	Conclusions = "conclusions"
	Ranges      = "ranges"
)

// Judged are the judgements of a report: one a line that could earn something,
// and one a charted place of which the student said how sure. The latter have no
// skill: they tell how well somebody judges, and the line of the same place tells
// the rest. Like is what all have in common. What people decided stands in the
// lines.
func Judged(rep rubric.Report, skills Skills, like Judgement) []Judgement {
	var out []Judgement
	for _, d := range rep.Domains {
		for _, l := range d.Lines {
			j := like
			j.Skill, j.Place = SkillOfLine(skills, d.ID, l.ID)
			j.Step = d.ID == rubric.DomainCompleteness && skills.SkillOfStep(j.Place) != ""
			if l.Max > 0 && j.Skill != "" {
				j.Mark = int(max(l.Points, 0) * whole / l.Max)
				out = append(out, j)
			}
		}
	}
	for _, r := range rep.Sure {
		j := like
		j.Place, j.Sure = placeName(r.Place), Percent(r.Sure)
		if r.Right {
			j.Mark = whole
		}
		out = append(out, j)
	}
	return out
}

// placeName is field@site, or the field where it has no sites.
func placeName(p rubric.Place) string {
	if p.Site == "" {
		return p.Field
	}
	return p.Field + "@" + p.Site
}

// SkillOfLine is the skill that a line of a report tells of, and the place: a
// field with its site, a step, or what the line is called. No skill: a line of a
// catalogue that says none.
func SkillOfLine(skills Skills, domain, line string) (skill, place string) {
	_, name, _ := strings.Cut(line, "/")
	field := func(place string) string {
		id, _, _ := strings.Cut(place, "@")
		return skills.SkillOf(id)
	}
	switch domain {
	case rubric.DomainOrder, rubric.DomainHandling:
		return Sequence, name
	case rubric.DomainConclusions:
		return Conclusions, name
	case rubric.DomainCompleteness:
		if s := skills.SkillOfStep(name); s != "" {
			return s, name
		}
		return Sequence, name // a question of the history, or handling
	case rubric.DomainFindings:
		place = strings.TrimPrefix(name, "negative/")
		return field(place), place
	case rubric.DomainVitals:
		if id, called := strings.CutSuffix(name, "/call"); called {
			return Ranges, id
		}
		return field(name), name
	}
	return "", name
}

// percents are how sure somebody is who says so, in 100.
var percents = map[string]int{"guess": 50, "fairly": 75, "sure": 95}

// Percent is how often somebody is right, of 100, who is as sure as said and
// judges that well; 0: nothing was said.
func Percent(sure string) int { return percents[sure] }

// InTime puts judgements into the order in which they were made. Those of one
// moment stay as they stand.
func InTime(list []Judgement) {
	slices.SortStableFunc(list, func(a, b Judgement) int { return a.At.Compare(b.At) })
}

package cases

import (
	"slices"
	"strings"

	"dewclaw/rubric"
)

// Catalogue is the examination of one species as data: regions, steps, fields,
// choices, cues, cautions, history topics, handling, precautions and problems.
// To add a step or a finding is to edit its file in library/catalogue.
type Catalogue struct {
	Species     string
	Label       string
	Caution     string // what every page about this species should say about a live animal
	Sources     []string
	Confidence  string // read, memory or derived
	Stages      []Stage
	Skills      []Skill
	Verbs       []Verb
	Regions     []Region
	Steps       []Step
	Fields      []Field
	Topics      []Topic
	Handling    []Handling
	Precautions []Precaution
	Problems    []ProblemTerm
	Hazards     []Hazard // those that every patient of the species carries

	Hash   string // SHA-256 of Source, hex
	Source []byte // the catalogue's files, the one that it extends first, each under a line that names it

	index index
	marks marks
	vocab *vocabulary // for the typed line

	fields []rubric.Field // what RubricFields returns
	form   *rubric.Form   // of them
}

// Stage is a stretch of the route.
type Stage struct{ ID, Label string }

// Verb is a kind of manoeuvre.
type Verb struct {
	ID, Label string
	Synonyms  []string
}

// Skill is something that a student can be good at: the fields and steps of some
// regions. One and Many are its nouns in a sentence.
type Skill struct{ ID, Label, One, Many string }

// Region is a part of the animal. Point is its place on the drawing, in
// thousandths of the drawing's width and height; paired regions have one for
// the side shown (the drawing shows one side and names the other).
type Region struct {
	ID, Stage, Label string
	Skill            string // of its fields and steps
	Point            [2]int
	Paired           bool
	Synonyms         []string
}

// Step is a manoeuvre on a region.
type Step struct {
	ID         string // region.verb
	Region     string
	Skill      string // where it is not its region's
	Verb       string // inspect, palpate, auscultate, percuss, smell, move, otoscopy, ophthalmoscopy, measure, count, ...
	Label      string
	Instrument string
	Sites      []string // empty: no site
	At         []Spot   // where the sites lie on the drawing of the trunk, in the file's order; empty: they are chosen by name
	Least      int      // seconds of contact a site for an adequate examination
	Takes      int      // seconds until its instrument has settled; 0: at once
	Seconds    int      // simulated seconds that it costs
	Stress     int      // thousandths of the stress scale that it adds
	Sense      string   // words, sound, picture or reading
	Reveals    []string // fields
	AlsoIn     []string // stages to which it may belong instead
	Applies    Applies
	Touch      bool // hands on the animal
	Measure    bool
	Synonyms   []string
	Caution    string
}

// Spot is where a site lies on the drawing of the trunk, in thousandths from the
// head end to the tail end and from the back down. The right side is drawn as
// the mirror of the left, so that 0 is at the head there too.
type Spot struct {
	Site  string
	Point [2]int
}

// Right says whether the site is on the right side of the animal. Every other
// lies on the left.
func (s Spot) Right() bool { return s.Site == "right" || strings.HasPrefix(s.Site, "right ") }

// Applies says for which patients a step exists. Sex is any, male, female,
// "male entire" or another beginning of a signalment's sex; Age is any, young,
// adult or old, which is adult too.
type Applies struct{ Sex, Age string }

// Field is one thing that can be charted.
type Field struct {
	ID        string
	Region    string
	Skill     string // where it is not its region's
	Label     string
	Abbr      []string // what the typed line and the sheet call it: HR, MM, CRT
	Kind      string   // count, number, score, time, choice, grade
	Unit      string
	Vital     string
	PerSite   bool
	Strongest bool     // site truths are one finding, at its strongest site (a murmur)
	Sites     []string // of a per-site field: as its row states, else the union of the sites of the steps that reveal it; a step shows the field only at these
	Of        []Choice // of a choice or grade: its choices; of a score: its cues; of another number: bands, for their cues
	Normal    []string // choice ids
	Variants  []string // choice ids that are unusual but not abnormal
	NormalAt  string   // number, score, time: the value of a species' normal animal, a range such as "1.0..1.8"
	Weight    string   // major or minor
	Tolerance int
	AcceptAs  []string
	Each      bool // charted line by line, never by 'rest of this region normal'
	Meaning   string
	Synonyms  []string
}

// Choice is a value of a choice or grade field with the cue that the student
// senses. Cue may hold several wordings; the seed picks one. UpTo makes it a
// band of a time field: it stands for values up to and including this number,
// the last band for all above.
type Choice struct {
	ID, Label string
	Cue       []string
	Synonyms  []string
	UpTo      string
	Applies   Applies // of a variant: in which patients it may be drawn
}

// Topic is a history question.
type Topic struct {
	ID, Label, Ask string
	Synonyms       []string
}

// Handling is an action or a hold.
type Handling struct {
	ID, Label string
	Hold      bool // stays until another hold is taken
	Stress    int  // thousandths added (negative: calms)
	Seconds   int
	Caution   string
	Synonyms  []string
	Effect    string // "", oxygen, stop, call, muzzle: what the patient model knows
}

// Precaution is a row that a case names; it compiles to rubric.Precaution.
type Precaution struct {
	ID, Label, Kind string
	Done            []string
	Steps           []string // "{painful}" stands for the steps and sites over the case's pain
	Among           []string // "{peers}" stands for the same steps at the other sites
}

// ProblemTerm is a problem that a student can name.
type ProblemTerm struct {
	ID, Label string
	Synonyms  []string
	Meaning   string
}

// Hazard is something that harms patient or student.
type Hazard struct {
	ID       string
	Step     string // step id
	Site     string
	Hold     string // or: this handling action or hold
	Unless   string // gentle, muzzle, oxygen, or a handling id
	Severity string // minor, major, critical
	Why      string
	Sign     string // what is sensed before it: the foreshadowing
}

// index finds rows by id; filled when the catalogue is loaded.
type index struct {
	steps, fields, regions, topics, handling, precautions, problems, stages map[string]int
}

// indexRows maps the ids of rows to their places.
func indexRows[T any](rows []T, id func(*T) *string) map[string]int {
	m := make(map[string]int, len(rows))
	for i := range rows {
		m[*id(&rows[i])] = i
	}
	return m
}

// reindex fills the index and what is derived from the rows: the sites of
// per-site fields.
func (c *Catalogue) reindex() {
	c.index = index{
		steps:       indexRows(c.Steps, stepID),
		fields:      indexRows(c.Fields, fieldID),
		regions:     indexRows(c.Regions, regionID),
		topics:      indexRows(c.Topics, topicID),
		handling:    indexRows(c.Handling, handlingID),
		precautions: indexRows(c.Precautions, precautionID),
		problems:    indexRows(c.Problems, problemID),
		stages:      indexRows(c.Stages, stageID),
	}
	for i := range c.Fields {
		f := &c.Fields[i]
		if !f.PerSite || len(f.Sites) > 0 {
			continue
		}
		for _, s := range c.Steps {
			if !slices.Contains(s.Reveals, f.ID) {
				continue
			}
			for _, site := range s.Sites {
				if !slices.Contains(f.Sites, site) {
					f.Sites = append(f.Sites, site)
				}
			}
		}
	}
}

func stepID(s *Step) *string             { return &s.ID }
func fieldID(f *Field) *string           { return &f.ID }
func regionID(r *Region) *string         { return &r.ID }
func topicID(t *Topic) *string           { return &t.ID }
func handlingID(h *Handling) *string     { return &h.ID }
func precautionID(p *Precaution) *string { return &p.ID }
func problemID(p *ProblemTerm) *string   { return &p.ID }
func verbID(v *Verb) *string             { return &v.ID }
func stageID(s *Stage) *string           { return &s.ID }
func skillID(s *Skill) *string           { return &s.ID }
func choiceID(c *Choice) *string         { return &c.ID }
func hazardID(h *Hazard) *string         { return &h.ID }

// row returns the row with this id, or nil.
func row[T any](rows []T, index map[string]int, id string) *T {
	if i, ok := index[id]; ok {
		return &rows[i]
	}
	return nil
}

// Step returns the step with this id, or nil.
func (c *Catalogue) Step(id string) *Step { return row(c.Steps, c.index.steps, id) }

// Field returns the field with this id, or nil.
func (c *Catalogue) Field(id string) *Field { return row(c.Fields, c.index.fields, id) }

// Region returns the region with this id, or nil.
func (c *Catalogue) Region(id string) *Region { return row(c.Regions, c.index.regions, id) }

// Stage returns the stage with this id, or nil.
func (c *Catalogue) Stage(id string) *Stage { return row(c.Stages, c.index.stages, id) }

// Topic returns the history topic with this id, or nil.
func (c *Catalogue) Topic(id string) *Topic { return row(c.Topics, c.index.topics, id) }

// HandlingRow returns the handling action or hold with this id, or nil.
func (c *Catalogue) HandlingRow(id string) *Handling {
	return row(c.Handling, c.index.handling, id)
}

// PrecautionRow returns the precaution with this id, or nil.
func (c *Catalogue) PrecautionRow(id string) *Precaution {
	return row(c.Precautions, c.index.precautions, id)
}

// ProblemTerm returns the problem with this id, or nil.
func (c *Catalogue) ProblemTerm(id string) *ProblemTerm {
	return row(c.Problems, c.index.problems, id)
}

// Choice returns the choice with this id, or nil.
func (f *Field) Choice(id string) *Choice {
	for i := range f.Of {
		if f.Of[i].ID == id {
			return &f.Of[i]
		}
	}
	return nil
}

// Band returns the choice that stands for this value: of a choice, grade or
// score the one with that id, of a banded number the band that holds it; nil
// where there is none.
func (f *Field) Band(value string) *Choice {
	if ch := f.Choice(value); ch != nil {
		return ch
	}
	x, err := rubric.ParseMilli(value)
	if err != nil {
		return nil
	}
	for i := range f.Of {
		ch := &f.Of[i]
		if ch.UpTo == "" {
			if i == len(f.Of)-1 && i > 0 && f.Of[i-1].UpTo != "" {
				return ch
			}
			continue
		}
		if top, err := rubric.ParseMilli(ch.UpTo); err == nil && x <= top {
			return ch
		}
	}
	return nil
}

// Abnormal says whether this choice is abnormal: neither normal nor a variant.
// It is for choices and grades; a number is judged by its reference range.
func (f *Field) Abnormal(value string) bool {
	return !slices.Contains(f.Normal, value) && !slices.Contains(f.Variants, value)
}

// Chosen says whether the field's values are the ids of its choices.
func (f *Field) Chosen() bool { return f.Kind == "choice" || f.Kind == "grade" }

// RubricFields gives the fields in the grading engine's words, in the
// catalogue's order. They are shared: nobody changes them.
func (c *Catalogue) RubricFields() []rubric.Field {
	if c.fields == nil { // it did not come out of a file
		return c.engineFields()
	}
	return c.fields
}

// Form is the empty sheet of the fields.
func (c *Catalogue) Form() *rubric.Form { return c.form }

// engineFields draws up what RubricFields returns.
func (c *Catalogue) engineFields() []rubric.Field {
	out := make([]rubric.Field, 0, len(c.Fields))
	for i := range c.Fields {
		out = append(out, c.Fields[i].rubric())
	}
	return out
}

// nineScores is the scale that a body condition score is taken to have where a
// key says nothing.
const nineScores = 9

func (f *Field) rubric() rubric.Field {
	r := rubric.Field{
		ID: f.ID, Kind: f.Kind, Region: f.Region, PerSite: f.PerSite, Sites: f.Sites,
		Normal: f.Normal, Variants: f.Variants, Tolerance: f.Tolerance, AcceptAs: f.AcceptAs,
		Each: f.Each, Vital: f.Vital,
	}
	if f.Vital == "body_condition" && len(f.Of) != nineScores {
		r.Scale = len(f.Of)
	}
	if f.Chosen() {
		for _, ch := range f.Of {
			r.Of = append(r.Of, ch.ID)
		}
	}
	return r
}

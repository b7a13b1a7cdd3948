package cases

// Catalogue is the examination of one species as data: regions, steps, fields,
// choices, cues, cautions, history topics, handling, precautions and problems.
// To add a step or a finding is to edit its file in library/catalogue.
type Catalogue struct {
	Species     string
	Label       string
	Stages      []Stage
	Regions     []Region
	Steps       []Step
	Fields      []Field
	Topics      []Topic
	Handling    []Handling
	Precautions []Precaution
	Problems    []ProblemTerm
	Hazards     []Hazard // those that every patient of the species carries

	index index
}

// Stage is a stretch of the route.
type Stage struct{ ID, Label string }

// Region is a part of the animal. Point is its place on the drawing, in
// thousandths of the drawing's width and height; paired regions have one for
// the side shown (the drawing shows one side and names the other).
type Region struct {
	ID, Stage, Label string
	Point            [2]int
	Paired           bool
}

// Step is a manoeuvre on a region.
type Step struct {
	ID         string // region.verb
	Region     string
	Verb       string // inspect, palpate, auscultate, percuss, smell, move, otoscopy, ophthalmoscopy, measure, count, ...
	Label      string
	Instrument string
	Sites      []string // empty: no site
	Least      int      // seconds of contact a site for an adequate examination
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

// Applies says for which patients a step exists.
type Applies struct{ Sex, Age string } // male, female, any; adult, young, any

// Field is one thing that can be charted.
type Field struct {
	ID        string
	Region    string
	Label     string
	Abbr      []string // what the typed line and the sheet call it: HR, MM, CRT
	Kind      string   // count, number, score, time, choice, grade
	Unit      string
	Vital     string
	PerSite   bool
	Strongest bool     // site truths are one finding, at its strongest site (a murmur)
	Sites     []string // of a per-site field: the union of the sites of the steps that reveal it
	Of        []Choice
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
// senses. Cue may hold several wordings; the seed picks one.
type Choice struct {
	ID, Label string
	Cue       []string
	Synonyms  []string
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
	steps, fields, regions, topics, handling, problems, stages map[string]int
}

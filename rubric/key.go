package rubric

// Key is the answer key of one attempt: case, catalogue, rubric and seed
// compiled into the engine's words. It is hidden: encode it with EncodeKey.
//
// Physical quantities are Milli: thousandths of the field's unit, so that a
// grade is the same to the last byte on every processor.
type Key struct {
	Species     string       `json:"species"`
	Situation   string       `json:"situation"` // routine, focused or triage
	Track       string       `json:"track"`     // veterinary or technician
	Stages      []string     `json:"stages"`    // in the catalogue's order
	Steps       []Step       `json:"steps"`     // every step of the catalogue that applies to this patient, and the handling steps the rubric requires
	Rules       []Rule       `json:"rules"`     // those of the rubric that apply to species and situation
	Routes      []Route      `json:"routes"`
	Fields      []Field      `json:"fields"` // sorted by ID
	Findings    []Finding    `json:"findings"`
	Negatives   []Place      `json:"negatives"` // the case's pertinent negatives
	Vitals      []Vital      `json:"vitals"`
	Topics      []string     `json:"topics"` // history topics that must be asked
	Precautions []Precaution `json:"precautions"`
	Expected    Expected     `json:"expected"`
	// Static is the truth of fields where no patient is simulated, such as at
	// a station with a live animal: it is used for an examine act whose
	// outcome shows nothing. Value "unknown" drops the term. A compiled case
	// leaves it empty.
	Static []Shown `json:"static,omitempty"`
}

// Milli is a physical quantity in thousandths of its unit.
type Milli int64

// Step is a step as the engine sees it.
type Step struct {
	ID       string   `json:"id"`
	Kind     Kind     `json:"kind"`               // Examine or Handle
	Stage    string   `json:"stage"`              // empty for handling
	AlsoIn   []string `json:"also_in,omitempty"`  // stages to which it may belong instead
	Sites    []string `json:"sites,omitempty"`    // empty: the step has no site
	Least    int      `json:"least,omitempty"`    // seconds of contact a site for an adequate examination; 0: any
	Required bool     `json:"required,omitempty"` // by the rubric, for this patient, less what is withheld
	Weight   Weight   `json:"weight,omitempty"`   // of a required step
	Touch    bool     `json:"touch,omitempty"`    // hands on the animal
	Measure  bool     `json:"measure,omitempty"`  // a measurement: repeating it is no return to its stage
	Reveals  []string `json:"reveals,omitempty"`
	// Critical: leaving the step out is a critical event, in triage only.
	// Compiled from the rubric's StepRow.Critical.
	Critical bool `json:"critical,omitempty"`
}

// Weight is how much a required step counts: essential 3, standard 2, extra 1.
type Weight int

// Rule is a rule of order.
type Rule struct {
	ID     string   `json:"id"`
	Kind   string   `json:"kind"`   // before-first or share
	Before []string `json:"before"` // step ids, or "handle:"+how, or "ask"; these come first
	After  []string `json:"after"`  // step ids, step@site, or "touch": any step with Touch
	Weight int      `json:"weight"`
	Tag    string   `json:"tag"` // safety, physiology or habit; habit is feedback only
	Why    string   `json:"why"`
	Source string   `json:"source"`
}

// Route is an accepted way over the animal: a partial order of stages.
type Route struct {
	ID     string     `json:"id"`
	Order  [][]string `json:"order"` // groups of stages; within a group any order
	Floats []Float    `json:"floats,omitempty"`
}

// Float is something that may stand in more than one place of a route.
type Float struct {
	Stages []string `json:"stages,omitempty"`
	Steps  []string `json:"steps,omitempty"`
	Places []string `json:"places"` // first, in place, last
}

// Field is a chartable field as the engine sees it.
type Field struct {
	ID        string   `json:"id"`
	Kind      string   `json:"kind"` // count, number, score, time, choice or grade
	Region    string   `json:"region"`
	PerSite   bool     `json:"per_site,omitempty"`
	Sites     []string `json:"sites,omitempty"`
	Of        []string `json:"of,omitempty"`     // choices; for a grade from none to worst
	Normal    []string `json:"normal,omitempty"` // choices that are normal
	Variants  []string `json:"variants,omitempty"`
	Tolerance int      `json:"tolerance,omitempty"` // grade: steps either way
	AcceptAs  []string `json:"accept_as,omitempty"`
	Scale     int      `json:"scale,omitempty"` // of a body condition score: its highest score; 0 is 9
	Each      bool     `json:"each,omitempty"`  // must be charted line by line, not by 'rest of this region normal'
	Vital     string   `json:"vital,omitempty"` // heart_rate, resp_rate, temperature, crt, body_condition, weight
	// Ranged, with NormalLow and NormalHigh, says which figures are normal for
	// a field that is written as a number and is no vital, such as a node's
	// length. Without it such a field is neither normal nor abnormal.
	Ranged     bool  `json:"ranged,omitempty"`
	NormalLow  Milli `json:"normal_low,omitempty"`
	NormalHigh Milli `json:"normal_high,omitempty"`
}

// Place is a field at a site.
type Place struct {
	Field string `json:"field"`
	Site  string `json:"site,omitempty"`
}

// Finding is one abnormal truth.
type Finding struct {
	Field string   `json:"field"`
	Site  string   `json:"site,omitempty"` // empty where the field has no sites
	Also  []string `json:"also,omitempty"` // sites where the same finding may be charted, such as where a murmur radiates to
	Value string   `json:"value"`
	Major bool     `json:"major,omitempty"`
	Steps []string `json:"steps"` // steps that can show it
}

// Vital is a vital sign of this patient.
type Vital struct {
	Field     string `json:"field"`
	Name      string `json:"name"`      // heart_rate, resp_rate, temperature, crt, body_condition, weight
	Rest      Milli  `json:"rest"`      // the truth at rest
	HasRange  bool   `json:"has_range"` // false: only the mark counts
	Low       Milli  `json:"low"`       // inside Low..High is normal
	High      Milli  `json:"high"`
	GreyLow   Milli  `json:"grey_low"` // between grey and normal either call is right
	GreyHigh  Milli  `json:"grey_high"`
	Window    int    `json:"window"` // seconds over which a count must run
	Irregular bool   `json:"irregular"`
	// Rhythm is the field that says how a rate comes, such as the pattern of
	// breathing; Uncounted are its values with which there is no rate to
	// count, such as panting: the term drops out.
	Rhythm    string   `json:"rhythm,omitempty"`
	Uncounted []string `json:"uncounted,omitempty"`
	Steps     []string `json:"steps"` // the steps that measure it
	Required  bool     `json:"required"`
	Row       string   `json:"row"` // the row of the reference table, with its source
}

// Precaution is a precaution expected with this patient.
//
//	before: one of Done stands before the first of Steps
//	last:   every one of Steps that is done stands after every done one of Among
//	gentle: every one of Steps that is done is done in the gentle manner
//	done:   one of Done is done at all
//
// A precaution whose Steps were never done is not earned.
type Precaution struct {
	ID    string   `json:"id"`
	Kind  string   `json:"kind"`
	Done  []string `json:"done,omitempty"`  // "handle:"+how, step ids, "wait" or "ask"
	Steps []string `json:"steps,omitempty"` // step ids, step@site, or "touch"
	Among []string `json:"among,omitempty"`
}

// Expected is what the student should conclude.
type Expected struct {
	Problems []Problem `json:"problems,omitempty"`
	Accept   []string  `json:"accept,omitempty"` // named or not, neither helps nor hurts
	Urgency  string    `json:"urgency"`          // routine, same day or emergency
	Report   []Place   `json:"report,omitempty"` // what a technician must report
}

// Problem is an expected problem with the findings that point to it.
type Problem struct {
	ID    string  `json:"id"`
	Signs []Place `json:"signs"`
}

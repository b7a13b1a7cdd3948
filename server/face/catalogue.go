package face

// Catalogue is the examination of a species as students may read it: the same
// for every case. It holds no cue, no normal value, no stress and no least time.
type Catalogue struct {
	Species  string     `json:"species"`
	Label    string     `json:"label"`
	Stages   []Term     `json:"stages"`
	Regions  []Region   `json:"regions"`
	Steps    []Step     `json:"steps"`
	Fields   []Field    `json:"fields"`
	Topics   []Topic    `json:"topics"`
	Handling []Handling `json:"handling"`
	Problems []Problems `json:"problems"`
	Manners  []Term     `json:"manners"`
	Urgency  []Term     `json:"urgency"`
	Readings []Term     `json:"interpretations"`
	School   School     `json:"school"`
}

// School is how the school writes: the unit of temperature (degC, degF) and of
// weight (kg, lb) that stands first, and its word for nothing abnormal. A weight
// that is sent without a unit is always in kg.
type School struct {
	Temperature string `json:"temperature"`
	Weight      string `json:"weight"`
	Normal      string `json:"nothing"`
}

// Term is an id with its label.
type Term struct {
	ID    string `json:"id"`
	Label string `json:"label"`
}

// Region is a part of the animal. X and Y are its place on the drawing, in
// thousandths of the drawing's width and height.
type Region struct {
	ID     string `json:"id"`
	Stage  string `json:"stage"`
	Label  string `json:"label"`
	X      int    `json:"x"`
	Y      int    `json:"y"`
	Paired bool   `json:"paired,omitempty"`
}

// Step is a manoeuvre on a region. Seconds are the simulated seconds it takes.
type Step struct {
	ID         string   `json:"id"`
	Region     string   `json:"region"`
	Verb       string   `json:"verb"`
	Label      string   `json:"label"`
	Instrument string   `json:"instrument,omitempty"`
	Sites      []string `json:"sites,omitempty"`
	At         []Spot   `json:"at,omitempty"` // where the sites lie on the drawing of the trunk; none: chosen by name
	Seconds    int      `json:"seconds"`
	Takes      int      `json:"takes,omitempty"` // seconds until its instrument has settled; 0: at once
	Touch      bool     `json:"touch,omitempty"`
	Caution    string   `json:"caution,omitempty"`
	Synonyms   []string `json:"synonyms,omitempty"`
}

// Spot is where a site lies on the drawing of the trunk: X from the head end to
// the tail end and Y from the back down, in thousandths. The right side is drawn
// as the mirror of the left.
type Spot struct {
	Site  string `json:"site"`
	Right bool   `json:"right,omitempty"`
	X     int    `json:"x"`
	Y     int    `json:"y"`
}

// Field is one thing that can be charted.
type Field struct {
	ID       string   `json:"id"`
	Region   string   `json:"region"`
	Label    string   `json:"label"`
	Abbr     []string `json:"abbr,omitempty"`
	Kind     string   `json:"kind"` // count, number, score, time, choice or grade
	Unit     string   `json:"unit,omitempty"`
	Vital    string   `json:"vital,omitempty"` // a vital takes an interpretation
	PerSite  bool     `json:"per_site,omitempty"`
	Sites    []string `json:"sites,omitempty"`
	Choices  []Choice `json:"choices,omitempty"`
	Each     bool     `json:"each,omitempty"` // described line by line, never by 'rest of this region normal'
	Meaning  string   `json:"meaning,omitempty"`
	Synonyms []string `json:"synonyms,omitempty"`
}

// Choice is a value that a field may take.
type Choice struct {
	ID       string   `json:"id"`
	Label    string   `json:"label"`
	Synonyms []string `json:"synonyms,omitempty"`
}

// Topic is a question to the owner.
type Topic struct {
	ID       string   `json:"id"`
	Label    string   `json:"label"`
	Ask      string   `json:"ask"`
	Synonyms []string `json:"synonyms,omitempty"`
}

// Handling is an action or a hold.
type Handling struct {
	ID       string   `json:"id"`
	Label    string   `json:"label"`
	Hold     bool     `json:"hold,omitempty"`
	Seconds  int      `json:"seconds"`
	Caution  string   `json:"caution,omitempty"`
	Synonyms []string `json:"synonyms,omitempty"`
}

// Problems is a problem that a student can name.
type Problems struct {
	ID       string   `json:"id"`
	Label    string   `json:"label"`
	Meaning  string   `json:"meaning,omitempty"`
	Synonyms []string `json:"synonyms,omitempty"`
}

// row finds the row with an id, or says that there is none.
func row[T any](rows []T, id string, idOf func(*T) string) *T {
	for i := range rows {
		if idOf(&rows[i]) == id {
			return &rows[i]
		}
	}
	return nil
}

// Stage finds a stage; nil: unknown.
func (c *Catalogue) Stage(id string) *Term {
	return row(c.Stages, id, func(t *Term) string { return t.ID })
}

// Region finds a region; nil: unknown.
func (c *Catalogue) Region(id string) *Region {
	return row(c.Regions, id, func(t *Region) string { return t.ID })
}

// Step finds a step; nil: unknown.
func (c *Catalogue) Step(id string) *Step {
	return row(c.Steps, id, func(t *Step) string { return t.ID })
}

// Field finds a field; nil: unknown.
func (c *Catalogue) Field(id string) *Field {
	return row(c.Fields, id, func(t *Field) string { return t.ID })
}

// Topic finds a history topic; nil: unknown.
func (c *Catalogue) Topic(id string) *Topic {
	return row(c.Topics, id, func(t *Topic) string { return t.ID })
}

// HandlingRow finds a handling row; nil: unknown.
func (c *Catalogue) HandlingRow(id string) *Handling {
	return row(c.Handling, id, func(t *Handling) string { return t.ID })
}

// Problem finds a problem that can be named; nil: unknown.
func (c *Catalogue) Problem(id string) *Problems {
	return row(c.Problems, id, func(t *Problems) string { return t.ID })
}

// Value is the label of a field's value: the choice's label, or the value itself.
func (c *Catalogue) Value(field, value string) string {
	f := c.Field(field)
	if f == nil {
		return value
	}
	if ch := row(f.Choices, value, func(t *Choice) string { return t.ID }); ch != nil {
		return ch.Label
	}
	return value
}

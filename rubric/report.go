package rubric

// Points are thousandths of a point of 100. In JSON they are decimal numbers.
type Points int64

// Report is a graded attempt. The total is the sum of the lines.
type Report struct {
	Total    Points   `json:"total"`
	Pass     bool     `json:"pass"`
	Critical []Event  `json:"critical"` // fail the case once a person has confirmed them
	Held     []string `json:"held"`     // codes: why a person must look before release
	Engine   string   `json:"engine"`
	Domains  []Domain `json:"domains"`

	Walk     Walk          `json:"walk"`
	Vitals   []VitalRead   `json:"vitals"`
	Findings []FindingRead `json:"findings"`

	Detection Detection `json:"detection"`

	// Sure are the charted lines of which the student said how sure they were, in
	// the order of fields and sites. It carries no points; none: left out.
	Sure []SureRead `json:"sure,omitempty"`
}

// Domain is one of order, completeness, findings, vitals, handling, conclusions.
type Domain struct {
	ID     string `json:"id"`
	Points Points `json:"points"`
	Max    Points `json:"max"`
	Lines  []Line `json:"lines"`
}

// Line is one mark with its reason. ID is stable across versions. A line with
// Max 0 is a scaling, a cap, a deduction or feedback.
type Line struct {
	ID     string `json:"id"` // domain/step, domain/field@site, domain/rule
	Points Points `json:"points"`
	Max    Points `json:"max"`
	Code   string `json:"code"`   // a row of rubric/say
	Args   []Arg  `json:"args"`   // ids and values, never labels
	Reason string `json:"reason"` // filled by rubric/say
	Acts   []int  `json:"acts"`   // the acts behind it
}

// Arg is one argument of a reason. Several ids in one value stand between bars.
type Arg struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Walk is the route walked beside the nearest accepted one.
type Walk struct {
	Nearest string   `json:"nearest"` // id of the route; empty: too few steps to say
	Steps   []Walked `json:"steps"`   // first doing of every step, in order
}

// Walked is one step of the route. Move marks the fewest steps that would have
// to move to make the walk an accepted one (all steps off the longest
// increasing subsequence).
type Walked struct {
	Step  string `json:"step"`
	Stage string `json:"stage"`
	Act   int    `json:"act"`
	Move  bool   `json:"move"`
}

// VitalRead is a vital as read beside what was there.
type VitalRead struct {
	Field          string `json:"field"`
	Charted        string `json:"charted"` // as written; empty: not charted
	Interpretation string `json:"interpretation"`
	Truth          Milli  `json:"truth"` // when measured; at rest where it was not measured
	Tolerance      Milli  `json:"tolerance"`
	HasRange       bool   `json:"has_range"`
	Low            Milli  `json:"low"`
	High           Milli  `json:"high"`
	GreyLow        Milli  `json:"grey_low"`
	GreyHigh       Milli  `json:"grey_high"`
	Row            string `json:"row"`
	Measured       bool   `json:"measured"`
}

// SureRead is a charted line with how sure the student was, beside what was
// there when it was examined. A line that was not examined, or of which nobody
// knows what was there, is in no report.
type SureRead struct {
	Place
	Value string `json:"value"` // as written; a vital that was read: the number
	Truth string `json:"truth"`
	Sure  string `json:"sure"` // one of Sures
	Right bool   `json:"right"`
	Act   int    `json:"act"` // the act that wrote the line
}

// FindingRead is an abnormal truth beside what was charted.
type FindingRead struct {
	Place
	Truth   string   `json:"truth"`
	Charted string   `json:"charted"`
	How     string   `json:"how"`   // caught, partly, normal (examined and called normal), blank (examined, not charted), unseen (not examined), refused
	Steps   []string `json:"steps"` // how it would be found
	Acts    []int    `json:"acts"`
}

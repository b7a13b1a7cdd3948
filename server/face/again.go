package face

// Again is what is examined once more before a debrief opens: at most three missed
// findings, the heaviest. It says where something was; what it was is told once
// the student has committed themselves, or gone on without.
type Again struct {
	Findings []Missed `json:"findings"`
	Done     bool     `json:"done"` // nothing waits for an answer
}

// Missed is one missed finding. Region, site and step say where it was.
type Missed struct {
	N       int      `json:"n"` // from 1
	Region  string   `json:"region"`
	Site    string   `json:"site,omitempty"`
	Step    string   `json:"step"`              // by which it is examined once more
	How     string   `json:"how"`               // what became of it in the visit: normal, blank or unseen
	Heard   bool     `json:"heard,omitempty"`   // .../again/{n}/sound has what is heard there
	Seen    bool     `json:"seen,omitempty"`    // .../again/{n}/picture has what is seen there
	Words   []string `json:"words,omitempty"`   // what is sensed, in words
	InWords []string `json:"inwords,omitempty"` // the picture, in words
	Choices []Claim  `json:"choices"`           // what can be committed
	State   string   `json:"state"`             // open, committed or passed
	Said    string   `json:"said,omitempty"`    // what was committed, in words
	Actual  string   `json:"actual,omitempty"`  // what was there; once it is no longer open
	Found   string   `json:"found,omitempty"`   // of what was committed: whole, part or none of it
}

// Claim is a value of one line that can be committed.
type Claim struct {
	ID    string `json:"id"`
	Line  string `json:"line"` // field and site, in words
	Label string `json:"label"`
}

// Plans are what somebody takes along from a visit to the next patient.
type Plans struct {
	Checked *Plan  `json:"checked,omitempty"` // the plan that this visit was held against
	Offered []Plan `json:"offered"`           // those that this visit gives reason for
	Chosen  string `json:"chosen,omitempty"`  // of them: the id of the one that was chosen here and waits for its visit
	Stands  string `json:"stands,omitempty"`  // the sentence of one that was chosen elsewhere and waits
}

// Plan is one sentence. Kept says what a visit showed of it: yes, no, or empty
// where it could not show it.
type Plan struct {
	ID       string `json:"id"`
	Sentence string `json:"sentence"`
	Kept     string `json:"kept,omitempty"`
}

package face

import "time"

// Decided is what a person said of a critical event or of a flag: who, is not told.
type Decided struct {
	What    string    `json:"what"` // id of the event, or the flag's code
	Text    string    `json:"text"`
	Stands  bool      `json:"stands"` // it happened as told; the flag is right
	Because string    `json:"because"`
	At      time.Time `json:"at"`
}

// Asked is a student's wish that a person look at a line again, with the answer.
type Asked struct {
	At       time.Time  `json:"at"`
	Words    string     `json:"words"` // empty once erased
	Answered *time.Time `json:"answered,omitempty"`
	Changed  bool       `json:"changed,omitempty"` // another mark was given
	Answer   string     `json:"answer,omitempty"`
}

// Struck is a change of the marking of a patient for everybody.
type Struck struct {
	What    string    `json:"what"` // what is changed, in words
	Because string    `json:"because"`
	At      time.Time `json:"at"` // since when
}

// MarkedVisit is one visit of an assignment as those who mark it see it.
type MarkedVisit struct {
	Attempt  string   `json:"attempt,omitempty"` // empty: not begun
	Turn     string   `json:"turn,omitempty"`
	Person   Person   `json:"person"`
	Number   string   `json:"number,omitempty"`
	Try      int      `json:"try,omitempty"`
	Patient  string   `json:"patient,omitempty"` // its name
	State    string   `json:"state"`             // not begun, open, grading or graded
	Computed *Points  `json:"computed,omitempty"`
	Total    *Points  `json:"total,omitempty"` // with what people decided
	Pass     *bool    `json:"pass,omitempty"`
	Why      string   `json:"why,omitempty"` // why it is not passed, where not for the total alone
	Waits    []string `json:"waits"`         // what a person must decide before release, in words
	Released bool     `json:"released"`
	Excused  bool     `json:"excused"`
}

// MarkedReport is a visit's report as those who mark it see it.
type MarkedReport struct {
	Report
	Seen    string    `json:"seen"`  // to be sent back with what is decided
	Waits   []string  `json:"waits"` // ids of critical events and codes of flags
	History []Deed    `json:"history"`
	Void    []Changed `json:"void"` // marks of lines that were struck since
}

// Changed is a person's mark of one line.
type Changed struct {
	Line   string `json:"line"`
	Points Points `json:"points"`
	Reason string `json:"reason"`
}

// Deed is something that a person did to a visit's marks.
type Deed struct {
	At     time.Time `json:"at"`
	By     string    `json:"by"` // a name
	What   string    `json:"what"`
	Reason string    `json:"reason"`
}

// Released says to whom debriefs were released.
type Released struct {
	Released int       `json:"released"` // students
	Whole    bool      `json:"whole"`    // nobody is left out, and nobody has still to sit
	LeftOut  []LeftOut `json:"left_out"`
}

// LeftOut is a student whose debrief was not released, and why.
type LeftOut struct {
	Person Person `json:"person"`
	Try    int    `json:"try"`
	Why    string `json:"why"`
}

// ReviewWaiting is a review that waits for an answer.
type ReviewWaiting struct {
	Attempt    string    `json:"attempt"`
	Person     Person    `json:"person"`
	Assignment string    `json:"assignment"` // title
	Patient    string    `json:"patient"`
	Line       string    `json:"line"`
	Label      string    `json:"label"`
	Points     Points    `json:"points"`
	Max        Points    `json:"max"`
	Reason     string    `json:"reason"`
	Acts       []int     `json:"acts"`
	Asked      time.Time `json:"asked"`
	Words      string    `json:"words"`
	Seen       string    `json:"seen"` // to be sent back with the answer
}

package face

import "time"

// Offer is something to do next in self-study: a patient or a drill, and why.
// A patient that is offered for a skill may have nothing of it.
type Offer struct {
	Why     string        `json:"why"`             // due, weak or mixed
	Skill   string        `json:"skill,omitempty"` // its id; none: it is mixed
	Patient *Patient      `json:"patient,omitempty"`
	Drill   *OfferedDrill `json:"drill,omitempty"`
	Reason  string        `json:"reason"`
}

// OfferedDrill is a kind of drill that is offered.
type OfferedDrill struct {
	Kind    string `json:"kind"`
	Species string `json:"species"`
	Label   string `json:"label"`
	Hint    string `json:"hint"`
	Seconds int    `json:"seconds"` // about how long it takes
}

// Progress is what somebody's own visits and drills say, in sentences with what
// they rest on. It holds no marks of others and no ranks.
type Progress struct {
	Skills    []Skill     `json:"skills"`
	Forgotten []Forgotten `json:"forgotten"` // one a species
	Sure      []SureBand  `json:"sure"`      // none: too few said how sure they were
	SureText  string      `json:"sure_text,omitempty"`
	Plans     []PlanTold  `json:"plans"` // the last first
	Drills    []DrillTold `json:"drills"`
}

// Skill is what is known of one skill. The figures are there from three patients
// or drills on, where the interval is narrow enough to say something.
type Skill struct {
	ID       string     `json:"id"`
	Label    string     `json:"label"`
	Text     string     `json:"text"`
	Lines    int        `json:"lines"` // on which it rests: those of the last patients and drills
	Patients int        `json:"patients"`
	Drills   int        `json:"drills"`
	Expect   *float64   `json:"expect,omitempty"` // share of the next lines
	Low      *float64   `json:"low,omitempty"`    // in 80 of 100 such intervals the share lies within
	High     *float64   `json:"high,omitempty"`
	Last     *time.Time `json:"last,omitempty"`
	Due      *time.Time `json:"due,omitempty"` // when to meet it again
}

// Forgotten are the required steps that were left out again and again with a species.
type Forgotten struct {
	Species string          `json:"species"`
	Label   string          `json:"label"`
	Steps   []ForgottenStep `json:"steps"`
}

// ForgottenStep is one of them: left out in so many of the last visits that asked for it.
type ForgottenStep struct {
	Step   string `json:"step"`
	Region string `json:"region"`
	Label  string `json:"label"`
	Left   int    `json:"left"`
	Visits int    `json:"visits"`
	Text   string `json:"text"`
}

// SureBand is how often somebody was right who was that sure.
type SureBand struct {
	Sure  int     `json:"sure"` // 50, 75 or 95 of 100
	Right int     `json:"right"`
	N     int     `json:"n"`
	Low   float64 `json:"low"` // of 95 in 100 such intervals
	High  float64 `json:"high"`
	Text  string  `json:"text"`
	Claim string  `json:"claim,omitempty"` // how it stands to what was claimed
}

// PlanTold is a plan that was taken along, and whether the next visit kept it.
type PlanTold struct {
	Plan     string    `json:"plan"`
	Sentence string    `json:"sentence"`
	Made     time.Time `json:"made"`
	Kept     string    `json:"kept"` // yes, no, unclear (the visit could not show it) or waits
}

// DrillTold is what was done of a kind of drill.
type DrillTold struct {
	Kind  string    `json:"kind"`
	Label string    `json:"label"`
	Right int       `json:"right"` // of the last items
	N     int       `json:"n"`
	Last  time.Time `json:"last"`
	Text  string    `json:"text"`
}
